"""The limits each law of the drive states: what lies on them, just inside and just beyond."""

import numpy as np
import pytest

from calcs import charge, drive, efficiency, gaps, losses, piston_unit
from tests.golden import golden

ABOVE = (None, None)  # above zero, no upper end
FROM_ZERO = (0, None)
SHARE = (0, 1)
UP_TO_1 = (None, 1)  # above zero, 1 let in
PISTONS = {"pistons": ((3, 15), 9)}
PUMP = {"displacement_cc": (ABOVE, 100)}
LAW_LIMITS = [
    (losses.laminar_leakage, {"slip": 1e-9, "pressure_bar": 200}, {**PUMP, "dynamic_mpas": (ABOVE, 20)}),
    (losses.turbulent_leakage, {"slip": 1e-9}, {**PUMP, "density_kgm3": (ABOVE, 870), "pressure_bar": ((0, 2000), 200)}),
    (
        losses.compression_loss,
        {"displacement_cc": 100, "speed_rpm": 2000, "pressure_bar": 200},
        {"bulk_modulus_bar": (ABOVE, 17000), "fraction": ((-1, 1), 0.5)},
    ),
    (
        losses.torque_loss,
        {"speed_rpm": 2000, "pressure_bar": 200, "coefficients": (23.5e3, 0.0537, 53.6)},
        {**PUMP, "dynamic_mpas": (ABOVE, 28), "density_kgm3": (ABOVE, 870), "fraction": ((-1, 1), 0.5)},
    ),
    (losses.model_volumetric_efficiency, {"lost_lpm": 1}, {**PUMP, "speed_rpm": (ABOVE, 2000), "fraction": (ABOVE, 1)}),
    (losses.model_hydromechanical_efficiency, {"lost_nm": 1}, {**PUMP, "pressure_bar": (ABOVE, 200), "fraction": (ABOVE, 1)}),
    (
        gaps.slot_flow,
        {"pressure_bar": 100},
        {"gap_um": ((0, 1000), 20), "width_mm": (ABOVE, 10), "length_mm": (ABOVE, 10), "dynamic_mpas": (ABOVE, 20)},
    ),
    (
        gaps.piston_leakage,
        {"pressure_bar": 100, "clearance_um": 15},
        {"bore_mm": (ABOVE, 20), "length_mm": (ABOVE, 35), "dynamic_mpas": (ABOVE, 20), "eccentricity": (SHARE, 0.5)},
    ),
    (
        gaps.slipper_leakage,
        {"pocket_bar": 285, "outer_mm": 12.5},
        {"film_um": ((0, 1000), 15), "inner_mm": (ABOVE, 8.5), "dynamic_mpas": (ABOVE, 20)},
    ),
    (
        gaps.valve_plate_leakage,
        {"radii_mm": (30, 34, 42, 46), "pressure_bar": 300},
        {"film_um": ((0, 1000), 10), "sector_deg": ((None, 360), 180), "dynamic_mpas": (ABOVE, 20)},
    ),
    (
        charge.charge_delivery,
        {},
        {"volumetric_efficiency": (UP_TO_1, 0.9), "charge_displacement_cc": (ABOVE, 20), "charge_speed_rpm": (FROM_ZERO, 2200)},
    ),
    (
        charge.charge_efficiency_at,
        {"volumetric_efficiency": 0.9},
        {
            "charge_speed_rpm": (ABOVE, 2000),
            "stated_speed_rpm": (ABOVE, 1800),
            "dynamic_mpas": (ABOVE, 20),
            "stated_dynamic_mpas": (ABOVE, 27),
        },
    ),
    (charge.charge_margin, {"need_lpm": 30}, {"delivery_lpm": (ABOVE, 40)}),
    (charge.growth_at_collapse, {"delivery_lpm": 40, "other_need_lpm": 10}, {"leakage_lpm": (ABOVE, 20)}),
    (charge.drop_share, {"stroked_bar": 20}, {"neutral_bar": (ABOVE, 22)}),
    (charge.relief_at_gauge, {"charge_bar": 22}, {"setting_bar": (ABOVE, 420)}),
    (piston_unit.swash_displacement, {"swash_deg": 10}, {**PISTONS, "bore_mm": (ABOVE, 15), "pitch_mm": (ABOVE, 125)}),
    (piston_unit.bent_axis_displacement, {"bend_deg": 25}, {**PISTONS, "bore_mm": (ABOVE, 20), "flange_pitch_mm": (ABOVE, 80)}),
    (piston_unit.swash_angle, {"displacement_cc": 35}, {**PISTONS, "bore_mm": (ABOVE, 15), "pitch_mm": (ABOVE, 125)}),
    (piston_unit.bent_axis_angle, {"displacement_cc": 0.001}, {**PISTONS, "bore_mm": (ABOVE, 20), "flange_pitch_mm": (ABOVE, 80)}),
    (
        piston_unit.unit_corner_power,
        {},
        {**PUMP, "speed_max_rpm": (ABOVE, 3000), "pressure_max_bar": (ABOVE, 420)},
    ),
    (efficiency.pump_volumetric_efficiency, {"flow_lpm": 190}, {**PUMP, "speed_rpm": (ABOVE, 2000)}),
    (efficiency.pump_hydromechanical_efficiency, {}, {**PUMP, "torque_nm": (ABOVE, 350), "pressure_bar": (ABOVE, 200)}),
    (
        efficiency.pump_overall_efficiency,
        {"flow_lpm": 190, "pressure_bar": 200},
        {"torque_nm": (ABOVE, 350), "speed_rpm": (ABOVE, 2000)},
    ),
    (efficiency.motor_volumetric_efficiency, {"displacement_cc": 100, "speed_rpm": 1900}, {"flow_lpm": (ABOVE, 200)}),
    (efficiency.motor_hydromechanical_efficiency, {"torque_nm": 300}, {**PUMP, "pressure_bar": (ABOVE, 200)}),
    (
        efficiency.motor_overall_efficiency,
        {"torque_nm": 300, "speed_rpm": 1900},
        {"flow_lpm": (ABOVE, 200), "pressure_bar": (ABOVE, 200)},
    ),
    (
        efficiency.transmission_efficiency,
        {"torque_out_nm": 400, "speed_out_rpm": 1000},
        {"torque_in_nm": (ABOVE, 300), "speed_in_rpm": (ABOVE, 2000)},
    ),
    (efficiency.missing_efficiency, {}, {"overall": (SHARE, 0.4), "known": (UP_TO_1, 0.94)}),
    (drive.motor_displacement, {"command": 0, "motor_max_cc": 160}, {"motor_min_cc": (ABOVE, 80)}),
    (drive.motor_displacement, {"command": 0, "motor_min_cc": 0.1}, {"motor_max_cc": (ABOVE, 160)}),
    (
        drive.motor_speed,
        {},
        {
            "pump_speed_rpm": (FROM_ZERO, 2200),
            "pump_displacement_cc": (ABOVE, 100),
            "motor_displacement_cc": (ABOVE, 160),
            "motors": (ABOVE, 1),
            "leakage_lpm": (FROM_ZERO, 10),
            "stroke": ((-1, 1), 0.5),
        },
    ),
    (
        drive.motor_speed_by_efficiency,
        {"command": 1, "pump_speed_rpm": 2200, "motor_max_cc": 160, "motor_min_cc": 80},
        {
            "pump_displacement_cc": (ABOVE, 100),
            "motors": (ABOVE, 1),
            "pump_efficiency": (UP_TO_1, 0.95),
            "motor_efficiency": (UP_TO_1, 0.95),
        },
    ),
    (drive.speed_ratio, {"motor_speed_rpm": 1200}, {"pump_speed_rpm": (ABOVE, 2200)}),
    (
        drive.ground_speed,
        {"motor_speed_rpm": 1200},
        {"final_ratio": (ABOVE, 24), "rolling_radius_m": (ABOVE, 0.75), "slip_share": ((0, 0.99), 0.1)},
    ),
    (drive.rolling_radius, {}, {"advance_m": (ABOVE, 47), "turns": (ABOVE, 10)}),
    (
        drive.creep_speed,
        {"null_flow_lpm": 2},
        {"motor_displacement_cc": (ABOVE, 160), "motors": (ABOVE, 1), "leakage_lpm": (FROM_ZERO, 1)},
    ),
    (
        drive.null_flow,
        {"pump_displacement_cc": 100, "pump_speed_rpm": 2200},
        {"swash_max_deg": ((None, 30), 17), "null_error_deg": ((-30, 30), 0.2)},
    ),
    (
        drive.dead_band,
        {},
        {
            "swash_max_deg": (ABOVE, 17),
            "pump_displacement_cc": (ABOVE, 100),
            "pump_speed_rpm": (ABOVE, 2200),
            "leakage_lpm": (FROM_ZERO, 1),
        },
    ),
    (
        drive.stall_stroke,
        {},
        {"pump_displacement_cc": (ABOVE, 100), "pump_speed_rpm": (ABOVE, 2200), "leakage_lpm": (FROM_ZERO, 1)},
    ),
]
CASES = [
    (law, rest | {other: usual for other, (_, usual) in limited.items()}, name, limit)
    for law, rest, limited in LAW_LIMITS
    for name, (limit, _) in limited.items()
]


def inside_and_beyond(limit: tuple[float | None, float | None]) -> tuple[list[float], list[float]]:
    low, high = limit
    inside, beyond = ([0.5], [0, -1]) if low is None else ([low], [low - 0.25])
    if high is not None:
        inside.append(high)
        beyond.append(high + 0.25)
    return inside, beyond


@pytest.mark.parametrize(("law", "usual", "name", "limit"), CASES, ids=[f"{case[0].__name__}-{case[2]}" for case in CASES])
def test_numbers_within_the_stated_limits_are_let_in_and_others_refused_by_name(law, usual, name, limit):
    inside, beyond = inside_and_beyond(limit)
    law(**usual)
    for value in inside:
        assert np.isfinite(law(**{**usual, name: value}))
    for value in beyond:
        with pytest.raises(ValueError, match=f"^{name} must"):
            law(**{**usual, name: value})


def test_lands_without_width_are_refused():
    for radii_mm in ((0, 34, 42, 46), (30, 30, 42, 46), (30, 34, 34, 46), (30, 34, 46, 46)):
        with pytest.raises(ValueError, match="radii_mm"):
            gaps.valve_plate_leakage(10, 180, radii_mm, pressure_bar=300, dynamic_mpas=20)
    assert gaps.valve_plate_leakage(10, 180, (0.5, 34, 42, 46), 300, 20) > 0
    with pytest.raises(ValueError, match="outer_mm must be above inner_mm"):
        gaps.slipper_leakage(15, outer_mm=8.5, inner_mm=8.5, pocket_bar=285, dynamic_mpas=20)


def test_charge_of_the_reference_drive():
    """Worked by hand: 20 cm3 at 2,200 rpm and 0.9 give 39.6 L/min; 21.45 leak and 10 otherwise needed leave 20.58 per cent."""
    delivery_lpm = charge.charge_delivery(20, 2200, 0.9)
    assert delivery_lpm == pytest.approx(39.6)
    assert charge.charge_need(11.0, 10.45) == pytest.approx(21.45)
    assert golden("L15").close(100 * charge.charge_margin(delivery_lpm, charge.charge_need(11.0, 10.45, flushing_lpm=10)))
    assert golden("L15").close(100 * charge.charge_margin(delivery_lpm, charge.charge_need(11.0, 10.45, 4, servo_lpm=6)))
    assert charge.charge_pressure(22, 15, 15, 0.1) == pytest.approx(22)
    assert charge.case_flow(3) == 3


def test_turbulent_leakage_written_out():
    """Schlosser: Cst d^(2/3) sqrt(2 dp/rho), with d = 1e-5 m3/rad, 200 bar and 1000 kg/m3: 1e-4 x 4.6416e-4 x 200 m3/s."""
    displacement_cc = 2 * np.pi * 10
    assert losses.turbulent_leakage(1e-4, displacement_cc, 200, 1000) == pytest.approx(1e-4 * 1e-5 ** (2 / 3) * 200 * 60_000, rel=1e-9)


def test_laminar_leakage_and_compression_written_out():
    """Wilson: Cs d dp/mu = 1e-9 x 1e-5 x 2e7/0.02 m3/s; compression: x V n dp/B = 200 L/min x 200/16000."""
    assert losses.laminar_leakage(1e-9, 2 * np.pi * 10, 200, 20) == pytest.approx(1e-9 * 1e-5 * 2e7 / 0.02 * 60_000, rel=1e-9)
    assert losses.compression_loss(100, 2000, 200, 16_000) == pytest.approx(2.5, rel=1e-9)
    assert losses.compression_loss(100, 2000, 200, 16_000, fraction=0.5) == pytest.approx(1.25, rel=1e-9)
    assert losses.model_volumetric_efficiency(100, 2000, 10) == pytest.approx(0.95)


def test_torque_loss_written_out():
    """Schlosser: Ch x w^2 rho d^(5/3)/2 alone, half at half stroke either way, and nothing of it at zero stroke."""
    turn = 2000 * np.pi / 30
    churned_nm = 53.6 * turn**2 * 870 * 1e-5 ** (5 / 3) / 2
    for fraction in (1, 0.5, -0.5, 0):
        found = losses.torque_loss(2 * np.pi * 10, 2000, 200, 28, 870, (0, 0, 53.6), fraction=fraction)
        assert found == pytest.approx(churned_nm * abs(fraction), rel=1e-9)
    assert losses.torque_loss(2 * np.pi * 10, 2000, 200, 28, 870, (2e4, 0.05, 0)) == pytest.approx(1e-5 * (2e4 * 0.028 * turn + 0.05 * 2e7))


def test_efficiency_of_a_transmission_by_powers():
    """300 N.m at 2,000 rpm in, 450 N.m at 1,000 rpm out: three quarters."""
    assert efficiency.transmission_efficiency(300, 2000, 450, 1000) == pytest.approx(0.75)
    assert efficiency.derived_displacement(np.array([1000, 2000]), np.array([100, 200])) == pytest.approx(100)
    assert efficiency.derived_displacement(np.array([1000, 1000]), np.array([100, 100])) is None


def test_two_motors_share_the_flow():
    by_leakage = {"stroke": 1, "pump_displacement_cc": 100, "pump_speed_rpm": 2200, "motor_displacement_cc": 160, "leakage_lpm": 0}
    assert drive.motor_speed(**by_leakage, motors=2) == pytest.approx(drive.motor_speed(**by_leakage, motors=1) / 2)
    by_share = (1, 100, 2200, 160, 80, 0.95, 0.95)
    assert drive.motor_speed_by_efficiency(*by_share, motors=2) == pytest.approx(drive.motor_speed_by_efficiency(*by_share) / 2)
    assert drive.creep_speed(2, 1, 160, motors=2) == pytest.approx(drive.creep_speed(2, 1, 160) / 2)


def test_a_bent_axis_at_a_right_angle_is_the_most_its_bores_can_give():
    most_cc = 9 * np.pi / 4 * 20**2 * 80 / 1000
    with pytest.raises(ValueError, match="displacement_cc must be within reach"):
        piston_unit.bent_axis_angle(most_cc * 1.01, 9, 20, 80)
    assert piston_unit.bent_axis_angle(most_cc * 0.999, 9, 20, 80) > 87


@pytest.mark.parametrize("fraction", [piston_unit.swash_fraction, piston_unit.bent_axis_fraction])
def test_angles_steeper_than_any_unit_are_refused_by_their_own_name(fraction):
    own, most = ("swash_deg", "swash_max_deg") if fraction is piston_unit.swash_fraction else ("bend_deg", "bend_max_deg")
    assert fraction(**{own: 0.25, most: 0.5}) == pytest.approx(0.5, abs=1e-4)
    for bad, name in (({own: 61, most: 17}, own), ({own: -61, most: 17}, own), ({own: 5, most: 61}, most), ({own: 0, most: 0}, most)):
        with pytest.raises(ValueError, match=f"^{name} must"):
            fraction(**bad)
