"""The readings of a drive test in the order of walking round the machine: low pressure first, then high, then driving."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Step:
    """One reading of a sheet: which test it belongs to, what is read, at which engine speed, whether the loop is loaded."""

    test: str
    quantity: str
    direction: str = ""
    at: str = "high idle"  # or low idle
    is_loaded: bool = False
    port: str = ""


STEPS = (  # common practice, no source
    Step("T03", "charge_neutral_idle", at="low idle"),
    Step("T03", "charge_neutral"),
    Step("T05", "charge_stroked", "forward", is_loaded=True),
    Step("T05", "charge_stroked", "reverse", is_loaded=True),
    Step("T08", "pump_case_flow", is_loaded=True),
    Step("T08", "motor_case_flow", is_loaded=True),
    Step("T08", "case_pressure"),
    Step("T07", "main_relief", "forward"),
    Step("T07", "main_relief", "reverse"),
    Step("T09", "top_speed", "forward"),
    Step("T09", "top_speed", "reverse"),
    Step("T11", "neutral_creep", "forward"),
    Step("T11", "neutral_creep", "reverse"),
)
CAUTIONS_OF_TEST = {  # which cautions a test calls for; common practice, no source
    "T03": ("C1", "C2", "C3", "C7"),
    "T05": ("C1", "C2", "C3", "C5", "C6", "C7", "C8"),
    "T07": ("C1", "C2", "C3", "C5", "C6", "C7", "C8", "C18"),
    "T08": ("C1", "C2", "C3", "C4", "C6"),
    "T09": ("C5", "C6", "C8", "C10"),
    "T11": ("C5", "C6", "C10"),
}


def steps_of(order=None) -> tuple[tuple[Step, ...], frozenset[str]]:
    """Return the steps with their cautions: those of the tests opened on the order, else the whole round."""
    procedures = (
        [procedure for test in order.open_tests.prefetch_related("procedures") for procedure in test.procedures.all()] if order else []
    )
    steps = tuple(step for procedure in sorted(procedures, key=lambda row: row.walk_order) for step in _steps_in(procedure))
    if steps:
        codes = {code for procedure in procedures for code in procedure.cautions}
        codes |= {code for procedure in procedures for row in procedure.steps for code in row.get("cautions", ())}
        return steps, frozenset(codes)
    return STEPS, frozenset(code for step in STEPS for code in CAUTIONS_OF_TEST[step.test])


def _steps_in(procedure):
    known = {(step.quantity, step.direction): step for step in STEPS}
    for row in procedure.steps:
        if row.get("quantity"):
            alike = known.get((row["quantity"], row.get("direction", "")))
            yield Step(
                procedure.code,
                row["quantity"],
                row.get("direction", ""),
                alike.at if alike else "high idle",
                bool(alike and alike.is_loaded),
                row.get("port", ""),
            )
