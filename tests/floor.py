"""A small invented shop floor: one customer, one machine, one drive, its oil and gauges. Figures follow no real maker."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal

from fleet.models import (
    Calibration,
    Contact,
    Customer,
    Document,
    DriveModel,
    DriveUnit,
    FigureSource,
    FluidFill,
    FluidProduct,
    HourMeter,
    HourReading,
    Installation,
    Instrument,
    Machine,
    Ownership,
    Site,
)

MODEL_FIGURES = {
    "pump_displacement_cc": 75.0,
    "pump_pistons": 9,
    "motor_displacement_max_cc": 75.0,
    "motor_displacement_min_cc": 40.0,
    "pump_speed_ratio": 1.0,
    "charge_displacement_cc": 18.0,
    "charge_speed_ratio": 1.0,
    "charge_volumetric_efficiency": 0.92,
    "charge_relief_bar": 22.0,
    "charge_rise_bar_per_lpm": 0.06,
    "flushing_relief_bar": 20.0,
    "flushing_flow_lpm": 8.0,
    "servo_flow_lpm": 2.0,
    "relief_forward_bar": 400.0,
    "relief_reverse_bar": 400.0,
    "pump_volumetric_efficiency": 0.96,
    "motor_volumetric_efficiency": 0.96,
    "pump_hydromechanical_efficiency": 0.94,
    "motor_hydromechanical_efficiency": 0.94,
    "efficiency_at_speed_rpm": 2000.0,
    "efficiency_at_pressure_bar": 250.0,
    "efficiency_at_viscosity_mm2s": 20.0,
    "case_pressure_limit_bar": 2.5,
    "system_oil_l": 45.0,
    "test_oil_low_c": 45.0,
    "test_oil_high_c": 85.0,
}


@dataclass
class Floor:
    customer: Customer
    site: Site
    approver: Contact
    machine: Machine
    meter: HourMeter
    document: Document
    drive_model: DriveModel
    unit: DriveUnit
    installation: Installation
    oil: FluidProduct
    charge_gauge: Instrument
    system_gauge: Instrument
    flow_meter: Instrument
    tachometer: Instrument


def lay_floor(by) -> Floor:
    customer = Customer.objects.create(number="C-00001", name="Brinkholm Estate")
    site = Site.objects.create(customer=customer, name="Home yard", region="north")
    approver = Contact.objects.create(customer=customer, name="Åse Brinkholm", may_approve=True, approval_limit_cents=250_000)
    machine = Machine.objects.create(
        number="M-00001", kind="windrower", maker="Hollowick", model="W180", serial="HW180-00421", year=2021, customer=customer, site=site,
        engine_rated_speed_rpm=2300, engine_idle_speed_rpm=1000, engine_power_kw=130, rolling_radius_m=0.75, final_ratio=24,
    )  # fmt: skip
    Ownership.objects.create(machine=machine, customer=customer, from_date=date(2021, 4, 1))
    meter = HourMeter.objects.create(machine=machine, fitted_on=date(2021, 4, 1))
    HourReading.objects.create(
        meter=meter, read_at=datetime(2026, 3, 2, 9, tzinfo=UTC), meter_h=Decimal("1210.0"), life_h=Decimal("1210.0"), typed="1210.0"
    )
    document = Document.objects.create(title="Drive book H75", number="HD-75", revision="C")
    drive_model = DriveModel.objects.create(code="H75", maker="Hollowick Drives", **MODEL_FIGURES)
    FigureSource.objects.bulk_create(
        FigureSource(drive_model=drive_model, figure=name, document=document, page="12") for name in MODEL_FIGURES
    )
    unit = DriveUnit.objects.create(tag="D-00001", serial="H75-0188", drive_model=drive_model, born_on=date(2021, 2, 1))
    installation = Installation.objects.create(unit=unit, machine=machine, from_date=date(2021, 4, 1), from_life_h=Decimal("0.0"))
    oil = FluidProduct.objects.create(
        maker="Fenoil", name="Hydrol 46", kind="hydraulic", viscosity_grade="VG 46", nu40_mm2s=46, nu100_mm2s=6.8, density15_kgm3=870
    )
    FluidFill.objects.create(
        machine=machine, kind="first_fill", product=oil, filled_at=datetime(2021, 4, 1, 9, tzinfo=UTC), life_h=0, fill_l=45
    )
    gauges = {
        "charge_gauge": Instrument(tag="G-11", kind="pressure", span_high=60, unit="bar", accuracy_class_pct=0.6, resolution=0.2),
        "system_gauge": Instrument(tag="G-12", kind="pressure", span_high=600, unit="bar", accuracy_class_pct=1.0, resolution=2),
        "flow_meter": Instrument(tag="F-01", kind="flow", span_low=1, span_high=60, unit="L/min", accuracy_class_pct=1.0, resolution=0.1),
        "tachometer": Instrument(
            tag="N-01", kind="speed", span_high=10000, unit="rpm", accuracy_class_pct=0.05, accuracy_basis="reading", resolution=1
        ),
    }
    for gauge in gauges.values():
        gauge.save()
        Calibration.objects.create(instrument=gauge, done_on=date(2026, 1, 10), due_on=date(2027, 1, 10), recorded_by=by)
    return Floor(customer, site, approver, machine, meter, document, drive_model, unit, installation, oil, **gauges)
