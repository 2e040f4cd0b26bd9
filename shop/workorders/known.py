"""What the book knows of a machine while the caller is still on the phone."""

from fleet.fluid_in_use import oil_in
from fleet.judged_hours import believed_hours
from fleet.models import Failure, OilSample
from fleet.unit_hours import component_h
from shop.models import Deferral, KitItem, WorkOrder

MOST_JOBS = 5
LIKELY_TESTS: dict[str, tuple[str, ...]] = {  # what is tried first; common practice, no source
    Failure.Mode.NO_DRIVE: ("Level, bypass shut, coupling, brake release", "T03 charge pressure"),
    Failure.Mode.NO_DRIVE_ONE_WAY: ("Linkage or command both ways", "T05 charge stroked", "T07 relief each way"),
    Failure.Mode.SLOW_HOT: ("Oil by the ledger, cooler, level", "T05 charge stroked", "T08 case drains at two temperatures", "T09 speed"),
    Failure.Mode.JERKY: ("Foam, linkage", "T03 charge pressure", "T04 inlet", "T11 creep"),
    Failure.Mode.NOISE: ("Level, oil temperature, suction screen", "T04 inlet", "T03 charge pressure"),
    Failure.Mode.HOT: ("Cooler, duty, relief blowing", "T06 flushing", "T07 relief", "T08 case drains"),
    Failure.Mode.CREEP: ("Approach neutral from both sides", "T11 creep"),
    Failure.Mode.LOW_CHARGE: ("Auxiliaries off one by one", "T04 inlet", "T03 charge neutral", "T05 charge stroked"),
    Failure.Mode.CASE_PRESSURE: ("Drain hoses, cooler, cold start", "T08 case flow and pressure"),
    Failure.Mode.NO_RETURN: ("Linkage, return spring", "T12 return to neutral"),
    Failure.Mode.NO_HOLD: ("Brake, release pressure", "T14 hold on slope"),
    Failure.Mode.OIL_REPORT: ("Cut the filter open", "T16 sample again"),
}
FIRST_OF_ALL = ("T01 look and fluid check", "T02 warm up")


def known_of(machine) -> dict:
    """Everything to be seen at once: jobs, deferrals, warranty, units, oil, kits."""
    fitted = [stay.unit for stay in machine.installations.running().select_related("unit__drive_model")]
    reading, oil = believed_hours(machine), oil_in(machine)
    return {
        "hours": reading,
        "jobs": WorkOrder.objects.of(machine).order_by("-taken_in_at", "-pk")[:MOST_JOBS],
        "deferrals": Deferral.objects.filter(machine=machine, ended_at=None).select_related("task"),
        "units": [(unit, component_h(unit)) for unit in fitted],
        "oil": oil,
        "last_fill": machine.fills.filter(superseded_by=None).select_related("product").order_by("-filled_at", "-pk").first(),
        "sample": OilSample.objects.filter(machine=machine).prefetch_related("values").order_by("-drawn_at").first(),
        "kits": KitItem.objects.filter(drive_model__in=[unit.drive_model_id for unit in fitted]).select_related("task", "part")[:20],
        "site": machine.site,
    }


def likely_tests(symptom: str) -> tuple[str, ...]:
    return FIRST_OF_ALL + LIKELY_TESTS.get(symptom, ())
