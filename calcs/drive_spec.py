"""The facts a healthy drive is worked out from: the drive model, its oil, and the conditions of the test; None where unknown."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class DriveSpec:
    """One loop of a drive model as its maker states it. Relief settings stand above the low side, the charge setting above case pressure.

    The efficiencies are those of the new drive at full pump stroke and largest motor displacement, at the stated pump speed, difference of
    pressure and viscosity; the charge setting is stated in neutral at that viscosity and at `charge_setting_speed_rpm` of the charge pump.
    """

    name: str = ""
    pump_displacement_cc: float | None = None
    motor_displacement_max_cc: float | None = None
    motor_displacement_min_cc: float | None = None  # None for a fixed motor
    motors_per_pump: int = 1
    pump_speed_ratio: float = 1.0  # pump rpm over engine rpm
    charge_displacement_cc: float | None = None
    charge_speed_ratio: float | None = None  # charge pump rpm over engine rpm; None if on the pump shaft
    charge_volumetric_efficiency: float | None = None
    charge_relief_bar: float | None = None
    charge_rise_bar_per_lpm: float | None = None
    charge_setting_speed_rpm: float | None = None
    charge_relief_to_case: bool | None = None
    flushing_relief_bar: float | None = None
    flushing_flow_lpm: float | None = None
    servo_flow_lpm: float | None = None
    relief_forward_bar: float | None = None
    relief_reverse_bar: float | None = None
    pump_volumetric_efficiency: float | None = None
    motor_volumetric_efficiency: float | None = None
    efficiency_at_speed_rpm: float | None = None
    efficiency_at_pressure_bar: float | None = None
    efficiency_at_viscosity_mm2s: float | None = None
    final_ratio: float | None = None
    rolling_radius_m: float | None = None
    rolling_radius_share: float = 0.005  # relative standard uncertainty, way of ten turns taped; from memory
    slip_share: float = 0.0
    reverse_stroke_share: float = 1.0  # below 1 where the linkage stops reverse short
    case_pressure_limit_bar: float | None = None
    charge_inlet_limit_bar: float | None = None  # absolute, lowest allowed with warm oil
    filter_limit_bar: float | None = None
    stroke_time_s: float | None = None

    @property
    def charge_ratio(self) -> float:
        """Return charge pump rpm over engine rpm."""
        return self.pump_speed_ratio if self.charge_speed_ratio is None else self.charge_speed_ratio


@dataclass(frozen=True)
class Oil:
    """The oil in the drive; without a density leakage is scaled by kinematic viscosity alone."""

    name: str
    nu40_mm2s: float
    nu100_mm2s: float
    density15_kgm3: float | None = None


@dataclass(frozen=True)
class Conditions:
    """What else was so during the reading; pressures are gauge pressures, uncertainties are standard ones and from memory."""

    oil_temp_c: float | None = None
    engine_speed_rpm: float | None = None
    loop_pressure_bar: float | None = None  # high side
    charge_pressure_bar: float | None = None
    case_pressure_bar: float | None = None
    direction: str = ""  # forward, reverse or empty
    command: float = 2.0  # control position: 1 pump at full stroke, 2 motor at its smallest as well
    flushing_shut: bool = False  # the flushing valve is blocked, or the drive is in neutral
    drain_in_series: bool = False  # another unit's drain, or the charge relief, runs through the line measured
    oil_temp_uncertainty_k: float = 1.0
    engine_speed_share: float = 0.0025
    loop_pressure_uncertainty_bar: float = 3.0
    charge_pressure_uncertainty_bar: float = 0.3

    def __post_init__(self) -> None:
        """Refuse a direction that is none."""
        if self.direction not in ("", "forward", "reverse"):
            raise ValueError(f"direction must be forward, reverse or empty, got {self.direction!r}")
