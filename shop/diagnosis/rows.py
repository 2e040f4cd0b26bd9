"""What the readings of a test point to: causes with the evidence used, pump or motor, and the cheapest look that could change it. Advice, no order."""

from __future__ import annotations

from dataclasses import dataclass, field

from calcs.apportion import Apportioned, apportion
from calcs.diagnosis import Advice, Evidence, Finding, advise, evidence_of, seen
from calcs.guard_band import State
from calcs.quantities import QUANTITIES
from calcs.symptoms import LOOKS, SIGNS, SYMPTOMS
from fleet.models import DriveTest, DriveUnit, Failure, Reading

NO_COMPLAINT = "none"
COLD_C = 40.0  # below this a drive is tested cold; common practice, no source
MOST_NAMED = 3
LEAST_NAMED = 0.05
BAD = (State.OUTSIDE_LOW, State.OUTSIDE_HIGH)
SYMPTOM_OF = {  # what an order's complaint is called in the tables of the diagnosis
    Failure.Mode.NO_DRIVE: "no_drive",
    Failure.Mode.NO_DRIVE_ONE_WAY: "one_way",
    Failure.Mode.SLOW_HOT: "slow_hot",
    Failure.Mode.JERKY: "jerky",
    Failure.Mode.NOISE: "noise",
    Failure.Mode.HOT: "overheats",
    Failure.Mode.CREEP: "creeps",
    Failure.Mode.LOW_CHARGE: "loses_charge",
    Failure.Mode.CASE_PRESSURE: "case_pressure",
}
READ_BY_TEST = {sign for look in LOOKS.values() if look.code in ("T03", "T05", "T07", "T08", "T09", "T11") for sign in look.shows}
LOOKED_FOR = [(sign, words) for sign, words in SIGNS.items() if sign not in READ_BY_TEST or sign in ("charge_flutters",)]
SYMPTOM_CHOICES = [(NO_COMPLAINT, SYMPTOMS[NO_COMPLAINT].label), *((s.code, s.label) for s in SYMPTOMS.values() if s.code != NO_COMPLAINT)]


@dataclass
class Diagnosis:
    """Advice on one drive, with the readings that it rests on."""

    test: DriveTest | None
    symptom: str = NO_COMPLAINT
    advice: Advice | None = None
    apportioned: Apportioned | None = None
    evidence: list[Evidence] = field(default_factory=list)
    used: list[Reading] = field(default_factory=list)
    left_out: int = 0

    @property
    def used_lines(self) -> list[tuple[Reading, str]]:
        """The readings used, each with its name in words."""
        return [(row, f"{QUANTITIES[row.quantity].label}{f', {row.direction}' if row.direction else ''}") for row in self.used]

    @property
    def symptom_words(self) -> str:
        return SYMPTOMS[self.symptom].label

    @property
    def suspects(self) -> list:
        return [one for one in self.advice.suspects if one.probability >= LEAST_NAMED][:MOST_NAMED] if self.advice else []

    @property
    def found_something(self) -> bool:
        return any(item.present for item in self.evidence)


def latest_test(unit: DriveUnit) -> DriveTest | None:
    return unit.tests.filter(readings__superseded_by=None, readings__isnull=False).order_by("tested_at", "pk").distinct().last()


def diagnosis_of_unit(unit: DriveUnit, symptom: str = NO_COMPLAINT, there=(), absent=()) -> Diagnosis:
    """Return what the latest test of a drive points to."""
    return diagnosis_of_test(latest_test(unit), symptom, there, absent)


def diagnosis_of_test(test: DriveTest | None, symptom: str = NO_COMPLAINT, there=(), absent=()) -> Diagnosis:
    """Return what one test points to; `there` and `absent` are signs that somebody looked for and found, or did not."""
    symptom = symptom if symptom in SYMPTOMS else NO_COMPLAINT
    rows = list(Reading.objects.standing().filter(drive_test=test, is_valid=True).with_verdicts().order_by("pk")) if test else []
    judged = [row for row in rows if row.verdicts and row.quantity in QUANTITIES]
    told = [row for row in judged if row.verdicts[0].state in (State.INSIDE, State.UNDECIDED, *BAD)]
    evidence = list(evidence_of([finding_of(row, told) for row in told]))
    evidence += [seen(sign) for sign in there if sign in SIGNS] + [seen(sign, False) for sign in absent if sign in SIGNS]
    advice = advise(symptom, evidence, looks_taken(told))
    return Diagnosis(test, symptom, advice, apportioned_by(told), evidence, told, len(rows) - len(told))


def finding_of(row: Reading, beside: list[Reading]) -> Finding:
    verdict = row.verdicts[0]
    return Finding(
        row.quantity,
        row.value,
        State(verdict.state),
        QUANTITIES[row.quantity].unit,
        row.direction,
        verdict.low,
        verdict.high,
        value_beside("charge_neutral", beside) if row.quantity == "charge_stroked" else None,
        row.at_oil_temp_c is not None and row.at_oil_temp_c < COLD_C,
    )


def value_beside(quantity: str, rows: list[Reading]) -> float | None:
    return next((row.value for row in rows if row.quantity == quantity), None)


def looks_taken(rows: list[Reading]) -> list[str]:
    """Return the looks of the tables that these readings were."""
    read = {row.quantity for row in rows}
    tests = {
        "T03": {"charge_neutral"},
        "T04": {"charge_inlet_pressure"},
        "T05": {"charge_stroked"},
        "T06": {"flushing_flow"},
        "T07": {"main_relief"},
        "T08": {"pump_case_flow", "motor_case_flow"},
        "T09": {"top_speed"},
        "T11": {"neutral_creep"},
        "T13": {"stroke_time"},
    }
    return [look for look, quantities in tests.items() if quantities <= read]


def apportioned_by(rows: list[Reading]) -> Apportioned | None:
    """Return pump or motor, where a drain or the drop of charge was read."""
    ratios = {row.quantity: row.verdicts[0].ratio for row in rows if row.verdicts[0].ratio and row.verdicts[0].ratio > 0}
    drains = {"pump_ratio": ratios.get("pump_case_flow"), "motor_ratio": ratios.get("motor_case_flow")}
    sag, speed = greatest_drop(rows), slowest(rows)
    if not any(value is not None for value in (*drains.values(), sag)):
        return None
    return apportion(**drains, sag_share=sag, speed_ratio=speed)


def greatest_drop(rows: list[Reading]) -> float | None:
    neutral = value_beside("charge_neutral", rows)
    stroked = [row.value for row in rows if row.quantity == "charge_stroked"]
    return (neutral - min(stroked)) / neutral if neutral and stroked else None


def slowest(rows: list[Reading]) -> float | None:
    shares = [
        row.value / row.verdicts[0].expected for row in rows if row.quantity in ("top_speed", "output_speed") and row.verdicts[0].expected
    ]
    return min(shares) if shares and min(shares) > 0 else None
