"""Acts on machines: kept, sold, their meter replaced; drives fitted, taken out and moved, with the hours of both machines in one step."""

from datetime import date
from decimal import Decimal

from fleet.hours import moment_on
from fleet.judged_hours import judge_hours, local_day
from fleet.models import Customer, DriveUnit, HourMeter, HourReading, Installation, Machine, Ownership
from fleet.models.base import ChangedMeanwhile
from shop.acts import act
from shop.models import Counter


def next_free(name: str, prefix: str, model, field: str = "number") -> str:
    """Return the next human number that no record carries yet."""
    number = Counter.next_number(name, prefix)
    while model.objects.filter(**{field: number}).exists():
        number = Counter.next_number(name, prefix)
    return number


def add_machine(*, record: Machine, form, words: str, by, token: str = "") -> Machine:
    """Keep a new machine with its owner and its hour meter."""
    given = form.cleaned_data
    with act(words, by=by, token=token) as frame:
        record.number = next_free("machine", "M", Machine)
        record.save()
        Ownership.objects.create(machine=record, customer=record.customer, from_date=given["owned_from"])
        meter = HourMeter.objects.create(
            machine=record,
            fitted_on=given["owned_from"],
            start_meter_h=given["meter_h"],
            start_life_h=given["life_h"],
            recorded_by=by,
        )
        read_hours(meter=meter, meter_h=given["meter_h"], on=given["owned_from"], by=by)
        frame.made = record
    return record


def read_hours(*, meter: HourMeter, meter_h: Decimal, on: date, by) -> HourReading:
    """Keep a meter reading that was asked about already; the same reading of the same day is kept once."""
    same = meter.readings.accepted().filter(meter_h=meter_h).order_by("-read_at").first()
    if same and local_day(same.read_at) == on:
        return same
    read_at = moment_on(on, meter.machine)
    return HourReading.objects.create(
        meter=meter, read_at=read_at, meter_h=meter_h, life_h=meter.life_h(meter_h), typed=f"{meter_h} h", recorded_by=by
    )


def sell_machine(*, machine: Machine, customer: Customer, site, on: date, version: int, by, token: str = "") -> Machine:
    """Hand a machine to another owner; who had it before stays on record."""
    with act("Machine sold", by=by, token=token) as frame:
        machine.ownerships.filter(to_date=None).update(to_date=on)
        Ownership.objects.create(machine=machine, customer=customer, from_date=on)
        machine.customer, machine.site, machine.status = customer, site, Machine.Status.IN_USE
        machine.save_over(version)
        frame.made = machine
    return machine


def replace_meter(
    *, meter: HourMeter, on: date, end_meter_h: Decimal, start_meter_h: Decimal, reason: str, by, token: str = ""
) -> HourMeter:
    """End one meter and begin another; life hours run on."""
    with act("Hour meter replaced", by=by, reason=reason, token=token) as frame:
        read_hours(meter=meter, meter_h=end_meter_h, on=on, by=by)
        meter.ended_on, meter.end_meter_h, meter.end_reason = on, end_meter_h, reason
        meter.save()
        new = HourMeter.objects.create(
            machine=meter.machine,
            kind=meter.kind,
            fitted_on=on,
            start_meter_h=start_meter_h,
            start_life_h=meter.life_h(end_meter_h),
            recorded_by=by,
        )
        frame.made = new
    return new


def fit_drive(
    *, unit: DriveUnit, machine: Machine, position: str, on: date, meter_h: Decimal, reason: str, by, token: str = ""
) -> Installation:
    """Fit a unit that is in no machine."""
    with act("Drive fitted", by=by, reason=reason, token=token) as frame:
        life_h = _life_read(machine, on, meter_h, by)
        frame.made = Installation.objects.create(
            unit=unit, machine=machine, position=position, from_date=on, from_life_h=life_h, reason=reason, recorded_by=by
        )
    return frame.made


def remove_drive(*, installation: Installation, on: date, meter_h: Decimal, reason: str, keeping: str, by, token: str = "") -> Installation:
    """Take a unit out of its machine, and say where it is kept."""
    with act("Drive taken out", by=by, reason=reason, token=token) as frame:
        _end(installation, on, _life_read(installation.machine, on, meter_h, by), reason)
        _keep_at(installation.unit, keeping)
        frame.made = installation
    return installation


def move_drive(
    *,
    installation: Installation,
    machine: Machine,
    position: str,
    on: date,
    out_meter_h: Decimal,
    in_meter_h: Decimal,
    reason: str,
    by,
    token: str = "",
) -> Installation:
    """Take a unit out of one machine and fit it in another on the same day, with the meters of both."""
    with act("Drive moved", by=by, reason=reason, token=token) as frame:
        _end(installation, on, _life_read(installation.machine, on, out_meter_h, by), reason)
        life_h = _life_read(machine, on, in_meter_h, by)
        frame.made = Installation.objects.create(
            unit=installation.unit, machine=machine, position=position, from_date=on, from_life_h=life_h, reason=reason, recorded_by=by
        )
    return frame.made


def _life_read(machine: Machine, on: date, meter_h: Decimal, by) -> Decimal:
    meter = judge_hours(machine, meter_h, moment_on(on, machine)).meter
    return read_hours(meter=meter, meter_h=meter_h, on=on, by=by).life_h


def _end(installation: Installation, on: date, life_h: Decimal, reason: str) -> None:
    ended = Installation.objects.filter(pk=installation.pk, to_date=None).update(to_date=on, to_life_h=life_h, removal_reason=reason)
    if not ended:
        raise ChangedMeanwhile(installation)
    installation.refresh_from_db()


def _keep_at(unit: DriveUnit, keeping: str) -> None:
    unit.keeping = keeping
    unit.save_over(unit.version)
