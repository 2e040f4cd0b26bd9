"""Failures over hours: the mean time between them and how surely it is known."""

from __future__ import annotations

from dataclasses import dataclass

from calcs.gate import require_above, require_between


@dataclass(frozen=True)
class MeanTime:
    """Mean hours between failures with the ends of its interval; None where there is no such end."""

    mean_h: float | None
    low_h: float
    high_h: float | None
    confidence_share: float


def mean_time_between_failures(failures: int, run_h: float, confidence_share: float = 0.80) -> MeanTime:
    """Return the mean hours between failures of a population, with an interval that holds the truth so often.

    Law
    ---
    m = T/n, from 2 T/chi2(1 - a/2; 2 n + 2) to 2 T/chi2(a/2; 2 n), with a = 1 - confidence

    Parameters
    ----------
    failures : int
        Failures seen, zero or more [-]
    run_h : float
        Hours of all units together up to now, above zero [h]
    confidence_share : float
        How often such an interval holds the truth, above 0 and below 1 [-]

    Returns
    -------
    mean_time : MeanTime
        Mean and interval; without failures no mean and no upper end [h]

    Examples
    --------
    4 failures in 9,600 h:

    >>> found = mean_time_between_failures(4, 9600)
    >>> found.mean_h, round(found.low_h), round(found.high_h)
    (2400.0, 1201, 5502)

    Source
    ------
    Chi-square interval for a constant failure rate, time-terminated: IEC 60605-4; from memory.
    """
    from scipy.stats import chi2

    if failures < 0 or failures != int(failures):
        raise ValueError(f"failures must be a whole number from zero up, got {failures}")
    require_above(0, run_h=run_h, confidence_share=confidence_share)
    require_between(0, 1 - 1e-12, confidence_share=confidence_share)
    tail = (1 - confidence_share) / 2
    low_h = float(2 * run_h / chi2.ppf(1 - tail, 2 * failures + 2))
    if failures == 0:
        return MeanTime(None, low_h, None, confidence_share)
    return MeanTime(run_h / failures, low_h, float(2 * run_h / chi2.ppf(tail, 2 * failures)), confidence_share)
