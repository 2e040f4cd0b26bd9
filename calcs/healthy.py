"""What a healthy drive reads, quantity by quantity, from the laws of the drive; each step is put on paper as it is taken."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numpy as np

from calcs import charge, drive, leakage
from calcs.drive_spec import Conditions, DriveSpec, Oil
from calcs.fluid import density_at, dynamic_viscosity, viscosity_at
from calcs.gate import Number, plain
from calcs.heat import throttled_rise_k
from calcs.piston_unit import theoretical_flow

CONSTANT_DENSITY_KGM3 = 850.0  # mineral oil, warm; stands on both sides of a ratio; from memory
NO_LOAD_BAR = 40.0  # loop pressure of wheels turning free, where none was read; from memory, a shop setting
WANTED = {
    "oil_temp_c": "no oil temperature",
    "engine_speed_rpm": "no engine speed",
    "loop_pressure_bar": "no loop pressure",
    "pump_displacement_cc": "no pump displacement on record",
    "motor_displacement_max_cc": "no motor displacement on record",
    "charge_displacement_cc": "no charge pump displacement on record",
    "charge_volumetric_efficiency": "no charge pump efficiency on record",
    "charge_relief_bar": "no charge relief setting on record",
    "relief_forward_bar": "no forward relief setting on record",
    "relief_reverse_bar": "no reverse relief setting on record",
    "pump_volumetric_efficiency": "no efficiency of the new pump on record",
    "motor_volumetric_efficiency": "no efficiency of the new motor on record",
    "efficiency_at_speed_rpm": "no speed on record at which the efficiencies hold",
    "efficiency_at_pressure_bar": "no pressure on record at which the efficiencies hold",
    "efficiency_at_viscosity_mm2s": "no viscosity on record at which the efficiencies hold",
    "flushing_flow_lpm": "no flushing flow on record",
    "final_ratio": "no final drive ratio on record",
    "rolling_radius_m": "no rolling radius on record",
    "case_pressure_limit_bar": "no case pressure limit on record",
    "charge_inlet_limit_bar": "no charge inlet limit on record",
    "filter_limit_bar": "no limit of the filter difference on record",
    "stroke_time_s": "no stroke time on record",
}


class NotComparable(ValueError):
    """There is nothing to compare a reading with; `reason` is one clear sentence."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


class NoPaper:
    """Takes the same steps as a working without writing them down."""

    def take(self, function: Callable, /, named: str = "", **given: Any) -> Any:
        """Call `function` with `given`."""
        return function(**given)

    def note(self, name: str, value: Any, unit: str, source: str) -> Any:
        """Return `value`."""
        return value


class HealthyDrive:
    """A drive as new, with its oil, under the conditions of one test; each method gives one reading in house units."""

    def __init__(self, spec: DriveSpec, oil: Oil | None, conditions: Conditions, paper: Any = None) -> None:
        self.spec, self.oil, self.conditions = spec, oil, conditions
        self.paper = paper or NoPaper()

    def need(self, name: str) -> Any:
        """Return a fact of the conditions or of the drive model; without it there is no expected value."""
        value = getattr(self.conditions if hasattr(self.conditions, name) else self.spec, name)
        if value is None:
            raise NotComparable(f"{WANTED[name]}: no expected value")
        return value

    # oil and leakage

    def dynamic(self) -> Number:
        """Return the dynamic viscosity of the oil at the temperature of the test [mPa.s]."""
        if self.oil is None:
            raise NotComparable("fluid unknown: no expected value")
        temp, oil, take = self.need("oil_temp_c"), self.oil, self.paper.take
        try:
            viscosity = take(viscosity_at, oil_temp_c=temp, nu40_mm2s=oil.nu40_mm2s, nu100_mm2s=oil.nu100_mm2s)
        except ValueError as refused:
            raise NotComparable(f"viscosity of {oil.name} cannot be given ({refused}): no expected value") from refused
        if oil.density15_kgm3 is None:
            density = self.paper.note("Density, taken as constant", CONSTANT_DENSITY_KGM3, "kg/m3", "from memory")
        else:
            density = take(density_at, oil_temp_c=temp, density15_kgm3=oil.density15_kgm3)
        return take(dynamic_viscosity, viscosity_mm2s=viscosity, density_kgm3=density)

    def stated_dynamic(self) -> float:
        """Return the dynamic viscosity at which the efficiencies of the new drive hold [mPa.s]."""
        return dynamic_viscosity(self.need("efficiency_at_viscosity_mm2s"), CONSTANT_DENSITY_KGM3)

    def pump_coefficient(self) -> float:
        """Return the leakage coefficient of the new pump [m3]."""
        return self.paper.take(
            leakage.baseline_coefficient,
            volumetric_efficiency=self.need("pump_volumetric_efficiency"),
            displacement_cc=self.need("pump_displacement_cc"),
            speed_rpm=self.need("efficiency_at_speed_rpm"),
            pressure_bar=self.need("efficiency_at_pressure_bar"),
            dynamic_mpas=self.stated_dynamic(),
        )

    def motor_coefficient(self) -> float:
        """Return the leakage coefficient of all new motors of the loop together [m3]."""
        delivered = theoretical_flow(self.need("pump_displacement_cc"), self.need("efficiency_at_speed_rpm"))
        return self.paper.take(
            leakage.motor_baseline_coefficient,
            volumetric_efficiency=self.need("motor_volumetric_efficiency"),
            flow_lpm=delivered * self.need("pump_volumetric_efficiency"),
            pressure_bar=self.need("efficiency_at_pressure_bar"),
            dynamic_mpas=self.stated_dynamic(),
        )

    def leak(self, coefficient_m3: float, pressure_bar: Number, dynamic_mpas: Number, named: str) -> Number:
        """Return a leakage at a pressure above case [L/min]."""
        given = {"coefficient_m3": coefficient_m3, "pressure_bar": pressure_bar, "dynamic_mpas": dynamic_mpas}
        return self.paper.take(leakage.predicted_leakage, named, **given)

    def above_case(self, name: str = "loop_pressure_bar") -> Number:
        """Return a gauge pressure less case pressure, not below zero; a case pressure not read counts as zero [bar]."""
        return plain(np.maximum(self.need(name) - (self.conditions.case_pressure_bar or 0.0), 0.0))

    def loaded_leaks(self, pressure_bar: Number, dynamic_mpas: Number) -> tuple[Number, Number]:
        """Return the leakage of the pump and of all motors at a pressure above case [L/min]."""
        pump = self.leak(self.pump_coefficient(), pressure_bar, dynamic_mpas, "Leakage of the pump, as new")
        motors = self.leak(self.motor_coefficient(), pressure_bar, dynamic_mpas, "Leakage of the motors, as new")
        return pump, motors

    # charge circuit

    def charge_speed(self) -> Number:
        """Return the speed of the charge pump [rev/min]."""
        return self.need("engine_speed_rpm") * self.spec.charge_ratio

    def charge_setting_speed(self) -> float:
        """Return the speed of the charge pump at which its relief was set [rev/min]."""
        if self.spec.charge_setting_speed_rpm is not None:
            return self.spec.charge_setting_speed_rpm
        return self.need("efficiency_at_speed_rpm") * self.spec.charge_ratio / self.spec.pump_speed_ratio

    def delivery(self, charge_speed_rpm: Number, dynamic_mpas: Number) -> Number:
        """Return the flow of the charge pump [L/min]."""
        efficiency = self.paper.take(
            charge.charge_efficiency_at,
            volumetric_efficiency=self.need("charge_volumetric_efficiency"),
            charge_speed_rpm=charge_speed_rpm,
            stated_speed_rpm=self.charge_setting_speed(),
            dynamic_mpas=dynamic_mpas,
            stated_dynamic_mpas=self.stated_dynamic(),
        )
        displacement = self.need("charge_displacement_cc")
        given = {"charge_displacement_cc": displacement, "charge_speed_rpm": charge_speed_rpm, "volumetric_efficiency": efficiency}
        return self.paper.take(charge.charge_delivery, **given)

    def charge_delivery(self) -> Number:
        """Return the flow of the charge pump under the conditions of the test [L/min]."""
        return self.delivery(self.charge_speed(), self.dynamic())

    def overflow(self, charge_speed_rpm: Number, dynamic_mpas: Number, pressure_bar: Number, flushing_lpm: float = 0.0) -> Number:
        """Return what flows over the charge relief with the loop at a pressure above case [L/min]."""
        pump, motors = self.loaded_leaks(pressure_bar, dynamic_mpas)
        servo = self.spec.servo_flow_lpm or 0.0
        given = {"pump_leakage_lpm": pump, "motor_leakage_lpm": motors, "flushing_lpm": flushing_lpm, "servo_lpm": servo}
        need = self.paper.take(charge.charge_need, **given)
        delivery = self.delivery(charge_speed_rpm, dynamic_mpas)
        if np.all(np.asarray(delivery) <= need):
            raise NotComparable("even the new drive would leak more than the charge pump gives under these conditions: no expected value")
        return self.paper.take(charge.charge_overflow, delivery_lpm=delivery, need_lpm=need)

    def setting_overflow(self) -> Number:
        """Return what flowed over the charge relief when it was set [L/min]."""
        if isinstance(self.paper, NoPaper):
            return setting_overflow_of(self.spec)
        return self.overflow(self.charge_setting_speed(), self.stated_dynamic(), self.need("charge_relief_bar"))

    def charge_gauge(self, setting_bar: float, overflow_lpm: Number, setting_overflow_lpm: Number) -> Number:
        """Return the charge pressure at the gauge [bar]."""
        return self.paper.take(
            charge.charge_pressure,
            setting_bar=setting_bar,
            overflow_lpm=overflow_lpm,
            setting_overflow_lpm=setting_overflow_lpm,
            rise_bar_per_lpm=self.spec.charge_rise_bar_per_lpm or 0.0,
            case_bar=self.conditions.case_pressure_bar or 0.0,
        )

    def charge_neutral(self) -> Number:
        """Return the charge pressure in neutral; without a slope of the relief its setting alone [bar]."""
        setting = self.need("charge_relief_bar")
        if self.spec.charge_rise_bar_per_lpm is None:
            return self.charge_gauge(setting, 0.0, 0.0)
        return self.charge_gauge(setting, self.overflow(self.charge_speed(), self.dynamic(), setting), self.setting_overflow())

    def stroked_setting(self) -> tuple[float, float]:
        """Return which setting holds the charge pressure while stroked [bar], and the flushing that does not pass it [L/min]."""
        setting = self.need("charge_relief_bar")
        if self.conditions.flushing_shut:
            return setting, 0.0
        if self.spec.flushing_relief_bar is None:
            return setting, self.spec.flushing_flow_lpm or 0.0
        return self.spec.flushing_relief_bar, 0.0  # what is left flows over the flushing relief

    def charge_stroked(self) -> Number:
        """Return the charge pressure with the loop loaded, held by the flushing relief where there is one [bar]."""
        setting, flushing_lpm = self.stroked_setting()
        if self.spec.charge_rise_bar_per_lpm is None:
            return self.charge_gauge(setting, 0.0, 0.0)
        overflow = self.overflow(self.charge_speed(), self.dynamic(), self.above_case(), flushing_lpm)
        return self.charge_gauge(setting, overflow, self.setting_overflow())

    # relief

    def main_relief(self) -> Number:
        """Return the gauge pressure at which the main relief of the direction opens [bar]."""
        return self.paper.take(charge.relief_at_gauge, setting_bar=self.relief_setting(), charge_bar=self.charge_beside())

    def relief_setting(self) -> float:
        """Return the relief setting of the direction, above the low side [bar]."""
        if self.conditions.direction:
            return self.need(f"relief_{self.conditions.direction}_bar")
        forward, reverse = self.need("relief_forward_bar"), self.need("relief_reverse_bar")
        if forward != reverse:
            raise NotComparable("no direction, and the two reliefs are set apart: no expected value")
        return forward

    def charge_beside(self) -> Number:
        """Return the charge pressure read beside the relief, or else its setting [bar]."""
        if self.conditions.charge_pressure_bar is not None:
            return self.conditions.charge_pressure_bar
        setting = self.need("charge_relief_bar") + (self.conditions.case_pressure_bar or 0.0)
        return self.paper.note("Charge pressure, not read, taken from its setting", setting, "bar", "drive model record")

    # drains

    def refuse_mixed_drain(self) -> None:
        """Refuse a drain line that carries the charge overflow: it reads charge flow whatever the wear."""
        if self.conditions.drain_in_series:
            raise NotComparable("the drain is plumbed in series, so it reads charge flow whatever the wear: no expected value")

    def flow_by_design(self, code: str) -> float:
        """Return the part of a drain flow that is there by design and wears with nothing [L/min]."""
        servo = self.spec.servo_flow_lpm or 0.0
        flushing = 0.0 if self.conditions.flushing_shut else self.spec.flushing_flow_lpm or 0.0
        parts = {"pump_case_flow": servo, "motor_case_flow": flushing / self.spec.motors_per_pump, "total_case_return": servo + flushing}
        return parts.get(code, 0.0)

    def pump_case_flow(self) -> Number:
        """Return the flow in the pump's own case drain [L/min]."""
        self.refuse_mixed_drain()
        if self.spec.charge_relief_to_case:
            raise NotComparable("the charge relief empties into the pump case, so its drain does not show leakage: no expected value")
        leak = self.leak(self.pump_coefficient(), self.above_case(), self.dynamic(), "Leakage of the pump, as new")
        return self.paper.take(charge.case_flow, leakage_lpm=leak, by_design_lpm=self.flow_by_design("pump_case_flow"))

    def motor_case_flow(self) -> Number:
        """Return the flow in the case drain of one motor [L/min]."""
        self.refuse_mixed_drain()
        share = self.motor_coefficient() / self.spec.motors_per_pump
        leak = self.leak(share, self.above_case(), self.dynamic(), "Leakage of one motor, as new")
        return self.paper.take(charge.case_flow, leakage_lpm=leak, by_design_lpm=self.flow_by_design("motor_case_flow"))

    def total_case_return(self) -> Number:
        """Return what comes back from all cases without the charge overflow [L/min]."""
        self.refuse_mixed_drain()
        if self.spec.charge_relief_to_case:
            raise NotComparable(
                "the charge relief empties into a case, so the return reads charge flow whatever the wear: no expected value"
            )
        pump, motors = self.loaded_leaks(self.above_case(), self.dynamic())
        flushing = 0.0 if self.conditions.flushing_shut else self.spec.flushing_flow_lpm or 0.0
        given = {"pump_leakage_lpm": pump, "motor_leakage_lpm": motors, "flushing_lpm": flushing}
        return self.paper.take(charge.charge_need, **given, servo_lpm=self.spec.servo_flow_lpm or 0.0)

    def drain_temp_rise(self) -> Number:
        """Return how much warmer the oil leaves a case than it came in, its pressure spent in the gaps [K]."""
        return self.paper.take(throttled_rise_k, pressure_drop_bar=self.above_case())

    def flushing_flow(self) -> float:
        """Return the loop flushing flow of the model [L/min]."""
        return self.paper.note("Loop flushing flow", self.need("flushing_flow_lpm"), "L/min", "drive model record")

    # speeds

    def output_speed(self) -> Number:
        """Return the speed of the motor shaft at the control position, without sign [rev/min]."""
        stroke = drive.pump_stroke(abs(self.conditions.command))
        if self.conditions.direction == "reverse":
            stroke *= self.spec.reverse_stroke_share
        pump, motors = self.loaded_leaks(self.free_pressure(), self.dynamic())
        return self.paper.take(
            drive.motor_speed,
            stroke=stroke,
            pump_displacement_cc=self.need("pump_displacement_cc"),
            pump_speed_rpm=self.need("engine_speed_rpm") * self.spec.pump_speed_ratio,
            motor_displacement_cc=self.motor_displacement(),
            leakage_lpm=pump + motors,
            motors=self.spec.motors_per_pump,
        )

    def motor_displacement(self) -> float:
        """Return the motor displacement at the control position [cm3/rev]."""
        largest = self.need("motor_displacement_max_cc")
        smallest = self.spec.motor_displacement_min_cc or largest
        return self.paper.take(drive.motor_displacement, command=self.conditions.command, motor_max_cc=largest, motor_min_cc=smallest)

    def free_pressure(self) -> Number:
        """Return the loop pressure above case with wheels free, where none was read a usual one [bar]."""
        if self.conditions.loop_pressure_bar is not None:
            return self.above_case()
        return self.paper.note("Loop pressure with wheels free, not read", NO_LOAD_BAR, "bar", "from memory; a shop setting")

    def top_speed(self) -> Number:
        """Return the ground speed at the control position, without sign [km/h]."""
        return self.paper.take(
            drive.ground_speed,
            motor_speed_rpm=self.output_speed(),
            final_ratio=self.need("final_ratio"),
            rolling_radius_m=self.need("rolling_radius_m"),
            slip_share=self.spec.slip_share,
        )

    def neutral_creep(self) -> float:
        """Return the speed of the motor shaft in neutral: none [rev/min]."""
        return self.paper.note("A drive in neutral stands still", 0.0, "rev/min", "common practice, no source")

    # limits and times that stand on record

    def recorded(self, name: str, label: str, unit: str) -> float:
        """Return a figure of the drive model that is not worked out."""
        return self.paper.note(label, self.need(name), unit, "drive model record")

    def case_pressure(self) -> float:
        """Return the highest case pressure allowed [bar]."""
        return self.recorded("case_pressure_limit_bar", "Highest case pressure allowed", "bar")

    def charge_inlet_pressure(self) -> float:
        """Return the lowest absolute pressure allowed at the charge inlet [bar]."""
        return self.recorded("charge_inlet_limit_bar", "Lowest charge inlet pressure allowed, absolute", "bar")

    def filter_differential(self) -> float:
        """Return the highest pressure difference allowed across the charge filter [bar]."""
        return self.recorded("filter_limit_bar", "Highest filter difference allowed", "bar")

    def stroke_time(self) -> float:
        """Return the time from neutral to full stroke [s]."""
        return self.recorded("stroke_time_s", "Time from neutral to full stroke", "s")


@lru_cache(maxsize=1024)
def setting_overflow_of(spec: DriveSpec) -> float:
    """Return what flowed over the charge relief of a drive model when it was set.

    Parameters
    ----------
    spec : DriveSpec
        The drive model [-]

    Returns
    -------
    overflow : float
        Flow over the charge relief in neutral, new, at the stated speed and viscosity; NotComparable if a figure is missing [L/min]

    Examples
    --------
    >>> setting_overflow_of(DriveSpec())
    Traceback (most recent call last):
    calcs.healthy.NotComparable: no charge relief setting on record: no expected value

    Source
    ------
    Balance of the charge circuit, as in `calcs.charge`.
    """
    drive = HealthyDrive(spec, None, Conditions())
    setting = drive.need("charge_relief_bar")
    return drive.overflow(drive.charge_setting_speed(), drive.stated_dynamic(), setting)


READINGS: dict[str, Callable[[HealthyDrive], Number]] = {
    "charge_neutral": HealthyDrive.charge_neutral,
    "charge_neutral_idle": HealthyDrive.charge_neutral,
    "charge_stroked": HealthyDrive.charge_stroked,
    "main_relief": HealthyDrive.main_relief,
    "pump_case_flow": HealthyDrive.pump_case_flow,
    "motor_case_flow": HealthyDrive.motor_case_flow,
    "total_case_return": HealthyDrive.total_case_return,
    "case_pressure": HealthyDrive.case_pressure,
    "charge_inlet_pressure": HealthyDrive.charge_inlet_pressure,
    "flushing_flow": HealthyDrive.flushing_flow,
    "top_speed": HealthyDrive.top_speed,
    "output_speed": HealthyDrive.output_speed,
    "neutral_creep": HealthyDrive.neutral_creep,
    "stroke_time": HealthyDrive.stroke_time,
    "filter_differential": HealthyDrive.filter_differential,
    "drain_temp_rise": HealthyDrive.drain_temp_rise,
}
