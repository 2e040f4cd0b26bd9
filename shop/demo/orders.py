"""Work orders from the call to the release, with their moves, lines, approvals and hours."""

from datetime import timedelta
from decimal import Decimal

from fleet.models import Failure
from shop.demo import stories
from shop.demo.book import Book
from shop.demo.order_cases import CASES, FAILED, Case
from shop.demo.times import moment
from shop.demo.units import component_h_on, stay_on
from shop.models import Approval, Finding, LabourEntry, OrderLine, OrderMove, WorkOrder

ROAD = ("taken_in", "diagnosing", "waiting_approval", "waiting_parts", "in_work", "final_test", "released", "collected")
SKIPPED = {"diagnosing": (), "waiting_approval": (), "waiting_parts": (), "in_work": ("waiting_parts",), "final_test": ("waiting_parts",)}
PRICES = {"labour": 9_200, "task": 9_200, "sublet": 24_000, "travel": 6_000}
COMEBACK_DAYS = 90


def make_orders(book: Book) -> None:
    earlier: dict[str, WorkOrder] = {}
    for place, case in enumerate(sorted(CASES, key=lambda case: -case.ago)):
        order = _order(book, case, place)
        _comes_back(order, earlier.get(case.machine))
        order.save()
        earlier[case.machine] = order
        _moves(book, order, case)
        finding = _finding(book, order, case)
        lines = [_line(book, order, row, spot, finding) for spot, row in enumerate(case.lines)]
        OrderLine.objects.bulk_create(lines)
        _approval(book, order, case, lines)
        LabourEntry.objects.bulk_create(_labour(book, order, case))


def _order(book: Book, case: Case, place: int) -> WorkOrder:
    machine, day = book.machines[case.machine], book.span.ago(case.ago)
    at = moment(day, 195)
    has_ended = case.state in ("released", "collected")
    return WorkOrder(
        number=f"W-{place + 1:05d}",
        state=case.state,
        customer=machine.customer,
        machine=machine,
        unit=_unit(book, case.machine, day),
        taken_in_at=at,
        caller=case.caller or machine.customer.people[0].name,
        life_h=book.uses[case.machine].life_h(day),
        complaint=case.complaint,
        symptom=case.symptom,
        cause=case.cause,
        correction=case.correction,
        is_warranty=case.is_warranty,
        promised_on=day + timedelta(days=14),
        fitness="yes" if has_ended else "",
        failure=_failure(book, case, day),
        intake={"hurt": "no", "safe": "yes, in the yard", "moves": "no" if case.complaint == FAILED else "yes"},
        released_at=at + timedelta(days=4) if has_ended else None,
        released_by=book.users["marta"] if has_ended else None,
        test_waiver="Not a change to the loop" if has_ended and case.symptom in ("", "hot", "creep") else "",
        waived_by=book.users["marta"] if has_ended and case.symptom in ("", "hot", "creep") else None,
        recorded_by=book.users["olof"],
        recorded_at=at,
    )


def _unit(book: Book, number: str, day):
    stays = [stay_on(book, tag, day) for tag in book.units]
    fitted = [stay.unit for stay in stays if stay and stay.machine.number == number]
    return fitted[0] if fitted else None


def _failure(book: Book, case: Case, day):
    if case.complaint != FAILED:
        return None
    unit = book.units[stories.LEFT_UNIT]
    return Failure.objects.create(
        machine=book.machines[case.machine],
        unit=unit,
        happened_at=moment(day, 100),
        life_h=book.uses[case.machine].life_h(day),
        component_h=component_h_on(book, unit.tag, day),
        mode="no_drive",
        mechanism="valve plate and block face scored through",
        cause="dirt past the charge filter",
        detected_by="operator",
        severity="stops",
        evidence="seen",
        has_debris=True,
        remedy="exchange unit",
        stopped_from=moment(day, 100),
        stopped_to=moment(day + timedelta(days=2), 400),
        crop="second cut",
        recorded_by=book.users["kaisa"],
        recorded_at=moment(day, 540),
    )


def _comes_back(order: WorkOrder, before: WorkOrder | None) -> None:
    if before and before.symptom and before.symptom == order.symptom and (order.taken_in_at - before.taken_in_at).days < COMEBACK_DAYS:
        order.comeback_of, order.comeback_answer = before, "Yes: the second clamp was missed"


def _moves(book: Book, order: WorkOrder, case: Case) -> None:
    end = ROAD.index(case.state) if case.state in ROAD else 0
    skipped = SKIPPED.get(case.state, ("waiting_parts",))
    road = [state for state in ROAD[: end + 1] if state not in skipped] + (["cancelled"] if case.state == "cancelled" else [])
    road = [state for state in road if not (case.state == "waiting_parts" and state == "diagnosing")]
    before = ""
    for step, state in enumerate(road):
        OrderMove.objects.create(
            order=order,
            from_state=before,
            to_state=state,
            reason=case.reason if state == "cancelled" else "",
            recorded_by=book.users["marta" if state in ("released", "cancelled") else "tilde"],
            recorded_at=_step_at(order, case, step),
        )
        before = state


def _step_at(order: WorkOrder, case: Case, step: int):
    days = step if case.ago > 7 else min(step, case.ago - 1)
    return order.taken_in_at + timedelta(days=days, minutes=25 * step)


def _finding(book: Book, order: WorkOrder, case: Case):
    if not case.finding:
        return None
    visit = book.calls[case.machine][-1].row
    return Finding.objects.create(
        machine=order.machine,
        unit=order.unit,
        visit=visit,
        words=case.finding,
        urgency="now",
        recorded_by=visit.visited_by,
        recorded_at=visit.visited_at + timedelta(hours=2),
    )


def _line(book: Book, order: WorkOrder, row: tuple, spot: int, finding) -> OrderLine:
    kind, what, urgency = row
    task = book.tasks[what] if kind == "task" else None
    part = book.parts[what] if kind == "part" else None
    is_done = order.state in ("final_test", "released", "collected")
    hours = task.work_h if task else Decimal(2) if kind == "labour" else Decimal(1)
    return OrderLine(
        order=order,
        position=spot + 1,
        kind=kind,
        words=str(task.name if task else part.name if part else what),
        task=task,
        part=part,
        unit=order.unit,
        quantity=Decimal(hours),
        price_each_cents=part.price_cents if part else PRICES[kind],
        urgency=urgency,
        finding=finding if spot == 0 else None,
        evidence=finding.words if finding and spot == 0 else "",
        is_approved=None if order.state in ("taken_in", "diagnosing", "waiting_approval") else True,
        state="done" if is_done else "open",
    )


def _approval(book: Book, order: WorkOrder, case: Case, lines: list[OrderLine]) -> None:
    if not lines or order.state in ("taken_in", "diagnosing", "waiting_approval", "cancelled"):
        return
    contact = next(person for person in order.customer.people if person.may_approve)
    at = _step_at(order, case, 2)
    Approval.objects.create(
        order=order,
        contact=contact,
        given_at=at,
        channel="phone",
        words="Yes, do it, and call me if it gets dearer.",
        limit_cents=min(contact.approval_limit_cents, sum(line.total_cents for line in lines) + 5_000),
        lines=[line.pk for line in lines],
        recorded_by=book.users["olof"],
        recorded_at=at,
    )


def _labour(book: Book, order: WorkOrder, case: Case):
    for spot, (hand, kind, hours) in enumerate(case.labour_h):
        begun = moment(order.taken_in_at.date() + timedelta(days=1 + spot), 60)
        technician = book.technicians[hand]
        yield LabourEntry(
            order=order,
            technician=technician,
            kind=kind,
            started_at=begun,
            ended_at=begun + timedelta(hours=hours),
            by_hand=True,
            recorded_by=technician.user or book.users["olof"],
            recorded_at=begun + timedelta(hours=hours),
        )
