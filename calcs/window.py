"""Whether an oil suits the drive: its viscosity in the window of the unit, and how far it has moved since new."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calcs.gate import Number, plain, require_above, require_between


@dataclass(frozen=True)
class ViscosityWindow:
    """Viscosities an axial piston unit is happy with, in mm2/s; the usual figures of closed-circuit catalogues, from memory: settings."""

    intermittent_mm2s: float = 5.0
    minimum_mm2s: float = 7.0
    recommended_low_mm2s: float = 12.0
    optimum_low_mm2s: float = 16.0
    optimum_high_mm2s: float = 36.0
    recommended_high_mm2s: float = 80.0
    cold_start_mm2s: float = 1600.0

    def edges(self) -> tuple[float, ...]:
        """Return the limits from thin to thick."""
        return (
            self.intermittent_mm2s,
            self.minimum_mm2s,
            self.recommended_low_mm2s,
            self.optimum_low_mm2s,
            self.optimum_high_mm2s,
            self.recommended_high_mm2s,
            self.cold_start_mm2s,
        )


USUAL_WINDOW = ViscosityWindow()
WINDOW_WORDS = ("too thin", "short time only", "thin", "good", "best", "good", "thick", "too thick to start")


def viscosity_word(viscosity_mm2s: float, window: ViscosityWindow = USUAL_WINDOW) -> str:
    """Return in a word whether an oil is as thick as the drive wants it.

    Parameters
    ----------
    viscosity_mm2s : float
        Viscosity at the temperature in question, above zero [mm2/s]
    window : ViscosityWindow
        Limits of the drive model [mm2/s]

    Returns
    -------
    word : str
        too thin, short time only, thin, good, best, thick or too thick to start [-]

    Examples
    --------
    >>> viscosity_word(20.6), viscosity_word(577), viscosity_word(6)
    ('best', 'thick', 'short time only')

    Source
    ------
    Usual limits of closed-circuit catalogues, from memory; a maker's own window goes first.
    """
    require_above(0, viscosity_mm2s=viscosity_mm2s)
    edges = window.edges()
    if list(edges) != sorted(edges):
        raise ValueError(f"window must rise from thin to thick, got {edges}")
    if viscosity_mm2s > edges[-1]:
        return WINDOW_WORDS[-1]
    side = "left" if viscosity_mm2s > window.optimum_low_mm2s else "right"  # a limit belongs to the better side
    return WINDOW_WORDS[int(np.searchsorted(edges, viscosity_mm2s, side=side))]


def change_share(used: Number, new: Number) -> Number:
    """Return how far a property has moved since the oil was new.

    Law
    ---
    change = (used - new)/new

    Parameters
    ----------
    used : float or array
        Value in the sample, in any one unit [-]
    new : float or array
        Value of the new oil in the same unit, above zero [-]

    Returns
    -------
    change : float or array
        Share of the new value, below zero where it fell [-]

    Examples
    --------
    >>> round(change_share(41.4, 46), 3)
    -0.1

    Source
    ------
    Definition.
    """
    require_above(0, new=new)
    return plain((np.asarray(used) - new) / new)


def viscosity_change_word(
    used_mm2s: float, new_mm2s: float, has_vi_improver: bool = False, caution_share: float = 0.05, critical_share: float = 0.10
) -> str:
    """Return in a word whether the viscosity has moved too far since the oil was new.

    Law
    ---
    limit on a fall doubled where the oil holds a viscosity index improver, which shears

    Parameters
    ----------
    used_mm2s : float
        Viscosity of the sample, above zero [mm2/s]
    new_mm2s : float
        Viscosity of the new oil at the same temperature, above zero [mm2/s]
    has_vi_improver : bool
        Whether the oil is polymer-thickened, as tractor fluids are [-]
    caution_share : float
        Change that calls for a second look [-]
    critical_share : float
        Change that calls for action, not under the caution [-]

    Returns
    -------
    word : str
        usual, caution or critical [-]

    Examples
    --------
    >>> viscosity_change_word(42, 46), viscosity_change_word(42, 46, has_vi_improver=True)
    ('caution', 'usual')

    Source
    ------
    5 and 10 %, lower limits doubled for oils with improver: Efficient Plant magazine, October 2010; settings.
    """
    require_above(0, used_mm2s=used_mm2s, caution_share=caution_share)
    require_between(caution_share, 1, critical_share=critical_share)
    change = change_share(used_mm2s, new_mm2s)
    allowance = 2 if has_vi_improver and change < 0 else 1
    if abs(change) >= critical_share * allowance:
        return "critical"
    return "caution" if abs(change) >= caution_share * allowance else "usual"
