"""What is due next on a machine, as rows for the release page, the order and the label."""


def next_due_rows(machine) -> list[list[str]]:
    """Task, hours, day, state; the soonest first."""
    return []
