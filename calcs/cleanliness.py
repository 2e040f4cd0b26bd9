"""Cleanliness of oil as three scale numbers: from counts, from text, against a target."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

# ISO 4406:2021, table 1: most particles per mL for scale numbers 0 to 28; a table, not powers of two.
ISO4406_MOST_PER_ML = (
    0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64, 1.3, 2.5, 5, 10, 20, 40, 80, 160, 320, 640, 1_300, 2_500, 5_000,
    10_000, 20_000, 40_000, 80_000, 160_000, 320_000, 640_000, 1_300_000, 2_500_000,
)  # fmt: skip
HIGHEST_SCALE = len(ISO4406_MOST_PER_ML) - 1
FEWEST_RAW_COUNTS = 20  # ISO 4406: fewer in a size class and its number is printed with a sign
TOO_MANY, NOT_COUNTED = "*", "-"
PART = re.compile(r"^(?P<sign>>=|≥|>)?(?P<number>\d{1,2})$")


@dataclass(frozen=True)
class ScalePart:
    """One size of a code: its scale number, or None where too many were there to count or none were counted; 29 stands for above 28."""

    number: int | None
    mark: str = ""

    def __str__(self) -> str:
        """Return the part as it is printed."""
        if self.number is None:
            return self.mark
        return f">{HIGHEST_SCALE}" if self.number > HIGHEST_SCALE else f"{self.mark}{self.number}"


@dataclass(frozen=True)
class CleanlinessCode:
    """Three scale numbers: particles of 4, 6 and 14 um(c) and larger."""

    parts: tuple[ScalePart, ScalePart, ScalePart]

    def __post_init__(self) -> None:
        """Refuse a code that rises with size: what is larger than 14 um is also larger than 6."""
        known = [part.number for part in self.parts if part.number is not None]
        if known != sorted(known, reverse=True):
            raise ValueError(f"code must not rise with size, got {self}")

    def __str__(self) -> str:
        """Return the code as it is printed."""
        return "/".join(str(part) for part in self.parts)

    @property
    def numbers(self) -> tuple[int | None, ...]:
        """Return the three scale numbers, None where there is none."""
        return tuple(part.number for part in self.parts)

    @property
    def is_beyond_counting(self) -> bool:
        """Say whether a size had too many particles to count: dirtier than any number, whatever the other sizes say."""
        return any(part.mark == TOO_MANY for part in self.parts)


def scale_number(count_per_ml: float) -> int:
    """Return the scale number for a count of particles.

    Parameters
    ----------
    count_per_ml : float
        Particles of a size and larger, zero or more [1/mL]

    Returns
    -------
    number : int
        Scale number 0 to 28; 29 for more than the table holds [-]

    Examples
    --------
    >>> scale_number(2500), scale_number(2501), scale_number(0)
    (18, 19, 0)

    Source
    ------
    ISO 4406:2021, table 1: more than, up to and including.
    """
    if not count_per_ml >= 0:
        raise ValueError(f"count_per_ml must not be below zero, got {count_per_ml}")
    return bisect_left(ISO4406_MOST_PER_ML, count_per_ml)


def code_from_counts(
    counts: Sequence[float | None], per_volume_ml: float = 1.0, raw_counts: Sequence[float | None] | None = None
) -> CleanlinessCode:
    """Return the code for counts at 4, 6 and 14 um(c).

    Parameters
    ----------
    counts : sequence, shape (3,)
        Particles of each size and larger; None where not counted, infinite where too many to count [1/volume]
    per_volume_ml : float
        Volume the counts are given for, 1 or 100 as laboratories print them [mL]
    raw_counts : sequence or None, shape (3,)
        Particles the counter really saw; fewer than 20 put a sign before the number; None for unknown [-]

    Returns
    -------
    code : CleanlinessCode
        Three scale numbers [-]

    Examples
    --------
    >>> str(code_from_counts([300_000, 50_000, 700], per_volume_ml=100))
    '19/16/10'
    >>> str(code_from_counts([130, 25, 1.1], raw_counts=[1300, 250, 11]))
    '14/12/>=7'

    Source
    ------
    ISO 4406:2021, 4.3 and 4.4; first example from a particle-counter maker's article.
    """
    if len(counts) != 3 or (raw_counts is not None and len(raw_counts) != 3):
        raise ValueError(f"counts must be three, of 4, 6 and 14 um, got {counts}")
    if not per_volume_ml > 0:
        raise ValueError(f"per_volume_ml must be above 0, got {per_volume_ml}")
    known = [count for count in counts if count is not None]
    if known != sorted(known, reverse=True):
        raise ValueError(f"counts must not rise with size, got {counts}")
    raws = raw_counts or (None, None, None)
    first, second, third = (scale_part(count, per_volume_ml, raw) for count, raw in zip(counts, raws, strict=True))
    return CleanlinessCode((first, second, third))


def scale_part(count: float | None, per_volume_ml: float = 1.0, raw_count: float | None = None) -> ScalePart:
    """Return one part of a code.

    Parameters
    ----------
    count : float or None
        Particles of a size and larger; None where not counted, infinite where too many to count [1/volume]
    per_volume_ml : float
        Volume the count is given for [mL]
    raw_count : float or None
        Particles the counter really saw, None for unknown [-]

    Returns
    -------
    part : ScalePart
        Scale number with its mark [-]

    Examples
    --------
    >>> str(scale_part(None)), str(scale_part(float("inf"))), str(scale_part(2500))
    ('-', '*', '18')

    Source
    ------
    ISO 4406:2021, 4.3 and 4.4.
    """
    if count is None:
        return ScalePart(None, NOT_COUNTED)
    if count == float("inf"):
        return ScalePart(None, TOO_MANY)
    has_few = raw_count is not None and raw_count < FEWEST_RAW_COUNTS
    return ScalePart(scale_number(count / per_volume_ml), ">=" if has_few else "")


def parse_code(text: str) -> CleanlinessCode:
    """Return the code that stands in a text; two numbers are those of 6 and 14 um, as microscopes give them.

    Parameters
    ----------
    text : str
        Code as printed, such as 20/18/14, 14/12/>=7, */18/14 or -/18/14 [-]

    Returns
    -------
    code : CleanlinessCode
        Three scale numbers; ValueError where the text is no code or rises with size [-]

    Examples
    --------
    >>> parse_code("20/18/14").numbers, str(parse_code("18/14"))
    ((20, 18, 14), '-/18/14')

    Source
    ------
    ISO 4406:2021, 4.4; two-number form of its 1987 edition, from memory.
    """
    texts = [part.strip() for part in text.split("/")]
    if len(texts) == 2:
        texts = [NOT_COUNTED, *texts]
    if len(texts) != 3:
        raise ValueError(f"text must hold three numbers between slashes, got {text}")
    first, second, third = (parse_part(part) for part in texts)
    return CleanlinessCode((first, second, third))


def parse_part(text: str) -> ScalePart:
    """Return the part of a code that stands in a text.

    Parameters
    ----------
    text : str
        Part as printed, such as 18, >=7, >28, * or - [-]

    Returns
    -------
    part : ScalePart
        Scale number with its mark; ValueError where the text is none [-]

    Examples
    --------
    >>> parse_part(">=7"), parse_part(">28").number
    (ScalePart(number=7, mark='>='), 29)

    Source
    ------
    ISO 4406:2021, 4.4.
    """
    if text in (TOO_MANY, NOT_COUNTED):
        return ScalePart(None, text)
    found = PART.match(text)
    number = int(found["number"]) if found else HIGHEST_SCALE + 1
    if not found or number > HIGHEST_SCALE or (found["sign"] == ">" and number != HIGHEST_SCALE):
        raise ValueError(f"text must be a scale number from 0 to {HIGHEST_SCALE}, got {text}")
    if found["sign"] == ">":
        return ScalePart(HIGHEST_SCALE + 1)
    return ScalePart(number, ">=" if found["sign"] else "")


def codes_over(code: CleanlinessCode, limit: CleanlinessCode) -> int | None:
    """Return by how many scale numbers a code is dirtier than a limit, at its worst size.

    Parameters
    ----------
    code : CleanlinessCode
        Code of the sample [-]
    limit : CleanlinessCode
        Code it is held against [-]

    Returns
    -------
    steps : int or None
        Largest excess over the sizes both have, below zero where all are cleaner; None where they share no size [-]

    Examples
    --------
    >>> codes_over(parse_code("20/18/14"), parse_code("18/16/13"))
    2

    Source
    ------
    Common practice, no source: each number counts for itself, the worst decides.
    """
    pairs = zip(code.numbers, limit.numbers, strict=True)
    steps = [own - other for own, other in pairs if own is not None and other is not None]
    return max(steps) if steps else None
