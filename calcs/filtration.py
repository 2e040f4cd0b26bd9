"""What a filter holds back, and how clean the oil of each kind of unit should be."""

from __future__ import annotations

import numpy as np

from calcs.cleanliness import CleanlinessCode, ScalePart, parse_code
from calcs.gate import Number, plain, require_above

# Makers of filters, conservative targets by working pressure (below 140, 140 to 210, above 210 bar); where two differ, the cleaner.
TARGET_EDGES_BAR = (140.0, 210.0)
TARGET_CODES = {
    "variable piston pump": ("18/16/13", "17/15/12", "16/14/11"),
    "piston motor": ("19/17/14", "18/16/13", "17/15/12"),
    "hydrostatic drive": ("16/15/12", "16/14/11", "15/13/10"),
}
DRIVE_LEAST_CODE = "22/18/13"  # least cleanliness in the technical information of one closed-circuit pump maker


def beta_ratio(upstream_count: Number, downstream_count: Number) -> Number:
    """Return the filtration ratio of a filter at one size.

    Law
    ---
    beta = upstream/downstream

    Parameters
    ----------
    upstream_count : float or array
        Particles of the size and larger before the filter, above zero [1/mL]
    downstream_count : float or array
        The same behind it, above zero [1/mL]

    Returns
    -------
    beta : float or array
        Filtration ratio [-]

    Examples
    --------
    >>> round(beta_ratio(36815, 6347), 1)
    5.8

    Source
    ------
    ISO 16889; Sullivan, Fluid Power: Theory & Applications, 4th ed., Ex. 6.3 (FOSSEE textbook-companion notebooks).
    """
    require_above(0, upstream_count=upstream_count, downstream_count=downstream_count)
    return plain(np.asarray(upstream_count) / downstream_count)


def capture_share(beta: Number) -> Number:
    """Return the share of particles a filter holds back in one pass.

    Law
    ---
    share = 1 - 1/beta

    Parameters
    ----------
    beta : float or array
        Filtration ratio, 1 or more [-]

    Returns
    -------
    share : float or array
        Held back over arrived [-]

    Examples
    --------
    >>> round(100 * capture_share(75), 1)
    98.7

    Source
    ------
    ISO 16889; published table of ratio and efficiency.
    """
    if np.any(np.asarray(beta) < 1):
        raise ValueError(f"beta must be 1 or more, got {beta}")
    return plain(1 - 1 / np.asarray(beta))


def beta_from_share(captured_share: Number) -> Number:
    """Return the filtration ratio of a filter that holds back a share of the particles.

    Law
    ---
    beta = 1/(1 - share)

    Parameters
    ----------
    captured_share : float or array
        Held back over arrived, 0 to below 1 [-]

    Returns
    -------
    beta : float or array
        Filtration ratio [-]

    Examples
    --------
    >>> round(beta_from_share(0.995))
    200

    Source
    ------
    ISO 16889 turned round.
    """
    share = np.asarray(captured_share)
    if np.any((share < 0) | (share >= 1)):
        raise ValueError(f"captured_share must be from 0 to below 1, got {captured_share}")
    return plain(1 / (1 - share))


def target_code(component: str, pressure_bar: float, is_severe: bool = False) -> CleanlinessCode:
    """Return how clean the oil of a component should be; far cleaner than the least a drive maker asks for.

    Parameters
    ----------
    component : str
        variable piston pump, piston motor or hydrostatic drive [-]
    pressure_bar : float
        Working pressure, above zero [bar]
    is_severe : bool
        Whether dust, shock or cold starts call for one scale number cleaner [-]

    Returns
    -------
    code : CleanlinessCode
        Target at 4, 6 and 14 um(c) [-]

    Examples
    --------
    >>> str(target_code("hydrostatic drive", 350)), str(target_code("piston motor", 180, is_severe=True))
    ('15/13/10', '17/15/12')

    Source
    ------
    Target tables of two filter makers' handbooks, the cleaner where they differ; settings.
    """
    if component not in TARGET_CODES:
        raise ValueError(f"component must be one of {', '.join(TARGET_CODES)}, got {component}")
    require_above(0, pressure_bar=pressure_bar)
    low_bar, high_bar = TARGET_EDGES_BAR
    code = parse_code(TARGET_CODES[component][int(pressure_bar >= low_bar) + int(pressure_bar > high_bar)])
    if not is_severe:
        return code
    first, second, third = (ScalePart(part.number - 1) for part in code.parts)
    return CleanlinessCode((first, second, third))


def least_code() -> CleanlinessCode:
    """Return the least cleanliness a closed-circuit pump maker asks for: what is dirtier wears the drive at once.

    Returns
    -------
    code : CleanlinessCode
        Limit at 4, 6 and 14 um(c) [-]

    Examples
    --------
    >>> str(least_code())
    '22/18/13'

    Source
    ------
    Technical information of one closed-circuit pump maker; the drive model's own manual goes first.
    """
    return parse_code(DRIVE_LEAST_CODE)
