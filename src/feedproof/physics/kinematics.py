"""
From the road to the pump: engine speed, power, fuel injected, head of a column of fuel.

Power and injection are per engine; feed and return follow from the pump, not from here.
"""

import math

from feedproof.core.compiled import formula
from feedproof.physics.atmosphere import STANDARD_GRAVITY_M_PER_S2


@formula
def engine_speed(
    road_speed_m_per_s: float,
    tyre_radius_m: float,
    tyre_slip_fraction: float,
    gear_ratio: float,
    final_drive_ratio: float,
) -> float:
    """
    Give the engine speed at a road or roller speed.

    Parameters
    ----------
    road_speed_m_per_s : float
        Speed of the roller's surface [m/s].
    tyre_radius_m : float
        Dynamic rolling radius, above 0 [m].
    tyre_slip_fraction : float
        Slip of the tyre on the roller; 0.01 to 0.03 at full load is common [1].
    gear_ratio : float
        Ratio of the gear engaged [1].
    final_drive_ratio : float
        Ratio of the final drive [1].

    Returns
    -------
    float
        Engine speed [rev/s].

    Notes
    -----
    The radius changes with speed and load: take the ratio from a logged engine speed when there
    is one.
    """
    roll_rad_per_s = road_speed_m_per_s / tyre_radius_m * (1.0 + tyre_slip_fraction)
    return roll_rad_per_s / (2.0 * math.pi) * gear_ratio * final_drive_ratio


@formula
def equivalent_inertia_mass(
    engine_inertia_kg_m2: float,
    wheel_inertia_kg_m2: float,
    overall_ratio: float,
    tyre_radius_m: float,
) -> float:
    """
    Give the rotating parts of a vehicle as a mass at the tyre.

    Parameters
    ----------
    engine_inertia_kg_m2 : float
        Moment of inertia on the engine side [kg m2].
    wheel_inertia_kg_m2 : float
        Moment of inertia of ALL wheels that turn together; say per axle or per vehicle [kg m2].
    overall_ratio : float
        Engine speed over wheel speed [1].
    tyre_radius_m : float
        Dynamic rolling radius, above 0 [m].

    Returns
    -------
    float
        Equivalent mass [kg].
    """
    at_wheel = engine_inertia_kg_m2 * overall_ratio * overall_ratio + wheel_inertia_kg_m2
    return at_wheel / (tyre_radius_m * tyre_radius_m)


@formula
def acceleration_power(
    equivalent_mass_kg: float, road_speed_m_per_s: float, acceleration_m_per_s2: float
) -> float:
    """
    Give the power that speeds a mass up.

    Parameters
    ----------
    equivalent_mass_kg : float
        Mass, or `equivalent_inertia_mass` [kg].
    road_speed_m_per_s : float
        Speed [m/s].
    acceleration_m_per_s2 : float
        Acceleration, for instance the sweep rate [m/s2].

    Returns
    -------
    float
        Power; negative while slowing down [W].
    """
    return equivalent_mass_kg * road_speed_m_per_s * acceleration_m_per_s2


@formula
def wheel_power(
    engine_power_w: float, driveline_loss_fraction: float, acceleration_power_w: float
) -> float:
    """
    Give the power at the wheels in a sweep.

    Parameters
    ----------
    engine_power_w : float
        Power at the crankshaft [W].
    driveline_loss_fraction : float
        Share of the engine power lost on the way; 0.12 to 0.20 [1].
    acceleration_power_w : float
        Power that goes into the vehicle's own rotating parts [W].

    Returns
    -------
    float
        Power at the roller [W].

    Notes
    -----
    One share for all losses is a model for comparisons; a coast-down replaces it where measured.
    """
    return engine_power_w * (1.0 - driveline_loss_fraction) - acceleration_power_w


@formula
def engine_power(torque_nm: float, engine_speed_rev_per_s: float) -> float:
    """
    Give the power of a torque at a speed.

    Parameters
    ----------
    torque_nm : float
        Torque [N m].
    engine_speed_rev_per_s : float
        Engine speed [rev/s].

    Returns
    -------
    float
        Power [W].
    """
    return 2.0 * math.pi * torque_nm * engine_speed_rev_per_s


@formula
def injected_flow(
    engine_power_w: float, specific_consumption_kg_per_j: float, density_kg_per_m3: float
) -> float:
    """
    Give the fuel burnt at a power.

    Parameters
    ----------
    engine_power_w : float
        Power at the crankshaft [W].
    specific_consumption_kg_per_j : float
        Brake specific fuel consumption; 220 g/kWh is 6.11e-8 [kg/J].
    density_kg_per_m3 : float
        Density at the temperature at which the volume shall count [kg/m3].

    Returns
    -------
    float
        Volume flow [m3/s].
    """
    return engine_power_w * specific_consumption_kg_per_j / density_kg_per_m3


@formula
def head_pressure(density_kg_per_m3: float, height_m: float) -> float:
    """
    Give the pressure difference of a column of liquid.

    Parameters
    ----------
    density_kg_per_m3 : float
        Density [kg/m3].
    height_m : float
        Height, positive when the pump or the tapping lies above the fuel surface [m].

    Returns
    -------
    float
        Pressure difference; positive adds to the depression [Pa].

    Notes
    -----
    For a gauge line filled with liquid; a line filled with gas needs no correction.
    """
    return density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * height_m


@formula
def rail_pressure_rise_rate(
    bulk_modulus_pa: float, volume_m3: float, net_flow_m3_per_s: float
) -> float:
    """
    Give the rate at which the rail pressure changes.

    Parameters
    ----------
    bulk_modulus_pa : float
        Bulk modulus of the fuel at rail pressure, about 1.4e9 [Pa].
    volume_m3 : float
        Volume of rail and lines [m3].
    net_flow_m3_per_s : float
        Flow in less flow out [m3/s].

    Returns
    -------
    float
        Rate [Pa/s].

    Notes
    -----
    A shortfall of one litre an hour empties a rail's pressure in seconds: starvation is a cliff.
    """
    return bulk_modulus_pa / volume_m3 * net_flow_m3_per_s


@formula
def tank_pressure_fall_rate(
    tank_gas_abs_pa: float, drawn_m3_per_s: float, gas_volume_m3: float
) -> float:
    """
    Give the rate at which a tank with a blocked breather goes below ambient.

    Parameters
    ----------
    tank_gas_abs_pa : float
        Absolute pressure of the gas in the tank [Pa].
    drawn_m3_per_s : float
        Fuel that leaves the tank for good: injected fuel, or all the feed while the return is
        caught outside [m3/s].
    gas_volume_m3 : float
        Gas volume in the tank, above 0 [m3].

    Returns
    -------
    float
        Rate of fall [Pa/s].

    Notes
    -----
    Boyle, at one temperature.
    """
    return tank_gas_abs_pa * drawn_m3_per_s / gas_volume_m3
