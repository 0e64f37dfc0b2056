"""
Margins against vapour at an inlet or a throttle.

For clean diesel vapour pressure is tens of pascal and released air governs; these numbers matter
for hot fuel and for petrol in diesel.
"""

import math

from feedproof.core.compiled import formula
from feedproof.physics.atmosphere import STANDARD_GRAVITY_M_PER_S2


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
