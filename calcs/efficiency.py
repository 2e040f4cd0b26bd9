"""Efficiencies of pump, motor and whole transmission, as ISO 4391 defines them."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between
from calcs.piston_unit import hydraulic_power, shaft_power, theoretical_flow, theoretical_torque


def pump_volumetric_efficiency(flow_lpm: Number, displacement_cc: Number, speed_rpm: Number) -> Number:
    """Return the volumetric efficiency of a pump.

    Law
    ---
    eta_v = 1000 Q/(V n)

    Parameters
    ----------
    flow_lpm : float or array
        Flow measured [L/min]
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    speed_rpm : float or array
        Shaft speed, above zero [rev/min]

    Returns
    -------
    efficiency : float or array
        Delivered over theoretical flow [-]

    Examples
    --------
    >>> round(pump_volumetric_efficiency(75.7082, displacement_cc=81.9353, speed_rpm=1000), 3)
    0.924

    Source
    ------
    ISO 4391; figures of Esposito, Fluid Power with Applications, example 5-8.
    """
    require_above(0, displacement_cc=displacement_cc, speed_rpm=speed_rpm)
    return plain(flow_lpm / theoretical_flow(displacement_cc, speed_rpm))


def pump_hydromechanical_efficiency(torque_nm: Number, displacement_cc: Number, pressure_bar: Number) -> Number:
    """Return the hydromechanical efficiency of a pump.

    Law
    ---
    eta_hm = V dp/(20 pi T)

    Parameters
    ----------
    torque_nm : float or array
        Torque at the shaft, above zero [N.m]
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    pressure_bar : float or array
        Difference of pressure across the unit, above zero [bar]

    Returns
    -------
    efficiency : float or array
        Theoretical over actual torque [-]

    Examples
    --------
    >>> round(pump_hydromechanical_efficiency(120, displacement_cc=100, pressure_bar=70), 3)
    0.928

    Source
    ------
    Definition as in ISO 4391; clause from memory.
    """
    require_above(0, torque_nm=torque_nm, displacement_cc=displacement_cc, pressure_bar=pressure_bar)
    return plain(theoretical_torque(displacement_cc, pressure_bar) / torque_nm)


def pump_overall_efficiency(flow_lpm: Number, pressure_bar: Number, torque_nm: Number, speed_rpm: Number) -> Number:
    """Return the overall efficiency of a pump.

    Law
    ---
    eta_t = P_hydraulic/P_shaft

    Parameters
    ----------
    flow_lpm : float or array
        Flow measured [L/min]
    pressure_bar : float or array
        Difference of pressure across the unit, above zero [bar]
    torque_nm : float or array
        Torque at the shaft, above zero [N.m]
    speed_rpm : float or array
        Shaft speed, above zero [rev/min]

    Returns
    -------
    efficiency : float or array
        Power out over power in [-]

    Examples
    --------
    >>> round(pump_overall_efficiency(90, pressure_bar=70, torque_nm=120, speed_rpm=1000), 3)
    0.836

    Source
    ------
    ISO 4391; Esposito, Fluid Power with Applications, example 5-9, prints 83.5 %.
    """
    require_above(0, torque_nm=torque_nm, speed_rpm=speed_rpm)
    return plain(hydraulic_power(flow_lpm, pressure_bar) / shaft_power(torque_nm, speed_rpm))


def motor_volumetric_efficiency(flow_lpm: Number, displacement_cc: Number, speed_rpm: Number) -> Number:
    """Return the volumetric efficiency of a motor.

    Law
    ---
    eta_v = V n/(1000 Q)

    Parameters
    ----------
    flow_lpm : float or array
        Flow into the motor, above zero [L/min]
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    speed_rpm : float or array
        Shaft speed, above zero [rev/min]

    Returns
    -------
    efficiency : float or array
        Theoretical over actual flow [-]

    Examples
    --------
    >>> round(motor_volumetric_efficiency(359.614, displacement_cc=163.871, speed_rpm=2000), 3)
    0.911

    Source
    ------
    ISO 4391; figures of Esposito, Fluid Power with Applications, example 7-3.
    """
    require_above(0, flow_lpm=flow_lpm)
    return plain(theoretical_flow(displacement_cc, speed_rpm) / flow_lpm)


def motor_hydromechanical_efficiency(torque_nm: Number, displacement_cc: Number, pressure_bar: Number) -> Number:
    """Return the hydromechanical efficiency of a motor.

    Law
    ---
    eta_hm = 20 pi T/(V dp)

    Parameters
    ----------
    torque_nm : float or array
        Torque at the shaft, above zero [N.m]
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    pressure_bar : float or array
        Difference of pressure across the unit, above zero [bar]

    Returns
    -------
    efficiency : float or array
        Actual over theoretical torque [-]

    Examples
    --------
    >>> round(motor_hydromechanical_efficiency(170, displacement_cc=164, pressure_bar=70), 2)
    0.93

    Source
    ------
    ISO 4391; Esposito, Fluid Power with Applications, example 7-6.
    """
    require_above(0, displacement_cc=displacement_cc, pressure_bar=pressure_bar)
    return plain(torque_nm / theoretical_torque(displacement_cc, pressure_bar))


def motor_overall_efficiency(flow_lpm: Number, pressure_bar: Number, torque_nm: Number, speed_rpm: Number) -> Number:
    """Return the overall efficiency of a motor.

    Law
    ---
    eta_t = P_shaft/P_hydraulic

    Parameters
    ----------
    flow_lpm : float or array
        Flow into the motor, above zero [L/min]
    pressure_bar : float or array
        Difference of pressure across the unit, above zero [bar]
    torque_nm : float or array
        Torque at the shaft, above zero [N.m]
    speed_rpm : float or array
        Shaft speed, above zero [rev/min]

    Returns
    -------
    efficiency : float or array
        Power out over power in [-]

    Examples
    --------
    >>> round(motor_overall_efficiency(360, pressure_bar=70, torque_nm=170, speed_rpm=2000), 3)
    0.848

    Source
    ------
    ISO 4391; figures of Esposito, Fluid Power with Applications, example 7-6.
    """
    require_above(0, flow_lpm=flow_lpm, pressure_bar=pressure_bar)
    return plain(shaft_power(torque_nm, speed_rpm) / hydraulic_power(flow_lpm, pressure_bar))


def transmission_efficiency(torque_in_nm: Number, speed_in_rpm: Number, torque_out_nm: Number, speed_out_rpm: Number) -> Number:
    """Return the overall efficiency of a transmission taken as one box.

    Law
    ---
    eta_t = T_out n_out/(T_in n_in)

    Parameters
    ----------
    torque_in_nm : float or array
        Torque at the input shaft, above zero [N.m]
    speed_in_rpm : float or array
        Speed of the input shaft, above zero [rev/min]
    torque_out_nm : float or array
        Torque at the output shaft [N.m]
    speed_out_rpm : float or array
        Speed of the output shaft [rev/min]

    Returns
    -------
    efficiency : float or array
        Power out over power in [-]

    Examples
    --------
    >>> transmission_efficiency(100, 2000, torque_out_nm=150, speed_out_rpm=1000)
    0.75

    Source
    ------
    Definition as in ISO 4391; clause from memory.
    """
    require_above(0, torque_in_nm=torque_in_nm, speed_in_rpm=speed_in_rpm)
    return plain(torque_out_nm * speed_out_rpm / (torque_in_nm * speed_in_rpm))


def missing_efficiency(overall: Number, known: Number) -> Number:
    """Return one of volumetric and hydromechanical efficiency from the overall and the other one.

    Law
    ---
    eta = eta_t/eta_known

    Parameters
    ----------
    overall : float or array
        Overall efficiency, 0 to 1 [-]
    known : float or array
        The efficiency known, above 0 to 1 [-]

    Returns
    -------
    efficiency : float or array
        The other efficiency [-]

    Examples
    --------
    >>> round(missing_efficiency(0.87, known=0.94), 4)
    0.9255

    Source
    ------
    ISO 4391; figures of Sullivan, Fluid Power: Theory and Applications, 4th ed., example 7.2.
    """
    require_above(0, known=known)
    require_between(0, 1, overall=overall, known=known)
    return plain(overall / known)


def derived_displacement(speed_rpm: np.ndarray, flow_lpm: np.ndarray) -> float | None:
    """Return the displacement that a run at hardly any pressure shows: the slope of flow over speed.

    Law
    ---
    V = 1000 dQ/dn

    Parameters
    ----------
    speed_rpm : array of n
        Shaft speeds, one a reading [rev/min]
    flow_lpm : array of n
        Flows at those speeds [L/min]

    Returns
    -------
    displacement : float or None
        Derived displacement; None from fewer than two different speeds [cm3/rev]

    Examples
    --------
    >>> round(derived_displacement(np.array([500, 1000, 1500]), np.array([50, 100, 150])), 6)
    100.0

    Source
    ------
    Idea of ISO 8426, clause from memory; ours is a plain least-squares slope.
    """
    speeds, flows = np.asarray(speed_rpm, dtype=float), np.asarray(flow_lpm, dtype=float)
    if np.unique(speeds).size < 2:
        return None
    return float(1000 * np.polyfit(speeds, flows, 1)[0])
