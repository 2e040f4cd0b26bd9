"""How wear bends with hours: the likeliest bend of a group, and how far a drive may differ from it."""

from __future__ import annotations

import numpy as np

CURVATURES = np.array([0.7, 0.9, 1.1, 1.3, 1.5])
CURVATURE_MIDDLE, CURVATURE_DOUBT = 1.0, 0.3
WING = 0.15
WINGS = np.array([-WING, 0.0, WING])
MOST_DOUBT = 0.95
DOUBTS = np.array([0.02, 0.06, 0.12, 0.25, 0.4, 0.6, 0.8])


def top_of_parabola(at: np.ndarray, score: np.ndarray) -> tuple[float, float]:
    """Return where a curve through the best three points has its top, held between the ends, and how far to either side it may lie.

    Parameters
    ----------
    at : ndarray
        Places, rising [-]
    score : ndarray
        Height at each, a log likelihood [-]

    Returns
    -------
    top : float
        Place of the top [-]
    doubt : float
        Its standard deviation, half the way between the ends at most [-]

    Examples
    --------
    >>> top, doubt = top_of_parabola(np.array([0.0, 1.0, 2.0]), np.array([0.0, 2.0, 0.0]))
    >>> round(top, 9), round(doubt, 9)
    (1.0, 0.5)

    Source
    ------
    Vertex of an interpolating parabola; its bend is the information of R. A. Fisher.
    """
    widest = float(at[-1] - at[0]) / 2
    middle = int(np.clip(np.argmax(score), 1, len(at) - 2))
    second, first, _ = np.polyfit(at[middle - 1 : middle + 2] - at[middle], score[middle - 1 : middle + 2], 2)
    if second >= -1e-9:
        return float(at[np.argmax(score)]), widest
    return float(np.clip(at[middle] - first / (2 * second), at[0], at[-1])), float(min(1 / np.sqrt(-2 * second), widest))


def doubt_of_curvature(chance: np.ndarray) -> float:
    """Return the share of drives whose wear bends otherwise than the fleet's; it shrinks where the fleet shows none.

    Parameters
    ----------
    chance : ndarray
        Chance of each drive's record at the lower, the fleet's own and the upper curvature, three columns [-]

    Returns
    -------
    doubt : float
        Share given to the two outer curvatures together, .02 to .8 [-]

    Examples
    --------
    Drives that fit the fleet's own curvature alone leave little doubt:

    >>> doubt_of_curvature(np.tile([0.01, 1.0, 0.01], (200, 1))) < 0.03
    True

    Source
    ------
    Mean of a share over a grid of seven values, weighted by likelihood and leaning to a third: our choice.
    """
    outer, own = (chance[:, 0] + chance[:, 2]) / 2, chance[:, 1]
    scale = np.maximum(np.maximum(outer, own), 1e-300)
    score = np.log(np.outer(outer / scale, DOUBTS) + np.outer(own / scale, 1 - DOUBTS)).sum(axis=0)
    share = np.exp(score - score.max()) * np.array([1.0, 1.0, 1.0, 1.0, 0.9, 0.7, 0.5])
    return float(share @ DOUBTS / share.sum())
