"""What hours sent by machines would do to the book: read like typed ones, never believed over what was typed later."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from django.utils import timezone

from calcs.figures import NumberRefused, read_number
from fleet.judged_hours import believed_hours, judge_hours
from fleet.models import HourReading, Machine
from fleet.models.base import folded, serial_key
from shop.acts import act
from shop.exchange.cells import CellRefused, moment_of, unmistakable
from shop.exchange.fleet_snapshot import SentHours, hours_of_duration, read_snapshot
from shop.exchange.plans import Choices, Overtaken, Plan, Refusal
from shop.visits.actions import put_hours
from shop.visits.entries import HoursEntry
from shop.visits.forms import HoursForm

NAMED_BY = (("SerialNumber", "serial"), ("PIN", "pin"), ("EquipmentID", "equipment_id"))
ORIGIN = HourReading.Origin.TELEMATICS


@dataclass(frozen=True)
class HoursRow:
    """Hours of one machine at one moment, and why they are doubted if they are."""

    line: int
    machine: Machine
    at: datetime
    hours: HoursEntry

    @property
    def place(self) -> tuple:
        return (self.machine.pk, self.at)

    @property
    def key(self) -> str:
        return f"{self.machine.number} {self.at.isoformat()} {self.hours.meter_h}"


def plan_hours(body: bytes, by, choices: Choices, say: Callable[[int, int], None] = lambda done, of: None) -> Plan:
    """Return everything that a snapshot of hours would do; nothing is written."""
    sent = read_snapshot(body)
    plan = Plan(rows=len(sent), heading=["EquipmentID", "SerialNumber", "PIN", "datetime", "Hour"])
    gate = HoursGate(plan)
    for each in sent:
        gate.read(each)
        if each.place % 50 == 0:
            say(each.place, len(sent))
    _sort_out(plan, gate.rows)
    plan.notes.append("Counted from the first machine of the file; a line is one machine.")
    plan.notes.append(
        "Hours that are hard to believe, or older than the last reading, are kept as not confirmed and wait for somebody to look."
    )
    lines = {refusal.line for refusal in plan.refused}
    plan.cells = {each.place: [each.equipment_id, each.serial, each.pin, each.at, each.hour] for each in sent if each.place in lines}
    return plan


class HoursGate:
    """Judges what each machine sent, by the form of the hours."""

    def __init__(self, plan: Plan):
        self.plan, self.rows = plan, []
        machines = list(Machine.objects.prefetch_related("meters"))
        self._by_serial = {machine.serial_key: machine for machine in machines}
        self._by_number = {folded(machine.number): machine for machine in machines}

    def read(self, sent: SentHours) -> None:
        try:
            machine = self._machine(sent)
            at = self._moment(sent)
            self.rows.append(HoursRow(sent.place, machine, at, self._hours(sent, machine, at)))
        except SentRefused as refusal:
            self.plan.refused.append(Refusal(sent.place, refusal.column, refusal.value[:200], refusal.reason, refusal.instead))

    def _machine(self, sent: SentHours) -> Machine:
        found = {}
        for column, name in NAMED_BY:
            text = getattr(sent, name)
            known = self._by_number.get(folded(text)) if name == "equipment_id" else self._by_serial.get(serial_key(text) or "-")
            if text and known:
                found[column] = known
        if not found:
            named = ", ".join(getattr(sent, name) for _, name in NAMED_BY if getattr(sent, name)) or ""
            raise SentRefused(
                "SerialNumber", named, "No machine of ours has this serial, PIN or number.", "Enter the machine first, or leave it out"
            )
        if len(set(found.values())) > 1:
            words = ", ".join(f"{column} is {machine.number}" for column, machine in found.items())
            raise SentRefused("EquipmentID", sent.equipment_id, f"It names two machines: {words}.", "One of them")
        machine = next(iter(found.values()))
        if not machine.meters.all():
            raise SentRefused(
                "SerialNumber", sent.serial, f"{machine.number} has no hour meter in the book.", "Write its first reading by hand"
            )
        return machine

    def _moment(self, sent: SentHours) -> datetime:
        try:
            return moment_of(sent.at, "")
        except CellRefused as refusal:
            raise SentRefused("datetime", sent.at, refusal.reason, refusal.instead) from refusal

    def _hours(self, sent: SentHours, machine: Machine, at: datetime) -> HoursEntry:
        """Return the hours as the form takes them, with the doubt there is about them."""
        figure = hours_of_duration(sent.hour)
        if figure is None:
            figure = _number(sent.hour)
        form = HoursForm({"read_at": at, "meter_h": unmistakable(figure), "keep_hours": "on"}, machine=machine)
        if not form.is_valid():
            field = next(iter(form.errors))
            column, value = ("datetime", sent.at) if field == "read_at" else ("Hour", sent.hour)
            raise SentRefused(column, value, str(form.errors[field][0]), "")
        entry = form.hours()
        return replace(entry, typed=sent.hour[:30], is_kept=True, origin=ORIGIN, doubt=doubt_of(machine, entry, at))


class SentRefused(ValueError):
    """A field of what a machine sent that cannot be taken."""

    def __init__(self, column: str, value: str, reason: str, instead: str):
        self.column, self.value, self.reason, self.instead = column, value, reason, instead
        super().__init__(reason)


def _number(text: str) -> float:
    try:
        return read_number(text, ".")
    except NumberRefused as refusal:
        raise SentRefused("Hour", text, str(refusal), "Hours such as 3533.1, or PT3533H6M") from refusal


def doubt_of(machine: Machine, hours: HoursEntry, at: datetime) -> str:
    """Return why hours that a machine sent are not believed without a look; nothing if they are."""
    judged = judge_hours(machine, hours.meter_h, at)
    if not judged.is_plausible:
        return judged.question[:300]
    last = believed_hours(machine)
    if last is not None and at < last.read_at:
        return f"Sent for {timezone.localtime(at):%Y-%m-%d %H:%M}, older than the last reading of {timezone.localtime(last.read_at):%Y-%m-%d %H:%M}"
    return ""


def _sort_out(plan: Plan, rows: list[HoursRow]) -> None:
    by_place: dict[tuple, dict[str, HoursRow]] = defaultdict(dict)
    for row in rows:
        by_place[row.place].setdefault(row.key, row)
    known = known_hours(rows)
    for same in by_place.values():
        for row in same.values():
            if len(same) > 1:
                reason = f"{row.machine.number} stands in the file with other hours for the same moment."
                plan.refused.append(Refusal(row.line, "Hour", row.hours.typed, reason, "One of them"))
            elif row.key in known:
                plan.known += 1
            else:
                plan.fresh.append(row)
    plan.doubles = len(rows) - sum(len(same) for same in by_place.values())
    plan.refused.sort(key=lambda refusal: refusal.line)


def known_hours(rows: list[HoursRow]) -> set[str]:
    """Return the marks of hours that stand or stood in the book at these moments."""
    there = HourReading.objects.filter(meter__machine__in={row.machine.pk for row in rows}, read_at__in={row.at for row in rows})
    return {
        f"{number} {at.isoformat()} {meter_h}" for number, at, meter_h in there.values_list("meter__machine__number", "read_at", "meter_h")
    }


def record_sent_hours(*, by, plan: Plan, reason: str, token: str = "") -> list[HourReading]:
    """Keep what machines sent as readings of their meters, the doubtful ones not confirmed."""
    if not plan.fresh:
        return []
    with act("Hours imported", by=by, reason=reason[:300], token=token):
        known = known_hours(plan.fresh)
        if any(row.key in known for row in plan.fresh):
            raise Overtaken("Somebody else wrote some of these hours a moment ago: look at the file anew.")
        rows = sorted(plan.fresh, key=lambda row: (row.at, row.machine.number))
        return [put_hours(row.machine, row.at, row.hours, by) for row in rows]


def hours_shown(row: HoursRow) -> list:
    """Return hours as they were understood."""
    state = f"not confirmed: {row.hours.doubt}" if row.hours.doubt else "confirmed"
    return [row.line, str(row.machine), f"{timezone.localtime(row.at):%Y-%m-%d %H:%M}", row.hours.typed, f"{row.hours.meter_h} h", state]
