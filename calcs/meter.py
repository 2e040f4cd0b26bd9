"""The hour meter: life hours across replaced meters, and whether a new reading can be believed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from calcs.thousands import grouped

UNUSUAL_TIMES = 4.0  # common practice, no source: four times the usual rate is asked about
MOST_H_PER_DAY = 24.0


@dataclass(frozen=True)
class MeterSegment:
    """One meter from its first reading to its last; `end_h` is None while it is still fitted."""

    start_h: float
    end_h: float | None = None

    @property
    def run_h(self) -> float:
        return 0.0 if self.end_h is None else self.end_h - self.start_h


@dataclass(frozen=True)
class ReadingJudgement:
    """What is thought of a new reading: `plausible`, `unusual` (ask) or `impossible` (hold back), why, and what may have been meant."""

    state: str
    reason: str
    suggestions: tuple[tuple[float, str], ...] = ()


def life_base_h(segments: Iterable[MeterSegment], offset_h: float = 0.0) -> float:
    """Return what to add to a reading of the meter now fitted to get life hours.

    Law
    ---
    base = declared offset + sum of (end - start) of replaced meters - start of the fitted meter

    Parameters
    ----------
    segments : iterable of MeterSegment
        Meters in order, the fitted one last with no end [h]
    offset_h : float
        Hours run before the first meter, as declared [h]

    Returns
    -------
    base_h : float
        Hours to add to a reading [h]

    Examples
    --------
    >>> life_base_h([MeterSegment(0, 3120.4), MeterSegment(0)])
    3120.4

    Source
    ------
    Common practice, no source.
    """
    meters = list(segments)
    if not meters:
        return offset_h
    for meter in meters:
        if meter.run_h < 0:
            raise ValueError(f"segments must not end before they start, got {meter}")
    if any(meter.end_h is None for meter in meters[:-1]):
        raise ValueError(f"segments may leave only the last meter without an end, got {meters}")
    fitted = meters[-1].start_h if meters[-1].end_h is None else meters[-1].end_h
    return offset_h + sum(meter.run_h for meter in meters) - fitted


def life_hours(segments: Iterable[MeterSegment], meter_h, offset_h: float = 0.0):
    """Return life hours for a reading of the meter now fitted.

    Law
    ---
    life = reading + declared offset + sum of replaced meters - start of the fitted meter

    Parameters
    ----------
    segments : iterable of MeterSegment
        Meters in order, the fitted one last with no end [h]
    meter_h : float or array
        Reading of the fitted meter, not below its start [h]
    offset_h : float
        Hours run before the first meter, as declared [h]

    Returns
    -------
    life_h : float or array
        Hours the machine has run since new, to the tenth [h]

    Examples
    --------
    >>> life_hours([MeterSegment(0, 3120.4), MeterSegment(0)], 412.7)
    3533.1

    Source
    ------
    Common practice, no source.
    """
    meters = list(segments)
    if meters and np.any(np.asarray(meter_h) < meters[-1].start_h):
        raise ValueError(f"meter_h must not lie below the start of the fitted meter, got {meter_h}")
    total = np.round(np.asarray(meter_h, float) + life_base_h(meters, offset_h), 6)
    return float(total) if total.ndim == 0 else total


def judge_reading(
    reading_h: float, on: date, last_h: float | None = None, last_on: date | None = None, usual_h_per_day: float | None = None
) -> ReadingJudgement:
    """Judge a new meter reading against the one before it, and suggest what may have been meant.

    Parameters
    ----------
    reading_h : float
        New reading of the same meter [h]
    on : date
        Day of the new reading [date]
    last_h : float, optional
        Reading before it; None for the first [h]
    last_on : date, optional
        Day of the reading before it [date]
    usual_h_per_day : float, optional
        Hours a day expected for this machine in that time; None leaves the question of the unusual out [h/day]

    Returns
    -------
    judgement : ReadingJudgement
        State, reason in words and suggestions, the likeliest first [-]

    Examples
    --------
    >>> judgement = judge_reading(1843, date(2026, 5, 14), 1455, date(2026, 5, 1))
    >>> judgement.state, judgement.suggestions[0]
    ('impossible', (1483.0, 'two digits changed places'))

    Source
    ------
    A day has 24 hours; the rest is common practice, no source.
    """
    if last_h is None or last_on is None:
        state = "impossible" if reading_h < 0 else "plausible"
        return ReadingJudgement(state, "first reading of this meter" if reading_h >= 0 else "below zero")
    state, reason = _judge_step(reading_h - last_h, (on - last_on).days, usual_h_per_day)
    if state == "plausible":
        return ReadingJudgement(state, reason)
    return ReadingJudgement(state, reason, _what_was_meant(reading_h, last_h, (on - last_on).days, usual_h_per_day))


def _judge_step(gained_h: float, days: int, usual_h_per_day: float | None) -> tuple[str, str]:
    if days < 0:
        return "impossible", "dated before the reading it follows"
    if gained_h < 0:
        return "impossible", f"{grouped(-gained_h)} h lower than the reading before; was the meter replaced?"
    if gained_h > MOST_H_PER_DAY * (days + 1):
        return "impossible", f"{grouped(gained_h)} h in {days} days is more than the day holds"
    if usual_h_per_day is not None and gained_h > 20 + UNUSUAL_TIMES * usual_h_per_day * (days + 1):
        return "unusual", f"{grouped(gained_h)} h in {days} days, where {grouped(usual_h_per_day * days, 0)} h would be usual"
    return "plausible", f"{grouped(gained_h)} h in {days} days"


def _what_was_meant(reading_h: float, last_h: float, days: int, usual_h_per_day: float | None) -> tuple[tuple[float, str], ...]:
    """Return readings that would pass, nearest to the usual use first."""
    aim = last_h + (usual_h_per_day if usual_h_per_day is not None else 2.0) * days
    tries = [(reading_h / 10, "tenths taken as whole hours"), (reading_h * 10, "last digit left out")]
    tries += [(value, "two digits changed places") for value in _neighbours_swapped(reading_h)]
    fair = {value: why for value, why in tries if _judge_step(value - last_h, days, usual_h_per_day)[0] == "plausible"}
    return tuple(sorted(fair.items(), key=lambda pair: (abs(pair[0] - aim), pair[0])))


def _neighbours_swapped(reading_h: float) -> list[float]:
    text = f"{reading_h:.1f}".removesuffix(".0")
    swapped = []
    for i in range(len(text) - 1):
        if "." not in text[i : i + 2] and text[i] != text[i + 1]:
            swapped.append(float(text[:i] + text[i + 1] + text[i] + text[i + 2 :]))
    return swapped
