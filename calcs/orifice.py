"""Flow through a sharp orifice: it feeds slippers and sets how fast a servo piston strokes."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between

PA_PER_BAR = 1e5
LPM_PER_M3S = 60_000.0
USUAL_DISCHARGE = 0.62  # sharp-edged orifice; from memory
USUAL_DENSITY_KGM3 = 870.0


def orifice_flow_lpm(
    orifice_mm: Number, pressure_drop_bar: Number, density_kgm3: Number = USUAL_DENSITY_KGM3, discharge_share: float = USUAL_DISCHARGE
) -> Number:
    """Return the flow through a sharp orifice.

    Law
    ---
    Q = Cd (pi/4) d^2 sqrt(2 dp/rho)

    Parameters
    ----------
    orifice_mm : float or array
        Bore of the orifice, above zero [mm]
    pressure_drop_bar : float or array
        Pressure across it, zero or more [bar]
    density_kgm3 : float or array
        Density of the oil, above zero [kg/m3]
    discharge_share : float
        Discharge coefficient, above 0 to 1 [-]

    Returns
    -------
    flow : float or array
        Flow [L/min]

    Examples
    --------
    >>> round(orifice_flow_lpm(0.8, pressure_drop_bar=12), 3)
    0.982

    Source
    ------
    Bernoulli with a discharge coefficient; any textbook of fluid power.
    """
    require_above(0, orifice_mm=orifice_mm, density_kgm3=density_kgm3, discharge_share=discharge_share)
    require_between(0, 1, discharge_share=discharge_share)
    require_between(0, np.inf, pressure_drop_bar=pressure_drop_bar)
    area_m2 = np.pi / 4 * (np.asarray(orifice_mm) / 1000) ** 2
    return plain(discharge_share * area_m2 * np.sqrt(2 * np.asarray(pressure_drop_bar) * PA_PER_BAR / density_kgm3) * LPM_PER_M3S)
