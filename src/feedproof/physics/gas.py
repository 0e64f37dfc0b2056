"""
Gas in the fuel: air that comes out of solution, and air drawn in through a leak.

Fuel from a vented tank is saturated with air, so bubbles begin at any depression: a few fine
bubbles at full load are no leak.
"""

import math

from feedproof.core.compiled import formula


@formula
def equilibrium_free_gas_ratio(
    pressure_abs_pa: float, saturation_pressure_abs_pa: float, ostwald_coefficient: float
) -> float:
    """
    Give the free gas at equilibrium, per volume of liquid, at the local pressure.

    Parameters
    ----------
    pressure_abs_pa : float
        Absolute pressure [Pa].
    saturation_pressure_abs_pa : float
        Absolute pressure at which the fuel was saturated, usually the tank's [Pa].
    ostwald_coefficient : float
        Ostwald coefficient of air [1].

    Returns
    -------
    float
        Gas volume over liquid volume; 0 above saturation, infinite at no pressure [1].

    Notes
    -----
    Henry and Boyle, L (ps - p)/p.
    """
    if pressure_abs_pa >= saturation_pressure_abs_pa:
        return 0.0
    if pressure_abs_pa <= 0.0:
        return math.inf
    return ostwald_coefficient * (saturation_pressure_abs_pa - pressure_abs_pa) / pressure_abs_pa


@formula
def released_gas(
    pressure_abs_pa: float,
    saturation_pressure_abs_pa: float,
    ostwald_coefficient: float,
    release_fraction: float,
) -> float:
    """
    Give the gas that has come out of solution, as its pressure times its volume.

    Parameters
    ----------
    pressure_abs_pa : float
        Absolute pressure [Pa].
    saturation_pressure_abs_pa : float
        Absolute pressure at which the fuel was saturated [Pa].
    ostwald_coefficient : float
        Ostwald coefficient of air [1].
    release_fraction : float
        Share of the equilibrium release that the time in the line allows, 0 to 1 [1].

    Returns
    -------
    float
        Pressure times gas volume per liquid volume; 0 above saturation [Pa].

    Notes
    -----
    Henry: at equilibrium L (ps - p), whatever the pressure then does to the bubbles.  The share
    released is the least sure number of the suction side (0.2 to 0.6 for one to three seconds,
    invented reference 0.35).
    """
    below_pa = saturation_pressure_abs_pa - pressure_abs_pa
    if below_pa <= 0.0:
        return 0.0
    return release_fraction * ostwald_coefficient * below_pa


@formula
def gas_share(gas_pa: float, pressure_abs_pa: float) -> float:
    """
    Give the share of the flow that is gas.

    Parameters
    ----------
    gas_pa : float
        Pressure times gas volume per liquid volume, which no change of pressure alters [Pa].
    pressure_abs_pa : float
        Absolute pressure [Pa].

    Returns
    -------
    float
        Gas volume over gas and liquid volume, 0 to 1; 1 at no pressure [1].

    Notes
    -----
    Boyle, at one temperature: s/(p + s), the finite form of phi/(1 + phi).
    """
    if pressure_abs_pa <= 0.0:
        return 1.0
    return gas_pa / (pressure_abs_pa + gas_pa)


@formula
def free_gas_fraction(
    pressure_abs_pa: float,
    saturation_pressure_abs_pa: float,
    ostwald_coefficient: float,
    release_fraction: float,
) -> float:
    """
    Give the share of the flow that is released gas at the local pressure.

    Parameters
    ----------
    pressure_abs_pa : float
        Absolute pressure [Pa].
    saturation_pressure_abs_pa : float
        Absolute pressure at which the fuel was saturated [Pa].
    ostwald_coefficient : float
        Ostwald coefficient of air [1].
    release_fraction : float
        Share of the equilibrium release that the time in the line allows, 0 to 1 [1].

    Returns
    -------
    float
        Gas volume over gas and liquid volume, 0 to 1; 1 at no pressure [1].
    """
    released_pa = released_gas(
        pressure_abs_pa, saturation_pressure_abs_pa, ostwald_coefficient, release_fraction
    )
    return gas_share(released_pa, pressure_abs_pa)


@formula
def relaxed_gas(
    gas_pa: float,
    equilibrium_start_pa: float,
    equilibrium_end_pa: float,
    duration_s: float,
    time_constant_s: float,
) -> float:
    """
    Give the gas out of solution after a time on its way to a changing equilibrium.

    Parameters
    ----------
    gas_pa : float
        Pressure times gas volume per liquid volume at the start [Pa].
    equilibrium_start_pa : float
        Value at equilibrium at the start [Pa].
    equilibrium_end_pa : float
        Value at equilibrium at the end, straight in between [Pa].
    duration_s : float
        Time passed [s].
    time_constant_s : float
        Time constant of release or of solution; 0 means equilibrium at once [s].

    Returns
    -------
    float
        Pressure times gas volume per liquid volume [Pa].

    Notes
    -----
    Exact solution of dg/dt = (e - g)/tau with a straight e.  First-order release in suction lines
    is published (Int. J. Fluid Power 2025); the time constant of a given line is not.
    """
    if time_constant_s <= 0.0:
        return equilibrium_end_pa
    times = duration_s / time_constant_s
    left = math.exp(-times)
    # Mean of exp over the time passed: how far the equilibrium's own change is followed.
    lag = (1.0 - left) / times if times > 1e-9 else 1.0
    change = equilibrium_end_pa - equilibrium_start_pa
    return equilibrium_end_pa - change * lag + (gas_pa - equilibrium_start_pa) * left


@formula
def air_ingress_flow(
    hole_diameter_m: float,
    depression_pa: float,
    air_density_kg_per_m3: float,
    discharge_coefficient: float,
) -> float:
    """
    Give the air drawn through a hole in the suction side.

    Parameters
    ----------
    hole_diameter_m : float
        Diameter of a round hole of the same area [m].
    depression_pa : float
        Pressure below ambient at the hole; at or above ambient nothing is drawn in [Pa].
    air_density_kg_per_m3 : float
        Density of the ambient air [kg/m3].
    discharge_coefficient : float
        0.61 for a sharp edge [1].

    Returns
    -------
    float
        Volume flow of air at ambient density [m3/s].

    Notes
    -----
    Incompressible orifice flow: within 10 % up to 20 kPa of depression.
    """
    if depression_pa <= 0.0:
        return 0.0
    area_m2 = 0.25 * math.pi * hole_diameter_m * hole_diameter_m
    velocity = math.sqrt(2.0 * depression_pa / air_density_kg_per_m3)
    return discharge_coefficient * area_m2 * velocity


@formula
def ingress_gas_fraction(
    air_flow_m3_per_s: float,
    ambient_abs_pa: float,
    pressure_abs_pa: float,
    fuel_flow_m3_per_s: float,
) -> float:
    """
    Give the gas share at a place that drawn-in air makes there.

    Parameters
    ----------
    air_flow_m3_per_s : float
        Air drawn in, at ambient pressure [m3/s].
    ambient_abs_pa : float
        Ambient pressure [Pa].
    pressure_abs_pa : float
        Absolute pressure at the place [Pa].
    fuel_flow_m3_per_s : float
        Fuel flow, not negative [m3/s].

    Returns
    -------
    float
        Gas volume over gas and fuel volume; 1 at no pressure, 0 without air [1].

    Notes
    -----
    Boyle, at one temperature.
    """
    if air_flow_m3_per_s <= 0.0:
        return 0.0
    if pressure_abs_pa <= 0.0:
        return 1.0
    local = air_flow_m3_per_s * ambient_abs_pa
    return local / (local + fuel_flow_m3_per_s * pressure_abs_pa)
