"""
Margins against vapour at an inlet or a throttle, and the throttle that passes a flow.

For clean diesel vapour pressure is tens of pascal and released air governs; these numbers matter
for hot fuel and for petrol in diesel.
"""

import math

from feedproof.core.compiled import formula
from feedproof.physics.atmosphere import STANDARD_GRAVITY_M_PER_S2

# Water at 15 degrees Celsius, to which IEC 60534 refers relative density.
_WATER_15C_KG_PER_M3 = 999.1
# The numerical constants N1, N2 and N4 of IEC 60534 in SI units.  With Kv in m3/h at 1 bar:
# N2 = 1.6e-3 mm4/(m3/h)2 and N4 = 0.0707 are rounded in the standard, kept so here.
_KV_PER_SI = 3600.0 * math.sqrt(1e5)
_N2_PER_MM4 = 1.6e-3
_N4 = 0.0707
_TURBULENT_VALVE_REYNOLDS = 10000.0


@formula
def cavitation_number(
    pressure_abs_pa: float,
    vapour_pressure_abs_pa: float,
    density_kg_per_m3: float,
    velocity_m_per_s: float,
) -> float:
    """
    Give the cavitation number (p - pv)/(rho v^2/2).

    Parameters
    ----------
    pressure_abs_pa : float
        Absolute pressure [Pa].
    vapour_pressure_abs_pa : float
        Vapour pressure [Pa].
    density_kg_per_m3 : float
        Density [kg/m3].
    velocity_m_per_s : float
        Velocity [m/s].

    Returns
    -------
    float
        Cavitation number; infinite at rest [1].
    """
    head_pa = 0.5 * density_kg_per_m3 * velocity_m_per_s * velocity_m_per_s
    if head_pa <= 0.0:
        return math.inf
    return (pressure_abs_pa - vapour_pressure_abs_pa) / head_pa


@formula
def net_positive_suction_head(
    source_abs_pa: float,
    vapour_pressure_abs_pa: float,
    losses_pa: float,
    lift_m: float,
    density_kg_per_m3: float,
) -> float:
    """
    Give the net positive suction head available at an inlet.

    Parameters
    ----------
    source_abs_pa : float
        Absolute pressure on the fuel surface [Pa].
    vapour_pressure_abs_pa : float
        Vapour pressure at the inlet's temperature [Pa].
    losses_pa : float
        Losses between tank and inlet [Pa].
    lift_m : float
        Height of the inlet above the fuel surface [m].
    density_kg_per_m3 : float
        Density [kg/m3].

    Returns
    -------
    float
        Head of liquid [m].
    """
    weight = density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2
    return (source_abs_pa - vapour_pressure_abs_pa - losses_pa) / weight - lift_m


@formula
def critical_pressure_ratio_factor(
    vapour_pressure_abs_pa: float, critical_pressure_abs_pa: float
) -> float:
    """
    Give the liquid critical pressure ratio factor.

    Parameters
    ----------
    vapour_pressure_abs_pa : float
        Vapour pressure [Pa].
    critical_pressure_abs_pa : float
        Thermodynamic critical pressure [Pa].

    Returns
    -------
    float
        0.96 - 0.28 sqrt(pv/pc) [1].

    Notes
    -----
    IEC 60534-2-1.
    """
    return 0.96 - 0.28 * math.sqrt(vapour_pressure_abs_pa / critical_pressure_abs_pa)


@formula
def choked_pressure_difference(
    recovery_ratio: float,
    upstream_abs_pa: float,
    vapour_pressure_abs_pa: float,
    critical_ratio: float,
) -> float:
    """
    Give the pressure difference beyond which a throttle passes no more liquid.

    Parameters
    ----------
    recovery_ratio : float
        Pressure recovery factor of the throttle [1].
    upstream_abs_pa : float
        Absolute pressure before it [Pa].
    vapour_pressure_abs_pa : float
        Vapour pressure [Pa].
    critical_ratio : float
        `critical_pressure_ratio_factor` [1].

    Returns
    -------
    float
        Pressure difference [Pa].

    Notes
    -----
    IEC 60534-2-1.
    """
    effective_pa = upstream_abs_pa - critical_ratio * vapour_pressure_abs_pa
    return recovery_ratio * recovery_ratio * effective_pa


@formula
def valve_flow_coefficient(
    flow_m3_per_s: float,
    differential_pa: float,
    choked_differential_pa: float,
    density_kg_per_m3: float,
) -> float:
    """
    Give the flow coefficient that a throttle needs to pass a flow of liquid.

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, not negative [m3/s].
    differential_pa : float
        Pressure difference across it [Pa].
    choked_differential_pa : float
        `choked_pressure_difference`; more than this moves no more liquid [Pa].
    density_kg_per_m3 : float
        Density [kg/m3].

    Returns
    -------
    float
        Flow coefficient as in `feedproof.physics.fittings.valve_loss_coefficient`
        [m3/s/Pa^0.5]; times 3600 sqrt(1e5) it is Kv in m3/h at 1 bar.  Infinite where no
        pressure is left to drive the flow.

    Notes
    -----
    IEC 60534-2-1 for turbulent flow without fittings, relative density against water of
    999.1 kg/m3.
    """
    effective_pa = min(differential_pa, choked_differential_pa)
    if effective_pa <= 0.0:
        return math.inf
    # Kv is defined at 1 bar with water, whose density the flow coefficient already holds.
    return flow_m3_per_s * math.sqrt(density_kg_per_m3 / _WATER_15C_KG_PER_M3 / effective_pa)


@formula
def valve_reynolds_number(
    flow_m3_per_s: float,
    kinematic_viscosity_m2_per_s: float,
    flow_coefficient_m3_per_s_pa05: float,
    recovery_ratio: float,
    style_ratio: float,
    bore_m: float,
) -> float:
    """
    Give the Reynolds number of a throttle.

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, not negative [m3/s].
    kinematic_viscosity_m2_per_s : float
        Kinematic viscosity, above 0 [m2/s].
    flow_coefficient_m3_per_s_pa05 : float
        `valve_flow_coefficient`, above 0 [m3/s/Pa^0.5].
    recovery_ratio : float
        Pressure recovery factor of the throttle, above 0 [1].
    style_ratio : float
        Valve style modifier; 0.46 for a plug valve with flow to open [1].
    bore_m : float
        Bore of the pipe before it, above 0 [m].

    Returns
    -------
    float
        Reynolds number on the equivalent passage [1].

    Notes
    -----
    IEC 60534-2-1.
    """
    kv = flow_coefficient_m3_per_s_pa05 * _KV_PER_SI
    bore4 = (1000.0 * bore_m) ** 4
    approach = math.sqrt(math.sqrt((recovery_ratio * kv) ** 2 / (_N2_PER_MM4 * bore4) + 1.0))
    flow_per_hour = 3600.0 * flow_m3_per_s
    through = _N4 * style_ratio * flow_per_hour / kinematic_viscosity_m2_per_s
    return through / math.sqrt(kv * recovery_ratio) * approach


def valve_range_faults(valve_reynolds: float) -> list[str]:
    """
    Say in words where the sizing of a throttle leaves turbulent flow.

    Parameters
    ----------
    valve_reynolds : float
        `valve_reynolds_number` [1].

    Returns
    -------
    list of str
        One sentence, or none for turbulent flow.
    """
    if valve_reynolds >= _TURBULENT_VALVE_REYNOLDS:
        return []
    return [
        f"valve Reynolds number {valve_reynolds:.0f} is below {_TURBULENT_VALVE_REYNOLDS:.0f}"
        " (IEC 60534-2-1): the flow is not turbulent and needs a larger flow coefficient"
    ]
