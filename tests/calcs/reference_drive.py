"""An invented drive, its oil and a test of it, shared by the tests of the drive.

Pump 100 cm3 at 2200 rpm, motor 160 to 80 cm3, efficiencies 0.95 each at 420 bar, final ratio 24, rolling radius 0.75 m.
"""

from calcs.drive_spec import Conditions, DriveSpec, Oil

R1 = DriveSpec(
    name="R1",
    pump_displacement_cc=100,
    motor_displacement_max_cc=160,
    motor_displacement_min_cc=80,
    charge_displacement_cc=20,
    charge_volumetric_efficiency=0.9,
    charge_relief_bar=22,
    charge_rise_bar_per_lpm=0.08,
    flushing_relief_bar=20,
    flushing_flow_lpm=8,
    servo_flow_lpm=2,
    relief_forward_bar=420,
    relief_reverse_bar=410,
    pump_volumetric_efficiency=0.95,
    motor_volumetric_efficiency=0.95,
    efficiency_at_speed_rpm=2200,
    efficiency_at_pressure_bar=420,
    efficiency_at_viscosity_mm2s=20.6,
    final_ratio=24,
    rolling_radius_m=0.75,
    case_pressure_limit_bar=3,
    charge_inlet_limit_bar=0.8,
    filter_limit_bar=2.5,
    stroke_time_s=1.5,
)
VG46 = Oil("VG 46", 46, 6.8, 870)
PLAIN_VG46 = Oil("VG 46, density not known", 46, 6.8)
LOADED = Conditions(
    oil_temp_c=60, engine_speed_rpm=2200, loop_pressure_bar=138, charge_pressure_bar=22, case_pressure_bar=0.5, direction="forward"
)
