"""What will be wanted by when: litres by product, filters by number, hours of labour, from the bands of due days."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from calcs.calendar_sums import NO_DAY

DAYS_PER_WEEK = 7


def demand_by_week(item, quantity, low, likely, high, mondays, every_days=None) -> pd.DataFrame:
    """Return how much of each item is wanted by the end of each week: surely, likely, at most.

    Law
    ---
    low = sum of quantities whose latest day has come, likely = whose likely day has come, high = whose earliest day has come

    Parameters
    ----------
    item : array of str
        Product, part number or kind of hours of each task [-]
    quantity : array
        How much of it the task takes, in the item's own unit [-]
    low : array of datetime64[D]
        Earliest due day of each task, low end of its band [date]
    likely : array of datetime64[D]
        Likely due day [date]
    high : array of datetime64[D]
        Latest due day, high end of its band; a missing day is never wanted [date]
    mondays : array of datetime64[D]
        First days of the weeks, one after another; what is due before them counts in the first [date]
    every_days : array, optional
        Days after which a task comes again; None or NaN counts each task once [days]

    Returns
    -------
    demand : DataFrame
        Rows by item and Monday; low, likely, high up to the end of the week, and likely_week in that week alone [-]

    Examples
    --------
    >>> week = np.array(["2026-05-04", "2026-05-11"], "M8[D]")
    >>> days = [["2026-05-01", "2026-05-08"], ["2026-05-06", "2026-05-13"], ["2026-05-20", "2026-05-30"]]
    >>> demand = demand_by_week(["VG 46", "VG 46"], [45.0, 20.0], *days, week)
    >>> demand[["low", "likely", "high"]].values.tolist()
    [[0.0, 45.0, 65.0], [0.0, 65.0, 65.0]]

    Source
    ------
    Common practice, no source: low and high are the sums if every task fell on the late or the early end of its band.
    """
    names, code = np.unique(np.asarray(item, str), return_inverse=True)
    mondays = np.asarray(mondays, "datetime64[D]")
    quantity = np.asarray(quantity, float)
    every = np.full(len(code), np.nan) if every_days is None else np.asarray(every_days, float)
    ends = {"low": high, "likely": likely, "high": low}  # the least is wanted if every task falls on its latest day
    sums = {name: _cumulated(code, len(names), quantity, day, mondays, every) for name, day in ends.items()}
    index = pd.MultiIndex.from_product([names, mondays], names=["item", "monday"])
    table = pd.DataFrame({name: values.ravel() for name, values in sums.items()}, index=index)
    table["likely_week"] = np.diff(sums["likely"], axis=1, prepend=0).ravel()
    return table


def _cumulated(code, items: int, quantity, day, mondays, every) -> np.ndarray:
    """Return quantities by item up to the end of each week, tasks repeated where they come again."""
    day, total = np.asarray(day, "datetime64[D]"), np.zeros((items, len(mondays)))
    last = mondays[-1] + DAYS_PER_WEEK - 1
    while True:
        due = ~np.isnat(day) & (day <= last)
        if not due.any():
            return np.cumsum(total, axis=1)
        week = np.clip(np.searchsorted(mondays, day[due], side="right") - 1, 0, len(mondays) - 1)
        np.add.at(total, (code[due], week), quantity[due])
        again = due & (every >= 1)
        day = np.where(again, np.maximum(day, mondays[0]) + np.where(again, every, 0).astype(int), NO_DAY)


def to_order(demand: pd.DataFrame, in_hand: Mapping[str, float]) -> pd.DataFrame:
    """Return what is short at the end of each week after stock and orders, at the low, likely and high demand.

    Law
    ---
    short = max(0, wanted by then - in stock and on order)

    Parameters
    ----------
    demand : DataFrame
        Rows by item and Monday as from `demand_by_week` [-]
    in_hand : mapping
        Stock and quantity on order by item; an item not named has none [-]

    Returns
    -------
    short : DataFrame
        Same rows; low, likely, high [-]

    Examples
    --------
    >>> week, day = np.array(["2026-05-04"], "M8[D]"), ["2026-05-05"]
    >>> demand = demand_by_week(["F-12"], [3.0], day, day, day, week)
    >>> to_order(demand, {"F-12": 1.0}).values.tolist()
    [[2.0, 2.0, 2.0]]

    Source
    ------
    Common practice, no source.
    """
    hand = np.array([in_hand.get(item, 0.0) for item in demand.index.get_level_values("item")])
    return demand[["low", "likely", "high"]].sub(hand, axis=0).clip(lower=0)
