"""How far a reading may be off: from the class of the instrument to the uncertainty of a leakage coefficient."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from calcs.gate import Number, plain, require_above, require_between

COVERAGE = 2.0  # k = 2, some 95 % of a normal distribution
GAUGE_CLASSES = (0.1, 0.25, 0.6, 1.0, 1.6, 2.5, 4.0)  # EN 837-1
GAUGE_SPANS_BAR = (0.6, 1, 1.6, 2.5, 4, 6, 10, 16, 25, 40, 60, 100, 160, 250, 400, 600, 1000)  # EN 837-1
STEADY_SHARE = 0.75  # steady pressure up to three quarters of the scale, EN 837-2 (from memory)
UNSTATED_SHARE = {  # standard uncertainty as a share of the reading where no instrument is named; from memory, a shop setting
    "pressure": 0.01,
    "flow": 0.03,
    "ground speed": 0.005,
    "speed": 0.002,
    "time": 0.03,
    "temperature difference": 0.05,
}


class InstrumentState(StrEnum):
    """Whether the readings of an instrument may be trusted on the day."""

    GOOD = "good"
    OVERDUE = "calibration overdue"
    FAILED = "failed calibration"


@dataclass(frozen=True)
class Instrument:
    """A gauge, meter or tachometer; span and resolution are in the house unit of what it reads, None where unknown."""

    name: str = ""
    class_percent: float | None = None  # of span
    span: float | None = None
    resolution: float | None = None  # one graduation or digit
    reading_percent: float | None = None  # of the reading
    state: InstrumentState = InstrumentState.GOOD


def class_uncertainty(class_percent: Number, span: Number) -> Number:
    """Return the standard uncertainty that the class of an instrument allows.

    Law
    ---
    u = class/100 span/sqrt(3)

    Parameters
    ----------
    class_percent : float or array
        Accuracy class, zero or more [% of span]
    span : float or array
        Span of the scale, above zero [unit of the reading]

    Returns
    -------
    standard : float or array
        Standard uncertainty [unit of the reading]

    Examples
    --------
    >>> round(class_uncertainty(1.6, span=60), 3)
    0.554

    Source
    ------
    EN 837-1 for the class; Guide to the expression of uncertainty in measurement, JCGM 100:2008, 4.3.7, for the limit taken as
    rectangular.
    """
    require_above(0, span=span)
    require_between(0, 100, class_percent=class_percent)
    return plain(class_percent / 100 * span / np.sqrt(3))


def resolution_uncertainty(resolution: Number) -> Number:
    """Return the standard uncertainty from reading to half a graduation.

    Law
    ---
    u = r/(2 sqrt(3))

    Parameters
    ----------
    resolution : float or array
        One graduation or digit, zero or more [unit of the reading]

    Returns
    -------
    standard : float or array
        Standard uncertainty [unit of the reading]

    Examples
    --------
    >>> round(resolution_uncertainty(1.0), 3)
    0.289

    Source
    ------
    Guide to the expression of uncertainty in measurement, JCGM 100:2008, F.2.2.1.
    """
    require_between(0, np.inf, resolution=resolution)
    return plain(resolution / (2 * np.sqrt(3)))


def combined_uncertainty(*standard: Number) -> Number:
    """Return the standard uncertainty of independent parts together.

    Law
    ---
    u = sqrt(u1^2 + u2^2 + ...)

    Parameters
    ----------
    *standard : float or array
        Standard uncertainties of the parts, all in one unit [unit of the reading]

    Returns
    -------
    standard : float or array
        Standard uncertainty [unit of the reading]

    Examples
    --------
    >>> combined_uncertainty(3.0, 4.0)
    5.0

    Source
    ------
    Guide to the expression of uncertainty in measurement, JCGM 100:2008, equation 10.
    """
    return plain(np.sqrt(sum(np.square(part) for part in standard)))


def expanded_uncertainty(standard: Number, coverage: float = COVERAGE) -> Number:
    """Return the expanded uncertainty.

    Law
    ---
    U = k u

    Parameters
    ----------
    standard : float or array
        Standard uncertainty, zero or more [unit of the reading]
    coverage : float
        Coverage factor k, above zero; 2 is some 95 % [-]

    Returns
    -------
    expanded : float or array
        Half the width of the interval [unit of the reading]

    Examples
    --------
    Class 1.6 of 60 bar, graduated in bar and read to half a bar:

    >>> u = combined_uncertainty(class_uncertainty(1.6, span=60), resolution_uncertainty(1.0))
    >>> round(expanded_uncertainty(u), 2)
    1.25

    Source
    ------
    Guide to the expression of uncertainty in measurement, JCGM 100:2008, 6.2.1.
    """
    require_above(0, coverage=coverage)
    require_between(0, np.inf, standard=standard)
    return plain(coverage * standard)


def reading_uncertainty(instrument: Instrument | None, value: float, kind: str) -> float:
    """Return the standard uncertainty of a reading.

    Law
    ---
    u = sqrt(u_class^2 + u_resolution^2 + u_reading^2)

    Parameters
    ----------
    instrument : Instrument or None
        Instrument used; None or one without figures takes the share of `UNSTATED_SHARE` [-]
    value : float
        Reading [house unit]
    kind : str
        Kind of what is measured [-]

    Returns
    -------
    standard : float
        Standard uncertainty [house unit]

    Examples
    --------
    >>> gauge = Instrument('G-07', class_percent=1.6, span=60, resolution=1.0)
    >>> round(2 * reading_uncertainty(gauge, 20.6, kind='pressure'), 2)
    1.25

    Source
    ------
    EN 837-1; Guide to the expression of uncertainty in measurement, JCGM 100:2008, 4.3.7 and equation 10.
    """
    parts = []
    if instrument and instrument.class_percent and instrument.span:
        parts.append(class_uncertainty(instrument.class_percent, instrument.span))
    if instrument and instrument.reading_percent:
        parts.append(class_uncertainty(instrument.reading_percent, abs(value)) if value else 0.0)
    if not parts:
        parts.append(UNSTATED_SHARE.get(kind, 0.03) * abs(value))
    if instrument and instrument.resolution:
        parts.append(resolution_uncertainty(instrument.resolution))
    return float(combined_uncertainty(*parts))


def coefficient_uncertainty(flow_share: Number, pressure_share: Number, temp_k: Number, sensitivity_per_k: Number) -> Number:
    """Return the relative uncertainty of a leakage coefficient.

    Law
    ---
    u(K)/K = sqrt(u_Q^2 + u_dp^2 + (b u_T)^2)

    Parameters
    ----------
    flow_share : float or array
        Relative standard uncertainty of the flow [-]
    pressure_share : float or array
        Relative standard uncertainty of the pressure [-]
    temp_k : float or array
        Standard uncertainty of the oil temperature [K]
    sensitivity_per_k : float or array
        Relative change of viscosity with temperature, either sign [1/K]

    Returns
    -------
    share : float or array
        Relative standard uncertainty of the coefficient [-]

    Examples
    --------
    >>> round(100 * coefficient_uncertainty(0.015, 0.015, temp_k=1, sensitivity_per_k=-0.035), 3)
    4.093

    Source
    ------
    Guide to the expression of uncertainty in measurement, JCGM 100:2008, equation 12; class limits of ISO 4409 from memory.
    """
    return combined_uncertainty(flow_share, pressure_share, np.asarray(temp_k) * sensitivity_per_k)


def clearance_uncertainty(coefficient_share: Number) -> Number:
    """Return the relative uncertainty of the ratio of clearances: a third of that of the coefficient.

    Law
    ---
    u(h)/h = u(K)/(3 K)

    Parameters
    ----------
    coefficient_share : float or array
        Relative standard uncertainty of the leakage coefficient [-]

    Returns
    -------
    share : float or array
        Relative standard uncertainty of the ratio [-]

    Examples
    --------
    >>> round(100 * clearance_uncertainty(0.0409268), 4)
    1.3642

    Source
    ------
    Guide to the expression of uncertainty in measurement, JCGM 100:2008, 5.1.6, for a power of one third.
    """
    return plain(coefficient_share / 3)


def speed_uncertainty(radius_share: Number, shaft_share: Number, ratio_share: Number = 0.0) -> Number:
    """Return the relative uncertainty of a ground speed.

    Law
    ---
    u(v)/v = sqrt(u_r^2 + u_n^2 + u_i^2)

    Parameters
    ----------
    radius_share : float or array
        Relative standard uncertainty of the rolling radius [-]
    shaft_share : float or array
        Relative standard uncertainty of the shaft speed [-]
    ratio_share : float or array
        Relative standard uncertainty of the ratio [-]

    Returns
    -------
    share : float or array
        Relative standard uncertainty of the speed [-]

    Examples
    --------
    >>> round(100 * speed_uncertainty(0.02, shaft_share=0.002), 3)
    2.01

    Source
    ------
    Guide to the expression of uncertainty in measurement, JCGM 100:2008, equation 12.
    """
    return combined_uncertainty(radius_share, shaft_share, ratio_share)


def change_that_counts(share: Number, coverage: float = COVERAGE) -> Number:
    """Return the smallest relative change between two tests that is more than error.

    Law
    ---
    d = k sqrt(2) u

    Parameters
    ----------
    share : float or array
        Relative standard uncertainty of each of the two, independent [-]
    coverage : float
        Coverage factor k [-]

    Returns
    -------
    change : float or array
        Relative change [-]

    Examples
    --------
    >>> round(change_that_counts(0.041), 3)
    0.116

    Source
    ------
    Guide to the expression of uncertainty in measurement, JCGM 100:2008, equation 10, for a difference.
    """
    return plain(coverage * np.sqrt(2) * share)


def class_that_decides(gap_bar: float, span_bar: float) -> float | None:
    """Return the coarsest gauge class whose expanded uncertainty is below the gap between a reading and its limit.

    Law
    ---
    2 class/100 span/sqrt(3) < gap

    Parameters
    ----------
    gap_bar : float
        Distance from the reading to the limit [bar]
    span_bar : float
        Span of the gauge, above zero [bar]

    Returns
    -------
    class_percent : float or None
        Class of EN 837-1; None if even the finest cannot decide [% of span]

    Examples
    --------
    >>> class_that_decides(0.4, span_bar=40), class_that_decides(0.4, span_bar=60)
    (0.6, 0.25)

    Source
    ------
    EN 837-1 classes; Guide to the expression of uncertainty in measurement, JCGM 100:2008, 4.3.7 and 6.2.1; what the eye adds is
    left out.
    """
    deciding = [percent for percent in GAUGE_CLASSES if COVERAGE * class_uncertainty(percent, span_bar) < abs(gap_bar)]
    return max(deciding, default=None)


def fitting_span(value_bar: float) -> float | None:
    """Return the smallest usual gauge span that may carry a pressure steadily.

    Parameters
    ----------
    value_bar : float
        Pressure to be read [bar]

    Returns
    -------
    span : float or None
        Span of EN 837-1; None above all of them [bar]

    Examples
    --------
    >>> fitting_span(21.0)
    40

    Source
    ------
    EN 837-1 spans; three quarters of the scale for steady pressure after EN 837-2, from memory.
    """
    return next((span for span in GAUGE_SPANS_BAR if value_bar <= STEADY_SHARE * span), None)
