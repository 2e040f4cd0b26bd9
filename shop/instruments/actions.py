"""Acts on instruments: a calibration, and what a failed one does to the readings since the last good one."""

from fleet.assess import assess_all
from fleet.models import Calibration, Instrument, Reading
from shop.acts import act
from shop.instruments.rows import last_good_before


def record_calibration(*, instrument: Instrument, by, token: str = "", **given) -> Calibration:
    """Record a calibration. A failed one withdraws the instrument and judges every reading in doubt again, all in one act."""
    failed = given["result"] == Calibration.Result.FAILED
    with act("Calibration failed" if failed else "Calibration recorded", by=by, token=token) as frame:
        frame.made = calibration = Calibration.objects.create(instrument=instrument, recorded_by=by, **given)
        instrument.status = Instrument.Status.WITHDRAWN if failed else Instrument.Status.IN_SERVICE
        instrument.save_over(instrument.version)
        assess_all(_touched(calibration))
    return calibration


def _touched(calibration: Calibration):
    """Every standing reading whose verdict a calibration can change: those since the last good one."""
    good = last_good_before(calibration)
    taken = Reading.objects.standing().filter(instrument=calibration.instrument)
    return taken.filter(drive_test__tested_at__date__gte=good.done_on) if good else taken
