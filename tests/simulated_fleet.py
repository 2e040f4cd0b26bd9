"""Simulated fleets with a known truth: gaps that open with hours, noisy tests at irregular hours, wild readings, healthy drives."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

LIMIT_RATIO = 2.0
REACH = 2.0 ** (1 / 3) - 1.0


@dataclass
class Truth:
    """The law one simulated fleet follows."""

    curvature: float
    typical_life_h: float
    noise_cv: float
    healthy: float
    slopes: str = "gamma"
    baseline_cv: float = 0.04
    wild: float = 0.02
    wander: float = 0.0
    curvature_sd: float = 0.0
    visit_h: float = 390.0
    extra: dict = field(default_factory=dict)


def draw_truth(rng: np.random.Generator, **changes) -> Truth:
    """Draw the law of one fleet."""
    curvature, life_h, noise_cv, healthy = rng.uniform([0.8, 4000, 0.02, 0.35], [1.4, 9000, 0.08, 0.65])
    truth = Truth(curvature=curvature, typical_life_h=life_h, noise_cv=noise_cv, healthy=healthy)
    for name, value in changes.items():
        setattr(truth, name, value)
    return truth


def draw_slopes(truth: Truth, units: int, rng: np.random.Generator) -> np.ndarray:
    """Draw slope per (1000 h)^b; 0 for the healthy."""
    if truth.slopes == "gamma":
        factor = rng.gamma(3, 1 / 3, units)
    elif truth.slopes == "lognormal":
        factor = np.exp(rng.normal(0, 0.5, units))
    else:
        factor = np.where(rng.random(units) < 0.7, 0.7, 2.2) * np.exp(rng.normal(0, 0.15, units))
    slope = REACH / (truth.typical_life_h / 1000) ** truth.curvature * factor
    return np.where(rng.random(units) < truth.healthy, 0.0, slope)


@dataclass
class Fleet:
    """Readings as a frame, and of each series: when it truly reaches the limit, whether it wears, its true slope."""

    readings: pd.DataFrame
    crossing_h: np.ndarray
    wears: np.ndarray
    slope: np.ndarray
    last_h: np.ndarray
    true_ratio: np.ndarray
    unit_cv: np.ndarray
    wild: np.ndarray

    def again(self, rows: np.ndarray, series: np.ndarray, wild: float, rng: np.random.Generator) -> np.ndarray:
        """Read the same state of some rows a second time: new noise, and now and then wild again."""
        noise = np.exp(self.unit_cv[series] * rng.normal(size=len(rows)))
        return self.true_ratio[rows] * noise * wild_factor(len(rows), wild, rng)


def wild_factor(size: int | tuple, share: float, rng: np.random.Generator) -> np.ndarray:
    """Factors of wild readings, 15 to 50 % up or down, 1 for the others."""
    return np.where(rng.random(size) < share, 1 + rng.choice([-1, 1], size) * rng.uniform(0.15, 0.5, size), 1.0)


def draw_fleet(truth: Truth, counts: np.ndarray, rng: np.random.Generator, group: int = 1, first_series: int = 0) -> Fleet:
    """Draw a fleet of drives with the given numbers of readings."""
    units, most = len(counts), int(counts.max())
    slope = draw_slopes(truth, units, rng)
    curvature = truth.curvature + truth.curvature_sd * rng.normal(size=units)
    start = (1 + truth.baseline_cv * rng.normal(size=units)) ** (1 / 3)
    unit_cv = truth.noise_cv * np.sqrt(12 / rng.chisquare(12, units))
    hours = np.cumsum(truth.visit_h * np.exp(rng.normal(0, 0.35, (units, most))), axis=1)
    rise, crossing = true_rise(truth, slope, curvature, start, hours, rng)
    noise = np.exp(unit_cv[:, None] * rng.normal(size=hours.shape))
    true_ratio = (start[:, None] * (1 + rise)) ** 3
    wild = wild_factor(hours.shape, truth.wild, rng)
    ratio = true_ratio * noise * wild
    kept = np.arange(most) < counts[:, None]
    frame = pd.DataFrame(
        {
            "series": np.repeat(np.arange(units) + first_series, counts),
            "group": group,
            "life_h": hours[kept],
            "ratio": ratio[kept],
            "cv": np.nan,
            "scale": pd.Categorical.from_codes(np.zeros(int(counts.sum()), np.int8), ["cuberoot"]),
        }
    )
    return Fleet(frame, crossing, slope > 0, slope, hours[np.arange(units), counts - 1], true_ratio[kept], unit_cv, (wild != 1)[kept])


def true_rise(truth: Truth, slope, curvature, start, hours, rng) -> tuple[np.ndarray, np.ndarray]:
    """Opening of the gap at the visits, and the hours at which start x (1 + rise) reaches the limit."""
    goal = LIMIT_RATIO ** (1 / 3) / start - 1
    with np.errstate(divide="ignore"):
        exact = 1000 * (np.maximum(goal, 0) / slope) ** (1 / curvature)
    smooth = slope[:, None] * (hours / 1000) ** curvature[:, None]
    if truth.wander == 0:
        return smooth, np.where(slope > 0, exact, np.inf)
    return _wandering(truth, slope, curvature, goal, hours, rng)


def _wandering(truth: Truth, slope, curvature, goal, hours, rng) -> tuple[np.ndarray, np.ndarray]:
    """As `true_rise` with a Brownian part whose SD after 1000 h is `wander` of the way to the limit, for wearing drives."""
    step, end = 25.0, 40_000.0
    grid = np.arange(0, end, step)
    rise, crossing = np.empty_like(hours), np.full(len(slope), np.inf)
    for unit in range(len(slope)):
        path = slope[unit] * (grid / 1000) ** curvature[unit]
        if slope[unit] > 0:
            path = path + np.r_[0, np.cumsum(rng.normal(0, truth.wander * REACH * np.sqrt(step / 1000), len(grid) - 1))]
        rise[unit] = np.interp(hours[unit], grid, path)
        over = path >= goal[unit]
        if slope[unit] > 0 and over.any():
            crossing[unit] = grid[np.argmax(over)]
    return rise, crossing
