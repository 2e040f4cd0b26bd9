"""Does one gauge, or one person, read high or low? Found from many drives, each read by several gauges and people over the years."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

DOUBT = 0.005  # stated chance that any one is named wrongly; simulated shops show 1 to 2 in 100
FEWEST = 4  # readings below which nothing is said of a gauge or a person
ROUNDS = 4
HUBER = 1.5
PRIOR_WIDTHS = 4.0  # a bias is taken to be some four times the noise of a reading or less


@dataclass(frozen=True)
class Bias:
    """How far one gauge or person reads from the middle of the others; `standard` is its standard uncertainty."""

    label: str
    bias: float
    standard: float
    readings: int
    drives: int
    is_found: bool


def label_biases(residual: Sequence[float], drive: Sequence, label: Sequence[str], beside: Sequence[str] | None = None) -> list[Bias]:
    """Return for each gauge or person how far it reads from the middle of all, with its uncertainty.

    Law
    ---
    reading - expected = drive + label + beside + noise; drive ~ N(0, tau^2); bias against the median of all labels

    Parameters
    ----------
    residual : array of n
        Readings less what was expected, all of one quantity; NaN is left out [house unit]
    drive : array of n
        Which drive each was read on [-]
    label : array of n
        Gauge, or person, of each reading [-]
    beside : array of n or None
        The other of the two, so that a gauge is not blamed for its user; None to leave it out [-]

    Returns
    -------
    biases : list of Bias
        One for each label in order of name; empty from fewer than two labels [house unit]

    Examples
    --------
    Two gauges on ten drives, one of them a bar and a half high:

    >>> noise = np.tile([0.1, -0.1, 0.05, -0.05], 10)
    >>> found = label_biases(noise + np.tile([0, 1.5, 0, 1.5], 10), np.repeat(range(10), 4), np.tile(["G-1", "G-2"], 20))
    >>> [(one.label, one.is_found) for one in found]
    [('G-1', True), ('G-2', True)]

    Source
    ------
    Random-effects regression (Swamy and Arora 1972), Huber weights, Holm's correction; from memory. Two gauges cannot say which is off.
    """
    values = np.asarray(residual, dtype=float)
    kept = np.isfinite(values)
    values, drives, labels = values[kept], np.asarray(drive)[kept], np.asarray(label)[kept]
    others = None if beside is None else np.asarray(beside)[kept]
    names = np.unique(labels)
    if names.size < 2:
        return []
    design = np.hstack([dummies(labels), np.empty((values.size, 0)) if others is None else dummies(others)])
    effects, covariance = fitted_effects(values, np.unique(drives, return_inverse=True)[1], design)
    return against_the_middle(names, effects, covariance, drives, labels)


def dummies(labels: np.ndarray) -> np.ndarray:
    """Return a column of ones and zeros for each label.

    Parameters
    ----------
    labels : array of n
        Labels [-]

    Returns
    -------
    columns : array of n by labels
        One where the row has the label, labels in order of name [-]

    Examples
    --------
    >>> dummies(np.array(["b", "a", "b"])).tolist()
    [[0.0, 1.0], [1.0, 0.0], [0.0, 1.0]]

    Source
    ------
    Common practice of regression.
    """
    names, place = np.unique(labels, return_inverse=True)
    return np.eye(names.size)[place]


def fitted_effects(values: np.ndarray, drive: np.ndarray, design: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the effect of each column and their covariance, drives taken as random, wild readings held back.

    Parameters
    ----------
    values : array of n
        Readings less what was expected [house unit]
    drive : array of n
        Number of the drive, from 0 [-]
    design : array of n by p
        Columns of labels [-]

    Returns
    -------
    fit : tuple
        Effects, array of p, and covariance, array of p by p [house unit]

    Examples
    --------
    >>> effects, _ = fitted_effects(np.array([0.0, 1, 0, 1]), np.array([0, 0, 1, 1]), dummies(np.array(["a", "b", "a", "b"])))
    >>> bool(effects[1] > effects[0])
    True

    Source
    ------
    Swamy and Arora 1972; Huber 1964; from memory. A wide normal prior keeps apart what the readings cannot tell apart.
    """
    columns = np.column_stack([np.ones(values.size), design])
    values, share, weights = values - np.median(values), np.zeros(np.unique(drive).size), np.ones(values.size)
    prior = 1e3  # nearly none at first; as a multiple of the noise, so that the unit does not matter
    for _ in range(ROUNDS):
        y, x = without_drive(values, drive, share), without_drive(columns, drive, share)
        effects, inverse = solved(y, x, weights, held_back(columns.shape[1], prior))
        left = values - columns @ effects
        noise = within_spread(left, drive)
        share, prior = drive_share(left, drive, noise), PRIOR_WIDTHS
        scaled = without_drive(left, drive, share) / noise
        weights = np.minimum(1.0, HUBER / np.maximum(np.abs(scaled), 1e-12))
    return effects[1:], noise**2 * efficiency_loss(scaled) * inverse[1:, 1:]


def held_back(size: int, prior: float) -> np.ndarray:
    """Return what a normal prior adds to the squares of each column; the first, the level of all, is left free.

    Parameters
    ----------
    size : int
        Number of columns [-]
    prior : float
        Standard deviation of the prior over that of one value, above zero [-]

    Returns
    -------
    held : array of size
        To be added to the diagonal [-]

    Examples
    --------
    >>> held_back(3, 2.0).tolist()
    [1e-06, 0.25, 0.25]

    Source
    ------
    Bayesian linear regression, conjugate normal case; common practice.
    """
    return np.array([1e-6] + [1 / prior**2] * (size - 1))


def within_spread(left: np.ndarray, drive: np.ndarray) -> float:
    """Return the standard deviation of one reading within its drive, wild readings hardly counting.

    Parameters
    ----------
    left : array of n
        What the labels leave unexplained [house unit]
    drive : array of n
        Number of the drive, from 0 [-]

    Returns
    -------
    spread : float
        Standard deviation, above zero [house unit]

    Examples
    --------
    >>> round(within_spread(np.array([1.0, -1.0, 3.0, 1.0]), np.array([0, 0, 1, 1])), 3)
    2.097

    Source
    ------
    Median absolute deviation, enlarged for the mean taken from each drive; common practice.
    """
    freedom = max(left.size - np.unique(drive).size, 1)
    return robust_spread(without_drive(left, drive, np.ones(drive.max() + 1))) * float(np.sqrt(left.size / freedom))


def efficiency_loss(scaled: np.ndarray) -> float:
    """Return by how much holding wild readings back widens the variance.

    Law
    ---
    mean(psi^2)/mean(psi')^2

    Parameters
    ----------
    scaled : array of n
        What is left over the noise [-]

    Returns
    -------
    factor : float
        Factor on the variance [-]

    Examples
    --------
    >>> round(efficiency_loss(np.array([1.0, -1.0, 1.0, -1.0])), 6)
    1.0

    Source
    ------
    Asymptotic variance of an M-estimate, Huber 1964 (from memory).
    """
    held = np.clip(scaled, -HUBER, HUBER)
    return float(np.mean(held**2) / max(np.mean(np.abs(scaled) < HUBER), 0.1) ** 2)


def solved(y: np.ndarray, x: np.ndarray, weights: np.ndarray, held: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return weighted least-squares effects under a normal prior, and the inverse that their covariance goes with.

    Parameters
    ----------
    y : array of n
        Values [house unit]
    x : array of n by p
        Columns [-]
    weights : array of n
        Weights of the values, 0 to 1 [-]
    held : array of p
        What the prior adds to the squares of each column [-]

    Returns
    -------
    fit : tuple
        Effects, array of p [house unit], and inverse of the unweighted squares, array of p by p [-]

    Examples
    --------
    >>> round(float(solved(np.array([2.0, 4.0]), np.ones((2, 1)), np.ones(2), np.array([1e-9]))[0][0]), 6)
    3.0

    Source
    ------
    Bayesian linear regression, conjugate normal case; common practice.
    """
    effects = np.linalg.solve(x.T @ (weights[:, None] * x) + np.diag(held), x.T @ (weights * y))
    return effects, np.linalg.inv(x.T @ x + np.diag(held))


def without_drive(values: np.ndarray, drive: np.ndarray, share: np.ndarray) -> np.ndarray:
    """Return values less a share of the mean of their drive.

    Parameters
    ----------
    values : array of n, or of n by p
        Values [any]
    drive : array of n
        Number of the drive, from 0 [-]
    share : array of drives
        Share of the mean to take away, 0 to 1 [-]

    Returns
    -------
    values : array of the same shape
        What is left [any]

    Examples
    --------
    >>> without_drive(np.array([1.0, 3.0, 5.0]), np.array([0, 0, 1]), np.ones(2)).tolist()
    [-1.0, 1.0, 0.0]

    Source
    ------
    Partial demeaning of the random-effects model, Swamy and Arora 1972 (from memory).
    """
    count = np.bincount(drive)
    rows = values.reshape(len(values), -1)
    means = np.column_stack([np.bincount(drive, column) for column in rows.T]) / count[:, None]
    return (rows - (share[:, None] * means)[drive]).reshape(values.shape)


def robust_spread(values: np.ndarray) -> float:
    """Return the standard deviation of values as their median distance from zero tells it.

    Parameters
    ----------
    values : array of n
        Values about zero [any]

    Returns
    -------
    spread : float
        Standard deviation, above zero [any]

    Examples
    --------
    >>> round(robust_spread(np.array([-1.0, 1.0, -1.0, 100.0])), 3)
    1.483

    Source
    ------
    Median absolute deviation times 1.4826; common practice of robust statistics.
    """
    return max(float(1.4826 * np.median(np.abs(values))), 1e-9)


def drive_share(left: np.ndarray, drive: np.ndarray, noise: float) -> np.ndarray:
    """Return for each drive what share of its mean is its own and not noise, in the form the regression needs.

    Law
    ---
    share = 1 - sigma/sqrt(sigma^2 + n tau^2)

    Parameters
    ----------
    left : array of n
        What the labels leave unexplained [house unit]
    drive : array of n
        Number of the drive, from 0 [-]
    noise : float
        Standard deviation of one reading [house unit]

    Returns
    -------
    share : array of drives
        Share, 0 to 1 [-]

    Examples
    --------
    >>> bool(drive_share(np.array([5.0, 5.0, -5.0, -5.0]), np.array([0, 0, 1, 1]), 0.1).min() > 0.9)
    True

    Source
    ------
    Swamy and Arora 1972 (from memory); spread between drives from the median of their means.
    """
    count = np.bincount(drive)
    means = np.bincount(drive, left) / count
    between = max(robust_spread(means - np.median(means)) ** 2 - noise**2 / np.median(count), 0.0)
    return 1 - noise / np.sqrt(noise**2 + count * between)


def against_the_middle(names: np.ndarray, effects: np.ndarray, covariance: np.ndarray, drive: np.ndarray, labels: np.ndarray) -> list[Bias]:
    """Return the effects of the labels against their median, and which of them are found beyond doubt.

    Parameters
    ----------
    names : array of labels
        Labels in order of name [-]
    effects : array of p
        Effects, those of the labels first [house unit]
    covariance : array of p by p
        Their covariance [house unit]
    drive : array of n
        Drive of each reading [-]
    labels : array of n
        Label of each reading [-]

    Returns
    -------
    biases : list of Bias
        One for each label [house unit]

    Examples
    --------
    >>> labels = np.repeat(["a", "b", "c"], 5)
    >>> against_the_middle(np.unique(labels), np.array([0.0, 0.1, 2.0]), 0.01 * np.eye(3), np.arange(15), labels)[2].is_found
    True

    Source
    ------
    Holm 1979, step-down (from memory).
    """
    size = names.size
    contrast, own = np.eye(size) - 1 / size, covariance[:size, :size]
    others = size - 1 if size > 2 else 2  # of two the middle is half way between them, of more the others make it
    median_extra = (np.pi / 2 - 1) * np.trace(contrast @ own) / (others * max(size - 1, 1))  # a median is less sure than a mean
    standard = np.sqrt((size / others) ** 2 * np.diag(contrast @ own @ contrast.T) + median_extra)
    bias = effects[:size] - np.median(effects[:size])
    readings = np.array([np.sum(labels == name) for name in names])
    chance = np.where(readings >= FEWEST, 2 * norm.sf(np.abs(bias) / standard), 1.0)
    found = holm(chance)
    drives = [np.unique(drive[labels == name]).size for name in names]
    rows = zip(names, bias, standard, readings, drives, found, strict=True)
    return [Bias(str(name), float(b), float(u), int(n), int(d), bool(is_found)) for name, b, u, n, d, is_found in rows]


def holm(chance: np.ndarray, doubt: float = DOUBT) -> np.ndarray:
    """Return which of several findings stand when any wrong one is to be rare.

    Parameters
    ----------
    chance : array of n
        Chance of each finding if there were nothing [-]
    doubt : float
        Chance that any one stands wrongly [-]

    Returns
    -------
    stands : array of n
        True where the finding stands [-]

    Examples
    --------
    >>> holm(np.array([0.001, 0.2, 0.002])).tolist()
    [True, False, True]

    Source
    ------
    Holm 1979, a simple sequentially rejective procedure (from memory).
    """
    order = np.argsort(chance)
    passed = np.cumprod(chance[order] <= doubt / (chance.size - np.arange(chance.size))).astype(bool)
    stands = np.empty(chance.size, dtype=bool)
    stands[order] = passed
    return stands


def bias_text(one: Bias, unit: str, others: str = "the other gauges") -> str:
    """Return a bias as a sentence.

    Parameters
    ----------
    one : Bias
        Bias of one gauge or person [-]
    unit : str
        House unit [-]
    others : str
        Whom it is held against [-]

    Returns
    -------
    text : str
        One sentence [-]

    Examples
    --------
    >>> bias_text(Bias("G-07", 1.52, 0.15, 40, 17, True), "bar")
    'G-07 reads 1.52 ± 0.30 bar high against the other gauges (40 readings on 17 drives): have it checked.'

    Source
    ------
    House rule; expanded uncertainty with k = 2, JCGM 100:2008, 6.2.1.
    """
    read = f"({one.readings} readings on {one.drives} drives)"
    if not one.is_found:
        return f"{one.label} shows no difference from {others} beyond ± {2 * one.standard:.2f} {unit} {read}."
    way = "high" if one.bias > 0 else "low"
    return f"{one.label} reads {abs(one.bias):.2f} ± {2 * one.standard:.2f} {unit} {way} against {others} {read}: have it checked."
