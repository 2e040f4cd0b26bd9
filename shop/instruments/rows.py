"""What the pages of instruments hold: the register with what is due, readings taken, and which scale suits what."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, OuterRef, Q, Subquery
from django.utils import timezone

from calcs.uncertainty import fitting_span
from calcs.units import to_house
from fleet.models import Calibration, ConditionAssessment, DriveModel, Instrument, Reading

SOON = timedelta(days=30)
THIRD_LOW, THIRD_HIGH = 1 / 3, 2 / 3


def instruments_listed(wanted: dict):
    """Instruments that answer to the filters, with their last calibration."""
    latest = Calibration.objects.filter(instrument=OuterRef("pk")).order_by("-done_on", "-pk")
    found = Instrument.objects.annotate(
        due_on=Subquery(latest.values("due_on")[:1]),
        last_result=Subquery(latest.values("result")[:1]),
        done_on=Subquery(latest.values("done_on")[:1]),
    )
    if "q" in wanted:
        text = wanted["q"]
        found = found.filter(Q(tag__icontains=text) | Q(serial__icontains=text) | Q(maker__icontains=text) | Q(location__icontains=text))
    for name in ("kind", "status"):
        if name in wanted:
            found = found.filter(**{name: wanted[name]})
    if wanted.get("only_due"):
        found = needing_calibration(found)
    return found


def needing_calibration(instruments, today: date | None = None):
    """Instruments in use whose calibration is due within a month, ended, failed or was never done."""
    limit = (today or timezone.localdate()) + SOON
    in_use = instruments.exclude(status=Instrument.Status.WITHDRAWN)
    return in_use.filter(Q(due_on=None) | Q(due_on__lte=limit) | Q(last_result=Calibration.Result.FAILED))


def standing_of(due_on, last_result, today: date) -> tuple[str, str]:
    """Return the state of a calibration and its words."""
    if due_on is None:
        return "not known", "never calibrated"
    if last_result == Calibration.Result.FAILED:
        return "outside high", "failed its calibration"
    if due_on < today:
        return "overdue", f"ended {due_on:%-d %b %Y}"
    if due_on <= today + SOON:
        return "due soon", f"due {due_on:%-d %b %Y}"
    return "inside", f"good to {due_on:%-d %b %Y}"


@dataclass(frozen=True)
class Fit:
    """How one pressure of one drive model falls on the scale of a gauge."""

    model: DriveModel
    label: str
    value_bar: float
    share: float
    better_span_bar: float | None

    @property
    def is_good(self) -> bool:
        return THIRD_LOW <= self.share <= THIRD_HIGH

    @property
    def words(self) -> str:
        if self.share > 1:
            return "beyond the scale: it would be ruined"
        if self.is_good:
            return "middle third"
        return "upper third: little room for peaks" if self.share > THIRD_HIGH else "lower third: the class weighs heavily"


PRESSURES = {"charge_relief_bar": "charge", "relief_forward_bar": "main relief forward", "relief_reverse_bar": "main relief reverse"}


def fits_of(instrument: Instrument) -> list[Fit]:
    """Return where the pressures of the drive models fall on a gauge's scale, those in the middle third first."""
    if instrument.kind != Instrument.Kind.PRESSURE:
        return []
    low, high = (to_house(end, instrument.unit, "pressure") for end in (instrument.span_low, instrument.span_high))
    fits = []
    for model in DriveModel.objects.all():
        for name, label in PRESSURES.items():
            value = getattr(model, name)
            if value is not None:
                fits.append(Fit(model, label, value, (value - low) / (high - low), fitting_span(value)))
    return sorted(fits, key=lambda fit: (not fit.is_good, abs(fit.share - 0.5)))


def readings_taken(instrument: Instrument):
    """Standing readings taken with an instrument, latest first, with their verdicts."""
    return Reading.objects.standing().filter(instrument=instrument).with_verdicts().order_by("-drive_test__tested_at", "-pk")


def last_good_before(calibration: Calibration) -> Calibration | None:
    earlier = calibration.instrument.calibrations.filter(done_on__lte=calibration.done_on, result=Calibration.Result.GOOD)
    return earlier.exclude(pk=calibration.pk).order_by("done_on", "pk").last()


def readings_in_doubt(calibration: Calibration):
    """Readings taken since the last good calibration up to a failed one."""
    good = last_good_before(calibration)
    taken = readings_taken(calibration.instrument).filter(drive_test__tested_at__date__lte=calibration.done_on)
    return taken.filter(drive_test__tested_at__date__gte=good.done_on) if good else taken


def instrument_page(instrument: Instrument) -> dict:
    calibrations = list(instrument.calibrations.order_by("-done_on", "-pk"))
    latest = calibrations[0] if calibrations else None
    state, words = standing_of(latest and latest.due_on, latest and latest.result, timezone.localdate())
    fits = fits_of(instrument)
    counted = ConditionAssessment.objects.in_force().filter(reading__instrument=instrument, reading__superseded_by=None)
    return {
        "instrument": instrument,
        "calibrations": calibrations,
        "state": state,
        "state_words": words,
        "fits": [fit for fit in fits if fit.share <= 1],
        "beyond": [fit for fit in fits if fit.share > 1],
        "counts": counted.values_list("state").annotate(n=Count("pk")).order_by("-n"),
    }
