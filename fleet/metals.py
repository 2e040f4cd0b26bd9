"""Judging the wear metals of the whole fleet, and of one machine from what the last review kept."""

import pandas as pd

from calcs.alarm_limits import alarm_word, suited_limits
from calcs.trend import FleetFit, fit_fleet, refresh
from fleet.metal_series import METALS, as_readings, metal_rates, usual_rates
from fleet.models import MetalGroup, MetalState
from fleet.models.wear import WELL_ABOVE
from fleet.wear_keeping import BATCH, as_numbers, as_stored, is_readable, plain

COLUMNS = ["series", "group", "life_h", "ratio", "cv", "scale", "began", "family"]  # what the fit takes


def review_metals(now) -> int:
    """Fit the rates of the whole fleet and keep what they say of every machine; return how many states were kept."""
    MetalState.objects.all().delete()
    MetalGroup.objects.all().delete()
    rows = metal_rates()
    usual = usual_rates(rows)
    rows = as_readings(rows, usual)
    if rows.empty:
        return 0
    fit = fit_fleet(_frame(rows))
    said = _told(rows, fit)
    groups = _keep_groups(said, fit, usual, now)
    states = [_state(row, groups[row.group], now) for row in said.itertuples()]
    MetalState.objects.bulk_create(states, batch_size=BATCH)
    return len(states)


def review_metals_of(machine, now) -> int:
    """Judge one machine's metals anew with what the last review kept of its kin."""
    kept = MetalGroup.objects.filter(drive_model__units__installations__machine=machine).distinct()
    groups = {_number(group.drive_model_id, group.metal): group for group in kept if is_readable(group.numbers)}
    MetalState.objects.filter(machine=machine).delete()
    rows = as_readings(metal_rates(machine.pk), _usual(groups.values()))
    if rows.empty:
        return 0
    fit = refresh([as_numbers(group.numbers).as_row() for group in groups.values()], _frame(rows))
    states = [_state(row, groups[row.group], now) for row in _told(rows, fit).itertuples()]
    return len(MetalState.objects.bulk_create(states))


def _frame(rows: pd.DataFrame) -> pd.DataFrame:
    return rows.assign(life_h=rows.since_h)[COLUMNS]


def _usual(groups) -> pd.Series:
    keys = [(group.drive_model_id, group.metal) for group in groups]
    index = pd.MultiIndex.from_tuples(keys, names=["model_id", "metal"]) if keys else pd.MultiIndex.from_arrays([[], []])
    return pd.Series([group.usual_rate for group in groups], index=index, dtype=float)


def _number(model_id: int, metal: str) -> int:
    return model_id * 100 + METALS.index(metal)


def _told(rows: pd.DataFrame, fit: FleetFit) -> pd.DataFrame:
    """Return the latest epoch of each machine and metal: its latest figure and what the fit says, the rate on its line among it."""
    latest = rows.sort_values(["at", "sample_id"], kind="stable").drop_duplicates("series", keep="last").set_index("series")
    latest = latest.sort_values("epoch", kind="stable").drop_duplicates(["machine_id", "metal"], keep="last").sort_index()
    said = latest.join(fit.series[["level_ratio", "p_wearing", "n", "state"]])
    return said.assign(line_rate=said.level_ratio * said.usual)


def _keep_groups(said: pd.DataFrame, fit: FleetFit, usual: pd.Series, now) -> dict[int, MetalGroup]:
    """Keep usual rate, limits from the company of the fleet, and the numbers of the fit."""
    company = {number: part.line_rate.to_numpy() for number, part in said.groupby("group")}
    made = [_group(numbers, company.get(numbers.group, ()), usual, now) for numbers in fit.numbers]
    MetalGroup.objects.bulk_create(made)
    return {_number(group.drive_model_id, group.metal): group for group in made}


def _key(number: int) -> tuple[int, str]:
    model_id, place = divmod(number, 100)
    return model_id, METALS[place]


def _group(numbers, rates, usual: pd.Series, now) -> MetalGroup:
    model_id, metal = _key(numbers.group)
    limits = suited_limits(rates)
    return MetalGroup(
        drive_model_id=model_id, metal=metal, numbers=as_stored(numbers), machines=len(rates), usual_rate=float(usual[model_id, metal]),
        caution_rate=limits and limits.caution, critical_rate=limits and limits.critical, limit_form=limits.form if limits else "", reviewed_at=now,
    )  # fmt: skip


def _state(row, group: MetalGroup, now) -> MetalState:
    return MetalState(
        machine_id=row.machine_id, group=group, metal=row.metal, samples=int(row.n), rate=plain(row.rate), level_ratio=plain(row.level_ratio),
        state="too few readings" if row.state == "too_few" else row.state, alarm=_alarm(row, group), p_wearing=plain(row.p_wearing),
        last_life_h=row.life_h, last_drawn_on=row.drawn_at.date(), reviewed_at=now,
    )  # fmt: skip


def _alarm(row, group: MetalGroup) -> str:
    """Return where the rate on the line lies against the company; one sample, or a rate close to the usual one, gives none."""
    if group.caution_rate is None or row.n < 2 or pd.isna(row.line_rate):
        return ""
    word = alarm_word(row.line_rate, group.caution_rate, group.critical_rate)
    return word if row.level_ratio >= WELL_ABOVE else "usual"
