"""One task's next due with its reason in words, the sentence a manager reads; the sums are those of the whole fleet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import pandas as pd

from calcs.calendar_sums import NO_DAY, as_date, day_words
from calcs.due import STATES, due_table
from calcs.extension import Extension, extension_factor
from calcs.rules import Rule, rule_columns
from calcs.season import AFTER, AS_DUE, BEFORE, MOVES, Block, block_table
from calcs.severity import FACTOR_FLOOR, Finding, finding_that_calls, severity_product, shorten
from calcs.thousands import grouped
from calcs.usage import UsageTable

OLD_READING_DAYS = 60


@dataclass(frozen=True)
class History:
    """What is known of one task on one machine or unit. Hours are life hours of the machine."""

    anchor_h: float = 0.0
    anchor_day: date | None = None
    done_h: float | None = None
    done_day: date | None = None
    due_then_h: float | None = None
    due_then_day: date | None = None
    reading_h: float | None = None
    reading_day: date | None = None
    factors: Mapping[str, float] = field(default_factory=dict)
    floor: float = FACTOR_FLOOR
    extensions: Sequence[Extension] = ()
    findings: Sequence[Finding] = ()
    other_fluid_ever: bool = False
    deferred_h: float | None = None
    deferred_day: date | None = None

    def as_row(self, today: date) -> dict:
        """Return the row of the fleet's due table for this task, rule and machine left at zero."""
        called, _ = finding_that_calls(self.findings, self.done_day)
        hours = ("anchor_h", "done_h", "due_then_h", "reading_h", "deferred_h")
        days = ("anchor_day", "done_day", "due_then_day", "reading_day", "deferred_day")
        row = {name: np.nan if getattr(self, name) is None else getattr(self, name) for name in hours}
        row |= {name: NO_DAY if getattr(self, name) is None else getattr(self, name) for name in days}
        row["factor"] = severity_product(self.factors.values(), self.floor) * extension_factor(self.extensions, today)
        row["other_fluid_ever"] = self.other_fluid_ever
        return row | {"found_h": called.life_h if called else np.nan, "found_day": called.found_on if called else NO_DAY}


@dataclass(frozen=True)
class NextDue:
    """When one task is next due, in which state, which limit comes first, when to do it, and why, in words."""

    due_h: float | None
    calendar_day: date | None
    low: date | None
    likely: date | None
    high: date | None
    due_day: date | None
    by_hours: bool
    state: str
    move: str
    slot_day: date | None
    reading_age_days: int | None
    interval_h: float | None
    breakin: bool
    reason: str


def next_due(
    rule: Rule, history: History, month_h: Sequence[float], today: date, spread: float = 0.2, blocks: Sequence[Block] = ()
) -> NextDue:
    r"""Return when one task is next due, with its reason in words.

    Parameters
    ----------
    rule : Rule
        The rule that holds [-]
    history : History
        What is known of the task on this machine [-]
    month_h : sequence of float
        Hours the machine runs in each calendar month, twelve of them [h]
    today : date
        Day of asking [date]
    spread : float
        Relative spread of those hours [-]
    blocks : sequence of Block
        Season blocks of the machine [date]

    Returns
    -------
    due : NextDue
        Hours, days, state, move and reason [h, date]

    Examples
    --------
    >>> months = [20, 20, 20, 20, 12 * 31 / 17, 30, 95, 160, 40, 20, 20, 13]
    >>> history = History(done_h=3200, reading_h=3533.1, reading_day=date(2026, 5, 14))
    >>> due = next_due(Rule("Charge filter", every_h=500), history, months, date(2026, 5, 14))
    >>> due.reason
    'Charge filter every 500 h; last done at 3\u202f200 h; due 3\u202f700 h, reached about 6 Aug (25 Jul-20 Aug)'

    Source
    ------
    Common practice, no source; figures invented.
    """
    usage = UsageTable(np.array([month_h], float), np.array([spread], float), np.zeros(1, int), np.zeros(1))
    row = {name: [value] for name, value in history.as_row(today).items()}
    found = due_table(rule_columns([rule]), row, usage, today, block_table([blocks])).iloc[0]
    days = {name: as_date(found[name]) for name in ("calendar_day", "low", "likely", "high", "due_day", "slot_day")}
    return NextDue(
        due_h=_known(found.due_h),
        interval_h=_known(found.interval_h),
        reading_age_days=None if pd.isna(found.reading_age_days) else int(found.reading_age_days),
        by_hours=bool(found.by_hours),
        breakin=bool(found.breakin),
        state=STATES[found.state],
        move=MOVES[found.move],
        reason=explain(rule, history, found, today),
        **days,
    )


def _known(value) -> float | None:
    return None if pd.isna(value) else float(value)


def explain(rule: Rule, history: History, found: Mapping, today: date) -> str:
    """Return the sentence a manager reads: the interval, what was last done, what is due when, which comes first, what is in the way.

    Parameters
    ----------
    rule : Rule
        The rule that holds [-]
    history : History
        What is known of the task [-]
    found : mapping
        Its row of the due table [-]
    today : date
        Day of asking; its year is left out of days [date]

    Returns
    -------
    words : str
        Parts joined by semicolons [-]

    Examples
    --------
    >>> history = History(anchor_day=date(2020, 9, 1))
    >>> rule = Rule("Suction hose", "hose", every_months=72, reset="item_date", anchor="hose manufacture")
    >>> next_due(rule, history, [0] * 12, date(2026, 5, 14)).reason
    'Suction hose every 72 months from hose manufacture; never done; due 1 Sep; no hours reading'

    Source
    ------
    Our own wording.
    """
    parts = [f"{rule.task} {_interval_words(rule, history, found, today)}", _last_done_words(history, today), _due_words(found, today)]
    parts += [words for words in (_finding_words(history), _wait_words(history, found, today), season_words(found, today)) if words]
    age = found["reading_age_days"]
    if pd.isna(age):
        parts.append("no hours reading")
    elif age > OLD_READING_DAYS:
        parts.append(f"hours reading {age:.0f} days old")
    return "; ".join(parts)


def _interval_words(rule: Rule, history: History, found: Mapping, today: date) -> str:
    if found["breakin"]:
        return "break-in at " + ", ".join(grouped(step) for step in rule.steps_h) + f" h from {rule.anchor}"
    words = []
    if rule.every_h:
        mixed = rule.every_mixed_h if history.other_fluid_ever else None
        words.append("every " + shorten(mixed or rule.every_h, history.factors, history.floor).words)
        words[0] += " (another fluid was in the tank)" if mixed else ""
        extended = extension_factor(history.extensions, today)
        if (
            extended > 1
            and found["interval_h"] > (mixed or rule.every_h) * severity_product(history.factors.values(), history.floor) + 1e-6
        ):
            words[0] += f", extended x {extended:g} = {grouped(found['interval_h'])} h"
    if rule.every_months:
        words.append(("or " if words else "every ") + f"{rule.every_months:g} months")
    return " ".join(words) + ("" if rule.reset in ("completion", "window") else f" from {rule.anchor}")


def _last_done_words(history: History, today: date) -> str:
    if history.done_h is None and history.done_day is None:
        return "never done"
    at = "" if history.done_h is None else f" at {grouped(history.done_h)} h"
    on = "" if history.done_day is None else f" on {day_words(history.done_day, today)}"
    return "last done" + at + on


def _due_words(found: Mapping, today: date) -> str:
    calendar = day_words(found["calendar_day"], today)
    if pd.isna(found["due_h"]):
        return f"due {calendar}" if calendar else "due day not known"
    words = f"due {grouped(found['due_h'])} h"
    if not pd.isna(found["likely"]):
        low, high = day_words(found["low"], today), day_words(found["high"], today)
        words += f", reached about {day_words(found['likely'], today)}" + (f" ({low}-{high})" if low != high else "")
    if calendar:
        words += f"; calendar {calendar} comes " + ("later" if found["by_hours"] else "first")
    return words


def _finding_words(history: History) -> str:
    return "; ".join(finding_that_calls(history.findings, history.done_day)[1]) if history.findings else ""


def _wait_words(history: History, found: Mapping, today: date) -> str:
    if history.deferred_h is None and history.deferred_day is None:
        return ""
    hours = "" if history.deferred_h is None else f" {grouped(history.deferred_h)} h"
    day = "" if history.deferred_day is None else f" {day_words(history.deferred_day, today)}"
    limit = " or".join(part for part in (hours, day) if part)
    state = STATES[found["state"]]
    return f"deferred until{limit}" if state == "deferred" else f"deferral until{limit}, now {state}"


def season_words(found: Mapping, today: date) -> str:
    """Return what a task does about the season block it meets, in words; empty where it meets none.

    Parameters
    ----------
    found : mapping
        A row of the due table [-]
    today : date
        Day of asking [date]

    Returns
    -------
    words : str
        Block, day proposed and why [-]

    Examples
    --------
    >>> found = {"move": BEFORE, "slot_day": date(2026, 7, 9), "wasted_share": 0.21}
    >>> found |= {"block_start": date(2026, 7, 10), "block_end": date(2026, 8, 20)}
    >>> season_words(found, date(2026, 5, 14))
    'meets the season block 10 Jul-20 Aug: do it by 9 Jul, 21 % of its life unused'

    Source
    ------
    Our own wording.
    """
    if found["move"] == AS_DUE:
        return ""
    block = f"meets the season block {day_words(found['block_start'], today)}-{day_words(found['block_end'], today)}"
    wasted = f"{found['wasted_share']:.0%}".replace("%", " %")
    if found["move"] == BEFORE:
        return f"{block}: do it by {day_words(found['slot_day'], today)}, {wasted} of its life unused"
    if found["move"] == AFTER:
        return f"{block}: do it from {day_words(found['slot_day'], today)}, inside the late limit; before would leave {wasted} unused"
    return f"{block}: before would leave {wasted} of its life unused or is past, after lies over the late limit: a person must decide"
