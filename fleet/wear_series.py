"""Readings of the whole fleet as series of wear: one series is one unit, one quantity, one direction, since one beginning."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from calcs.quantities import QUANTITIES
from calcs.wear_limits import worn_ratio
from fleet.models import ConditionAssessment, DriveUnit, UnitEvent, WearState

BEGAN = {"rebuilt": "overhauled", "repaired": "repaired", "outside_work": "first_seen", "new_gauge": "new_gauge"}
BORN = {"new": "new", "rebuilt": "overhauled", "used": "first_seen"}
FIELDS = {
    "reading_id": "reading_id",
    "unit_id": "reading__drive_test__unit_id",
    "model_id": "reading__drive_test__unit__drive_model_id",
    "birth": "reading__drive_test__unit__birth",
    "born_h": "reading__drive_test__unit__hours_at_birth_h",
    "quantity": "reading__quantity",
    "direction": "reading__direction",
    "component_h": "reading__drive_test__component_h",
    "tested_at": "reading__drive_test__tested_at",
    "moment": "reading__drive_test__moment",
    "instrument": "reading__instrument__tag",
    "value": "reading__value",
    "uncertainty": "uncertainty",
    "ratio": "ratio",
    "limit_ratio": "limit_ratio",
    "decided_by": "decided_by",
}
PLACE = {code: place for place, code in enumerate(QUANTITIES)}
DAY = pd.Timedelta(days=1)
BEGINNING_TYPES = {"unit_id": "int64", "quantity": "str", "at": "datetime64[us, UTC]", "from_h": "float64", "began": "str"}
ROW_TYPES = {"unit_id": "int64", "model_id": "int64", "quantity": "str", "birth": "str", "component_h": "float64", "born_h": "float64"}
COLUMNS = ["series", "group", "life_h", "ratio", "cv", "scale", "began", "instrument", "family"]  # what the fit takes
OF_SERIES = {
    "unit_id": "unit_id", "model_id": "model_id", "quantity": "quantity", "direction": "direction", "epoch": "epoch", "began": "began",
    "from_h": "from_h", "group": "group", "component_h": "last_h", "ratio": "last_ratio", "tested_at": "last_at",
}  # fmt: skip
KEY = ["unit_id", "quantity", "direction", "epoch"]


def group_number(model_id, place):
    """Return the number of the group of a drive model and the place of a quantity in the table of quantities."""
    return model_id * 100 + place


def group_of(number: int) -> tuple[int, str]:
    """Return drive model and quantity of a group."""
    model_id, place = divmod(number, 100)
    return model_id, list(QUANTITIES)[place]


@dataclass(frozen=True)
class WearSeries:
    """`rows`: a reading each, as `calcs.trend.fit_fleet` takes them, with their own keys; `series`: a series each, its index the label."""

    rows: pd.DataFrame
    series: pd.DataFrame


def taking_part():
    """Judgements in force of every reading that takes part: it stands, is valid and steady, and could be compared."""
    return (
        ConditionAssessment.objects.in_force()
        .filter(reading__superseded_by=None, reading__is_valid=True, reading__stability="steady", ratio__gt=0)
        .exclude(state__in=["not comparable", "suspect instrument", "impossible"])
        .filter(reading__quantity__in=[code for code in QUANTITIES if worn_ratio(code)])
    )


def wear_series(unit_id: int | None = None) -> WearSeries:
    """Return every reading that takes part, of the whole fleet or of one unit; two queries."""
    found = taking_part() if unit_id is None else taking_part().filter(reading__drive_test__unit_id=unit_id)
    rows = pd.DataFrame.from_records(list(found.order_by("reading_id").values_list(*FIELDS.values())), columns=list(FIELDS))
    rows = _since_beginnings(rows.astype(ROW_TYPES), _beginnings(unit_id))
    return _labelled(rows)


def _beginnings(unit_id: int | None) -> pd.DataFrame:
    """Return every event that begins a baseline, one row for each quantity it touches."""
    events = UnitEvent.objects.exclude(kind="noted")
    if unit_id is not None:
        events = events.filter(unit_id=unit_id)
    found = [
        (event.unit_id, quantity, pd.Timestamp(event.happened_on, tz="UTC") + DAY, float(event.component_h), BEGAN[event.kind])
        for event in events.order_by("happened_on", "pk")
        for quantity in (event.quantities or QUANTITIES)
    ]
    return pd.DataFrame(found, columns=["unit_id", "quantity", "at", "from_h", "began"]).astype(BEGINNING_TYPES)


def _since_beginnings(rows: pd.DataFrame, beginnings: pd.DataFrame) -> pd.DataFrame:
    """Give each reading its beginning and its hours since; a test after a repair on the day of the repair counts as after it."""
    moment = pd.to_datetime(rows.tested_at, utc=True).astype("datetime64[us, UTC]")
    rows = rows.assign(at=moment + pd.to_timedelta((rows.moment == "after").astype(int), unit="D"))
    rows = rows.sort_values(["at", "reading_id"], kind="stable")
    beginnings = beginnings.sort_values("at", kind="stable")
    beginnings["epoch"] = beginnings.groupby(["unit_id", "quantity"]).cumcount() + 1
    rows = pd.merge_asof(rows, beginnings, on="at", by=["unit_id", "quantity"])
    first = rows.epoch.isna()
    rows["epoch"] = rows.epoch.fillna(0).astype(int)
    rows["began"] = rows.began.where(~first, rows.birth.map(BORN))
    rows["from_h"] = rows.from_h.where(~first, np.where(rows.birth == "used", rows.born_h, 0.0)).astype(float)
    rows["life_h"] = np.maximum(rows.component_h - rows.from_h, 0.0)
    return rows


def _labelled(rows: pd.DataFrame) -> WearSeries:
    """Number the series in the order of their keys, and name each one's group: drive model and quantity."""
    rows = rows.sort_values([*KEY, "component_h", "at", "reading_id"], kind="stable").reset_index(drop=True)
    rows["series"] = rows.groupby(KEY, sort=True).ngroup()
    rows["group"] = group_number(rows.model_id, rows.quantity.map(PLACE))
    rows["cv"] = (rows.uncertainty.astype(float) / 2 / rows.value.where(rows.value > 0)).astype(float)
    rows["scale"] = rows.quantity.map({code: quantity.scale for code, quantity in QUANTITIES.items()})
    rows["family"] = rows.quantity
    series = rows.drop_duplicates("series", keep="last").set_index("series")[list(OF_SERIES)].rename(columns=OF_SERIES)
    limits = rows.dropna(subset="limit_ratio").drop_duplicates("series", keep="last").set_index("series")[["limit_ratio", "decided_by"]]
    series = series.join(limits.rename(columns={"decided_by": "limit_source"}))
    return WearSeries(rows, _with_limits(series))


def _with_limits(series: pd.DataFrame) -> pd.DataFrame:
    """A maker's limit on the latest reading comes first, else the shop's own; a limit that lies at the baseline is none."""
    own = series.quantity.map(worn_ratio)
    maker = series.limit_ratio.astype(float).where(series.limit_ratio.astype(float) > 1.0)
    series["limit_source"] = series.limit_source.where(maker.notna(), "shop setting: no maker's limit on record")
    series["limit_ratio"] = maker.fillna(own)
    return series


def units_without_basis() -> list[DriveUnit]:
    """Units that no valid reading speaks of, or too few for any forecast: not known, never ranked."""
    known = WearState.objects.filter(has_basis=True).values("unit")
    return list(DriveUnit.objects.exclude(pk__in=known).exclude(keeping="scrapped").with_place())
