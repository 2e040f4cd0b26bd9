"""The chart of a drive: speed and pull over the control position, and which readings move when something changes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from calcs import drive, pull
from calcs.drive_spec import Conditions, DriveSpec, Oil
from calcs.healthy import READINGS, HealthyDrive, NotComparable

FINAL_EFFICIENCY = 0.95  # gears from motor to wheel; common practice, no source
CHART_READINGS = ("pump_case_flow", "motor_case_flow", "charge_neutral", "charge_stroked", "main_relief", "output_speed")
MOVES_NOT = 0.0005  # a smaller share than this is no movement that a gauge could show


@dataclass(frozen=True)
class ChartSetting:
    """Where the sliders stand, and the machine around the drive; None where the machine's figure is not known."""

    command: float = 2.0
    load_bar: float = 200.0
    oil_temp_c: float = 60.0
    wear_times: float = 1.0
    engine_speed_rpm: float = 2200.0
    engine_power_kw: float | None = None
    driven_load_n: float | None = None
    traction_coefficient: float = 0.5
    pump_hydromechanical_efficiency: float | None = None
    motor_hydromechanical_efficiency: float | None = None
    loops: int = 1


@dataclass(frozen=True)
class DriveCurve:
    """Arrays over the control position; a limit that is not known is NaN, `pull_n` is the least of those known."""

    command: np.ndarray
    speed_kmh: np.ndarray
    relief_pull_n: np.ndarray
    power_pull_n: np.ndarray
    traction_pull_n: np.ndarray
    pull_n: np.ndarray
    leakage_lpm: float
    corner_speed_kmh: float
    load_pull_n: np.ndarray


class WornDrive(HealthyDrive):
    """A drive whose leakages have grown, all by the same factor."""

    wear_times = 1.0

    def pump_coefficient(self) -> float:
        """Return the leakage coefficient of the worn pump [m3]."""
        return super().pump_coefficient() * self.wear_times

    def motor_coefficient(self) -> float:
        """Return the leakage coefficient of the worn motors of the loop [m3]."""
        return super().motor_coefficient() * self.wear_times

    def setting_overflow(self) -> float:
        """Return what flowed over the charge relief when it was set, on the drive as new [L/min]."""
        return HealthyDrive(self.spec, None, Conditions()).setting_overflow()


def worn_drive(spec: DriveSpec, oil: Oil | None, setting: ChartSetting, is_loaded: bool = True) -> WornDrive:
    """Return the drive under a setting, ready to be asked for its readings.

    Parameters
    ----------
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive [-]
    setting : ChartSetting
        Where the sliders stand [-]
    is_loaded : bool
        False with the wheels free of load [-]

    Returns
    -------
    drive : WornDrive
        The drive [-]

    Examples
    --------
    >>> worn_drive(DriveSpec(), None, ChartSetting(wear_times=2)).wear_times
    2

    Source
    ------
    House rule.
    """
    load = setting.load_bar if is_loaded else None
    command = max(setting.command, 1.0)  # readings are taken with the pump at full stroke
    given = Conditions(setting.oil_temp_c, setting.engine_speed_rpm, loop_pressure_bar=load, direction="forward", command=command)
    found = WornDrive(spec, oil, given)
    found.wear_times = setting.wear_times
    return found


def loop_leakage(spec: DriveSpec, oil: Oil | None, setting: ChartSetting) -> float:
    """Return the leakage of pump and motors of one loop together under a setting.

    Law
    ---
    Q = w (K_pump + K_motors) p/mu

    Parameters
    ----------
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive; NotComparable if None [-]
    setting : ChartSetting
        Where the sliders stand [-]

    Returns
    -------
    leakage : float
        Leakage of the loop [L/min]

    Examples
    --------
    >>> spec = DriveSpec(pump_displacement_cc=100, pump_volumetric_efficiency=0.95, motor_volumetric_efficiency=0.95,
    ...                  efficiency_at_speed_rpm=2200, efficiency_at_pressure_bar=420, efficiency_at_viscosity_mm2s=20.0)
    >>> oil = Oil("flat", 20.001, 19.999, 850)
    >>> round(loop_leakage(spec, oil, ChartSetting(load_bar=420, oil_temp_c=15)), 1)
    21.4

    Source
    ------
    The laws of `calcs.leakage`; drive of invented figures in the tests.
    """
    worn = worn_drive(spec, oil, setting)
    return float(sum(worn.loaded_leaks(setting.load_bar, worn.dynamic())))


def drive_curve(spec: DriveSpec, oil: Oil | None, setting: ChartSetting, command: np.ndarray) -> DriveCurve:
    """Return speed and pull of the machine over the control position.

    Law
    ---
    F = min(F_relief, F_power, F_traction) at the speed of each position

    Parameters
    ----------
    spec : DriveSpec
        The drive model in its machine [-]
    oil : Oil or None
        The oil in the drive; NotComparable if None [-]
    setting : ChartSetting
        Where the sliders stand; its own command is left out [-]
    command : array
        Control positions, 0 to 2 [-]

    Returns
    -------
    curve : DriveCurve
        Speeds and pulls by position [km/h and N]

    Examples
    --------
    >>> spec = DriveSpec(pump_displacement_cc=100, motor_displacement_max_cc=160, motor_displacement_min_cc=80, relief_forward_bar=420,
    ...                  pump_volumetric_efficiency=0.95, motor_volumetric_efficiency=0.95, efficiency_at_speed_rpm=2200,
    ...                  efficiency_at_pressure_bar=420, efficiency_at_viscosity_mm2s=20.0, final_ratio=24, rolling_radius_m=0.75)
    >>> setting = ChartSetting(load_bar=420, oil_temp_c=15, motor_hydromechanical_efficiency=0.93)
    >>> curve = drive_curve(spec, Oil("flat", 20.001, 19.999, 850), setting, np.array([0.0, 2.0]))
    >>> float(curve.speed_kmh[0]), float(curve.relief_pull_n.round(0)[0])
    (0.0, 30238.0)

    Source
    ------
    The laws of `calcs.drive` and `calcs.pull`; drive of invented figures in the tests.
    """
    leakage = loop_leakage(spec, oil, setting)
    worn = worn_drive(spec, oil, setting)
    turned_rpm = worn.need("engine_speed_rpm") * spec.pump_speed_ratio
    largest = worn.need("motor_displacement_max_cc")
    motor_cc = drive.motor_displacement(command, largest, spec.motor_displacement_min_cc or largest)
    given = (worn.need("pump_displacement_cc"), turned_rpm, motor_cc, leakage, spec.motors_per_pump)
    turns = drive.motor_speed(drive.pump_stroke(command), *given)
    speed = np.asarray(drive.ground_speed(turns, worn.need("final_ratio"), worn.need("rolling_radius_m"), spec.slip_share))
    relief, loaded = (_pulls(spec, setting, motor_cc, bar) for bar in (worn.need("relief_forward_bar"), setting.load_bar))
    efficiency = total_efficiency(spec, setting, leakage)
    power = _power_pull(setting, efficiency, speed)
    ground = _traction(setting, speed)
    least = np.fmin(np.fmin(relief, power), ground)
    turns_full = drive.motor_speed(1.0, given[0], turned_rpm, largest, leakage, spec.motors_per_pump)
    stroked = float(drive.ground_speed(turns_full, spec.final_ratio, spec.rolling_radius_m, spec.slip_share))
    corner = _corner(setting, efficiency, _pulls(spec, setting, largest, spec.relief_forward_bar), stroked)
    return DriveCurve(np.asarray(command), speed, relief, power, ground, least, leakage, corner, loaded)


def _corner(setting: ChartSetting, efficiency: float | None, relief_pull_n: np.ndarray, stroked_kmh: float) -> float:
    """Return where power takes over from the relief; NaN if it never does: flattening the motor lowers both limits alike [km/h]."""
    if not (setting.engine_power_kw and efficiency and np.isfinite(relief_pull_n)):
        return float("nan")
    corner = float(pull.corner_speed(setting.engine_power_kw, efficiency, relief_pull_n))
    return corner if corner <= stroked_kmh else float("nan")


def _pulls(spec: DriveSpec, setting: ChartSetting, motor_cc, pressure_bar: float) -> np.ndarray:
    """Return the pull of all loops at a pressure by motor displacement; NaN where the motor's efficiency is not known [N]."""
    if setting.motor_hydromechanical_efficiency is None:
        return np.full(np.shape(motor_cc), np.nan)
    given = (setting.motor_hydromechanical_efficiency, spec.final_ratio, spec.rolling_radius_m, FINAL_EFFICIENCY)
    return np.asarray(pull.relief_limited_pull(motor_cc, pressure_bar, *given, motors=spec.motors_per_pump * setting.loops))


def _power_pull(setting: ChartSetting, efficiency: float | None, speed_kmh: np.ndarray) -> np.ndarray:
    if setting.engine_power_kw is None or not efficiency:
        return np.full(speed_kmh.shape, np.nan)
    moving = np.maximum(speed_kmh, 1e-6)
    return np.where(speed_kmh > 0, pull.power_limited_pull(setting.engine_power_kw, efficiency, moving), np.nan)


def _traction(setting: ChartSetting, speed_kmh: np.ndarray) -> np.ndarray:
    if setting.driven_load_n is None:
        return np.full(speed_kmh.shape, np.nan)
    return np.full(speed_kmh.shape, pull.traction_limited_pull(setting.driven_load_n, setting.traction_coefficient))


def total_efficiency(spec: DriveSpec, setting: ChartSetting, leakage_lpm: float) -> float | None:
    """Return what share of the engine's power reaches the tyres with the pump at full stroke.

    Law
    ---
    eta = eta_hm,p eta_hm,m eta_f (1 - Q_leak/Q)

    Parameters
    ----------
    spec : DriveSpec
        The drive model [-]
    setting : ChartSetting
        Where the sliders stand [-]
    leakage_lpm : float
        Leakage of the loop [L/min]

    Returns
    -------
    efficiency : float or None
        Share, zero where all flow leaks; None where an efficiency is not known [-]

    Examples
    --------
    >>> spec = DriveSpec(pump_displacement_cc=100)
    >>> setting = ChartSetting(engine_speed_rpm=2200, pump_hydromechanical_efficiency=0.93, motor_hydromechanical_efficiency=0.93)
    >>> round(total_efficiency(spec, setting, leakage_lpm=21.45), 4)
    0.7415

    Source
    ------
    ISO 4391 efficiencies multiplied; the final drive is common practice, no source.
    """
    if setting.pump_hydromechanical_efficiency is None or setting.motor_hydromechanical_efficiency is None:
        return None
    given = spec.pump_displacement_cc * setting.engine_speed_rpm * spec.pump_speed_ratio / 1000
    left = max(1 - leakage_lpm / given, 0.0)
    return setting.pump_hydromechanical_efficiency * setting.motor_hydromechanical_efficiency * FINAL_EFFICIENCY * left


def chart_readings(spec: DriveSpec, oil: Oil | None, setting: ChartSetting) -> dict[str, float]:
    """Return what the gauges would show under a setting; what has no expected value is left out.

    Parameters
    ----------
    spec : DriveSpec
        The drive model in its machine [-]
    oil : Oil or None
        The oil in the drive [-]
    setting : ChartSetting
        Where the sliders stand; speeds are read with the wheels free of load [-]

    Returns
    -------
    readings : dict
        Reading by code of the quantity [house unit]

    Examples
    --------
    >>> chart_readings(DriveSpec(relief_forward_bar=400, charge_relief_bar=22), None, ChartSetting())["main_relief"]
    422.0

    Source
    ------
    The laws of `calcs.healthy`.
    """
    found = {}
    for code in CHART_READINGS:
        worn = worn_drive(spec, oil, setting, is_loaded=code != "output_speed")
        try:
            found[code] = float(READINGS[code](worn))
        except NotComparable:
            continue
    return found


def what_moves(before: dict[str, float], after: dict[str, float]) -> list[tuple[str, float]]:
    """Return which readings change and by what share, the one that moves most first.

    Parameters
    ----------
    before : dict
        Readings by code [house unit]
    after : dict
        The same under another setting [house unit]

    Returns
    -------
    moves : list
        Code and signed share of change; what no gauge could show is left out [-]

    Examples
    --------
    >>> what_moves({"a": 10.0, "b": 2.0}, {"a": 9.0, "b": 3.0})
    [('b', 0.5), ('a', -0.1)]

    Source
    ------
    House rule.
    """
    shares = [(code, round(after[code] / value - 1, 6)) for code, value in before.items() if value and code in after]
    return sorted([pair for pair in shares if abs(pair[1]) > MOVES_NOT], key=lambda pair: -abs(pair[1]))


def one_by_one(before: ChartSetting, after: ChartSetting) -> list[tuple[str, ChartSetting, ChartSetting]]:
    """Return the change from one setting to another as steps that change one thing each.

    Parameters
    ----------
    before : ChartSetting
        Where the sliders stood [-]
    after : ChartSetting
        Where they stand [-]

    Returns
    -------
    steps : list
        Name of what changed, setting before, setting after [-]

    Examples
    --------
    >>> [step[0] for step in one_by_one(ChartSetting(), ChartSetting(oil_temp_c=80.0, wear_times=2.0))]
    ['oil_temp_c', 'wear_times']

    Source
    ------
    House rule.
    """
    steps, here = [], before
    for name in ("oil_temp_c", "wear_times", "load_bar", "command", "traction_coefficient"):
        if getattr(here, name) != getattr(after, name):
            there = replace(here, **{name: getattr(after, name)})
            steps.append((name, here, there))
            here = there
    return steps
