"""What the judgement of many readings needs, gathered at once: drive, oil, conditions, gauge, rule, and what was read beside."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from django.utils import timezone

from calcs.acceptance import AcceptanceRule as Rule
from calcs.acceptance import Form, Related
from calcs.drive_spec import Conditions, DriveSpec
from calcs.quantities import QUANTITIES, quantity_of
from calcs.uncertainty import Instrument as Gauge
from calcs.uncertainty import InstrumentState, reading_uncertainty
from calcs.units import UNITS, step_of
from fleet.fluid_in_use import OilInUse, oil_of_test
from fleet.models import AcceptanceRule, Calibration, DriveModel, DriveTest, FluidFill, Instrument, Machine, Reading

SPEC_FIELDS = [name for name in DriveSpec.__dataclass_fields__ if hasattr(DriveModel, name)]
POSITIONS = 3  # wheel at three places of one turn; common practice, no source
BESIDE_A_READING = (  # prefetched, not joined: readings of one test then share its drive, model and machine
    "drive_test__unit__drive_model",
    "drive_test__machine",
    "drive_test__fluid",
    "instrument__calibrations",
)
OTHER_DRAIN = {"pump_case_flow": "motor_case_flow", "motor_case_flow": "pump_case_flow"}
PRESSURE_SHARE = 0.05  # how far off a rule's loop pressure a test may be held; common practice, no source


def spec_of(model: DriveModel, machine: Machine) -> DriveSpec:
    """Return the figures of a drive model in one machine."""
    figures = {name: getattr(model, name) for name in SPEC_FIELDS}
    return DriveSpec(name=model.code, final_ratio=machine.final_ratio, rolling_radius_m=machine.rolling_radius_m, **figures)


def rule_of(row: AcceptanceRule) -> Rule:
    """Return a maker's rule as the calculation knows it."""
    span = (None, None) if row.pressure_bar is None else (row.pressure_bar * (1 - PRESSURE_SHARE), row.pressure_bar * (1 + PRESSURE_SHARE))
    return Rule(
        quantity=row.quantity,
        form=Form(row.form),
        direction=row.direction,
        **figures_of_form(row),
        oil_temp_low_c=row.oil_low_c,
        oil_temp_high_c=row.oil_high_c,
        speed_low_rpm=row.speed_low_rpm,
        speed_high_rpm=row.speed_high_rpm,
        pressure_low_bar=span[0],
        pressure_high_bar=span[1],
        document=" ".join(part for part in (row.document.title, row.document.number) if part) if row.document else "",
        page=row.page,
        revision=row.document.revision if row.document else "",
    )


def figures_of_form(row: AcceptanceRule) -> dict:
    """Return the figures that the form of a rule needs, under the names of the calculation."""
    form = AcceptanceRule.Form
    return {
        form.BAND: {"low": row.low, "high": row.high},
        form.NOMINAL: {"nominal": row.nominal, "tolerance": row.tolerance},
        form.MAXIMUM: {"high": row.high},
        form.MINIMUM: {"low": row.low},
        form.SHARE_OF_NEUTRAL: {"share": row.share},
        form.GREATEST_DROP: {"drop": row.high},
        form.THREE_CLASSES: {"good_below": row.low, "faulty_from": row.high},
        form.MEAN_OVER_POSITIONS: {"high": row.high, "positions": POSITIONS},
        form.LOADED_RATIO: {"share": row.share},
        form.NO_MOTION: {"tolerance": row.tolerance if row.tolerance is not None else row.high},
    }[row.form]


def instrument_state(calibrations: Sequence[Calibration], day: date) -> InstrumentState:
    """Return whether an instrument could be trusted on a day, from its calibrations in order, later ones too.

    One that failed is not trusted back to the last good calibration before; one that nothing covers is overdue.
    """
    later = next((row for row in calibrations if row.done_on > day), None)
    earlier = [row for row in calibrations if row.done_on <= day]
    if Calibration.Result.FAILED in (later.result if later else "", earlier[-1].result if earlier else ""):
        return InstrumentState.FAILED
    return InstrumentState.GOOD if any(row.covers(day) for row in earlier) else InstrumentState.OVERDUE


def gauge_of(instrument: Instrument, day: date, kind: str) -> Gauge:
    """Return an instrument as the calculation knows it, its scale in the house unit; of another kind of measure only its name and state."""
    state = instrument_state(list(instrument.calibrations.all()), day)
    if instrument.unit not in UNITS or UNITS[instrument.unit].kind != kind:
        return Gauge(instrument.tag, state=state)
    factor = step_of(instrument.unit, kind)[0]
    of_span = instrument.accuracy_basis == Instrument.Basis.SPAN
    return Gauge(
        name=instrument.tag,
        class_percent=instrument.accuracy_class_pct if of_span else None,
        span=(instrument.span_high - instrument.span_low) * factor,
        resolution=instrument.resolution * factor if instrument.resolution else None,
        reading_percent=None if of_span else instrument.accuracy_class_pct,
        state=state,
    )


class Facts:
    """Facts for the judgement of some readings, gathered once for all of them."""

    def __init__(self, readings: Sequence[Reading]):
        tests = {reading.drive_test_id for reading in readings}
        self.beside: dict[int, list[Reading]] = defaultdict(list)
        rows = Reading.objects.standing().filter(drive_test__in=tests, is_valid=True)
        for row in rows.prefetch_related("instrument__calibrations", "drive_test").order_by("pk"):
            self.beside[row.drive_test_id].append(row)
        self.fills: dict[int, list[FluidFill]] = defaultdict(list)
        machines = {reading.drive_test.machine_id for reading in readings}
        for fill in FluidFill.objects.standing().filter(machine__in=machines).select_related("product").in_order():
            self.fills[fill.machine_id].append(fill)
        models = {reading.drive_test.unit.drive_model_id for reading in readings}
        rules = AcceptanceRule.objects.filter(drive_model__in=models, is_retired=False).select_related("document")
        self.rules = {(row.drive_model_id, row.quantity, row.direction): rule_of(row) for row in rules}
        self.specs: dict[tuple[int, int], DriveSpec] = {}
        self.oils: dict[int, OilInUse] = {}
        self.gauges: dict[tuple[int, date, str], Gauge] = {}

    def spec(self, test: DriveTest) -> DriveSpec:
        key = (test.unit.drive_model_id, test.machine_id)
        if key not in self.specs:
            self.specs[key] = spec_of(test.unit.drive_model, test.machine)
        return self.specs[key]

    def oil(self, test: DriveTest) -> OilInUse:
        if test.pk not in self.oils:
            self.oils[test.pk] = oil_of_test(test, self.fills[test.machine_id], test.unit.drive_model.system_oil_l)
        return self.oils[test.pk]

    def rule(self, reading: Reading) -> Rule | None:
        model = reading.drive_test.unit.drive_model_id
        own = self.rules.get((model, reading.quantity, reading.direction))
        return own or self.rules.get((model, reading.quantity, ""))

    def gauge(self, reading: Reading) -> Gauge | None:
        if reading.instrument is None:
            return None
        day = timezone.localtime(reading.taken_at or reading.drive_test.tested_at).date()
        key = (reading.instrument_id, day, QUANTITIES[reading.quantity].kind)
        if key not in self.gauges:
            self.gauges[key] = gauge_of(reading.instrument, *key[1:])
        return self.gauges[key]

    def conditions(self, reading: Reading) -> Conditions:
        """Return the reading's own conditions, else those of its test, else what was read beside it."""
        test = reading.drive_test
        drains = test.drains or test.unit.drive_model.drains
        return Conditions(
            oil_temp_c=reading.at_oil_temp_c,
            engine_speed_rpm=reading.at_engine_speed_rpm,
            loop_pressure_bar=first_known(reading.loop_pressure_bar, self.read_beside(reading, "loop_pressure")),
            charge_pressure_bar=self.charge_beside(reading),
            case_pressure_bar=first_known(reading.case_pressure_bar, self.read_beside(reading, "case_pressure")),
            direction=reading.direction,
            drain_in_series=drains == DriveModel.Drains.SERIES,
        )

    def charge_beside(self, reading: Reading) -> float | None:
        return first_known(self.read_beside(reading, "charge_stroked"), self.read_beside(reading, "charge_neutral"))

    def read_beside(self, reading: Reading, quantity: str) -> float | None:
        """Return what else was read in the same test: in the same direction where it has one."""
        row = self.row_beside(reading, quantity)
        return row.value if row else None

    def row_beside(self, reading: Reading, quantity: str) -> Reading | None:
        rows = [row for row in self.beside[reading.drive_test_id] if row.quantity == quantity and row.pk != reading.pk]
        rows = [row for row in rows if row.direction in ("", reading.direction) or not reading.direction]
        return rows[-1] if rows else None

    def related(self, reading: Reading) -> Related:
        """Return the other readings of the test that a rule or a check may ask for."""
        neutral, unloaded, other = self.row_beside(reading, "charge_neutral"), self.unloaded(reading), self.other_drain(reading)
        loops = [row.value if row.quantity == "loop_pressure" else row.loop_pressure_bar for row in self.beside[reading.drive_test_id]]
        return Related(
            neutral_bar=neutral.value if neutral else None,
            neutral_uncertainty_bar=self.uncertainty(neutral),
            unloaded_lpm=unloaded.value if unloaded else None,
            unloaded_uncertainty_lpm=self.uncertainty(unloaded),
            positions=tuple(float(value) for value in reading.repeats),
            highest_loop_bar=max((loop for loop in loops if loop is not None), default=None) if reading.quantity == "main_relief" else None,
            other_case_lpm=other.value if other else None,
            other_case_uncertainty_lpm=self.uncertainty(other),
        )

    def other_drain(self, reading: Reading) -> Reading | None:
        """Return the drain of the other unit as read at the same load and plumbed apart: only then do the two add up."""
        if self.conditions(reading).drain_in_series:
            return None
        rows = [row for row in self.beside[reading.drive_test_id] if row.quantity == OTHER_DRAIN.get(reading.quantity)]
        alike = [row for row in rows if _same_load(row.loop_pressure_bar, reading.loop_pressure_bar)]
        return alike[-1] if alike else None

    def unloaded(self, reading: Reading) -> Reading | None:
        """Return the same flow at no load, for a rule that compares with it."""
        rows = [row for row in self.beside[reading.drive_test_id] if row.quantity == reading.quantity and row.pk != reading.pk]
        rows = [row for row in rows if (row.loop_pressure_bar or 0.0) < (reading.loop_pressure_bar or 0.0)]
        return min(rows, key=lambda row: row.loop_pressure_bar or 0.0, default=None)

    def uncertainty(self, reading: Reading | None) -> float:
        if reading is None:
            return 0.0
        return reading_uncertainty(self.gauge(reading), reading.value, quantity_of(reading.quantity).kind)


def _same_load(one_bar: float | None, other_bar: float | None) -> bool:
    if one_bar is None or other_bar is None:
        return one_bar is other_bar
    return abs(one_bar - other_bar) <= PRESSURE_SHARE * max(one_bar, other_bar)


def first_known(*figures: float | None) -> float | None:
    return next((figure for figure in figures if figure is not None), None)
