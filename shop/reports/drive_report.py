"""The report of one drive as words and pictures, ready to print."""

from django.utils import timezone

from calcs.quantities import QUANTITIES
from calcs.thousands import grouped
from fleet.fluid_in_use import fills_of
from fleet.hours import life_h_by_machine, stays_of
from fleet.models import ConditionAssessment, OilSample
from fleet.unit_hours import component_h
from shop.models import Deferral, Finding, WorkOrder
from shop.trends.rows import wear_charts

LATEST = 40
READING_HEADS = (("Day", 1), ("Own hours", 1), ("Reading", 2.8), ("As typed", 1), ("Oil", 0.7), ("Expected", 1), ("Judged", 1.3))
SAMPLE_HEADS = (("Label", 1), ("Day", 1), ("Oil hours", 0.9), ("Figures", 5), ("Laboratory says", 2.5))
CHART_HEADS = ("Own hours", "Day", "Read", "Against new", "Counts")


def hours_words(hours) -> str:
    return f"{grouped(hours, 1, fixed=True)} h" if hours is not None else "–"


def drive_report(unit) -> dict:
    """Everything `health_report_paper` prints of a unit, from the same rows as its pages."""
    machine = unit.places[0].machine if unit.places else None
    charts = wear_charts(unit)
    judged = judged_readings(unit)
    return {
        "tag": unit.tag,
        "state": f"{unit.drive_model}, serial {unit.serial}",
        "on": f"{timezone.localdate()}, {hours_words(component_h(unit))} own hours",
        "identity": identity_rows(unit, machine),
        "verdict": verdict_sentences(charts),
        "charts": [chart_of(chart) for chart in charts if chart.life.last_h],
        "stays": stay_rows(unit),
        "events": [[str(e.happened_on), e.get_kind_display(), hours_words(e.component_h), e.note] for e in unit.events.all()],
        "fluid": fluid_rows(machine),
        "readings": (
            READING_HEADS,
            [reading_row(row) for row in judged[:LATEST]],
        ),
        "samples": (SAMPLE_HEADS, sample_rows(machine)),
        "open_items": open_rows(unit, machine),
        "what_would_change": [f"{chart.life.title}: {chart.what_next}" for chart in charts if chart.what_next],
        "working": working_of(judged, {chart.life.quantity.code for chart in charts if chart.is_open and chart.life.state}),
    }


def identity_rows(unit, machine) -> list:
    return [
        ["Drive", f"{unit.tag}, {unit.drive_model.maker} {unit.drive_model}, serial {unit.serial}"],
        ["Birth", f"{unit.get_birth_display()}{f', {unit.born_on}' if unit.born_on else ''}, {hours_words(unit.hours_at_birth_h)} before this record"],
        ["Now in", f"{machine}, serial {machine.serial}, {machine.customer}" if machine else unit.get_keeping_display()],
        ["Warranty", f"{unit.warranty_to or '–'} / {hours_words(unit.warranty_to_h)}" if unit.warranty_to or unit.warranty_to_h else "none on record"],
    ]  # fmt: skip


def verdict_sentences(charts) -> list[str]:
    told = [
        chart.story for chart in charts if chart.story and chart.life.state and chart.life.state.state in ("jumped", "wearing", "watch")
    ]
    if told:
        return told
    if any(chart.life.state for chart in charts):
        return ["Nothing read on this drive wears measurably."]
    return ["Nothing can be said of its wear yet: too few readings under known conditions."]


def chart_of(chart) -> tuple:
    """Title, picture, rows, heads, remark of one quantity."""
    rows = [
        [
            hours_words(row.component_h),
            f"{row.tested_at:%Y-%m-%d}",
            f"{row.value:.4g} {chart.life.quantity.unit}",
            f"{row.ratio:.2f}" if row.ratio == row.ratio else "–",
            counts_words(row),
        ]
        for row in chart.life.all_rows.itertuples()
    ]
    return chart.life.title, chart.large, rows, CHART_HEADS, chart.story


def counts_words(row) -> str:
    return "yes" if row.weight >= 0.5 else "in part" if row.weight > 0 else f"no: {row.state}"


def stay_rows(unit) -> list:
    fitted = list(unit.installations.select_related("machine"))
    stays = stays_of(unit, fitted, life_h_by_machine([row.machine_id for row in fitted]))
    return [
        [s.place, str(s.from_date), str(s.to_date or "today"), hours_words(s.from_h), hours_words(s.to_h), hours_words(s.gained_h)]
        for s in stays
    ]


def fluid_rows(machine) -> list:
    fills = fills_of(machine) if machine else []
    return [
        [f"{f.filled_at:%Y-%m-%d}", f.get_kind_display(), f"{f.product or 'not known'}", f"{f.fill_l}", f"{f.drained_l}"] for f in fills
    ]


def judged_readings(unit) -> list[ConditionAssessment]:
    rows = ConditionAssessment.objects.in_force().filter(reading__drive_test__unit=unit, reading__superseded_by=None)
    return list(rows.select_related("reading__drive_test").order_by("-reading__drive_test__tested_at", "reading_id"))


def reading_row(found) -> list[str]:
    reading, test = found.reading, found.reading.drive_test
    warm = reading.at_oil_temp_c
    return [
        f"{test.tested_at:%Y-%m-%d}", hours_words(test.component_h), name_of(reading),
        f"{reading.typed} {reading.typed_unit}", f"{warm:g} °C" if warm is not None else "–",
        f"{found.expected:.4g} {reading.unit}" if found.expected is not None else "–", found.state,
    ]  # fmt: skip


def name_of(reading) -> str:
    quantity = QUANTITIES.get(reading.quantity)
    name = quantity.label if quantity else reading.quantity.replace("_", " ")
    return f"{name}, {reading.direction}" if reading.direction else name


def sample_rows(machine) -> list:
    samples = OilSample.objects.filter(machine=machine).prefetch_related("values").order_by("-drawn_at")[:10] if machine else []
    return [[s.label, f"{s.drawn_at:%Y-%m-%d}", hours_words(s.oil_h), figures_of(s), s.laboratory_words or "–"] for s in samples]


def figures_of(sample) -> str:
    return ", ".join(f"{value.item} {value.typed} {value.unit}".strip() for value in sample.values.all())


def open_rows(unit, machine) -> list:
    """Findings, orders and deferrals that are not settled."""
    rows = [[found.words, f"finding, {found.get_urgency_display().lower()}"] for found in Finding.objects.filter(unit=unit, closed_at=None)]
    rows += [
        [f"Order {order.number}: {order.complaint}", order.get_state_display().lower()]
        for order in WorkOrder.objects.open().filter(unit=unit)
    ]
    deferrals = Deferral.objects.filter(machine=machine, ended_at=None).select_related("task") if machine else []
    return rows + [[f"{row.task} put off to {row.until_on} or {hours_words(row.until_h)}", row.risk] for row in deferrals]


def working_of(judged, wearing: set[str]) -> list:
    """How the expected figure of the latest reading was reached: of each quantity that wears, else of the first."""
    seen, out = set(), []
    for found in judged:
        if found.reading.quantity not in wearing and (wearing or seen):
            continue
        key = (found.reading.quantity, found.reading.direction)
        if key not in seen and found.working and found.expected is not None:
            seen.add(key)
            out.append((f"Working: {name_of(found.reading)}, {found.reading.drive_test.tested_at:%Y-%m-%d}", found.working))
    return out
