"""Wear metals as series: the rate at which the drives of a machine make a metal, through changes and top-ups of the oil."""

import numpy as np
import pandas as pd

from calcs.lab_figures import counted_value, parse_lab_figure
from calcs.wear_metals import metal_readings, rates_over_fills
from fleet.models import FluidFill, Installation, LabValue, UnitEvent

METALS = ("Fe", "Cu", "Sn", "Pb", "Al", "Cr")
PER_HOURS = 100.0
USUAL_CARRY = 0.2  # share of the oil that a change leaves behind where the ledger cannot tell, common practice, no source
CARRY_LIMITS = 0.02, 0.5
FEWEST_HOURS = 50.0  # a fill younger than this tells nothing of a rate
FEWEST_MACHINES = 3
FIELDS = {
    "machine_id": "sample__machine_id", "metal": "item", "typed": "typed", "value": "value", "is_below": "is_below_limit",
    "drawn_at": "sample__drawn_at", "life_h": "sample__life_h", "oil_h": "sample__oil_h", "label": "sample__label", "sample_id": "sample_id",
}  # fmt: skip
BEGINNING_TYPES = {"machine_id": "int64", "at": "datetime64[us, UTC]", "model_id": "int64"}


def metal_rates(machine_id: int | None = None) -> pd.DataFrame:
    """Return a row for each figure of a wear metal: rate and standard uncertainty in ppm in 100 h, NaN where none can be told; four queries."""
    rows = _figures(machine_id)
    rows = _with_fills(rows, _fills(machine_id))
    rows = _since_fitted(rows, _beginnings(machine_id))
    rows = rows.sort_values(["machine_id", "metal", "at", "sample_id"], kind="stable").reset_index(drop=True)
    rows["rate"], rows["doubt"] = _rates(rows)
    return rows


def _figures(machine_id: int | None) -> pd.DataFrame:
    values = LabValue.objects.filter(item__in=METALS, sample__machine__isnull=False, sample__life_h__isnull=False)
    if machine_id is not None:
        values = values.filter(sample__machine=machine_id)
    rows = pd.DataFrame.from_records(list(values.order_by("pk").values_list(*FIELDS.values())), columns=list(FIELDS))
    rows = rows.astype({"machine_id": "int64", "life_h": float, "oil_h": float, "value": float, "sample_id": "int64"})
    rows["ppm"] = [_counted(typed, value, below) for typed, value, below in zip(rows.typed, rows.value, rows.is_below, strict=True)]
    rows["at"] = pd.to_datetime(rows.drawn_at, utc=True).astype("datetime64[us, UTC]")
    return rows.dropna(subset="ppm")


def _counted(typed: str, value: float, is_below: bool) -> float:
    """A figure as it counts: half the limit it lies below; NaN where none was measured."""
    if not is_below:
        return value
    half = counted_value(parse_lab_figure(typed), detection_limit=value if value == value else None)
    return np.nan if half is None else half


def _fills(machine_id: int | None) -> pd.DataFrame:
    fills = FluidFill.objects.standing().filter(life_h__isnull=False)
    if machine_id is not None:
        fills = fills.filter(machine=machine_id)
    names = ["machine_id", "kind", "filled_at", "life_h", "fill_l", "drained_l"]
    rows = pd.DataFrame.from_records(list(fills.order_by("filled_at", "pk").values_list(*names)), columns=names)
    rows["at"] = pd.to_datetime(rows.filled_at, utc=True).astype("datetime64[us, UTC]")
    rows = rows.astype({"machine_id": "int64", "life_h": float, "fill_l": float})
    rows["topped_l"] = rows.fill_l.where(rows.kind == "top_up", 0.0).groupby(rows.machine_id).cumsum()
    return rows.sort_values("at", kind="stable")


def _with_fills(rows: pd.DataFrame, fills: pd.DataFrame) -> pd.DataFrame:
    """Give each figure its fill: number, hours on it, when it ended, and what was topped up on it."""
    changes = fills[fills.kind != "top_up"].copy()
    changes["fill"] = changes.groupby("machine_id").cumcount() + 1
    following = changes.groupby("machine_id").life_h.shift(-1)
    changes["lasts_h"] = following - changes.life_h
    changes = changes.rename(columns={"life_h": "fill_life_h", "topped_l": "topped_before_l"})
    rows = rows.sort_values("at", kind="stable")
    rows = pd.merge_asof(rows, changes[["machine_id", "at", "fill", "fill_life_h", "lasts_h", "topped_before_l"]], on="at", by="machine_id")
    rows = pd.merge_asof(rows, fills[["machine_id", "at", "topped_l"]], on="at", by="machine_id")
    rows["fill"] = rows.fill.fillna(0).astype(int)
    rows["fill_h"] = rows.oil_h.fillna(rows.life_h - rows.fill_life_h)
    rows["topped_l"] = (rows.topped_l - rows.topped_before_l.fillna(0.0)).fillna(0.0)
    system = fills[fills.kind != "top_up"].groupby("machine_id").fill_l.max()
    rows["carry"] = rows.machine_id.map(_carry(fills, system)).fillna(USUAL_CARRY)
    rows["makeup"] = (rows.topped_l / rows.machine_id.map(system) / rows.fill_h.where(rows.fill_h > 0)).fillna(0.0)
    return rows


def _carry(fills: pd.DataFrame, system: pd.Series) -> pd.Series:
    """Return by machine the share that its changes leave behind: what is not filled in was not drained."""
    changes = fills[fills.kind == "change"]
    left = 1.0 - changes.fill_l / changes.machine_id.map(system)
    return left[changes.fill_l < changes.machine_id.map(system)].groupby(changes.machine_id).median().clip(*CARRY_LIMITS)


def _beginnings(machine_id: int | None) -> pd.DataFrame:
    """Return the days from which on the metal of a machine is that of the drive in it now: it was fitted, or rebuilt in place."""
    stays = Installation.objects.select_related("unit").order_by("from_date", "pk")
    if machine_id is not None:
        stays = stays.filter(machine=machine_id)
    stays = list(stays)
    rebuilt = UnitEvent.objects.filter(kind="rebuilt", unit__in={stay.unit_id for stay in stays}).order_by("happened_on", "pk")
    found = [(stay.machine_id, stay.from_date, stay.unit.drive_model_id) for stay in stays]
    for event in rebuilt:
        found += [
            (stay.machine_id, event.happened_on, stay.unit.drive_model_id)
            for stay in stays
            if stay.unit_id == event.unit_id
            and stay.from_date <= event.happened_on
            and not (stay.to_date and stay.to_date < event.happened_on)
        ]
    frame = pd.DataFrame(found, columns=["machine_id", "day", "model_id"])
    frame["at"] = pd.to_datetime(frame.day, utc=True)
    return frame[["machine_id", "at", "model_id"]].astype(BEGINNING_TYPES).sort_values(["at", "model_id"], kind="stable")


def _since_fitted(rows: pd.DataFrame, beginnings: pd.DataFrame) -> pd.DataFrame:
    """Give each figure the drive model that made it, its epoch, and the machine hours since that began; none fitted, none told."""
    beginnings = beginnings.drop_duplicates(["machine_id", "at"]).copy()
    beginnings["epoch"] = beginnings.groupby("machine_id").cumcount()
    rows = pd.merge_asof(rows.sort_values("at", kind="stable"), beginnings, on="at", by="machine_id").dropna(subset="epoch")
    rows = rows.astype({"epoch": int, "model_id": int})
    rows["since_h"] = rows.life_h - rows.groupby(["machine_id", "epoch"]).life_h.transform("min")
    return rows


def _rates(rows: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    rate, doubt = np.full(len(rows), np.nan), np.full(len(rows), np.nan)
    hours = rows.fill_h.where(rows.fill_h >= FEWEST_HOURS)
    for places in rows.groupby(["machine_id", "metal"], sort=False).indices.values():
        part = rows.iloc[places]
        on_fill = (part.ppm.to_numpy(), hours.iloc[places].to_numpy(), part.fill.to_numpy(), part.lasts_h.to_numpy())
        made = rates_over_fills(*on_fill, part.carry.iloc[0], part.makeup.to_numpy())
        rate[places], doubt[places] = made.rate_ppm_per_h, made.uncertainty_ppm_per_h
    censored = np.where(rows.is_below, rows.ppm * 2 / np.sqrt(12) / hours, 0.0)
    return rate * PER_HOURS, np.hypot(doubt, censored) * PER_HOURS


def usual_rates(rows: pd.DataFrame) -> pd.Series:
    """Return the usual rate of each drive model and metal: the middle of its machines' middles; none for fewer than three machines."""
    of_machine = rows[rows.rate > 0].groupby(["model_id", "metal", "machine_id"]).rate.median()
    middle = of_machine.groupby(level=[0, 1]).agg(["median", "size"])
    return middle["median"][middle["size"] >= FEWEST_MACHINES]


def as_readings(rows: pd.DataFrame, usual: pd.Series) -> pd.DataFrame:
    """Return the rates as readings that `calcs.trend` takes, one series a machine, metal and epoch; models without a usual rate are left out."""
    key = pd.MultiIndex.from_frame(rows[["model_id", "metal"]])
    rows = rows.assign(usual=usual.reindex(key).to_numpy())
    rows = rows[rows.usual.notna()].copy()
    rows["series"] = rows.groupby(["machine_id", "metal", "epoch"], sort=True).ngroup()
    rows["group"] = rows.model_id * 100 + rows.metal.map({metal: place for place, metal in enumerate(METALS)})
    rows["ratio"], rows["cv"] = np.nan, np.nan
    for places in rows.groupby("series", sort=False).indices.values():
        part = rows.iloc[places]
        read = metal_readings(_Rates(part.rate.to_numpy(), part.doubt.to_numpy()), part.since_h.to_numpy(), part.usual.iloc[0])
        rows.iloc[places, rows.columns.get_indexer(["ratio", "cv"])] = np.column_stack([read["ratio"], read["cv"]])
    return rows.assign(scale="log", began="first_seen", family=rows.metal, since_h=np.maximum(rows.since_h, 0.0))


class _Rates:
    """Rates in the house's 100 hours, as `metal_readings` reads them."""

    def __init__(self, rate: np.ndarray, doubt: np.ndarray):
        self.rate_ppm_per_h, self.uncertainty_ppm_per_h = rate, doubt
