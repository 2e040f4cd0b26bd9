"""The columns that the due sums ask for: anchors, factors, the fluid's past, what was put off and what was found, one row a task."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from calcs.calendar_sums import NO_DAY
from calcs.extension import Extension as Signed
from calcs.extension import extension_factor
from calcs.season import Block
from calcs.severity import severity_product
from fleet.models import FluidFill
from shop.due.done_facts import last_done
from shop.due.fleet_facts import days, frame, local_days
from shop.due.shop_figures import shop_figures
from shop.due.targets import KEY
from shop.models import Deferral, Extension, Finding, SeverityFactor


@dataclass(frozen=True)
class Facts:
    """What the columns are made of: rows with their rules beside, the machine of each row, all stays, season blocks, and which machines."""

    rows: pd.DataFrame
    rules: pd.DataFrame
    machines: pd.DataFrame
    stays: pd.DataFrame
    blocks: list[list[Block]]
    only: set[int] | None
    today: date

    def of(self, model_rows):
        """Return a queryset cut down to the machines asked about."""
        return model_rows if self.only is None else model_rows.filter(machine__among=self.only)


def inputs_of(facts: Facts) -> pd.DataFrame:
    """Return the columns of the due sums, and beside them those that only the words need."""
    rows, rules, machines = facts.rows, facts.rules, facts.machines
    out = pd.DataFrame({"reading_h": machines.reading_h, "reading_day": machines.reading_day})
    done = last_done(rows, facts.stays, facts.only)
    out["done_h"], out["shown_done_day"] = done.life_h.to_numpy(float), days(done.done_on)
    out["due_then_h"], out["due_then_day"] = done.due_h.to_numpy(float), days(done.due_on)
    starts = _season_starts(facts)
    out["anchor_h"], out["anchor_day"] = _anchors(facts, done, starts)
    out["done_day"] = _counted_for_season(facts, days(done.done_on), starts)
    out["severity_names"], severity, out["severity_floor"] = _severity(rules, machines)
    out["signed"], extended = _extended(facts, days(done.done_on))
    out["factor"] = severity * extended
    out["other_fluid_ever"] = _other_fluid(facts)
    put_off = _deferrals(facts, days(done.done_on))
    out["deferred_h"], out["deferred_day"] = put_off.until_h.to_numpy(float), days(put_off.until_on)
    out["put_off_day"] = days(put_off.approved_on)
    found = _findings(facts)
    out["found_h"], out["found_day"] = found.life_h.to_numpy(float), found.day.to_numpy().astype("datetime64[D]")
    return out


def _on_rows(rows: pd.DataFrame, facts: pd.DataFrame, values: list[str]) -> pd.DataFrame:
    """Return facts by machine, unit and task on the rows, the last one of each; what is known of the whole machine holds for its units, and what
    is known of a unit holds for a task of its whole machine."""
    if facts.empty:
        return pd.DataFrame({name: pd.Series([None] * len(rows), dtype=object) for name in values})
    facts = facts.assign(unit_id=facts.unit_id.fillna(0).astype("int64"))
    mine = rows[KEY].merge(facts.drop_duplicates(KEY, keep="last"), on=KEY, how="left")[values]
    whole = facts[facts.unit_id == 0].drop_duplicates(["machine_id", "task_id"], keep="last").drop(columns="unit_id")
    any_unit = facts.drop_duplicates(["machine_id", "task_id"], keep="last").drop(columns="unit_id")
    shared = rows[["machine_id", "task_id"]].merge(whole, on=["machine_id", "task_id"], how="left")[values]
    wide = rows[["machine_id", "task_id"]].merge(any_unit, on=["machine_id", "task_id"], how="left")[values]
    is_whole, missing = (rows.unit_id == 0).to_numpy(), mine.isna().all(axis=1).to_numpy()
    other = shared.where(np.broadcast_to(~is_whole[:, None], shared.shape), wide)
    return mine.where(np.broadcast_to(~missing[:, None], mine.shape), other)


def _season_starts(facts: Facts) -> np.ndarray:
    """Return for each row with a season start the first start of its machine's blocks at or after the machine began; else missing."""
    out = np.full(len(facts.rows), NO_DAY)
    wanted = (facts.rules.anchor == "season_start").to_numpy()
    begun = facts.machines.begun.to_numpy().astype("datetime64[D]")
    own = days(facts.rules.anchor_date)
    for row in np.flatnonzero(wanted):
        starts = [np.datetime64(block.start, "D") for block in facts.blocks[row]]
        if not np.isnat(own[row]):
            out[row] = own[row]
        elif starts:
            out[row] = _first_start(min(starts), begun[row])
    return out


def _first_start(start: np.datetime64, begun: np.datetime64) -> np.datetime64:
    """Return the start of the season moved by whole years to the first one at or after the machine began."""
    if np.isnat(begun):
        return start
    day = start.astype(object)
    year = begun.astype(object).year
    moved = [np.datetime64(f"{y:04d}-{day.month:02d}-{min(day.day, 28 if day.month == 2 else 31):02d}", "D") for y in (year, year + 1)]
    return moved[0] if moved[0] >= begun else moved[1]


def _counted_for_season(facts: Facts, done: np.ndarray, starts: np.ndarray) -> np.ndarray:
    """Work of the quiet months counts for the season to come: where a task hangs on the season, its day is moved to that season's start."""
    out = done.copy()
    for row in np.flatnonzero(~np.isnat(starts) & ~np.isnat(done)):
        blocks = sorted(facts.blocks[row], key=lambda block: block.start)
        if any(np.datetime64(block.start) <= done[row] <= np.datetime64(block.end) for block in blocks):
            continue
        to_come = [np.datetime64(block.start, "D") for block in blocks if np.datetime64(block.start) > done[row]]
        is_counted = to_come and to_come[0] - done[row] < 366
        out[row] = to_come[0] if is_counted else done[row]
    return out


def _anchors(facts: Facts, done: pd.DataFrame, starts: np.ndarray):
    rows, rules = facts.rows, facts.rules
    anchor = rules.anchor.to_numpy()
    h, day = np.zeros(len(rows)), facts.machines.begun.to_numpy().astype("datetime64[D]")
    fitted = facts.stays[facts.stays.to_date.isna()]
    unit = fitted.drop_duplicates("unit_id").set_index("unit_id").reindex(rows.unit_id)
    first = fitted.drop_duplicates("machine_id").set_index("machine_id").reindex(rows.machine_id)
    on_unit = (rows.unit_id > 0).to_numpy()
    unit_h = np.where(on_unit, unit.zero_h, first.from_life_h)
    unit_day = np.where(on_unit, days(unit.from_day), days(first.from_day)).astype("datetime64[D]")
    changed = facts.of(FluidFill.objects.standing().filter(kind__in=["first_fill", "change"])).order_by("filled_at", "pk")
    fills = frame(changed, "machine_id", "life_h", "filled_at").drop_duplicates("machine_id", keep="last").set_index("machine_id")
    fill = fills.reindex(rows.machine_id)
    item = np.fmax(days(done.item_date), days(rules.anchor_date))
    h = np.select([anchor == "installation", anchor == "fill"], [unit_h, pd.to_numeric(fill.life_h).to_numpy(float)], h)
    dated = np.isin(anchor, ["hose_made", "certificate"])
    day = np.select(
        [anchor == "installation", anchor == "fill", dated, anchor == "season_start"],
        [unit_day, local_days(fill.filled_at), item, starts],
        day,
    )
    return np.nan_to_num(h.astype(float)), day.astype("datetime64[D]")


def _severity(rules: pd.DataFrame, machines: pd.DataFrame):
    """Return the factors that hold for each row by code, their product, and the floor it is held at."""
    factors = dict(SeverityFactor.objects.values_list("code", "factor"))
    floor = shop_figures()["severity_floor"]
    heeds = rules.heeds_severity.to_numpy(bool)
    holding = {codes: tuple((code, factors[code]) for code in sorted(codes) if code in factors) for codes in set(machines.severity)}
    product = {codes: severity_product((factor for _, factor in told), floor) for codes, told in holding.items()}
    names = pd.Series([holding[codes] if heed else () for codes, heed in zip(machines.severity, heeds, strict=True)], dtype=object)
    return names, np.where(heeds, machines.severity.map(product).to_numpy(float), 1.0), floor


def _extended(facts: Facts, done_day: np.ndarray):
    """Return the extensions signed since each task was last done, and what they multiply its interval by today."""
    signed: dict[tuple[int, int], list] = {}
    for rule_id, machine_id, *words in facts.of(Extension.objects.order_by("signed_on")).values_list(
        "rule_id", "machine_id", "share", "signed_by__username", "signed_on", "expires_on"
    ):
        signed.setdefault((rule_id, machine_id), []).append(Signed(*words))
    told, out = np.full(len(facts.rows), None, object), np.ones(len(facts.rows))
    if signed:
        places = pd.MultiIndex.from_frame(facts.rows[["rule_id", "machine_id"]])
        for place in np.flatnonzero(places.isin(list(signed))):
            since = [e for e in signed[places[place]] if np.isnat(done_day[place]) or np.datetime64(e.signed_on) >= done_day[place]]
            told[place], out[place] = tuple(since), extension_factor(since, facts.today)
    return told, out


def _other_fluid(facts: Facts) -> np.ndarray:
    """Return where a product other than the rule's own, or one not known, was ever in the tank."""
    own = facts.rules.own_fluid_id.fillna(0).to_numpy(int)
    out = np.zeros(len(facts.rows), bool)
    if not own.any():
        return out
    filled = frame(
        facts.of(FluidFill.objects.standing().order_by()).values("machine_id", "product_id").distinct(), "machine_id", "product_id"
    )
    pairs = facts.rows[["machine_id"]].assign(own=own, row=np.arange(len(own)))
    met = pairs[pairs.own > 0].merge(filled, on="machine_id")
    out[met[met.product_id.fillna(-1) != met.own].row.unique()] = True
    return out


def _deferrals(facts: Facts, done_day: np.ndarray) -> pd.DataFrame:
    """Return the approved deferral that still stands over each row; one that the task was done after stands no more."""
    approved = facts.of(Deferral.objects.filter(approved_at__isnull=False, ended_at=None)).order_by("approved_at", "pk")
    told = _on_rows(facts.rows, frame(approved, *KEY, "until_h", "until_on", "approved_at"), ["until_h", "until_on", "approved_at"])
    over = local_days(told.approved_at) <= done_day
    approved = pd.Series(local_days(told.approved_at)).where(~over)
    return pd.DataFrame(
        {"until_h": pd.to_numeric(told.until_h).where(~over), "until_on": told.until_on.where(~over), "approved_on": approved}
    )


def _findings(facts: Facts) -> pd.DataFrame:
    """Return open findings that call a task at once; an indicator seen on cold oil calls nothing."""
    calling = Finding.objects.filter(calls_task__isnull=False, closed_at=None).exclude(sign="indicator", oil_was_warm=False)
    names = ("machine_id", "unit_id", "calls_task_id", "visit__life_h", "visit__visited_at", "recorded_at")
    seen = frame(facts.of(calling).order_by("recorded_at"), *names)
    seen = seen.rename(columns={"calls_task_id": "task_id"})
    seen["day"] = local_days(seen.visit_visited_at.where(seen.visit_visited_at.notna(), seen.recorded_at)) if len(seen) else []
    seen["life_h"] = pd.to_numeric(seen.visit_life_h)
    told = _on_rows(facts.rows, seen, ["life_h", "day"])
    return pd.DataFrame({"life_h": pd.to_numeric(told.life_h), "day": pd.Series(days(told.day))})
