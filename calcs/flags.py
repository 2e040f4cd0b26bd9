"""Which drives to name: false alarms on a list held down, and three plain words for each."""

from __future__ import annotations

import numpy as np

FALSE_SHARE = 0.10
SURE = 0.95
LIKELY = 0.5
LEAST_READINGS = 2
PLAIN = 1e-4


def benjamini_hochberg_limit(p: np.ndarray, code: np.ndarray, groups: int, false_share: float = FALSE_SHARE) -> np.ndarray:
    """Return for every group the largest chance that is still flagged, so that of the flagged no more than a share are false.

    Law
    ---
    limit = largest p_(i) with p_(i) <= q i / m within the group

    Parameters
    ----------
    p : ndarray
        Chance of each series under no trend [-]
    code : ndarray
        Group of each, 0 and up [-]
    groups : int
        Number of groups [-]
    false_share : float
        Share of false ones among the flagged that is allowed, q [-]

    Returns
    -------
    limit : ndarray
        Largest flagged chance of each group, -1 where none is flagged [-]

    Examples
    --------
    The fifteen chances of the paper's example, at q = .05 four are flagged:

    >>> p = [.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1.0]
    >>> benjamini_hochberg_limit(np.array(p), np.zeros(15, int), 1, 0.05).tolist()
    [0.0095]

    Source
    ------
    Y. Benjamini and Y. Hochberg, J. R. Stat. Soc. B 57(1), 1995, 289-300; the example is theirs.
    """
    order = np.lexsort((p, code))
    of, sorted_p = code[order], p[order]
    number = np.bincount(code, minlength=groups)
    rank = np.arange(1, len(p) + 1) - (np.cumsum(number) - number)[of]
    flagged = sorted_p <= false_share * rank / number[of]
    limit = np.full(groups, -1.0)
    np.maximum.at(limit, of[flagged], sorted_p[flagged])
    return limit


def state_words(
    p_trend: np.ndarray, p_wearing: np.ndarray, count: np.ndarray, flag_p: np.ndarray, stayed_up: np.ndarray | bool = False
) -> np.ndarray:
    """Return for each series `too_few`, `wearing`, `watch` or `steady`.

    Parameters
    ----------
    p_trend : ndarray
        Chance under no trend [-]
    p_wearing : ndarray
        Chance of a life short enough to matter [-]
    count : ndarray
        Readings [-]
    flag_p : ndarray
        Largest chance flagged in its group [-]
    stayed_up : ndarray
        Whether the newest readings lie together far above those before [-]

    Returns
    -------
    state : ndarray
        One word a series [-]

    Examples
    --------
    >>> state_words(np.array([0.0, 0.9]), np.array([0.99, 0.1]), np.array([5, 1]), np.array([0.01, 0.01])).tolist()
    ['wearing', 'too_few']

    Source
    ------
    Three words for the page: our choice; the sure share after Stephens 2017.
    """
    wearing = ((p_trend <= flag_p) & (p_wearing >= LIKELY)) | (p_wearing >= SURE)
    watch = (p_wearing >= LIKELY) | (p_trend <= PLAIN) | stayed_up
    words = np.array(["steady", "watch", "wearing", "too_few"], dtype=object)
    return words[np.where(count < LEAST_READINGS, 3, np.where(wearing, 2, np.where(watch, 1, 0)))]
