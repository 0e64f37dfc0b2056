"""
Heat of the fuel: walls, mixing, let-down from rail pressure, coolers, the tank.

A stream is known by its heat capacity flow rho c Q; without one a wall gives the fuel the
temperature of the air around it, and a heater has nothing to heat.
"""

import math

from feedproof.core.compiled import formula

_ZERO_CELSIUS_K = 273.15
# Density of water at 60 degF, which the specific gravity of an oil refers to.
_WATER_KG_PER_M3 = 999.016


@formula
def liquid_specific_heat(temperature_k: float, density_15c: float) -> float:
    """
    Give the specific heat of a liquid petroleum fuel.

    Parameters
    ----------
    temperature_k : float
        Temperature, 253 to 473 [K].
    density_15c : float
        Density at 15 degrees Celsius, 700 to 960 [kg/m3].

    Returns
    -------
    float
        Specific heat at constant pressure [J/(kg K)].

    Notes
    -----
    (1.685 + 0.0034 t)/sqrt(s) kJ/(kg K), t in degrees Celsius, s the specific gravity: the
    formula of Cragoe (NBS Miscellaneous Publication 97, 1929), 0.388 + 0.00045 t/degF in cal,
    which Gambill (1957) handed on; formula from memory.  Good to about 4 % for road fuel (memory);
    10 % low for pure paraffins and 4 to 12 % high for pure alkylbenzenes (CoolProp, thermo).
    Below the cloud point it leaves the heat of the wax out.
    """
    celsius = temperature_k - _ZERO_CELSIUS_K
    return 1000.0 * (1.685 + 0.0034 * celsius) / math.sqrt(density_15c / _WATER_KG_PER_M3)


@formula
def heat_capacity_flow(
    density_kg_per_m3: float, specific_heat_j_per_kg_k: float, flow_m3_per_s: float
) -> float:
    """
    Give the heat that a stream carries for each kelvin.

    Parameters
    ----------
    density_kg_per_m3 : float
        Density [kg/m3].
    specific_heat_j_per_kg_k : float
        Specific heat [J/(kg K)].
    flow_m3_per_s : float
        Volume flow, not negative [m3/s].

    Returns
    -------
    float
        rho c Q [W/K].
    """
    return density_kg_per_m3 * specific_heat_j_per_kg_k * flow_m3_per_s


@formula
def wall_passed_share(conductance_w_per_k: float, capacity_flow_w_per_k: float) -> float:
    """
    Give the share of a stream's distance to its surroundings that is left behind a wall.

    Parameters
    ----------
    conductance_w_per_k : float
        Wall coefficient times area, not negative [W/K].
    capacity_flow_w_per_k : float
        `heat_capacity_flow` [W/K].

    Returns
    -------
    float
        exp(-U A/(rho c Q)): 1 without heat through the wall, 0 for a stream that stands [1].
    """
    if conductance_w_per_k <= 0.0:
        return 1.0
    if capacity_flow_w_per_k <= 0.0:
        return 0.0
    return math.exp(-conductance_w_per_k / capacity_flow_w_per_k)


@formula
def temperature_behind_wall(
    inlet_k: float,
    surroundings_k: float,
    conductance_w_per_k: float,
    capacity_flow_w_per_k: float,
) -> float:
    """
    Give the temperature of a stream behind a length of pipe.

    Parameters
    ----------
    inlet_k : float
        Temperature ahead of it [K].
    surroundings_k : float
        Temperature of the air around it [K].
    conductance_w_per_k : float
        Wall coefficient times area, not negative [W/K].
    capacity_flow_w_per_k : float
        `heat_capacity_flow` [W/K].

    Returns
    -------
    float
        Temperature [K]; that of the surroundings for a stream that stands, that of the inlet
        where no heat passes.

    Notes
    -----
    T_env + (T_in - T_env) exp(-U A/(rho c Q)): plug flow, one coefficient along the pipe.
    """
    left = wall_passed_share(conductance_w_per_k, capacity_flow_w_per_k)
    return surroundings_k + (inlet_k - surroundings_k) * left


@formula
def mixed_temperature(
    first_k: float,
    first_capacity_flow_w_per_k: float,
    second_k: float,
    second_capacity_flow_w_per_k: float,
) -> float:
    """
    Give the temperature of two streams that meet.

    Parameters
    ----------
    first_k : float
        Temperature of the first [K].
    first_capacity_flow_w_per_k : float
        Its `heat_capacity_flow`, not negative [W/K].
    second_k : float
        Temperature of the second [K].
    second_capacity_flow_w_per_k : float
        Its `heat_capacity_flow`, not negative [W/K].

    Returns
    -------
    float
        Temperature [K]; that of the first where neither flows.
    """
    both = first_capacity_flow_w_per_k + second_capacity_flow_w_per_k
    if both <= 0.0:
        return first_k
    # Not as a quotient of sums, which loses digits where the temperatures are alike.
    return first_k + (second_k - first_k) * second_capacity_flow_w_per_k / both


@formula
def local_expansion(density_15c: float, density_kg_per_m3: float, expansion_per_k: float) -> float:
    """
    Give the expansion coefficient of a fuel at its own temperature.

    Parameters
    ----------
    density_15c : float
        Density at 15 degrees Celsius [kg/m3].
    density_kg_per_m3 : float
        Density now, above 0 [kg/m3].
    expansion_per_k : float
        Coefficient of the straight line of density, referred to 15 degrees Celsius [1/K].

    Returns
    -------
    float
        Coefficient referred to the density now [1/K].
    """
    return expansion_per_k * density_15c / density_kg_per_m3


@formula
def let_down_rise(
    pressure_fall_pa: float,
    density_kg_per_m3: float,
    specific_heat_j_per_kg_k: float,
    expansion_per_k: float,
    temperature_k: float,
) -> float:
    """
    Give the temperature rise of fuel that is throttled.

    Parameters
    ----------
    pressure_fall_pa : float
        Pressure ahead of the throttle above that behind it [Pa].
    density_kg_per_m3 : float
        Density at low pressure [kg/m3].
    specific_heat_j_per_kg_k : float
        Specific heat at low pressure [J/(kg K)].
    expansion_per_k : float
        Expansion coefficient now, `local_expansion`; 0 leaves the expansion out [1/K].
    temperature_k : float
        Temperature ahead of the throttle [K].

    Returns
    -------
    float
        dp (1 - beta T)/(rho c) [K].

    Notes
    -----
    Joule-Thomson: at constant enthalpy dT/dp = -(1 - beta T)/(rho c), exact for a small fall.
    With values at low pressure a fall of 100 to 200 MPa of n-dodecane comes out within 6 % from
    20 to 80 degrees Celsius (CoolProp).  It counts from the rail; from the pump's inlet the rise
    is dp/(rho c), see `return_heating_power`.
    """
    expanding = 1.0 - expansion_per_k * temperature_k
    return pressure_fall_pa * expanding / (density_kg_per_m3 * specific_heat_j_per_kg_k)


@formula
def return_heating_power(
    rail_pressure_pa: float,
    feed_pressure_pa: float,
    injected_m3_per_s: float,
    backleak_m3_per_s: float,
    returned_m3_per_s: float,
    efficiency_fraction: float,
) -> float:
    """
    Give the heat that the pumps' work puts into the return.

    Parameters
    ----------
    rail_pressure_pa : float
        Rail pressure [Pa].
    feed_pressure_pa : float
        Pressure behind the transfer pump [Pa].
    injected_m3_per_s : float
        Fuel injected [m3/s].
    backleak_m3_per_s : float
        Fuel let down from rail pressure into the return [m3/s].
    returned_m3_per_s : float
        All the return [m3/s].
    efficiency_fraction : float
        Hydraulic work of the high-pressure pump over its shaft's, above 0 [1].

    Returns
    -------
    float
        Power [W].

    Notes
    -----
    First law over the pumps.  Compressed without loss and let down again, fuel gains dp/(rho c)
    over the pump's inlet: the cooling of its expansion is the heating of its compression.  All
    that the pump loses is taken to stay in the return, which cools and oils it; injected fuel
    takes with it no more than the work put into it.  The transfer pump's work on what is returned
    ends as heat in the valve and the gaps.
    """
    leaked = rail_pressure_pa * backleak_m3_per_s
    lost = (1.0 / efficiency_fraction - 1.0) * rail_pressure_pa
    lost *= injected_m3_per_s + backleak_m3_per_s
    return leaked + lost + feed_pressure_pa * returned_m3_per_s


@formula
def heated_rise(power_w: float, capacity_flow_w_per_k: float) -> float:
    """
    Give the temperature rise of a stream by a heater, or by any power put into it.

    Parameters
    ----------
    power_w : float
        Heat put in [W].
    capacity_flow_w_per_k : float
        `heat_capacity_flow` [W/K].

    Returns
    -------
    float
        Rise [K]; 0 without power, without limit for a stream that stands.
    """
    if power_w == 0.0:
        return 0.0
    if capacity_flow_w_per_k <= 0.0:
        return math.copysign(math.inf, power_w)
    return power_w / capacity_flow_w_per_k


@formula
def cooled_temperature(inlet_k: float, air_k: float, effectiveness_fraction: float) -> float:
    """
    Give the temperature behind a cooler.

    Parameters
    ----------
    inlet_k : float
        Temperature ahead of it [K].
    air_k : float
        Temperature of the air [K].
    effectiveness_fraction : float
        Share of the distance to the air that it takes away, 0 to 1 [1].

    Returns
    -------
    float
        Temperature [K].

    Notes
    -----
    The air is taken to have the greater heat capacity flow, so that the effectiveness counts on
    the fuel's side.
    """
    return inlet_k - effectiveness_fraction * (inlet_k - air_k)


@formula
def stirred_tank_temperature(
    start_k: float,
    end_k: float,
    relaxing_w_per_k: float,
    capacity_j_per_k: float,
    falling_w_per_k: float,
    duration_s: float,
) -> float:
    """
    Give the temperature of a stirred tank after a time, its level constant or falling.

    Parameters
    ----------
    start_k : float
        Temperature at the start [K].
    end_k : float
        Temperature at which it would stay, `tank_balance_temperature` [K].
    relaxing_w_per_k : float
        Heat capacity flow that comes in and heat loss for each kelvin, together [W/K].
    capacity_j_per_k : float
        Heat capacity of the fuel at the start, above 0 [J/K].
    falling_w_per_k : float
        Heat capacity flow out less that in: what the tank loses for good; below 0 fills it [W/K].
    duration_s : float
        Time passed [s].

    Returns
    -------
    float
        Temperature [K]; not a number once the tank is empty.

    Notes
    -----
    m c dT/dt = G (T_end - T) with m c = C - F t has the closed form (1 - F t/C)^(G/F), which tends
    to exp(-G t/C) as the level stays.
    """
    share = falling_w_per_k * duration_s / capacity_j_per_k
    if share >= 1.0:
        return math.nan
    if abs(share) < 1e-12:
        times = relaxing_w_per_k * duration_s / capacity_j_per_k
    else:
        times = -relaxing_w_per_k / falling_w_per_k * math.log1p(-share)
    return end_k + (start_k - end_k) * math.exp(-times)


@formula
def tank_balance_temperature(
    inflow_k: float,
    inflow_capacity_flow_w_per_k: float,
    surroundings_k: float,
    conductance_w_per_k: float,
    power_w: float,
) -> float:
    """
    Give the temperature at which a stirred tank neither warms nor cools.

    Parameters
    ----------
    inflow_k : float
        Temperature of the fuel that comes in [K].
    inflow_capacity_flow_w_per_k : float
        Its `heat_capacity_flow`; 0 where the return's heat is given as a power [W/K].
    surroundings_k : float
        Temperature of the air [K].
    conductance_w_per_k : float
        Heat loss of the tank for each kelvin [W/K].
    power_w : float
        Heat put in beside that, such as by a return that is warmer than the tank by a fixed
        amount [W].

    Returns
    -------
    float
        Temperature [K]; without limit where a power meets no loss at all.
    """
    together = inflow_capacity_flow_w_per_k + conductance_w_per_k
    if together <= 0.0:
        return surroundings_k + heated_rise(power_w, 0.0)
    inflow = inflow_capacity_flow_w_per_k * (inflow_k - surroundings_k)
    return surroundings_k + (inflow + power_w) / together
