"""What failed, as far as anybody knows; and what must be done after debris."""

from fleet.models import Failure
from fleet.unit_hours import component_h
from shop.acts import act
from shop.models import OrderLine
from shop.workorders.lines import put_line, refuse_if_ended

FIELDS = ("mode", "mechanism", "cause", "detected_by", "severity", "evidence", "is_secondary", "has_debris", "remedy", "crop")
CLEAN_OUT = (  # common practice, no source
    "Open and look into both ends of the loop, pump and motor, and every circuit on the same charge pump or tank",
    "Drain hot, take out the suction screen, clean the tank by hand",
    "Replace the cooler, or prove it clean",
    "Flush the loop hoses in both directions",
    "Change every filter",
    "Put a temporary high-pressure filter before the new unit; wheels off the ground on stands; run forward, then reverse, as the maker says",
    "Run under work about two hours, look at the oil again, repeat until it is clean",
    "Book an early filter change with oil sample, for instance after 10 h and 50 h",
    "Take the base readings of the unit now fitted: charge, relief, case drain, speed",
)


def record_failure(*, by, order, happened_at, version: int, token: str = "", **fields) -> Failure:
    """Keep what failed on this order; where debris was found, put the lines that clean it out."""
    unknown = set(fields) - set(FIELDS)
    if unknown:
        raise ValueError(f"fields must be among {', '.join(FIELDS)}, got {', '.join(sorted(unknown))}")
    with act("record a failure", by=by, token=token) as frame:
        refuse_if_ended(order)
        frame.made = keep_failure(order, happened_at, by, fields)
        order.failure = frame.made
        order.save_over(version)
        if frame.made.has_debris:
            put_clean_out(order)
    return frame.made


def keep_failure(order, happened_at, by, fields) -> Failure:
    failure = order.failure or Failure(machine=order.machine, unit=order.unit, recorded_by=by, life_h=order.life_h)
    if order.unit and order.life_h is not None:
        failure.component_h = component_h(order.unit, order.machine, order.life_h)
    failure.happened_at = happened_at
    for name, value in fields.items():
        setattr(failure, name, value or Failure._meta.get_field(name).get_default())
    failure.save()
    return failure


def put_clean_out(order) -> None:
    """Put the forced lines that are not there yet."""
    there = set(order.lines.filter(is_forced=True).values_list("words", flat=True))
    for words in CLEAN_OUT:
        if words not in there:
            put_line(
                order,
                words=words,
                unit=order.unit,
                is_forced=True,
                urgency=OrderLine.Urgency.NOW,
                evidence="Debris was found on this order",
            )
