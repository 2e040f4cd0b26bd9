"""Figures as oil laboratories print them: below the limit of detection, not detected, not asked for, per cent or ppm."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from calcs.water import PPM_PER_PERCENT

NOT_MEASURED = frozenset({"", ".", "..", "...", "-", "--", "n/a", "na"})
NOT_DETECTED = frozenset({"nd", "n.d.", "n.d", "none detected", "not detected"})
FIGURE = re.compile(r"^(?P<sign>[<>])?\s*(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>%|ppm|mg/kg)?$", re.IGNORECASE)
HALF = 0.5  # a figure below a limit counts as half of it; common practice, no source


@dataclass(frozen=True)
class LabFigure:
    """One figure: its value, or the limit it lies below or above; neither where the laboratory saw nothing and names no limit."""

    value: float | None
    sign: str = ""
    unit: str = ""

    @property
    def is_censored(self) -> bool:
        """Say whether only a limit is known and not the figure itself."""
        return self.sign != ""


def parse_lab_figure(text: str) -> LabFigure | None:
    """Return the figure that stands in a laboratory's cell, None where it was not measured.

    Parameters
    ----------
    text : str
        Cell as printed, such as 38, 46,2, <1, ND, .., 650 ppm [-]

    Returns
    -------
    figure : LabFigure or None
        Value with sign and unit; sign < without a value for ND; ValueError where the text is none of these [-]

    Examples
    --------
    >>> parse_lab_figure("46,2").value, parse_lab_figure("<1"), parse_lab_figure("ND").value, parse_lab_figure("..")
    (46.2, LabFigure(value=1.0, sign='<', unit=''), None, None)

    Source
    ------
    Habits of laboratories; common practice, no source.
    """
    word = text.strip().lower()
    if word in NOT_MEASURED:
        return None
    if word in NOT_DETECTED:
        return LabFigure(None, "<")
    found = FIGURE.match(word)
    if not found:
        raise ValueError(f"text must be a laboratory figure, got {text}")
    return LabFigure(float(found["number"].replace(",", ".")), found["sign"] or "", found["unit"] or "")


def counted_value(figure: LabFigure | None, detection_limit: float | None = None) -> float | None:
    """Return the number a laboratory figure counts as in sums: itself, or half the limit it lies below.

    Parameters
    ----------
    figure : LabFigure or None
        Figure of the laboratory, None where not measured [-]
    detection_limit : float or None
        Limit for figures not detected where the laboratory names none [-]

    Returns
    -------
    value : float or None
        The number, the named limit for a figure above it; None where not measured or no limit is known [-]

    Examples
    --------
    >>> counted_value(parse_lab_figure("<1")), counted_value(parse_lab_figure("ND"), detection_limit=2), counted_value(None)
    (0.5, 1.0, None)

    Source
    ------
    Half the limit of detection: common practice, no source.
    """
    if figure is None:
        return None
    if figure.sign != "<":
        return figure.value
    limit = detection_limit if figure.value is None else figure.value
    return None if limit is None else HALF * limit


def parse_water_ppm(text: str, is_percent: bool = True) -> LabFigure | None:
    """Return the water of a laboratory's cell in ppm, whether it was printed as per cent or as ppm.

    Parameters
    ----------
    text : str
        Cell as printed, such as <0.05, 0,065 or 650 ppm [-]
    is_percent : bool
        Whether the column is headed per cent, for figures without a unit of their own [-]

    Returns
    -------
    figure : LabFigure or None
        Water with its sign; None where not measured [ppm]

    Examples
    --------
    >>> parse_water_ppm("<0.05"), parse_water_ppm("650 ppm").value
    (LabFigure(value=500.0, sign='<', unit='ppm'), 650.0)

    Source
    ------
    1 % is 10,000 ppm.
    """
    figure = parse_lab_figure(text)
    if figure is None or figure.value is None:
        return figure
    has_percent = figure.unit == "%" or (figure.unit == "" and is_percent)
    ppm = round(figure.value * PPM_PER_PERCENT, 6) if has_percent else figure.value
    if ppm > 100 * PPM_PER_PERCENT:
        raise ValueError(f"text must be at most all water, got {text}")
    return replace(figure, value=ppm, unit="ppm")
