"""
Transfer pump: what it displaces, how its inlet fills, where its flow goes.

The filling law is empirical: it stands for a pump that can no longer fill its chambers, with a
half-way pressure and a softness that have no published values.  Starvation must come out of it,
so both carry an uncertainty in every case.
"""

import math

from feedproof.core.compiled import formula

# exp beyond this leaves the range of a float; the filling is 0 or 1 to the last digit before it.
_GREATEST_EXPONENT = 700.0


@formula
def theoretical_flow(displacement_m3_per_rev: float, pump_speed_rev_per_s: float) -> float:
    """
    Give the flow a pump displaces.

    Parameters
    ----------
    displacement_m3_per_rev : float
        Displacement per revolution [m3/rev].
    pump_speed_rev_per_s : float
        Pump speed [rev/s].

    Returns
    -------
    float
        Volume flow [m3/s].
    """
    return displacement_m3_per_rev * pump_speed_rev_per_s


@formula
def inlet_filling(pressure_abs_pa: float, half_pressure_abs_pa: float, softness_pa: float) -> float:
    """
    Give the share of the displacement that fills with liquid.

    Parameters
    ----------
    pressure_abs_pa : float
        Absolute pressure at the pump inlet [Pa].
    half_pressure_abs_pa : float
        Absolute pressure at which the filling is one half [Pa].
    softness_pa : float
        Width of the fall; 0 or less makes it a step [Pa].

    Returns
    -------
    float
        Share, 0 to 1 [1].

    Notes
    -----
    1/(1 + exp(-(p - ph)/w)), empirical, invented reference values.
    """
    above_pa = pressure_abs_pa - half_pressure_abs_pa
    if softness_pa <= 0.0:
        if above_pa == 0.0:
            return 0.5
        return 1.0 if above_pa > 0.0 else 0.0
    exponent = -above_pa / softness_pa
    if exponent > _GREATEST_EXPONENT:
        return 0.0
    return 1.0 / (1.0 + math.exp(exponent))


@formula
def inlet_half_pressure(
    base_pa: float,
    vapour_pressure_abs_pa: float,
    port_loss_reference_pa: float,
    pump_speed_rev_per_s: float,
    reference_speed_rev_per_s: float,
) -> float:
    """
    Give the inlet pressure at which the filling is one half.

    Parameters
    ----------
    base_pa : float
        Value of the pump at rest without vapour [Pa].
    vapour_pressure_abs_pa : float
        Vapour pressure of the fuel [Pa].
    port_loss_reference_pa : float
        Loss of the inlet port at the reference speed [Pa].
    pump_speed_rev_per_s : float
        Pump speed [rev/s].
    reference_speed_rev_per_s : float
        Speed of the reference, above 0 [rev/s].

    Returns
    -------
    float
        Absolute pressure [Pa].
    """
    speed_ratio = pump_speed_rev_per_s / reference_speed_rev_per_s
    return base_pa + vapour_pressure_abs_pa + port_loss_reference_pa * speed_ratio * speed_ratio


@formula
def pumped_flow(
    theoretical_m3_per_s: float,
    volumetric_efficiency_ratio: float,
    gas_fraction: float,
    filling_fraction: float,
) -> float:
    """
    Give the liquid that the pump takes in, before its gap leakage.

    Parameters
    ----------
    theoretical_m3_per_s : float
        Flow displaced [m3/s].
    volumetric_efficiency_ratio : float
        Efficiency of the pump with a full inlet and no gap leakage [1].
    gas_fraction : float
        Share of gas at the inlet [1].
    filling_fraction : float
        Share that fills, `inlet_filling` [1].

    Returns
    -------
    float
        Volume flow of liquid [m3/s].
    """
    liquid = 1.0 - gas_fraction
    return theoretical_m3_per_s * volumetric_efficiency_ratio * liquid * filling_fraction


@formula
def slip_at_regulated(
    slip_reference_m3_per_s: float,
    viscosity_reference_pa_s: float,
    dynamic_viscosity_pa_s: float,
) -> float:
    """
    Give the gap leakage at the regulated feed pressure.

    Parameters
    ----------
    slip_reference_m3_per_s : float
        Leakage at the regulated pressure with the reference viscosity [m3/s].
    viscosity_reference_pa_s : float
        Dynamic viscosity of the reference, often that at 40 degrees Celsius [Pa s].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity now [Pa s].

    Returns
    -------
    float
        Volume flow [m3/s].

    Notes
    -----
    Laminar gap: inverse to viscosity, proportional to pressure (see `feed_pressure_ratio`).
    """
    return slip_reference_m3_per_s * viscosity_reference_pa_s / dynamic_viscosity_pa_s


@formula
def feed_pressure_ratio(
    pumped_m3_per_s: float,
    slip_m3_per_s: float,
    lubrication_m3_per_s: float,
    backleak_m3_per_s: float,
    injected_m3_per_s: float,
) -> float:
    """
    Give the feed pressure over its regulated value.

    Parameters
    ----------
    pumped_m3_per_s : float
        Liquid taken in, `pumped_flow` [m3/s].
    slip_m3_per_s : float
        Gap leakage at the regulated pressure; follows the pressure [m3/s].
    lubrication_m3_per_s : float
        Lubrication flow at the regulated pressure; follows its root [m3/s].
    backleak_m3_per_s : float
        Back-leak of injectors and high-pressure pump, taken first [m3/s].
    injected_m3_per_s : float
        Fuel injected, taken first [m3/s].

    Returns
    -------
    float
        Ratio, 0 to 1 [1]: 1 when the pump covers all at the regulated pressure (the surplus opens
        the valve), 0 when not even back-leak and injection are covered.

    Notes
    -----
    Root of pumped = slip x + lubrication sqrt(x) + backleak + injected, a quadratic in sqrt(x)
    taken in the form that loses no digits.  With a gap leakage that ignored the pressure a worn
    pump could never start an engine.

    Examples
    --------
    >>> feed_pressure_ratio(7.0, 4.0, 2.0, 1.0, 4.0)
    0.25
    """
    left = pumped_m3_per_s - backleak_m3_per_s - injected_m3_per_s
    if left <= 0.0:
        return 0.0
    if left >= slip_m3_per_s + lubrication_m3_per_s:
        return 1.0
    discriminant = lubrication_m3_per_s**2 + 4.0 * slip_m3_per_s * left
    root = 2.0 * left / (lubrication_m3_per_s + math.sqrt(discriminant))
    return min(root * root, 1.0)
