"""The chart of a drive, against the closed balance of an invented drive whose figures were worked out by hand and against limit cases.

The drive: pump 100 cm3 at 2200 rpm, motor 160 to 80 cm3, volumetric efficiencies 0.95, hydromechanical 0.93, relief 420 bar, ratio 24,
rolling radius 0.75 m, engine 75 kW. By hand: 29.24 km/h at most, 30,238 N at the relief, corner at 6.62 km/h.
"""

import numpy as np
import pytest

from calcs.drive_chart import ChartSetting, chart_readings, drive_curve, loop_leakage, one_by_one, what_moves
from calcs.drive_spec import DriveSpec, Oil
from calcs.healthy import NotComparable

SPEC = DriveSpec(
    name="R",
    pump_displacement_cc=100,
    motor_displacement_max_cc=160,
    motor_displacement_min_cc=80,
    pump_volumetric_efficiency=0.95,
    motor_volumetric_efficiency=0.95,
    efficiency_at_speed_rpm=2200,
    efficiency_at_pressure_bar=420,
    efficiency_at_viscosity_mm2s=20.0,
    charge_displacement_cc=20,
    charge_volumetric_efficiency=0.9,
    charge_relief_bar=22,
    charge_rise_bar_per_lpm=0.06,
    relief_forward_bar=420,
    relief_reverse_bar=420,
    final_ratio=24,
    rolling_radius_m=0.75,
)
OIL = Oil("ISO VG 46", 46.0, 6.8, 870.0)
AT_20 = ChartSetting(
    load_bar=420,
    engine_speed_rpm=2200,
    engine_power_kw=75,
    pump_hydromechanical_efficiency=0.93,
    motor_hydromechanical_efficiency=0.93,
)
COMMANDS = np.array([0.0, 0.5, 1.0, 1.5, 2.0])


@pytest.fixture
def flat_oil():
    """An oil of 20 mm2/s at 15 °C, with the density that the stated efficiencies are reckoned with."""
    return Oil("flat", 20.001, 19.999, 850.0)


def at_20(**changes):
    return ChartSetting(**{**AT_20.__dict__, "oil_temp_c": 15.0, **changes})


def test_speed_at_full_control_is_the_one_worked_out_by_hand(flat_oil):
    curve = drive_curve(SPEC, flat_oil, at_20(), COMMANDS)
    assert curve.speed_kmh[-1] == pytest.approx(29.239, rel=2e-4)
    assert curve.relief_pull_n[0] == pytest.approx(30_237.5, rel=1e-5)


def test_the_corner_lies_where_relief_and_power_meet(flat_oil):
    curve = drive_curve(SPEC, flat_oil, at_20(), np.linspace(0, 2, 2001))
    assert curve.corner_speed_kmh == pytest.approx(6.6215, rel=2e-4)
    stage_one = curve.command <= 1
    below = stage_one & (curve.speed_kmh < 6.6) & (curve.speed_kmh > 0)
    assert np.all(curve.pull_n[below] == curve.relief_pull_n[below])
    above = (curve.speed_kmh > 6.65) & stage_one
    assert np.all(curve.pull_n[above] == curve.power_pull_n[above])


def test_neutral_gives_no_speed_and_wear_never_makes_it_faster(flat_oil):
    new, worn = (drive_curve(SPEC, flat_oil, at_20(wear_times=times), COMMANDS) for times in (1.0, 3.0))
    assert new.speed_kmh[0] == worn.speed_kmh[0] == 0
    assert np.all(worn.speed_kmh[1:] < new.speed_kmh[1:])


def test_pull_at_the_relief_stands_still_while_the_pump_is_stroked_and_falls_with_the_motor(flat_oil):
    relief = drive_curve(SPEC, flat_oil, at_20(), COMMANDS).relief_pull_n
    assert relief[0] == relief[1] == relief[2]
    assert relief[4] == pytest.approx(relief[0] / 2)


def test_leakage_follows_load_and_wear_in_proportion(flat_oil):
    base = loop_leakage(SPEC, flat_oil, at_20())
    assert base == pytest.approx(220 * (1 - 0.95 * 0.95), rel=1e-4)
    assert loop_leakage(SPEC, flat_oil, at_20(load_bar=210)) == pytest.approx(base / 2)
    assert loop_leakage(SPEC, flat_oil, at_20(wear_times=2.5)) == pytest.approx(base * 2.5)


def test_two_loops_pull_twice_as_hard_at_the_same_speed(flat_oil):
    one, two = (drive_curve(SPEC, flat_oil, at_20(loops=n), COMMANDS) for n in (1, 2))
    assert np.all(two.relief_pull_n == 2 * one.relief_pull_n)
    assert np.all(two.speed_kmh == one.speed_kmh)


def test_what_is_not_known_sets_no_limit(flat_oil):
    curve = drive_curve(SPEC, flat_oil, at_20(engine_power_kw=None), COMMANDS)
    assert np.isnan(curve.power_pull_n).all() and np.isnan(curve.corner_speed_kmh)
    assert np.all(curve.pull_n == curve.relief_pull_n)


def test_without_an_oil_there_is_no_chart():
    with pytest.raises(NotComparable, match="fluid unknown"):
        drive_curve(SPEC, None, AT_20, COMMANDS)


def test_warmer_oil_moves_the_case_drain_most_and_charge_stroked_more_than_neutral():
    cold, warm = (chart_readings(SPEC, OIL, ChartSetting(oil_temp_c=temp, load_bar=200)) for temp in (60.0, 80.0))
    moves = dict(what_moves(cold, warm))
    assert list(moves)[0] in ("pump_case_flow", "motor_case_flow") and moves["pump_case_flow"] > 0.5
    assert moves["charge_stroked"] < 0 and abs(moves["charge_stroked"]) > abs(moves.get("charge_neutral", 0))


def test_the_relief_moves_neither_with_wear_nor_with_temperature():
    new, worn = (chart_readings(SPEC, OIL, ChartSetting(wear_times=times)) for times in (1.0, 2.0))
    assert "main_relief" not in dict(what_moves(new, worn))


def test_steps_lead_from_one_setting_to_the_other():
    before, after = ChartSetting(), ChartSetting(oil_temp_c=80.0, load_bar=300.0, command=1.0)
    steps = one_by_one(before, after)
    assert steps[0][1] == before and steps[-1][2] == after
    assert all(earlier[2] == later[1] for earlier, later in zip(steps, steps[1:], strict=False))


def test_an_engine_with_power_to_spare_leaves_no_corner(flat_oil):
    curve = drive_curve(SPEC, flat_oil, at_20(engine_power_kw=400), np.linspace(0, 2, 201))
    assert np.isnan(curve.corner_speed_kmh)
    assert np.all(curve.pull_n == curve.relief_pull_n)
