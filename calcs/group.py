"""The numbers of one group (one drive model and quantity) and where they begin: what is kept so that one new reading can be judged."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace

import numpy as np

from calcs.backtest import Widening
from calcs.curvature import CURVATURE_MIDDLE
from calcs.ladder import ANY_DRIVE, Lives
from calcs.noise import BASELINE_WEIGHT_LIMITS, Noise
from calcs.series import BEGINNINGS

REFERENCE_RATIO = {True: 2.0, False: 1.3}
ANY_NOISE = Noise(0.015**2, 8.0, 0)
BY_GROUP = (
    "age_h", "reach", "curvature", "doubt", "share_not_wearing", "typical_life_h", "life_spread", "noise", "noise_freedom", "eta", "phi",
)  # fmt: skip
ANY_START_SD = {"new": 0.0133, "overhauled": 0.0133, "repaired": 0.027, "first_seen": 0.1, "new_gauge": 0.0133}


@dataclass(frozen=True)
class Part:
    """Readings of one group's series, one after the other, with the beginnings as codes and weights before wild ones are held down."""

    hours: np.ndarray
    y: np.ndarray
    weight: np.ndarray
    count: np.ndarray
    began: np.ndarray
    cube: bool


@dataclass(frozen=True)
class GroupNumbers:
    """What is kept of a group so that one new reading can be judged without its kin: plain numbers, fit for JSON."""

    group: int
    n_series: int
    cube: bool
    age_h: float
    reach: float
    share_not_wearing: float
    typical_life_h: float
    life_spread: float
    curvature: float
    doubt: float
    noise: float
    noise_freedom: float
    start_weight: tuple[float, ...]
    start_level: tuple[float, ...]
    eta: float
    phi: float
    backtest_asked: int
    backtest_caught: int
    cv_stated: float
    flag_p: float

    def lives(self) -> Lives:
        """Return the three numbers of the ladder."""
        return Lives(self.share_not_wearing, float(np.log(self.typical_life_h)), self.life_spread)

    def slope_law(self, bend: float = 0.0) -> tuple[float, float]:
        """Return mean and SD of the logarithm of slope among wearing drives, on x = (hours/age)^(curvature + bend)."""
        curvature = self.curvature + bend
        return float(np.log(self.reach) - curvature * np.log(self.typical_life_h / self.age_h)), curvature * self.life_spread

    def as_row(self) -> dict:
        """Return the numbers as one plain row."""
        stated = self.cv_stated if np.isfinite(self.cv_stated) else None
        return asdict(self) | {"start_weight": list(self.start_weight), "start_level": list(self.start_level), "cv_stated": stated}

    @classmethod
    def from_row(cls, row: dict) -> GroupNumbers:
        """Return the numbers from a plain row."""
        stated = float("nan") if row["cv_stated"] is None else row["cv_stated"]
        starts = {name: tuple(row[name]) for name in ("start_weight", "start_level")}
        return cls(**(row | starts | {"cv_stated": stated}))


@dataclass(frozen=True)
class Kin:
    """A wider family's numbers and the scores it lends."""

    numbers: GroupNumbers
    units: float
    profile: np.ndarray
    widening: Widening


def first_guess(part: Part, group: int, cv_stated: float, reach: float, kin: Kin | None) -> GroupNumbers:
    """Return numbers to begin with: the kin's, or those of any drive.

    Parameters
    ----------
    part : Part
        The group's readings [-]
    group : int
        Label [-]
    cv_stated : float
        Stated share to which weight 1 belongs [-]
    reach : float
        Distance from baseline to the reference limit on the straight scale [-]
    kin : Kin
        The wider family, or None [-]

    Returns
    -------
    numbers : GroupNumbers
        A beginning [-]

    Examples
    --------
    >>> part = Part(np.array([500.0, 900.0]), np.zeros(2), np.ones(2), np.array([2]), np.array([0]), True)
    >>> first_guess(part, 1, 0.03, 0.26, None).age_h
    900.0

    Source
    ------
    Lives of about 8,000 h, readings good to about 4.5 %: common practice, no source.
    """
    last = part.hours[np.cumsum(part.count) - 1]
    age = float(max(np.median(last), 1.0))
    if kin is not None:
        return replace(kin.numbers, group=group, n_series=len(part.count), age_h=age, cv_stated=cv_stated, reach=reach, cube=part.cube)
    sd = np.array([ANY_START_SD[name] for name in BEGINNINGS]) * (1.0 if part.cube else 3.0)
    noise = np.sqrt(ANY_NOISE.variance) * (1.0 if part.cube else 3.0)
    weights = np.clip((noise / sd) ** 2, *BASELINE_WEIGHT_LIMITS)
    return GroupNumbers(
        group=group, n_series=len(part.count), cube=part.cube, age_h=age, reach=reach, share_not_wearing=ANY_DRIVE.share_not_wearing,
        typical_life_h=float(np.exp(ANY_DRIVE.log_life)), life_spread=ANY_DRIVE.spread, curvature=CURVATURE_MIDDLE, doubt=0.4,
        noise=float(noise), noise_freedom=ANY_NOISE.freedom, start_weight=tuple(weights.tolist()), start_level=(0.0,) * len(BEGINNINGS),
        eta=1.0, phi=0.0, backtest_asked=0, backtest_caught=0, cv_stated=cv_stated, flag_p=0.0,
    )  # fmt: skip


def slope_moments(log_slope: float, log_spread: float, share_not_wearing: float) -> tuple[float, float]:
    """Return mean and variance of slope over the whole fleet, the healthy counted in.

    Parameters
    ----------
    log_slope : float
        Mean logarithm of slope of the wearing [-]
    log_spread : float
        Its SD [-]
    share_not_wearing : float
        Share of the healthy [-]

    Returns
    -------
    moments : tuple of float
        Mean and variance [-]

    Examples
    --------
    >>> slope_moments(0.0, 1e-9, 0.5)
    (0.5, 0.25)

    Source
    ------
    Moments of a lognormal law beside a spike at zero.
    """
    spread = np.minimum(log_spread, 1.5)
    mean = (1 - share_not_wearing) * np.exp(log_slope + spread**2 / 2)
    square = (1 - share_not_wearing) * np.exp(2 * log_slope + 2 * spread**2)
    variance = square - mean * mean
    return (float(mean), float(variance)) if np.ndim(mean) == 0 else (mean, variance)


@dataclass(frozen=True)
class Numbers:
    """Numbers of the groups, one entry a series."""

    age_h: np.ndarray
    reach: np.ndarray
    curvature: np.ndarray
    doubt: np.ndarray
    idle: np.ndarray
    log_life: np.ndarray
    life_spread: np.ndarray
    noise: np.ndarray
    freedom: np.ndarray
    eta: np.ndarray
    phi: np.ndarray
    start_weight: np.ndarray
    start_level: np.ndarray

    def part(self, rows: slice | np.ndarray) -> Numbers:
        """Return the entries of some series."""
        return Numbers(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))

    def law(self, bend: float) -> tuple[np.ndarray, np.ndarray]:
        """Return mean and SD of the logarithm of slope of the wearing, at the group's curvature plus `bend`."""
        curvature = self.curvature + bend
        return np.log(self.reach) - curvature * (self.log_life - np.log(self.age_h)), curvature * self.life_spread


def numbers_by_series(groups: list[GroupNumbers], code: np.ndarray, began: np.ndarray) -> Numbers:
    """Give every series the numbers of its group, and the start that belongs to how it began.

    Parameters
    ----------
    groups : list of GroupNumbers
        All groups [-]
    code : ndarray
        Place of each series' group in that list [-]
    began : ndarray
        Code of how each series began [-]

    Returns
    -------
    numbers : Numbers
        One entry a series [-]

    Examples
    --------
    >>> numbers_by_series([], np.zeros(0, int), np.zeros(0, int)).eta.size
    0

    Source
    ------
    A look-up.
    """
    table = np.array([[getattr(group, name) for name in BY_GROUP] for group in groups], float).reshape(-1, len(BY_GROUP)).T
    table[5] = np.log(table[5])
    starts = np.array([[group.start_weight, group.start_level] for group in groups], float).reshape(-1, 2, 5)
    return Numbers(*(column[code] for column in table), starts[code, 0, began], starts[code, 1, began])
