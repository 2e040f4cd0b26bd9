"""Where an order may go from where it stands."""

from shop.models import WorkOrder

S = WorkOrder.State
ALLOWED: dict[str, tuple[str, ...]] = {
    S.TAKEN_IN: (S.DIAGNOSING, S.WAITING_APPROVAL, S.WAITING_PARTS, S.IN_WORK, S.CANCELLED),
    S.DIAGNOSING: (S.WAITING_APPROVAL, S.WAITING_PARTS, S.IN_WORK, S.CANCELLED),
    S.WAITING_APPROVAL: (S.DIAGNOSING, S.WAITING_PARTS, S.IN_WORK, S.CANCELLED),
    S.WAITING_PARTS: (S.WAITING_APPROVAL, S.IN_WORK, S.CANCELLED),
    S.IN_WORK: (S.DIAGNOSING, S.WAITING_APPROVAL, S.WAITING_PARTS, S.FINAL_TEST, S.CANCELLED),
    S.FINAL_TEST: (S.IN_WORK, S.RELEASED),
    S.RELEASED: (S.COLLECTED,),
    S.COLLECTED: (),
    S.CANCELLED: (),
}
NEXT_ACT = {  # what is usually done next, offered first
    S.TAKEN_IN: S.DIAGNOSING,
    S.DIAGNOSING: S.WAITING_APPROVAL,
    S.WAITING_APPROVAL: S.IN_WORK,
    S.WAITING_PARTS: S.IN_WORK,
    S.IN_WORK: S.FINAL_TEST,
    S.RELEASED: S.COLLECTED,
}
VERBS = {
    S.DIAGNOSING: "Begin diagnosing",
    S.WAITING_APPROVAL: "Wait for approval",
    S.WAITING_PARTS: "Wait for parts",
    S.IN_WORK: "Begin work",
    S.FINAL_TEST: "Begin final test",
    S.COLLECTED: "Collected by the customer",
    S.CANCELLED: "Cancel the order",
}


def open_moves(state: str) -> list[tuple[str, str]]:
    """Moves a person may pick from here, the usual one first; release has a page of its own."""
    usual = NEXT_ACT.get(state)
    there = [to for to in ALLOWED[state] if to != S.RELEASED]
    return [(to, VERBS[to]) for to in sorted(there, key=lambda to: to != usual)]


def move_refusal(order, to: str) -> str | None:
    """Return why an order cannot go to a state, or None if it can."""
    if to in ALLOWED[order.state]:
        return None
    ways = ", ".join(S(way).label.lower() for way in ALLOWED[order.state]) or "nowhere: it has ended"
    return f"{order.number} is {order.get_state_display().lower()} and cannot go to {S(to).label.lower()} from there, only to: {ways}."
