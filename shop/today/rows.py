"""What needs somebody now, as sentences and one list; and what the find box finds."""

from dataclasses import dataclass, field
from datetime import timedelta

from django.db.models import Q
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from fleet.models import ConditionAssessment, Customer, DriveTest, DriveUnit, HourReading, Instrument, Machine
from fleet.models.base import folded
from shop.drives.rows import State, units_with_latest
from shop.due.fleet_due import fleet_due
from shop.due.rows import chosen, due_rows
from shop.instruments.rows import instruments_listed, standing_of
from shop.models import OpenTest, Visit, WorkOrder
from shop.roles import TECHNICIAN, has_right, roles_of

MOST = 20
LAST_DAYS = timedelta(days=21)
SHOWN = 8  # of one kind; the rest is a link to its list
OUTSIDE = [State.OUTSIDE_LOW, State.OUTSIDE_HIGH, State.IMPOSSIBLE]
LATE = ("over late limit", "overdue")
WAITING = [WorkOrder.State.WAITING_APPROVAL, WorkOrder.State.WAITING_PARTS, WorkOrder.State.TAKEN_IN]


@dataclass
class Need:
    """One thing that waits for somebody: the state, what it is, why in words, where to go."""

    state: str
    label: str
    title: str
    words: str
    url: str


@dataclass
class Kind:
    """All needs of one kind: how many there are, in a sentence, the first of them, and where the rest stand."""

    sentence: str
    needs: list[Need] = field(default_factory=list)
    more: int = 0
    url: str = ""


def address(name: str, *args) -> str:
    """Return the address of a page, or nothing while that room is not open yet."""
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""


def counted(number: int, one: str, many: str) -> str:
    return f"1 {one}." if number == 1 else f"{number} {many}."


def needs_of(user) -> list[Kind]:
    """Return what needs this person now, most pressing first; own orders come first for a technician."""
    orders = list(WorkOrder.objects.open().select_related("machine", "customer").order_by("promised_on", "taken_in_at", "pk"))
    own = own_orders(user) if TECHNICIAN in roles_of(user) else set()
    kinds = [
        kind_of([order for order in orders if order.pk in own], order_need, "of your orders is open", "of your orders are open", "orders"),
        outside_readings(),
        overdue_tasks(),
        unconfirmed_hours(user),
        kind_of(
            [order for order in orders if order.state in WAITING and order.pk not in own],
            order_need,
            "order waits for approval, parts or a start",
            "orders wait for approval, parts or a start",
            "orders",
        ),
        instruments_due(),
    ]
    return [kind for kind in kinds if kind and kind.needs]


def kind_of(rows, need, one: str, many: str, list_name: str, query: str = "") -> Kind:
    """Return needs of one kind from its rows."""
    shown = [need(row) for row in rows[:SHOWN]]
    return Kind(counted(len(rows), one, many), shown, len(rows) - len(shown), address(list_name) + query)


def own_orders(user) -> set[int]:
    """Return the open orders that somebody is booked on or has clocked hours on."""
    booked = Q(bookings__technician__user=user, bookings__is_cancelled=False)
    return set(WorkOrder.objects.open().filter(booked | Q(labour__technician__user=user)).values_list("pk", flat=True))


def order_need(order: WorkOrder) -> Need:
    late = order.promised_on is not None and order.promised_on < timezone.localdate()
    promised = f"promised {order.promised_on:%-d %b %Y}" if order.promised_on else "no day promised"
    words = f"{order.customer}, {promised}. {order.complaint[:120]}".strip()
    state = "overdue" if late else "due"
    return Need(state, order.get_state_display().lower(), f"{order.number} {order.machine}", words, address("order", order.pk))


def outside_readings() -> Kind:
    """Drives whose latest verdict on something is outside and fresh."""
    since = timezone.now() - LAST_DAYS
    rows = (
        ConditionAssessment.objects.in_force()
        .filter(state__in=OUTSIDE, reading__superseded_by=None, reading__is_valid=True, reading__drive_test__tested_at__gte=since)
        .filter(reading__drive_test__unit__in=units_with_latest(OUTSIDE))
        .select_related("reading__drive_test__unit", "reading__drive_test__machine")
        .order_by("-reading__drive_test__tested_at", "pk")
    )
    units: dict[int, list] = {}
    for row in rows:
        units.setdefault(row.reading.drive_test.unit_id, []).append(row)
    one, many = "drive read outside in the last three weeks", "drives read outside in the last three weeks"
    return kind_of(list(units.values()), outside_need, one, many, "drives", "?verdict=outside")


def outside_need(rows) -> Need:
    test = rows[0].reading.drive_test
    others = f", and {len(rows) - 1} more" if len(rows) > 1 else ""
    words = f"{rows[0].reason[:160]}{others}. {test.machine}, {test.tested_at:%-d %b %Y}."
    return Need(rows[0].state, rows[0].state, f"{test.unit.tag} in {test.machine.number}", words, reverse("drive", args=[test.unit_id]))


def overdue_tasks() -> Kind:
    """Tasks past their day or hours; words are made for those shown alone."""
    fleet = fleet_due()
    places = chosen(fleet, states=LATE)
    needs = [due_need(row) for row in due_rows(fleet, places[:SHOWN])] if len(places) else []
    return Kind(counted(len(places), "task is overdue", "tasks are overdue"), needs, len(places) - len(needs), address("due"))


def due_need(row) -> Need:
    title = f"{row.task} on {row.machine.number}" + (f", {row.unit.tag}" if row.unit else "")
    return Need(row.state, row.state, title, f"{row.machine.customer}. {row.reason}", reverse("machine", args=[row.machine.pk]))


def unconfirmed_hours(user) -> Kind:
    rows = list(HourReading.objects.standing().filter(is_confirmed=False).select_related("meter__machine").order_by("-read_at"))
    page = "correct_hours" if has_right(user, "correct the record") else None
    return kind_of(
        rows, lambda row: hours_need(row, page), "hour reading waits to be confirmed", "hour readings wait to be confirmed", "machines"
    )


def hours_need(row: HourReading, page: str | None) -> Need:
    """Lead to `page` of the reading, or to the machine for those who may only look."""
    machine = row.meter.machine
    to = reverse(page, args=[row.pk]) if page else reverse("machine", args=[machine.pk])
    words = f"{row.meter_h} h on {row.read_at:%-d %b %Y}: {row.question}"
    return Need("undecided", "not confirmed", str(machine), words, to)


def instruments_due() -> Kind:
    rows = list(instruments_listed({"only_due": True}).order_by("due_on", "tag"))
    return kind_of(rows, instrument_need, "instrument needs calibration", "instruments need calibration", "instruments", "?only_due=on")


def instrument_need(row: Instrument) -> Need:
    state, words = standing_of(row.due_on, row.last_result, timezone.localdate())
    return Need(
        state,
        state if state != "outside high" else "failed",
        f"{row.tag} {row.get_kind_display().lower()}",
        words,
        reverse("instrument", args=[row.pk]),
    )


@dataclass
class Hit:
    title: str
    note: str
    url: str


@dataclass
class Group:
    title: str
    rows: list[Hit] = field(default_factory=list)


def found_records(text: str) -> list[Group]:
    """Machines, drives, orders, customers, tests, visits and instruments that hold `text`; case and accents do not count."""
    if not folded(text):
        return []
    found = {
        "Machines": [machine_hit(row) for row in Machine.objects.naming(text).select_related("customer")[:MOST]],
        "Drives": [drive_hit(row) for row in DriveUnit.objects.naming(text).select_related("drive_model")[:MOST]],
        "Orders": [order_hit(row) for row in WorkOrder.objects.filter(number__icontains=text).select_related("machine")[:MOST]],
        "Customers": [Hit(row.name, row.number, address("customer", row.pk)) for row in Customer.objects.naming(text)[:MOST]],
        "Tests": [test_hit(row) for row in DriveTest.objects.filter(number__icontains=text).select_related("unit", "machine")[:MOST]],
        "Tests in progress": [
            open_test_hit(row) for row in OpenTest.objects.filter(number__icontains=text).select_related("unit", "machine")[:MOST]
        ],
        "Visits": [visit_hit(row) for row in Visit.objects.filter(number__icontains=text).select_related("machine")[:MOST]],
        "Instruments": instruments_named(text),
    }
    return [Group(title, rows) for title, rows in found.items() if rows]


def machine_hit(row: Machine) -> Hit:
    return Hit(str(row), f"serial {row.serial}, {row.customer}", address("machine", row.pk))


def drive_hit(row: DriveUnit) -> Hit:
    return Hit(row.tag, f"{row.drive_model} serial {row.serial}", address("drive", row.pk))


def order_hit(row: WorkOrder) -> Hit:
    return Hit(row.number, f"{row.machine}, {row.get_state_display().lower()}", address("order", row.pk))


def test_hit(row: DriveTest) -> Hit:
    words = f"{row.unit.tag} in {row.machine}, {row.tested_at:%-d %b %Y}"
    return Hit(row.number, words, address("test", row.pk) or address("drive", row.unit_id))


def open_test_hit(row: OpenTest) -> Hit:
    return Hit(row.number, f"{row.unit.tag} in {row.machine}, {'closed' if row.closed_at else 'in progress'}", address("open_test", row.pk))


def visit_hit(row: Visit) -> Hit:
    return Hit(row.number, f"{row.machine}, {row.visited_at:%-d %b %Y}", address("visit", row.pk))


def instruments_named(text: str) -> list[Hit]:
    """Instruments are few: they are folded here, the same on every database."""
    wanted = folded(text)
    rows = [row for row in Instrument.objects.all() if wanted in folded(row.tag, row.serial, row.maker)][:MOST]
    return [Hit(row.tag, f"{row.get_kind_display()} {row.maker} {row.serial}".strip(), address("instrument", row.pk)) for row in rows]
