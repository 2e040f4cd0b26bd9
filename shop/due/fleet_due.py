"""What is due over the whole fleet, worked out on reading by array sums; nothing of it is stored."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from django.db.models import Max
from django.utils import timezone

from calcs.due import STATES, due_table
from calcs.extension import Extension as Signed
from calcs.extension import extension_factor
from calcs.rules import rule_columns
from calcs.season import Block
from calcs.severity import severity_product
from fleet.models import FluidFill
from shop.due.fleet_facts import FleetHours, days, fleet_hours, frame, season_blocks, stamp_of_facts
from shop.due.rule_words import as_rule
from shop.due.targets import fitted_units, targets
from shop.kept import keep
from shop.models import Deferral, Extension, Finding, IntervalRule, SeverityFactor, TaskDone

KEY = ["machine_id", "unit_id", "task_id"]


@dataclass(frozen=True)
class FleetDue:
    """Every task that stands over a machine or unit, with its state; `rows` and `inputs` share their index."""

    rows: pd.DataFrame
    inputs: pd.DataFrame
    rules: dict[int, IntervalRule]
    hours: FleetHours
    blocks: dict[int, list[Block]]
    today: date


def fleet_due(today: date | None = None) -> FleetDue:
    """Return what is due; kept until a table it reads, or the day, changes."""
    today = today or timezone.localdate()
    stamp = stamp_of_facts()
    return keep("fleet due", (*stamp, today), lambda: _work_out(stamp, today))


def _work_out(stamp, today: date) -> FleetDue:
    hours = fleet_hours(stamp)
    rules = {
        r.pk: r
        for r in IntervalRule.objects.filter(is_retired=False).select_related("task__skill", "document", "drive_model", "machine", "unit")
    }
    order = {pk: k for k, pk in enumerate(rules)}
    rows = targets()
    place = pd.Series(np.arange(len(hours.machines)), index=hours.machines.pk)
    rows = rows[rows.machine_id.isin(place.index)].reset_index(drop=True)
    rows["machine"] = place.reindex(rows.machine_id).to_numpy(int) if len(rows) else np.zeros(0, int)
    inputs = _inputs(rows, rules, hours, today)
    blocks, of_machine = season_blocks(hours.machines, today)
    columns = rule_columns([as_rule(rule) for rule in rules.values()])
    given = inputs.assign(rule=rows.rule_id.map(order).astype(int) if len(rows) else [], machine=rows.machine)
    table = due_table(columns, given.drop(columns=["severity_names"]), hours.usage, today, blocks)
    rows = pd.concat([rows, table], axis=1)
    rows["state_word"] = np.array(STATES, object)[rows.state.to_numpy(int)] if len(rows) else []
    return FleetDue(rows, inputs, rules, hours, of_machine, today)


def _inputs(rows: pd.DataFrame, rules, hours: FleetHours, today: date) -> pd.DataFrame:
    """Return the columns that the due table asks for, one row a task."""
    machines = hours.machines.iloc[rows.machine].reset_index(drop=True)
    out = pd.DataFrame({"reading_h": machines.reading_h, "reading_day": machines.reading_day})
    done = _last_done(rows)
    out["done_h"], out["done_day"] = done.life_h.to_numpy(float), days(done.done_on)
    out["due_then_h"], out["due_then_day"] = done.due_h.to_numpy(float), days(done.due_on)
    anchors = _anchors(rows, rules, machines, done)
    out["anchor_h"], out["anchor_day"] = anchors.h, anchors.day
    out["severity_names"], severity = _severity(rows, rules, machines)
    out["factor"] = severity * _extended(rows, today, out.done_day.to_numpy())
    out["other_fluid_ever"] = _other_fluid(rows, rules)
    put_off = _deferrals(rows)
    out["deferred_h"], out["deferred_day"] = put_off.until_h.to_numpy(float), days(put_off.until_on)
    found = _findings(rows)
    out["found_h"], out["found_day"] = found.visit_life_h.to_numpy(float), days(found.recorded_at)
    return out


def _on_rows(rows: pd.DataFrame, facts: pd.DataFrame, values: list[str]) -> pd.DataFrame:
    """Return facts by machine, unit and task on the rows; a fact of the whole machine holds for its units as well."""
    facts = facts.assign(unit_id=facts.unit_id.fillna(0).astype(int))
    mine = rows[KEY].merge(facts.drop_duplicates(KEY, keep="last"), on=KEY, how="left")[values]
    whole = facts[facts.unit_id == 0].drop_duplicates(["machine_id", "task_id"], keep="last").drop(columns="unit_id")
    shared = rows[["machine_id", "task_id"]].merge(whole, on=["machine_id", "task_id"], how="left")[values]
    missing = mine.isna().all(axis=1).to_numpy()
    return pd.DataFrame({name: mine[name].where(~missing, shared[name]) for name in values})


def _last_done(rows: pd.DataFrame) -> pd.DataFrame:
    values = ["life_h", "done_on", "item_date", "due_h", "due_on"]
    last = (
        TaskDone.objects.standing().filter(was_done=True).order_by().values(*KEY)
        .annotate(**{f"last_{name}": Max(name) for name in values})
    )  # fmt: skip
    facts = frame(last, *KEY, *[f"last_{name}" for name in values]).rename(columns={f"last_{name}": name for name in values})
    for name in ("life_h", "due_h"):
        facts[name] = pd.to_numeric(facts[name])
    facts = _whole_from_units(facts)
    return _on_rows(rows, facts, values)


def _whole_from_units(facts: pd.DataFrame) -> pd.DataFrame:
    """A task noted on a unit counts for its machine too, where the rule stands over the whole machine."""
    whole = facts.assign(unit_id=0).sort_values("life_h").drop_duplicates(["machine_id", "task_id"], keep="last")
    return pd.concat([facts[facts.unit_id.fillna(0) != 0], whole], ignore_index=True)


@dataclass(frozen=True)
class Anchors:
    h: np.ndarray
    day: np.ndarray


def _anchors(rows: pd.DataFrame, rules, machines: pd.DataFrame, done: pd.DataFrame) -> Anchors:
    anchor = np.array([rules[pk].anchor for pk in rows.rule_id], object)
    h, day = np.zeros(len(rows)), machines.begun.to_numpy().astype("datetime64[D]")
    fitted = fitted_units().set_index("unit_id")
    first = fitted.drop_duplicates("machine_id").reset_index().set_index("machine_id")
    unit = fitted.reindex(rows.unit_id)
    unit_h = np.where(rows.unit_id > 0, unit.from_life_h - unit.unit_before_h, first.from_life_h.reindex(rows.machine_id))
    unit_day = np.where(rows.unit_id > 0, days(unit.from_day), days(first.from_day.reindex(rows.machine_id)))
    fills = frame(
        FluidFill.objects.standing().filter(kind__in=["first_fill", "change"]).order_by("filled_at"), "machine_id", "life_h", "filled_at"
    )
    fill = fills.drop_duplicates("machine_id", keep="last").set_index("machine_id").reindex(rows.machine_id)
    own = days(pd.Series([rules[pk].anchor_date for pk in rows.rule_id], dtype="object"))
    item = np.fmax(days(done.item_date), own)
    h = np.select([anchor == "installation", anchor == "fill"], [unit_h, pd.to_numeric(fill.life_h).to_numpy()], h)
    day = np.select(
        [anchor == "installation", anchor == "fill", np.isin(anchor, ["hose_made", "certificate"]), anchor == "season_start"],
        [unit_day.astype("datetime64[D]"), days(fill.filled_at), item, np.where(np.isnat(own), day, own)],
        day,
    )
    return Anchors(np.nan_to_num(h.astype(float)), day.astype("datetime64[D]"))


def _severity(rows: pd.DataFrame, rules, machines: pd.DataFrame):
    factors = dict(SeverityFactor.objects.values_list("code", "factor"))
    heeds = np.array([rules[pk].heeds_severity for pk in rows.rule_id], bool)
    names = machines.severity.map(lambda codes: tuple(sorted(code for code in codes or () if code in factors)))
    product = {key: severity_product(factors[code] for code in key) for key in set(names)}
    return names.where(heeds, other=pd.Series([()] * len(names))), np.where(heeds, names.map(product).to_numpy(float), 1.0)


def _extended(rows: pd.DataFrame, today: date, done_day: np.ndarray) -> np.ndarray:
    """Return what signed extensions since the task was last done multiply its interval by."""
    signed: dict[tuple[int, int], list] = {}
    for rule_id, machine_id, share, signed_on, expires_on in Extension.objects.values_list(
        "rule_id", "machine_id", "share", "signed_on", "expires_on"
    ):
        signed.setdefault((rule_id, machine_id), []).append(Signed(share, "", signed_on, expires_on))
    out = np.ones(len(rows))
    if signed:
        places = pd.MultiIndex.from_frame(rows[["rule_id", "machine_id"]])
        for place in np.flatnonzero(places.isin(list(signed))):
            since = [e for e in signed[places[place]] if np.isnat(done_day[place]) or np.datetime64(e.signed_on) >= done_day[place]]
            out[place] = extension_factor(since, today)
    return out


def _other_fluid(rows: pd.DataFrame, rules) -> np.ndarray:
    """Return where a product other than the rule's own, or one not known, was ever in the tank."""
    filled = frame(FluidFill.objects.standing().order_by().values("machine_id", "product_id").distinct(), "machine_id", "product_id")
    own = pd.Series({pk: rule.own_fluid_id or 0 for pk, rule in rules.items()}, dtype="int64")
    pairs = rows[["machine_id"]].assign(own=own.reindex(rows.rule_id).fillna(0).to_numpy(), row=np.arange(len(rows)))
    met = pairs[pairs.own > 0].merge(filled, on="machine_id")
    out = np.zeros(len(rows), bool)
    out[met[met.product_id.fillna(-1) != met.own].row.unique()] = True
    return out


def _deferrals(rows: pd.DataFrame) -> pd.DataFrame:
    facts = frame(Deferral.objects.filter(approved_at__isnull=False, ended_at=None).order_by("approved_at"), *KEY, "until_h", "until_on")
    facts["until_h"] = pd.to_numeric(facts.until_h)
    return _on_rows(rows, facts, ["until_h", "until_on"])


def _findings(rows: pd.DataFrame) -> pd.DataFrame:
    """Return open findings that call a task at once; an indicator seen on cold oil calls nothing."""
    calling = Finding.objects.filter(calls_task__isnull=False, closed_at=None).exclude(sign="indicator", oil_was_warm=False)
    facts = frame(calling.order_by("recorded_at"), "machine_id", "unit_id", "calls_task_id", "visit__life_h", "recorded_at")
    facts = facts.rename(columns={"calls_task_id": "task_id"})
    facts["visit_life_h"] = pd.to_numeric(facts.visit_life_h)
    return _on_rows(rows, facts, ["visit_life_h", "recorded_at"])
