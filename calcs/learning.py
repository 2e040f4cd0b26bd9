"""A group's numbers learnt from its own readings: noise, start, curvature, lives, widening; kin pooled in where it is small."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from calcs.backtest import NO_PAST, WANDERS, Widening, choose_widening, hide_later_half
from calcs.curvature import (
    CURVATURE_DOUBT,
    CURVATURE_MIDDLE,
    CURVATURES,
    MOST_DOUBT,
    WING,
    WINGS,
    doubt_of_curvature,
    top_of_parabola,
)
from calcs.group import ANY_NOISE, GroupNumbers, Kin, Part, first_guess, slope_moments
from calcs.ladder import ANY_DRIVE, ANY_DRIVE_UNITS, Lives, Sums, commonness, fit_lives, log_likelihood, rungs
from calcs.noise import BASELINE_WEIGHT_LIMITS, Noise, baseline_spread, fleet_noise
from calcs.series import BEGINNINGS, parabola, six_sums
from calcs.wander import wander_scores
from calcs.wildness import reading_weights

NOISE_FLOOR = 3e-4
SURELY_WEARING = 0.05
AT_FIRST_GLANCE, MOST_SERIES = 120, 600
ALLOWANCE = 1.12  # lives of real fleets stray further than a lognormal law fitted to them
SAFE_LEAN = 0.6  # wear that bends upward reaches the limit sooner: the side on which to err


@dataclass
class Fitting:
    """A group on the way to its numbers: what is set so far, and the readings at the curvature of the moment."""

    part: Part
    numbers: GroupNumbers
    kin: Kin | None
    x: np.ndarray = None
    weight: np.ndarray = None

    def at(self, curvature: float, looks: int = 1) -> None:
        """Bend the hours by `curvature`, then set noise, start and weights of readings anew."""
        self.numbers = replace(self.numbers, curvature=float(curvature))
        self.x = (self.part.hours / self.numbers.age_h) ** curvature
        for _ in range(looks):
            self._set_noise_and_start()
            self._weigh()
        self._set_noise_and_start()

    def _weigh(self) -> None:
        numbers, part = self.numbers, self.part
        slope = slope_moments(*numbers.slope_law(), numbers.share_not_wearing)
        weights, levels = np.array(numbers.start_weight)[part.began], np.array(numbers.start_level)[part.began]
        one = np.ones(len(part.count))
        pull = (slope[0] * one, numbers.noise**2 / slope[1] * one)
        self.weight = part.weight * reading_weights(self.x, part.y, part.weight, part.count, (weights, levels), pull, numbers.noise * one)

    def _set_noise_and_start(self) -> None:
        sums = six_sums(self.x, self.part.y, self.weight, self.starts)
        a, b, c, *_ = parabola(sums)
        count = self.part.count
        free = np.where(c > 1e-9 * np.maximum(sums[3], 1e-12), count - 2, count - 1)
        rest = np.maximum(a - np.where(free == count - 2, b * b / np.maximum(c, 1e-300), 0.0), 0.0)
        told = free > 0
        own = fleet_noise(rest[told] / free[told], free[told].astype(float), NOISE_FLOOR**2)
        self.numbers = with_noise(self.numbers, own, rest[told], free[told], self.kin)
        self.numbers = with_start(self.numbers, sums, (b, c), self.part, self.kin)

    @property
    def starts(self) -> np.ndarray:
        """Where each series begins."""
        return np.cumsum(self.part.count) - self.part.count

    def sums(self, bend: float = 0.0) -> Sums:
        """Return the parabolas with the baseline counted in, at the present curvature or bent by `bend`."""
        x = self.x if bend == 0 else (self.part.hours / self.numbers.age_h) ** (self.numbers.curvature + bend)
        start = self.start_of_series()
        a, b, c, *_ = parabola(six_sums(x, self.part.y, self.weight, self.starts), *start)
        return Sums(a, b, c, self.part.count, self.numbers.noise**2, self.numbers.noise_freedom)

    def start_of_series(self) -> tuple[np.ndarray, np.ndarray]:
        """Return weight and level of the baseline of each series."""
        return np.array(self.numbers.start_weight)[self.part.began], np.array(self.numbers.start_level)[self.part.began]

    def slopes(self, bend: float = 0.0, every: int = 1) -> np.ndarray:
        """Return slopes of the rungs (or of every second one), 0 first."""
        numbers = self.numbers
        slopes = numbers.reach / (rungs(numbers.age_h)[::every] / numbers.age_h) ** (numbers.curvature + bend)
        return np.concatenate([[0.0], slopes])

    def _lives_at(self, bend: float) -> Lives:
        """Lives that keep the slopes as they are when the curvature is bent."""
        lives, age = self.numbers.lives(), float(np.log(self.numbers.age_h))
        share = self.numbers.curvature / (self.numbers.curvature + bend)
        return Lives(lives.share_not_wearing, age + share * (lives.log_life - age), share * lives.spread)

    def glance(self, bend: float, most: int) -> float:
        """Log likelihood at a curvature bent by `bend`, roughly: every second rung, at most so many series speaking for all."""
        thin = max(1, len(self.part.count) // most)
        return thin * self.climb(bend, 5, 2, thin)[1]

    def climb(self, bend: float = 0.0, rounds: int = 60, every: int = 1, thin: int = 1) -> tuple[Lives, float]:
        """Fit the lives at a curvature bent by `bend`; return them and the log likelihood."""
        sums = self.sums(bend)
        if thin > 1:
            sums = replace(sums, **{name: getattr(sums, name)[::thin] for name in ("a", "b", "c", "count")})
        log_fit = log_likelihood(sums, self.slopes(bend, every))
        top = log_fit.max(axis=1, keepdims=True)
        kin, units = (self.kin.numbers.lives(), self.kin.units) if self.kin else (ANY_DRIVE, ANY_DRIVE_UNITS)
        log_rung = np.log(rungs(self.numbers.age_h)[::every])
        lives, score = fit_lives(np.exp(log_fit - top), log_rung, kin, units, rounds, self._lives_at(bend))
        return lives, score + float(top.sum())


def fit_group(part: Part, group: int, cv_stated: float, reach: float, kin: Kin | None = None) -> tuple[GroupNumbers, np.ndarray, Widening]:
    """Work out a group's numbers from its readings, with its kin as pseudo-drives.

    Parameters
    ----------
    part : Part
        The group's readings [-]
    group : int
        Label of the group [-]
    cv_stated : float
        Stated share to which weight 1 belongs [-]
    reach : float
        Distance from baseline to the reference limit on the straight scale [-]
    kin : Kin
        Numbers of the wider family; None where it stands alone [-]

    Returns
    -------
    numbers : GroupNumbers
        The numbers [-]
    profile : ndarray
        Log likelihood a drive at each curvature tried [-]
    widening : Widening
        Outcome of the backtest [-]

    Examples
    --------
    >>> part = Part(np.array([500.0, 900.0]), np.zeros(2), np.ones(2), np.array([2]), np.array([0]), True)
    >>> fit_group(part, 1, 0.03, 0.26)[0].n_series
    1

    Source
    ------
    Empirical Bayes throughout; the order of the steps is ours.
    """
    fitting = Fitting(part, first_guess(part, group, cv_stated, reach, kin), kin, weight=part.weight)
    fitting.at(fitting.numbers.curvature, looks=2)
    _set_lives(fitting, *fitting.climb())
    profile = np.array([fitting.glance(at - fitting.numbers.curvature, AT_FIRST_GLANCE) for at in CURVATURES])
    top, sd = top_of_parabola(CURVATURES, _with_kin(profile, CURVATURES, len(part.count), kin))
    fitting.at(top)
    near = np.array([-0.12, 0.0, 0.12])
    close = np.array([fitting.glance(bend, MOST_SERIES) for bend in near])
    together = _with_kin(close, near + fitting.numbers.curvature, len(part.count), kin)
    fitting.at(top + top_of_parabola(near, together)[0] + SAFE_LEAN * min(sd, WING))
    _set_lives(fitting, *fitting.climb())
    widening = _set_doubts(fitting, sd)
    return fitting.numbers, profile / len(part.count), widening


def with_noise(numbers: GroupNumbers, own: Noise | None, rest: np.ndarray, free: np.ndarray, kin: Kin | None) -> GroupNumbers:
    """Return the numbers with the noise of the group, mixed with that of its kin (or of any drive) on the log scale.

    Parameters
    ----------
    numbers : GroupNumbers
        Numbers so far [-]
    own : Noise or None
        The group's own noise, None where it has too few drives [-]
    rest : ndarray
        Sums of squared residuals of its drives [-]
    free : ndarray
        Degrees of freedom of each [-]
    kin : Kin
        The wider family, or None [-]

    Returns
    -------
    numbers : GroupNumbers
        With noise and its freedom [-]

    Examples
    --------
    >>> part = Part(np.array([500.0, 900.0]), np.zeros(2), np.ones(2), np.array([2]), np.array([0]), True)
    >>> round(with_noise(first_guess(part, 1, 0.03, 0.26, None), None, np.zeros(0), np.zeros(0), None).noise, 6)
    0.015

    Source
    ------
    Geometric mean by the number of drives, or of readings where alone: our choice.
    """
    wide = 1.0 if numbers.cube else 9.0
    guess = (kin.numbers.noise**2, kin.numbers.noise_freedom) if kin else (ANY_NOISE.variance * wide, ANY_NOISE.freedom)
    total = float(free.sum())
    if own is None:
        own = Noise(max(float(rest.sum()) / total, NOISE_FLOOR**2), guess[1], len(free)) if total else Noise(*guess, 0)
    lent = kin.units / (own.told + kin.units) if kin and own.told + kin.units else 4.0 / (4.0 + total)
    freedom_lent = kin.units / (own.told + kin.units) if kin and own.told + kin.units else 8.0 / (8.0 + own.told)
    variance = np.exp((1 - lent) * np.log(own.variance) + lent * np.log(guess[0]))
    freedom = np.exp((1 - freedom_lent) * np.log(own.freedom) + freedom_lent * np.log(guess[1]))
    return replace(numbers, noise=float(np.sqrt(variance)), noise_freedom=float(freedom))


def with_start(numbers: GroupNumbers, sums: np.ndarray, own: tuple, part: Part, kin: Kin | None) -> GroupNumbers:
    """Return the numbers with level and weight of the start, each way of beginning by itself.

    Parameters
    ----------
    numbers : GroupNumbers
        Numbers so far [-]
    sums : ndarray
        Six sums of every series [-]
    own : tuple of ndarray
        B and C of every series without baseline [-]
    part : Part
        The group's readings [-]
    kin : Kin
        The wider family, or None [-]

    Returns
    -------
    numbers : GroupNumbers
        With levels and weights of the start [-]

    Examples
    --------
    >>> part = Part(np.array([500.0, 900.0]), np.zeros(2), np.ones(2), np.array([2]), np.array([0]), True)
    >>> guess, sums = first_guess(part, 1, 0.03, 0.26, None), np.ones((6, 1))
    >>> with_start(guess, sums, (np.ones(1), np.ones(1)), part, None).start_level == guess.start_level
    True

    Source
    ------
    Weight of the start = variance of a reading over variance between starts; kin counts as 50 drives, any drive as 5: our choice.
    """
    guess = kin.numbers if kin else first_guess(part, 0, 0.0, numbers.reach, None)
    guess_spread = guess.noise**2 / np.array(guess.start_weight)
    lent = 50.0 * min(1.0, kin.units / 10.0) if kin else 5.0
    weights, levels = list(numbers.start_weight), list(numbers.start_level)
    b, c = own
    long = (part.count >= 4) & (c > 1e-6)
    guess_weight = np.clip(numbers.noise**2 / guess_spread, *BASELINE_WEIGHT_LIMITS)
    for code in range(len(BEGINNINGS)):
        rows = np.flatnonzero(long & (part.began == code))
        if not len(rows):
            weights[code], levels[code] = guess_weight[code], guess.start_level[code]
            continue
        w, x, y = sums[0, rows], sums[1, rows], sums[2, rows]
        level = y / w - b[rows] / c[rows] * x / w
        found = baseline_spread(level, numbers.noise**2 * (1 / w + (x / w) ** 2 / c[rows])) or (guess.start_level[code], guess_spread[code])
        share = lent / (len(rows) + lent)
        spread = (1 - share) * found[1] + share * guess_spread[code]
        weights[code] = float(np.clip(numbers.noise**2 / spread, *BASELINE_WEIGHT_LIMITS))
        levels[code] = float((1 - share) * found[0] + share * guess.start_level[code])
    return replace(numbers, start_weight=tuple(map(float, weights)), start_level=tuple(levels))


def _set_lives(fitting: Fitting, lives: Lives, _score: float) -> None:
    fitting.numbers = replace(
        fitting.numbers,
        share_not_wearing=lives.share_not_wearing,
        typical_life_h=float(np.exp(lives.log_life)),
        life_spread=lives.spread * ALLOWANCE,
    )


def _with_kin(score: np.ndarray, at: np.ndarray, units: int, kin: Kin | None) -> np.ndarray:
    lent = np.interp(at, CURVATURES, kin.profile) * kin.units if kin else 0.0
    return score + lent - 0.5 * ((at - CURVATURE_MIDDLE) / CURVATURE_DOUBT) ** 2


def _set_doubts(fitting: Fitting, curvature_sd: float) -> Widening:
    """Doubt of curvature from the records at three curvatures and from what the whole group leaves open; widening from the backtest."""
    log_rung = np.log(rungs(fitting.numbers.age_h))
    share = commonness(fitting.numbers.lives(), log_rung)
    log_fits = [log_likelihood(fitting.sums(bend), fitting.slopes(bend)) for bend in WINGS]
    top = np.max([fit.max(axis=1) for fit in log_fits], axis=0)
    doubt = doubt_of_curvature(np.stack([np.exp(fit - top[:, None]) @ share for fit in log_fits], axis=1))
    doubt = min(doubt + (curvature_sd / WING) ** 2, MOST_DOUBT)
    part, numbers = fitting.part, fitting.numbers
    hidden = hide_later_half(
        fitting.x, part.y, fitting.weight, part.count, fitting.start_of_series(), (numbers.noise**2, numbers.noise_freedom)
    )
    typical = float(np.exp(numbers.slope_law()[0]))
    told = _wander_told(fitting, log_fits[1], share, typical)
    kin = fitting.kin.widening if fitting.kin else None
    widening = choose_widening(hidden, fitting.slopes(), share, typical, told, kin) if hidden else NO_PAST
    if hidden is None and fitting.kin:
        widening = replace(fitting.kin.widening, asked=0, caught=0)
    fitting.numbers = replace(
        numbers, doubt=doubt, eta=widening.power, phi=widening.wander, backtest_asked=widening.asked, backtest_caught=widening.caught
    )
    return widening


def _wander_told(fitting: Fitting, log_fit: np.ndarray, share: np.ndarray, typical: float) -> np.ndarray:
    """What whole records say of wander."""
    numbers, slopes = fitting.numbers, fitting.slopes()
    post = np.exp(log_fit - log_fit.max(axis=1, keepdims=True)) * share
    post /= np.maximum(post.sum(axis=1, keepdims=True), 1e-300)
    expected = np.where(post[:, 0] < SURELY_WEARING, post @ slopes, 0.0)
    return wander_scores(
        (fitting.x, fitting.part.y, fitting.weight, fitting.part.count), expected, fitting.start_of_series(),
        (numbers.noise**2, numbers.noise_freedom), (numbers.reach, typical), WANDERS,
    )  # fmt: skip
