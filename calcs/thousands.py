"""One way to write a figure for people: thousands set apart by a thin space, a point before decimals, a true minus."""

from __future__ import annotations

import math

THIN_SPACE, MINUS = "\u202f", "\u2212"


def grouped(value, places: int = 1, fixed: bool = False) -> str:
    r"""Return a figure as it is shown everywhere, on page, paper and calendar.

    Parameters
    ----------
    value : float, int or Decimal
        The figure, finite [-]
    places : int
        Most digits after the point [-]
    fixed : bool
        Whether zeros at the end are kept, as in a column of figures [-]

    Returns
    -------
    words : str
        The figure, thousands set apart by a narrow space that does not break [-]

    Examples
    --------
    >>> grouped(3533.1), grouped(500.0), grouped(1358.2, 0), grouped(1200, 1, fixed=True)
    ('3\u202f533.1', '500', '1\u202f358', '1\u202f200.0')

    Source
    ------
    ISO 80000-1, 7.3.1: groups of three digits set apart by a small space, never by a point or comma.
    """
    if not math.isfinite(value):
        raise ValueError(f"value must be finite, got {value}")
    text = f"{abs(value):,.{places}f}"
    if not fixed and "." in text:
        text = text.rstrip("0").rstrip(".")
    is_zero = not any(sign in "123456789" for sign in text)
    return (MINUS if value < 0 and not is_zero else "") + text.replace(",", THIN_SPACE)
