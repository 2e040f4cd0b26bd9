"""Why a line is on an order: the reading, the finding or the due task behind it, in one sentence."""

from calcs.quantities import QUANTITIES
from fleet.models import Reading
from shop.measures import shown_with_unit

CALLS_NOW = {"outside low", "outside high", "impossible"}


def label_of(reading: Reading) -> str:
    quantity = QUANTITIES.get(reading.quantity)
    name = quantity.label if quantity else reading.quantity.replace("_", " ")
    return f"{name}, {reading.direction}" if reading.direction else name


def verdict_of(reading: Reading):
    """The assessment in force, or None."""
    kept = getattr(reading, "verdicts", None)
    rows = kept if kept is not None else list(reading.assessments.in_force())
    return rows[0] if rows else None


def words_of_reading(reading: Reading) -> str:
    """The reading, when and how warm, and what it was judged to be."""
    kind = QUANTITIES[reading.quantity].kind if reading.quantity in QUANTITIES else ""
    value = shown_with_unit(reading.value, kind) if kind else f"{reading.value:g} {reading.unit}"
    warm = f" at {reading.at_oil_temp_c:.0f} °C" if reading.at_oil_temp_c is not None else ""
    words = f"{label_of(reading)} {value}{warm}, test {reading.drive_test.number} of {reading.drive_test.tested_at:%-d %b %Y}"
    verdict = verdict_of(reading)
    return f"{words}: {verdict.state}, {verdict.reason}" if verdict else words


def words_of_finding(finding) -> str:
    if finding.reading_id:
        return words_of_reading(finding.reading)
    return f"Found on visit {finding.visit.number} of {finding.visit.visited_at:%-d %b %Y}" if finding.visit_id else ""


def cut(words: str, most: int) -> str:
    """Words that fit a field, cut with a visible mark."""
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"
