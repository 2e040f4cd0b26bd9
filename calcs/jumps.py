"""A jump that stays: newest readings that lie together far above all before, from which a drive is judged anew."""

from __future__ import annotations

import numpy as np

JUMP_MISFIT, JUMP_SD, TOGETHER = 6.0, 5.0, 0.4
LONGEST_RUN = 8
START_AFTER_JUMP = 0.02


def stayed_up(y: np.ndarray, count: np.ndarray, noise: np.ndarray, start_level: np.ndarray, misfit: np.ndarray) -> np.ndarray:
    """Return how many newest readings of each series lie together far above the one before them: a jump that stayed; 0 for none.

    Parameters
    ----------
    y : ndarray
        Straight figure less one, series one after the other [-]
    count : ndarray
        Readings of each series [-]
    noise : ndarray
        Standard deviation of a reading, one a series [-]
    start_level : ndarray
        Level of the start, which counts as the reading before the first [-]
    misfit : ndarray
        Variance about the line over that of a reading [-]

    Returns
    -------
    run : ndarray
        Number of readings since the jump [-]

    Examples
    --------
    >>> y, one = np.array([0.0, 0.01, 0.5, 0.51]), np.ones(1)
    >>> stayed_up(y, np.array([4]), 0.01 * one, 0 * one, 99 * one).tolist()
    [2]

    Source
    ------
    Our choice: five standard deviations up, and together within four tenths of that.
    """
    run = np.zeros(len(count), int)
    tried = np.flatnonzero((misfit > JUMP_MISFIT) | (count == 1))
    last = np.cumsum(count)[tried] - 1
    lowest, highest, best = y[last], y[last], np.zeros(len(tried))
    for length in range(1, LONGEST_RUN + 1):
        inside = length <= count[tried]
        at = np.maximum(last - length + 1, 0)
        lowest = np.where(inside, np.minimum(lowest, y[at]), lowest)
        highest = np.where(inside, np.maximum(highest, y[at]), highest)
        before = np.where(length < count[tried], y[np.maximum(last - length, 0)], start_level[tried])
        gap = lowest - before
        stays = inside & (gap > JUMP_SD * noise[tried]) & (highest - lowest < TOGETHER * gap)
        stays &= (length > 1) | (count[tried] == 1)
        better = stays & (gap > best)
        run[tried[better]], best = length, np.where(better, gap, best)
    return run
