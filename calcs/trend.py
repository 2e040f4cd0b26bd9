"""Wear of a whole fleet at once: who wears, how fast against its kin, what jumped; from few readings, with the fleet's help."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from calcs.flags import benjamini_hochberg_limit, state_words
from calcs.gauges import corrected, offsets_of
from calcs.group import REFERENCE_RATIO, GroupNumbers, Kin, Part, numbers_by_series
from calcs.judging import Judged, judge, trend_chances
from calcs.learning import fit_group
from calcs.pooling import kin_units, representative
from calcs.series import Layout, lay_out

MOST_KIN = 1200


@dataclass(frozen=True)
class FleetFit:
    """What a fleet's readings say: frames `series`, `groups`, `readings`, and what is kept for forecasts and for the next reading."""

    series: pd.DataFrame
    groups: pd.DataFrame
    readings: pd.DataFrame
    numbers: tuple[GroupNumbers, ...] = field(repr=False)
    record: np.ndarray = field(repr=False)
    group_code: np.ndarray = field(repr=False)
    began: np.ndarray = field(repr=False)
    last_h: np.ndarray = field(repr=False)
    gauges: pd.DataFrame | None = field(default=None, repr=False)

    def group_rows(self) -> list[dict]:
        """Return the numbers of all groups as plain rows, fit for JSON."""
        return [numbers.as_row() for numbers in self.numbers]


def fit_fleet(readings: pd.DataFrame) -> FleetFit:
    """Judge every series of a fleet from all its readings at once.

    Parameters
    ----------
    readings : DataFrame
        One row a reading: series (int, one drive, quantity and epoch), group (drive model and quantity), life_h (hours since the epoch),
        ratio (reading over calculated baseline, worse = up), cv (stated standard uncertainty as a share, may be NaN), scale (`cuberoot`
        or `log`); began, instrument, family may be absent [-]

    Returns
    -------
    fit : FleetFit
        Frames `series`, `groups`, `readings` [-]

    Examples
    --------
    >>> life_h = [400.0, 900.0, 1300.0, 1800.0] * 2
    >>> ratio = [1.01, 0.99, 1.0, 1.01, 1.1, 1.25, 1.38, 1.6]
    >>> frame = pd.DataFrame({"series": [1] * 4 + [2] * 4, "group": 1, "life_h": life_h, "ratio": ratio})
    >>> fit_fleet(frame.assign(cv=np.nan, scale="cuberoot")).series["state"].tolist()
    ['steady', 'wearing']

    Source
    ------
    C. J. Lu and W. Q. Meeker, Technometrics 35(2), 1993, 161-174, for the model of paths; M. Stephens, Biostatistics 18(2), 2017,
    275-294, for shrinkage by a law learnt from all; the ladder of lives is ours.
    """
    layout, gauges = _laid_out(readings)
    stated, cv_by_group, group_label, code = _weights_by_statement(layout)
    numbers = _fit_groups(layout, stated, cv_by_group, group_label, code)
    judged, share = judge(layout.hours, layout.straight, stated, layout.count, numbers_by_series(numbers, code, layout.began))
    numbers = _with_flag_limits(numbers, judged, code)
    return replace(_framed(readings, layout, numbers, code, judged, share), gauges=gauges)


def trend_flags(readings: pd.DataFrame) -> pd.DataFrame:
    """Flag trends alone, without lives, steps and forecasts: the quick look at a very large fleet.

    Parameters
    ----------
    readings : DataFrame
        As for `fit_fleet` [-]

    Returns
    -------
    flags : DataFrame
        By series: p_trend as in `fit_fleet`, flagged (one in ten of the flagged may be false) [-]

    Examples
    --------
    >>> ratio = [1.01, 0.99, 1.0, 1.01, 1.1, 1.25, 1.38, 1.6]
    >>> frame = pd.DataFrame({"series": [1] * 4 + [2] * 4, "group": 1, "life_h": [400.0, 900.0, 1300.0, 1800.0] * 2, "ratio": ratio})
    >>> trend_flags(frame.assign(cv=np.nan, scale="cuberoot"))["flagged"].tolist()
    [False, True]

    Source
    ------
    As `fit_fleet`; list after Y. Benjamini and Y. Hochberg 1995.
    """
    layout, gauges = _laid_out(readings)
    stated, cv_by_group, group_label, code = _weights_by_statement(layout)
    numbers = _fit_groups(layout, stated, cv_by_group, group_label, code)
    p = trend_chances(layout.hours, layout.straight, stated, layout.count, numbers_by_series(numbers, code, layout.began))
    limit = benjamini_hochberg_limit(p, code, len(numbers))
    return pd.DataFrame({"p_trend": p, "flagged": p <= limit[code]}, index=pd.Index(layout.label, name="series"))


def _laid_out(readings: pd.DataFrame) -> tuple[Layout, pd.DataFrame | None]:
    """Readings in order, offsets of gauges solved and taken out where gauges are named."""
    layout = lay_out(readings)
    gauges = offsets_of(layout) if layout.instrument is not None else None
    return (layout if gauges is None else corrected(layout, gauges)), gauges


def refresh(fit: FleetFit | list[dict], readings: pd.DataFrame, gauges: pd.DataFrame | None = None) -> FleetFit:
    """Judge some series anew, all their readings given, with the numbers of the groups as they were kept.

    Parameters
    ----------
    fit : FleetFit or list of dict
        An earlier fit, or its group rows [-]
    readings : DataFrame
        All readings of the series to judge, as for `fit_fleet` [-]
    gauges : DataFrame
        Offsets of gauges as kept; those of the fit where left out [-]

    Returns
    -------
    fit : FleetFit
        A fit of those series alone [-]

    Examples
    --------
    >>> frame = pd.DataFrame({"series": 1, "group": 1, "life_h": [400.0, 900.0, 1300.0], "ratio": [1.0, 1.02, 1.0]})
    >>> frame = frame.assign(cv=np.nan, scale="cuberoot")
    >>> fit = fit_fleet(frame)
    >>> again = refresh(fit.group_rows(), frame)
    >>> abs(again.series["p_trend"][1] - fit.series["p_trend"][1]) < 1e-12
    np.True_

    Source
    ------
    As `fit_fleet`.
    """
    layout = lay_out(readings)
    if gauges is None and isinstance(fit, FleetFit):
        gauges = fit.gauges
    layout = corrected(layout, gauges) if gauges is not None and layout.instrument is not None else layout
    labels, code = np.unique(layout.group, return_inverse=True)
    numbers = _kept(fit, labels.tolist())
    stated = _stated_weights(layout, np.array([group.cv_stated for group in numbers])[code])
    judged, share = judge(layout.hours, layout.straight, stated, layout.count, numbers_by_series(numbers, code, layout.began))
    return _framed(readings, layout, numbers, code, judged, share)


def _kept(fit: FleetFit | list[dict], labels: list) -> list[GroupNumbers]:
    """Numbers of the groups named, from a fit or from its stored rows."""
    if isinstance(fit, FleetFit):
        found = {group.group: group for group in fit.numbers}
    else:
        found = {row["group"]: GroupNumbers.from_row(row) for row in fit if row["group"] in labels}
    unknown = [label for label in labels if label not in found]
    if unknown:
        raise ValueError(f"group must be one of the groups kept, got {unknown[0]}")
    return [found[label] for label in labels]


def _weights_by_statement(layout: Layout) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Weights by stated uncertainty, the stated share each group's weights refer to, labels of groups, code of each series."""
    labels, code = np.unique(layout.group, return_inverse=True)
    for label, both in _mixed_scales(labels, code, layout.cube):
        raise ValueError(f"scale must be the same throughout a group, group {label} has {both}")
    usual = np.full(len(labels), np.nan)
    if layout.cv is not None:
        known = layout.cv > 0
        of = layout.spread(code)[known]
        number = np.bincount(of, minlength=len(labels))
        usual = np.exp(np.bincount(of, np.log(layout.cv[known]), len(labels)) / np.where(number, number, np.nan))
    return _stated_weights(layout, usual[code]), usual, labels, code


def _mixed_scales(labels: np.ndarray, code: np.ndarray, cube: np.ndarray):
    cubes, all_of = np.bincount(code, cube, len(labels)), np.bincount(code, minlength=len(labels))
    for at in np.flatnonzero((cubes > 0) & (cubes < all_of)):
        yield labels[at], "both scales"


def _stated_weights(layout: Layout, usual: np.ndarray) -> np.ndarray:
    """Weight of each reading: proportional noise on the cube-root scale, and its stated uncertainty against the usual one."""
    weight = np.where(layout.spread(layout.cube), (1.0 + layout.straight) ** -2.0, 1.0) if layout.cube.any() else np.ones(len(layout.hours))
    if layout.cv is None:
        return weight
    share = layout.spread(usual) / np.where(layout.cv > 0, layout.cv, np.nan)
    return weight * np.where(np.isfinite(share), np.clip(share, 0.2, 5.0) ** 2, 1.0)


def _fit_groups(layout: Layout, stated, cv_by_group, labels, code) -> list[GroupNumbers]:
    order = np.argsort(code, kind="stable")
    bounds = np.searchsorted(code[order], np.arange(len(labels) + 1))
    members = [order[bounds[at] : bounds[at + 1]] for at in range(len(labels))]
    families = _families(layout, members)
    kin = {name: _fit_kin(layout, stated, [members[at] for at in places]) for name, places in families.items()}
    family_of = {at: name for name, places in families.items() for at in places}
    fitted = []
    for at, own in enumerate(members):
        chosen = representative(layout, own)
        lent = kin.get(family_of.get(at))
        lent = lent and replace(lent, units=kin_units(len(own)))
        part, reach = _part(layout, stated, chosen), _reach(bool(layout.cube[own[0]]))
        numbers, _, _ = fit_group(part, labels[at].item(), float(cv_by_group[at]), reach, lent if lent and lent.units > 0 else None)
        fitted.append(replace(numbers, n_series=len(own)))
    return fitted


def _families(layout: Layout, members: list[np.ndarray]) -> dict:
    """Places of the groups of each family in which some group is small enough to borrow; a family of one lends nothing."""
    found: dict = {}
    for at, own in enumerate(members):
        name = (bool(layout.cube[own[0]]), layout.family[own[0]] if layout.family is not None else None)
        found.setdefault(name, []).append(at)
    return {name: places for name, places in found.items() if len(places) > 1 and any(kin_units(len(members[at])) > 0 for at in places)}


def _fit_kin(layout: Layout, stated: np.ndarray, members: list[np.ndarray]) -> Kin:
    share = max(4, MOST_KIN // len(members))
    chosen = np.concatenate([representative(layout, own, share) for own in members])
    part = _part(layout, stated, np.sort(chosen))
    numbers, profile, widening = fit_group(part, -1, float("nan"), _reach(part.cube))
    return Kin(numbers, 0.0, profile, widening)


def _part(layout: Layout, stated: np.ndarray, chosen: np.ndarray) -> Part:
    count = layout.count[chosen]
    rows = np.repeat(layout.start[chosen] - (np.cumsum(count) - count), count) + np.arange(count.sum())
    return Part(layout.hours[rows], layout.straight[rows], stated[rows], count, layout.began[chosen], bool(layout.cube[chosen[0]]))


def _reach(cube: bool) -> float:
    limit = REFERENCE_RATIO[cube]
    return float(np.cbrt(limit) - 1.0 if cube else np.log(limit))


def _with_flag_limits(numbers: list[GroupNumbers], judged: Judged, code: np.ndarray) -> list[GroupNumbers]:
    limits = benjamini_hochberg_limit(judged.p_trend, code, len(numbers))
    return [replace(group, flag_p=float(limit)) for group, limit in zip(numbers, limits, strict=True)]


def _framed(readings, layout: Layout, numbers, code, judged: Judged, share) -> FleetFit:
    last = layout.start + layout.count - 1
    flag_p = np.array([group.flag_p for group in numbers])[code] if len(numbers) else np.zeros(0)
    level = np.where(layout.cube, np.maximum(1 + judged.level, 0.0) ** 3, np.exp(judged.level))
    series = pd.DataFrame(
        {
            "level_ratio": level,
            "slope_per_kh": judged.slope,
            "p_trend": judged.p_trend,
            "p_wearing": judged.p_wearing,
            "n": layout.count,
            "weight_own": judged.weight_own,
            "state": state_words(judged.p_trend, judged.p_wearing, layout.count, flag_p, judged.stayed > 0),
            "last_step_p": judged.step_p,
        },
        index=pd.Index(layout.label, name="series"),
    )
    place, record = np.arange(len(layout.label)), judged.record
    if len(layout.all_labels) > len(layout.label):
        series = series.reindex(pd.Index(layout.all_labels, name="series"))
        series = series.assign(n=series["n"].fillna(0).astype(int), state=series["state"].fillna("too_few"))
        place = series.index.get_indexer(layout.label)
    weight = np.zeros(len(readings))
    weight[layout.row] = share
    to_keep = ((record, np.nan), (code, -1), (layout.began, 0), (layout.hours[last], np.nan))
    kept = [_unsorted(values, place, len(series), fill) for values, fill in to_keep]
    return FleetFit(series, _group_frame(numbers), pd.DataFrame({"weight": weight}, index=readings.index), tuple(numbers), *kept)


def _unsorted(values: np.ndarray, place: np.ndarray, length: int, fill: float) -> np.ndarray:
    if len(place) == length:
        return values
    out = np.full((length, *values.shape[1:]), fill, dtype=values.dtype)
    out[place] = values
    return out


def _group_frame(numbers: list[GroupNumbers]) -> pd.DataFrame:
    columns = [name for name in GroupNumbers.__dataclass_fields__ if name not in ("start_weight", "start_level", "group")]
    frame = pd.DataFrame([{name: getattr(group, name) for name in columns} for group in numbers], columns=columns)
    frame.insert(7, "n0", [group.start_weight[0] for group in numbers])
    frame.index = pd.Index([group.group for group in numbers], name="group")
    return frame
