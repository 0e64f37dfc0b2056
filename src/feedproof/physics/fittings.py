"""
Pressure loss of fittings: coefficients on the velocity head of a named bore.

In cold fuel the part of a fitting's loss that falls with the Reynolds number is the larger one; a
constant coefficient taken from warm water understates it several times over.
"""

import math

from feedproof.core.compiled import formula
from feedproof.physics.losses import mean_velocity

_INCH_M = 0.0254
# Reference density of the metric flow coefficient Kv (water).
_WATER_DENSITY_KG_PER_M3 = 1000.0
_TURBULENT_REYNOLDS = 4000.0


@formula
def two_k_coefficient(
    reynolds: float,
    laminar_coefficient: float,
    turbulent_coefficient: float,
    bore_m: float,
    with_size_term: bool,
) -> float:
    """
    Give a fitting's loss coefficient by the two-K method.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the fitting's bore [1].
    laminar_coefficient : float
        K1, the coefficient at a Reynolds number of 1 [1].
    turbulent_coefficient : float
        K infinity, of a large fitting at high Reynolds number [1].
    bore_m : float
        Inner diameter of the fitting [m].
    with_size_term : bool
        True for Hooper's (1 + 1/d in inches), which adds several times K infinity at 8 mm; False
        when K infinity was found on this very bore [1].

    Returns
    -------
    float
        Loss coefficient on the fitting's own velocity head; infinite at rest [1].

    Notes
    -----
    Hooper 1981.  Fitted on pipes of 1 inch and more: below that the size term is an
    extrapolation.
    """
    size = 1.0 + _INCH_M / bore_m if with_size_term else 1.0
    if reynolds <= 0.0:
        return math.inf
    return laminar_coefficient / reynolds + turbulent_coefficient * size


@formula
def three_k_coefficient(
    reynolds: float,
    laminar_coefficient: float,
    turbulent_coefficient: float,
    size_coefficient: float,
    nominal_size: float,
) -> float:
    """
    Give a fitting's loss coefficient by the three-K method.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the fitting's bore [1].
    laminar_coefficient : float
        K1 [1].
    turbulent_coefficient : float
        Ki [1].
    size_coefficient : float
        Kd, for sizes in inches [1].
    nominal_size : float
        Nominal pipe size, as the method defines it in inches [inch].

    Returns
    -------
    float
        Loss coefficient; infinite at rest [1].

    Notes
    -----
    Darby 2001, K1/Re + Ki (1 + Kd/NPS^0.3).
    """
    if reynolds <= 0.0:
        return math.inf
    size = 1.0 + size_coefficient / math.pow(nominal_size, 0.3)
    return laminar_coefficient / reynolds + turbulent_coefficient * size


@formula
def fitting_pressure_loss(
    flow_m3_per_s: float,
    bore_m: float,
    laminar_coefficient: float,
    turbulent_coefficient: float,
    density_kg_per_m3: float,
    dynamic_viscosity_pa_s: float,
    with_size_term: bool,
) -> float:
    """
    Give the loss of one fitting with a two-K coefficient.

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, signed [m3/s].
    bore_m : float
        Inner diameter of the fitting, not of the hose [m].
    laminar_coefficient : float
        K1 [1].
    turbulent_coefficient : float
        K infinity [1].
    density_kg_per_m3 : float
        Density [kg/m3].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity [Pa s].
    with_size_term : bool
        As in `two_k_coefficient` [1].

    Returns
    -------
    float
        Pressure difference with the sign of the flow; 0 at rest [Pa].

    Notes
    -----
    K1/Re times the velocity head is K1 mu v/(2 d): written so, nothing is divided by a flow of 0.
    """
    velocity = mean_velocity(flow_m3_per_s, bore_m)
    size = 1.0 + _INCH_M / bore_m if with_size_term else 1.0
    viscous = 0.5 * laminar_coefficient * dynamic_viscosity_pa_s * velocity / bore_m
    inertial = 0.5 * turbulent_coefficient * size * density_kg_per_m3 * velocity * abs(velocity)
    return viscous + inertial


@formula
def coefficient_pressure_loss(
    flow_m3_per_s: float, bore_m: float, loss_coefficient: float, density_kg_per_m3: float
) -> float:
    """
    Give the loss of a constant coefficient, K rho v^2/2.

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, signed [m3/s].
    bore_m : float
        Bore that the coefficient refers to [m].
    loss_coefficient : float
        K [1].
    density_kg_per_m3 : float
        Density [kg/m3].

    Returns
    -------
    float
        Pressure difference with the sign of the flow [Pa].
    """
    velocity = mean_velocity(flow_m3_per_s, bore_m)
    return 0.5 * loss_coefficient * density_kg_per_m3 * velocity * abs(velocity)


@formula
def sudden_expansion_coefficient(small_bore_m: float, large_bore_m: float) -> float:
    """
    Give the loss coefficient of a sudden widening, on the small bore.

    Parameters
    ----------
    small_bore_m : float
        Bore before [m].
    large_bore_m : float
        Bore behind [m].

    Returns
    -------
    float
        (1 - (d/D)^2)^2 [1].

    Notes
    -----
    Borda-Carnot; turbulent flow.
    """
    area_ratio = (small_bore_m / large_bore_m) ** 2
    return (1.0 - area_ratio) ** 2


@formula
def laminar_expansion_coefficient(small_bore_m: float, large_bore_m: float) -> float:
    """
    Give the loss coefficient of a sudden widening in laminar flow, on the small bore.

    Parameters
    ----------
    small_bore_m : float
        Bore before [m].
    large_bore_m : float
        Bore behind [m].

    Returns
    -------
    float
        2 (1 - (d/D)^4) [1].

    Notes
    -----
    Hooper 1988, Reynolds number below 4000.
    """
    return 2.0 * (1.0 - (small_bore_m / large_bore_m) ** 4)


@formula
def sudden_contraction_coefficient(large_bore_m: float, small_bore_m: float) -> float:
    """
    Give the loss coefficient of a sudden narrowing, on the small bore.

    Parameters
    ----------
    large_bore_m : float
        Bore before [m].
    small_bore_m : float
        Bore behind [m].

    Returns
    -------
    float
        0.5 (1 - (d/D)^2) [1]; a sharp inlet from a tank is its limit 0.5.

    Notes
    -----
    Crane TP-410, sharp edge, turbulent flow.
    """
    return 0.5 * (1.0 - (small_bore_m / large_bore_m) ** 2)


@formula
def rennels_contraction_coefficient(large_bore_m: float, small_bore_m: float) -> float:
    """
    Give the loss coefficient of a sudden narrowing by its vena contracta, on the small bore.

    Parameters
    ----------
    large_bore_m : float
        Bore before [m].
    small_bore_m : float
        Bore behind [m].

    Returns
    -------
    float
        Loss coefficient [1]; a sharp inlet from a tank is its limit 0.57.

    Notes
    -----
    Rennels and Hudson 2012, sharp edge, turbulent flow.  It lies above Crane's
    `sudden_contraction_coefficient`, by 14 % at an inlet: the two show how sure such a number is.
    """
    b = small_bore_m / large_bore_m
    b2 = b * b
    b5 = b2 * b2 * b
    jet = 1.0 + 0.622 * (1.0 - 0.215 * b2 - 0.785 * b5)
    return 0.0696 * (1.0 - b5) * jet * jet + (jet - 1.0) * (jet - 1.0)


def area_change_range_faults(
    large_bore_m: float, small_bore_m: float, reynolds: float
) -> list[str]:
    """
    Say in words where the coefficients of sudden widening and narrowing leave their range.

    Parameters
    ----------
    large_bore_m : float
        Wider bore [m].
    small_bore_m : float
        Narrower bore [m].
    reynolds : float
        Reynolds number on the narrower bore [1].

    Returns
    -------
    list of str
        One sentence per departure; empty for turbulent flow.
    """
    faults = []
    if not 0.0 < small_bore_m <= large_bore_m:
        faults.append(
            f"bores {1e3 * small_bore_m:g} mm and {1e3 * large_bore_m:g} mm are not a narrower and"
            " a wider one: exchange or check them"
        )
    if reynolds < _TURBULENT_REYNOLDS:
        faults.append(
            f"Reynolds number {reynolds:.0f} is below {_TURBULENT_REYNOLDS:.0f}: the coefficients"
            " are those of turbulent flow, a laminar inlet or step costs more; take a two-K"
            " coefficient"
        )
    return faults


@formula
def rebase_coefficient(loss_coefficient: float, bore_m: float, other_bore_m: float) -> float:
    """
    Refer a loss coefficient to the velocity head of another bore.

    Parameters
    ----------
    loss_coefficient : float
        Coefficient on `bore_m` [1].
    bore_m : float
        Bore that it refers to [m].
    other_bore_m : float
        Bore wanted [m].

    Returns
    -------
    float
        Coefficient on `other_bore_m`, the same loss at the same flow [1].
    """
    return loss_coefficient * (other_bore_m / bore_m) ** 4


@formula
def valve_loss_coefficient(flow_coefficient_m3_per_s_pa05: float, bore_m: float) -> float:
    """
    Give the loss coefficient of a valve from its flow coefficient.

    Parameters
    ----------
    flow_coefficient_m3_per_s_pa05 : float
        Flow of water over the root of the pressure difference; a Kv of 1 m3/h at 1 bar is
        1/(3600 sqrt(1e5)) [m3/s/Pa^0.5].
    bore_m : float
        Bore that the coefficient shall refer to [m].

    Returns
    -------
    float
        Loss coefficient; infinite for a shut valve [1].

    Notes
    -----
    Definition of Kv with water of 1000 kg/m3.  Handbooks round the constant to 1.6e9 d^4/Kv^2,
    0.08 % more.
    """
    if flow_coefficient_m3_per_s_pa05 <= 0.0:
        return math.inf
    area_m2 = 0.25 * math.pi * bore_m * bore_m
    ratio = area_m2 / flow_coefficient_m3_per_s_pa05
    return 2.0 * ratio * ratio / _WATER_DENSITY_KG_PER_M3
