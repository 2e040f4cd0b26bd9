"""Signed lengthenings of an interval: how far, how long, and what forbids them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import prod

MOST_EXTENSION = 0.25
CLEAN_SAMPLES_NEEDED = 2
NEVER_EXTENDED = ("hose", "brake", "interlock")


@dataclass(frozen=True)
class Extension:
    """A signed lengthening of an interval by a share of what it was before, until a day."""

    share: float
    signed_by: str
    signed_on: date
    expires_on: date


@dataclass(frozen=True)
class ExtensionJudgement:
    """Whether one more extension may be signed, and everything that speaks against it."""

    allowed: bool
    reasons: tuple[str, ...]


def extension_factor(extensions: Iterable[Extension], today: date) -> float:
    """Return what extensions that are signed and not expired multiply an interval by.

    Law
    ---
    factor = product of (1 + share) of the extensions in force

    Parameters
    ----------
    extensions : iterable of Extension
        All that were signed since the task was last done [-]
    today : date
        Day asked about; an extension holds on its last day [date]

    Returns
    -------
    factor : float
        One or more [-]

    Examples
    --------
    >>> extension_factor([Extension(0.25, "M. Okafor", date(2026, 1, 5), date(2026, 6, 30))], date(2026, 7, 1))
    1.0

    Source
    ------
    Common practice, no source.
    """
    return prod((1 + e.share for e in extensions if e.signed_on <= today <= e.expires_on), start=1.0)


def judge_extension(
    kind: str,
    proposed: Extension,
    earlier: Sequence[Extension] = (),
    *,
    clean_samples: int = 0,
    maker_permits: bool = False,
    restriction_low: bool = False,
    breakin: bool = False,
    warranty_clause: bool = False,
    safety: bool = False,
) -> ExtensionJudgement:
    """Judge whether an interval may be lengthened once more.

    Parameters
    ----------
    kind : str
        Kind of task; hose, brake and interlock tasks are never extended [-]
    proposed : Extension
        Share of at most a quarter, signed, with a last day after the signing [-]
    earlier : sequence of Extension
        Extensions of the same task before this one [-]
    clean_samples : int
        Clean samples running, on the same fluid, since the last extension [-]
    maker_permits : bool
        Whether the maker allows it [-]
    restriction_low : bool
        Whether the filter restriction is low on warm oil [-]
    breakin : bool
        Whether the task is a break-in step [-]
    warranty_clause : bool
        Whether a warranty term fixes the interval [-]
    safety : bool
        Whether the task is one of safety [-]

    Returns
    -------
    judgement : ExtensionJudgement
        Allowed or not, and every reason against [-]

    Examples
    --------
    >>> third = Extension(0.2, "M. Okafor", date(2026, 5, 1), date(2026, 9, 1))
    >>> judge_extension("fluid", third, [third, third], maker_permits=True, restriction_low=True).reasons
    ('extension 3 needs 2 clean samples running since the last one, there are 0',)

    Source
    ------
    Common practice, no source.
    """
    against = {
        f"a {kind} task is never extended": kind in NEVER_EXTENDED,
        "a break-in step is never extended": breakin,
        "a safety task is never extended": safety,
        "a warranty term fixes the interval": warranty_clause,
        "the maker does not permit it": not maker_permits,
        "the restriction is not known to be low": not restriction_low,
        f"a step is above zero and at most {MOST_EXTENSION:.0%}, asked {proposed.share:.0%}": not 0 < proposed.share <= MOST_EXTENSION,
        "nobody signed": not proposed.signed_by.strip(),
        "it has no end after its signing": proposed.expires_on <= proposed.signed_on,
        f"extension {len(earlier) + 1} needs {CLEAN_SAMPLES_NEEDED} clean samples running since the last one, "
        f"there are {clean_samples}": clean_samples < CLEAN_SAMPLES_NEEDED,
    }
    reasons = tuple(words for words, holds in against.items() if holds)
    return ExtensionJudgement(not reasons, reasons)
