"""Putting a task off: asked by one person, approved by another with the risk before their eyes, to a new limit; then it is overdue again."""

import logging

from django.utils import timezone

from calcs.thousands import grouped
from shop.acts import act
from shop.due.risks import risk_sentence
from shop.models import Deferral, TaskDone
from shop.refusals import Refused
from shop.roles import has_right

log = logging.getLogger("shop.due")
OWN = "A deferral is approved by somebody other than the person who asked for it; ask a manager."
NOT_A_MANAGER = "Only a manager, or a person at the customer who may approve work, approves a deferral; ask one of them."
MANAGER_WITH_THIRD = 3
MOST_HOURS_OFF = 5000  # nobody puts a task off by more; a figure beyond is a slip, a shop rule


def deferrals_since_done(machine, task, unit) -> int:
    """Return how many approved deferrals of a task there were since it was last done."""
    last = (
        TaskDone.objects.standing().filter(machine=machine, task=task, was_done=True).order_by("-done_on").values_list("done_on", flat=True)
    )
    approved = Deferral.objects.filter(machine=machine, task=task, approved_at__isnull=False)
    approved = approved.filter(unit=unit) if unit is not None else approved
    day = last.first()
    return (approved.filter(approved_at__date__gt=day) if day else approved).count()


def ask_deferral(*, by, row, reason: str, words: str, until_h, until_on, token: str = "") -> Deferral:
    """Ask for a task to be put off; nothing changes on the due list until somebody else approves it."""
    refuse_limits(row, until_h, until_on)
    with act("Deferral asked for", by=by, token=token) as frame:
        waiting = Deferral.objects.filter(machine=row.machine, task=row.task, unit=row.unit, approved_at=None, ended_at=None)
        if waiting.exists():
            raise Refused("A deferral of this task waits for approval already: have that one approved or withdrawn first.")
        frame.made = Deferral.objects.create(
            task=row.task, machine=row.machine, unit=row.unit, reason=reason, words=words, risk=risk_sentence(row), asked_by=by,
            until_h=until_h, until_on=until_on, recorded_by=by,
        )  # fmt: skip
    return frame.made


def refuse_limits(row, until_h, until_on) -> None:
    """Refuse a new limit that lies behind: by then it would be overdue again at once."""
    wrong = []
    if until_on <= timezone.localdate():
        wrong.append(f"New limit, date: {until_on} is not after today; give a later day.")
    if row.now_h is not None and float(until_h) <= row.now_h:
        wrong.append(
            f"New limit, life hours: the machine has about {grouped(row.now_h, 0)} h by now; give a higher figure than {grouped(until_h)}."
        )
    if row.now_h is not None and float(until_h) > row.now_h + MOST_HOURS_OFF:
        wrong.append(
            f"New limit, life hours: {grouped(until_h)} is more than {grouped(MOST_HOURS_OFF)} h beyond the {grouped(row.now_h, 0)} h of now; "
            "check the figure."
        )
    if wrong:
        raise Refused(*wrong)


def approve_deferral(*, by, deferral: Deferral, contact=None, token: str = "") -> Deferral:
    """Approve a deferral in one's own name, or keep that a named person at the customer did."""
    refuse_approval(by, deferral, contact)
    with act("Deferral approved", by=by, token=token) as frame:
        open_one = Deferral.objects.filter(pk=deferral.pk, approved_at=None, ended_at=None)
        given = {"approved_by_contact": contact} if contact else {"approved_by": by}
        if not open_one.update(approved_at=timezone.now(), **given):
            raise Refused("This deferral was answered a moment ago: look at it again.")
        deferral.refresh_from_db()
        frame.made = deferral
    return deferral


def refuse_approval(by, deferral: Deferral, contact) -> None:
    """Say in one sentence why this person may not approve this deferral, and log that it was tried."""
    sentence = refusal_of(by, deferral, contact)
    if sentence:
        log.warning("deferral %s not approved, tried by %s: %s", deferral.pk, by.get_username(), sentence)
        raise Refused(sentence)


def refusal_of(by, deferral: Deferral, contact) -> str:
    is_manager = has_right(by, "approve deferral")
    if contact is None:
        if not is_manager:
            return OWN if deferral.asked_by_id == by.pk else NOT_A_MANAGER
        return OWN if deferral.asked_by_id == by.pk else ""
    if not has_right(by, "keep customers"):
        return "What a customer approved is written down by the office or a manager."
    if contact.customer_id != deferral.machine.customer_id or not contact.may_approve or contact.is_retired:
        return f"{contact} may not approve work on this machine: choose somebody of its owner who may, or ask a manager."
    number = deferrals_since_done(deferral.machine, deferral.task, deferral.unit) + 1
    if number >= MANAGER_WITH_THIRD:
        return f"This is deferral {number} of the same task since it was last done: it goes to a manager."
    return ""


def end_deferral(*, by, deferral: Deferral, token: str = "") -> Deferral:
    """Withdraw a deferral: one that waits is dropped, one that stands ends now and the task is due as it was."""
    with act("Deferral ended", by=by, token=token) as frame:
        if not Deferral.objects.filter(pk=deferral.pk, ended_at=None).update(ended_at=timezone.now()):
            raise Refused("This deferral has ended already.")
        deferral.refresh_from_db()
        frame.made = deferral
    return deferral
