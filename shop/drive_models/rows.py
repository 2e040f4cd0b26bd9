"""What the pages of drive models hold: every figure with where it stands, and rules in words."""

from dataclasses import dataclass

from django.db.models import Count

from calcs.piston_unit import swash_displacement
from calcs.quantities import QUANTITIES
from calcs.working import Working
from fleet.models import AcceptanceRule, DriveModel, FigureSource
from shop.measures import shown_with_unit

# name of the figure: kind of measure, or the unit as printed after a bare number
PUMP = {
    "pump_displacement_cc": "displacement",
    "pump_pistons": "",
    "pump_bore_mm": "mm",
    "pump_pitch_circle_mm": "mm",
    "pump_angle_max_deg": "°",
    "pump_speed_ratio": "",
}
MOTOR = {"motor_displacement_max_cc": "displacement", "motor_displacement_min_cc": "displacement", "motors_per_pump": ""}
CHARGE = {
    "charge_displacement_cc": "displacement",
    "charge_speed_ratio": "",
    "charge_volumetric_efficiency": "",
    "charge_relief_bar": "pressure",
    "charge_rise_bar_per_lpm": "bar per L/min",
    "flushing_relief_bar": "pressure",
    "flushing_flow_lpm": "flow",
    "servo_flow_lpm": "flow",
    "charge_inlet_limit_bar": "pressure",
}
LOOP = {
    "relief_forward_bar": "pressure",
    "relief_reverse_bar": "pressure",
    "case_pressure_limit_bar": "pressure",
    "system_oil_l": "volume",
    "test_oil_low_c": "temperature",
    "test_oil_high_c": "temperature",
}
NEW = {
    "pump_volumetric_efficiency": "",
    "motor_volumetric_efficiency": "",
    "pump_hydromechanical_efficiency": "",
    "motor_hydromechanical_efficiency": "",
    "efficiency_at_speed_rpm": "speed",
    "efficiency_at_pressure_bar": "pressure",
    "efficiency_at_viscosity_mm2s": "viscosity",
}
GROUPS = {"Pump": PUMP, "Motor": MOTOR, "Charge circuit": CHARGE, "Loop, case and oil": LOOP, "As new": NEW}
FIGURES = {name: kind for group in GROUPS.values() for name, kind in group.items()}
COUNTED = {"pump_pistons", "motors_per_pump"}
MEASURED = {"displacement", "pressure", "flow", "volume", "temperature", "speed", "viscosity"}


@dataclass(frozen=True)
class Figure:
    """One figure of a drive model, as printed, and where it stands."""

    name: str
    label: str
    words: str
    source: FigureSource | None

    @property
    def is_known(self) -> bool:
        return self.words != "–"


def label_of(name: str) -> str:
    label = str(DriveModel._meta.get_field(name).verbose_name)
    return label[:1].upper() + label[1:]


def figure_words(name: str, value, units: dict[str, str]) -> str:
    """Return a figure with its unit, or a dash."""
    kind = FIGURES[name]
    if value is None:
        return "–"
    return shown_with_unit(value, kind, units) if kind in MEASURED else f"{value:g}\u00a0{kind}".strip()


def figures_of(model: DriveModel, units: dict[str, str]) -> dict[str, list[Figure]]:
    """Return every figure by group; a figure that is not known is among them with a dash."""
    sources = {source.figure: source for source in model.sources.select_related("document")}
    return {
        title: [Figure(name, label_of(name), figure_words(name, getattr(model, name), units), sources.get(name)) for name in group]
        for title, group in GROUPS.items()
    }


def models_listed():
    return DriveModel.objects.annotate(unit_count=Count("units", distinct=True), sourced=Count("sources", distinct=True))


def rule_words(rule: AcceptanceRule) -> str:
    """Return what a rule accepts in a sentence."""
    unit = QUANTITIES[rule.quantity].unit if rule.quantity in QUANTITIES else ""
    form = AcceptanceRule.Form
    says = {
        form.BAND: lambda: f"{rule.low:g} to {rule.high:g} {unit}",
        form.NOMINAL: lambda: f"{rule.nominal:g} ± {rule.tolerance:g} {unit}",
        form.MAXIMUM: lambda: f"not above {rule.high:g} {unit}",
        form.MINIMUM: lambda: f"not below {rule.low:g} {unit}",
        form.SHARE_OF_NEUTRAL: lambda: f"not below {rule.share:.0%} of the same drive's neutral reading",
        form.GREATEST_DROP: lambda: f"drop not above {rule.high:g} {unit}",
        form.THREE_CLASSES: lambda: f"good below {rule.low:g}, marginal to {rule.high:g}, faulty from there {unit}",
        form.MEAN_OVER_POSITIONS: lambda: f"mean over positions not above {rule.high:g} {unit}",
        form.LOADED_RATIO: lambda: f"loaded not above {rule.share:g} times unloaded",
        form.NO_MOTION: lambda: "stands still",
    }
    return says[rule.form]().strip()


def condition_words(rule: AcceptanceRule) -> str:
    spans = [
        _span("oil", rule.oil_low_c, rule.oil_high_c, "°C"),
        _span("engine", rule.speed_low_rpm, rule.speed_high_rpm, "rpm"),
        f"at {rule.pressure_bar:g} bar in the loop" if rule.pressure_bar is not None else "",
    ]
    return ", ".join(span for span in spans if span) or "no condition stated"


def _span(word: str, low, high, unit: str) -> str:
    if low is None and high is None:
        return ""
    if low is None or high is None:
        return f"{word} {'to' if low is None else 'from'} {high if low is None else low:g} {unit}"
    return f"{word} {low:g} to {high:g} {unit}"


def rules_of(model: DriveModel) -> list[dict]:
    rules = model.acceptance_rules.select_related("document").order_by("is_retired", "quantity", "direction", "pk")
    return [
        {"rule": rule, "quantity": QUANTITIES.get(rule.quantity), "words": rule_words(rule), "conditions": condition_words(rule)}
        for rule in rules
    ]


def geometry_of(model: DriveModel) -> dict | None:
    """Return the displacement that the pump's geometry gives, with its steps, or None where a figure is missing."""
    given = (model.pump_pistons, model.pump_bore_mm, model.pump_pitch_circle_mm, model.pump_angle_max_deg)
    if not all(given):
        return None
    paper = Working()
    pistons, bore, pitch, angle = given
    worked_cc = paper.take(swash_displacement, pistons=pistons, bore_mm=bore, pitch_mm=pitch, swash_deg=angle)
    return {"worked_cc": worked_cc, "steps": paper.as_rows(), "share": worked_cc / model.pump_displacement_cc - 1}


def model_page(model: DriveModel, units: dict[str, str]) -> dict:
    groups = figures_of(model, units)
    known = {title: [figure for figure in figures if figure.is_known] for title, figures in groups.items()}
    return {
        "model": model,
        "groups": known,
        "unknown": [figure for figures in groups.values() for figure in figures if not figure.is_known],
        "without_source": [figure for figures in known.values() for figure in figures if figure.source is None],
        "rules": rules_of(model),
        "ports": model.ports.all(),
        "geometry": geometry_of(model),
        "units": model.units.with_place(),
        "quantities": QUANTITIES,
    }
