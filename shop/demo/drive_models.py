"""Four invented drive models with every figure, the paper it stands in, and where a gauge goes."""

from fleet.models import AcceptanceRule, Document, DriveModel, FigureSource, Port
from shop.demo.acceptance import RULES
from shop.demo.book import Book

SHARED = {
    "charge_rise_bar_per_lpm": 0.09,
    "pump_hydromechanical_efficiency": 0.94,
    "motor_hydromechanical_efficiency": 0.94,
    "pump_volumetric_efficiency": 0.96,
    "motor_volumetric_efficiency": 0.96,
    "efficiency_at_speed_rpm": 2000.0,
    "efficiency_at_pressure_bar": 250.0,
    "efficiency_at_viscosity_mm2s": 20.0,
    "charge_inlet_limit_bar": 0.8,
    "test_oil_low_c": 45.0,
    "test_oil_high_c": 85.0,
}
MODELS = {
    "HD75": {
        "maker": "Hollowick Drives",
        "pump_displacement_cc": 75.0,
        "pump_pistons": 9,
        "pump_bore_mm": 20.0,
        "pump_pitch_circle_mm": 86.8,
        "pump_angle_max_deg": 17.0,
        "motor_displacement_max_cc": 75.0,
        "motor_displacement_min_cc": 40.0,
        "charge_displacement_cc": 18.0,
        "charge_volumetric_efficiency": 0.92,
        "charge_relief_bar": 22.0,
        "flushing_relief_bar": 20.0,
        "flushing_flow_lpm": 8.0,
        "servo_flow_lpm": 2.0,
        "relief_forward_bar": 400.0,
        "relief_reverse_bar": 400.0,
        "case_pressure_limit_bar": 2.5,
        "system_oil_l": 45.0,
    },
    "VK110": {
        "maker": "Varnholt Hydrostatics",
        "pump_displacement_cc": 110.0,
        "pump_pistons": 9,
        "pump_bore_mm": 23.0,
        "pump_pitch_circle_mm": 96.2,
        "pump_angle_max_deg": 17.0,
        "motor_displacement_max_cc": 160.0,
        "motor_displacement_min_cc": 80.0,
        "pump_speed_ratio": 1.2,
        "charge_speed_ratio": 1.2,
        "charge_displacement_cc": 28.0,
        "charge_volumetric_efficiency": 0.92,
        "charge_relief_bar": 24.0,
        "flushing_relief_bar": 22.0,
        "flushing_flow_lpm": 10.0,
        "servo_flow_lpm": 3.0,
        "relief_forward_bar": 420.0,
        "relief_reverse_bar": 420.0,
        "case_pressure_limit_bar": 3.0,
        "system_oil_l": 72.0,
        "has_brake_release": True,
    },
    "TX45": {
        "maker": "Tarnbeck Fluid Drives",
        "circuit": "dual",
        "pump_displacement_cc": 45.0,
        "pump_pistons": 9,
        "pump_bore_mm": 17.0,
        "pump_pitch_circle_mm": 72.1,
        "pump_angle_max_deg": 17.0,
        "motor_displacement_max_cc": 45.0,
        "motor_displacement_min_cc": 45.0,
        "charge_displacement_cc": 12.0,
        "charge_volumetric_efficiency": 0.9,
        "charge_relief_bar": 20.0,
        "flushing_relief_bar": 18.0,
        "flushing_flow_lpm": 5.0,
        "servo_flow_lpm": 1.5,
        "relief_forward_bar": 350.0,
        "relief_reverse_bar": 350.0,
        "case_pressure_limit_bar": 2.5,
        "system_oil_l": 58.0,
        "note": "Two loops on one tank; each loop is one unit, left and right.",
    },
    "LM38": {
        "maker": "Merrowby Hydraulic",
        "pump_displacement_cc": 38.0,
        "pump_pistons": 9,
        "pump_bore_mm": 16.0,
        "pump_pitch_circle_mm": 68.7,
        "pump_angle_max_deg": 17.0,
        "motor_displacement_max_cc": 38.0,
        "motor_displacement_min_cc": 38.0,
        "charge_displacement_cc": 10.0,
        "charge_volumetric_efficiency": 0.9,
        "charge_relief_bar": 18.0,
        "servo_flow_lpm": 1.2,
        "relief_forward_bar": 330.0,
        "relief_reverse_bar": 310.0,
        "case_pressure_limit_bar": 2.0,
        "system_oil_l": 28.0,
        "has_brake_release": True,
    },
}
PAPERS = {  # title, number, revision of the drive book; the same for the machine side service book
    "HD75": (("Drive book HD75", "HWD-075", "C"), ("Care of HD75 drives", "HWC-075", "B")),
    "VK110": (("Varnholt closed-loop handbook", "VK-110-E", "4"), ("Varnholt upkeep table", "VK-UP-11", "2")),
    "TX45": (("Tarnbeck twin drive manual", "TTD-45", "2021-03"), ("Tarnbeck twin drive upkeep", "TTU-45", "2021-03")),
    "LM38": (("Merrowby shop notes LM", "MSN-38", "7"), ("Merrowby care plan LM", "MCP-38", "3")),
}
PORTS = (  # stamp, name, thread, quantity, span of a gauge that suits it, order of walking round
    ("CH", "Charge gallery, pump left side", "G 1/4", "charge_neutral", 60.0, 1),
    ("CH", "Charge gallery, pump left side", "G 1/4", "charge_neutral_idle", 60.0, 1),
    ("CH", "Charge gallery, pump left side", "G 1/4", "charge_stroked", 60.0, 2),
    ("IN", "Charge pump inlet", "M14x1.5", "charge_inlet_pressure", 4.0, 3),
    ("FD", "Charge filter head, both sides", "M12x1.5", "filter_differential", 10.0, 4),
    ("MA", "High side forward", "M16x1.5", "main_relief", 600.0, 5),
    ("PD", "Pump case drain, upper plug", "G 3/4", "pump_case_flow", None, 7),
    ("PD", "Pump case drain, upper plug", "G 3/4", "case_pressure", 10.0, 7),
    ("MD", "Motor case drain", "G 1/2", "motor_case_flow", None, 8),
    ("MD", "Motor case drain", "G 1/2", "flushing_flow", None, 8),
    ("TR", "Common return at the cooler", "G 1", "total_case_return", None, 9),
)


def make_models(book: Book) -> None:
    for code, figures in MODELS.items():
        papers = [Document.objects.create(title=t, number=n, revision=r) for t, n, r in PAPERS[code]]
        book.documents[code] = papers
        book.models[code] = DriveModel.objects.create(code=code, **SHARED | figures)
        _name_sources(book.models[code], {**SHARED, **figures}, papers[0])
        Port.objects.bulk_create(_ports(book.models[code]))
        AcceptanceRule.objects.bulk_create(
            AcceptanceRule(drive_model=book.models[code], document=papers[0], **rule) for rule in RULES[code]
        )


def _name_sources(model: DriveModel, figures: dict, paper: Document) -> None:
    numbers = [name for name, value in figures.items() if isinstance(value, float | int) and not isinstance(value, bool)]
    FigureSource.objects.bulk_create(
        FigureSource(drive_model=model, figure=name, document=paper, page=str(6 + place // 6)) for place, name in enumerate(numbers)
    )


def _ports(model: DriveModel):
    for code, name, thread, quantity, span, order in PORTS:
        if quantity == "flushing_flow" and model.flushing_flow_lpm is None:
            continue
        yield Port(drive_model=model, code=code, name=name, thread=thread, quantity=quantity, gauge_span_bar=span, walk_order=order)
