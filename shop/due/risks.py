"""What is risked when a task is put off, in a sentence that is shown before asking, kept with the deferral and printed."""

from calcs.thousands import grouped

RISKS = {  # our own wording; which harm follows which neglect is common practice, no source
    "filter": "A clogged filter opens its bypass: dirt goes round the charge circuit and wears pump, motor and valves.",
    "fluid": "Old oil loses its viscosity and its additives: leakage and heat rise, and a drive that runs hot may fail without warning.",
    "sample": "Without a sample, wear, water or a wrong fluid stays unseen until it shows as a failure.",
    "test": "Without the test, a drive that is losing pressure or leaking is not found before the season, and may stop in it.",
    "inspection": "What the inspection would find, leaks, loose parts or a creeping drive, stays unseen.",
    "hose": "An aged hose can burst under pressure: hot oil sprays out, can be injected through the skin or catch fire, and the machine loses drive.",
    "brake": "A brake that is not checked may not hold the machine: people near it can be run over.",
    "interlock": "An interlock that is not checked may let the machine start or drive off with nobody in the seat: people can be killed.",
}


def risk_sentence(row) -> str:
    """Return the sentence for one row of the due list."""
    over = f" It is {row.state}." if row.state in ("overdue", "over late limit") else ""
    hours = f" Due {grouped(row.due_h, 0)} h." if row.due_h is not None else ""
    return f"{row.task.name}: {RISKS[row.task.kind]}{hours}{over}"[:400]
