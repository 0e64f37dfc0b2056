"""
Bends and valves after Crane: multiples of the friction factor of steel pipe at full turbulence.

Not for fuel lines as they stand: Crane's factor is that of steel pipe from 15 mm bore up, at
Reynolds numbers where friction no longer depends on them, and a fuel line has 8 mm and Reynolds
numbers of a thousand.  The formulas are here to check handbook examples and large fixed piping;
`crane_range_faults` says so for every other use, and `two_k_coefficient` is the one for a line.
"""

import math

from feedproof.core.compiled import formula
from feedproof.physics.friction import colebrook_friction_factor

# Farshad and Rieke 2006, bare carbon steel: relative roughness 1.4e-3 (bore in inches)^-1.0112.
_ROUGHNESS_COEFFICIENT = 1.4e-3
_ROUGHNESS_EXPONENT = -1.0112
_INCH_M = 0.0254
# Density times velocity over viscosity at which Colebrook gives Crane's rounded factors.
_FULL_TURBULENCE_PER_M = 7.5e6
_QUARTER_TURN_RAD = 0.5 * math.pi
_LEAST_BORE_M = 0.015
_GREATEST_BORE_M = 0.9
_TURBULENT_REYNOLDS = 4000.0
# Loss of a 90 degree bend over the friction factor, Crane TP-410, by bend radius over bore.
_BEND_RATIOS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 20.0)
_BEND_FACTORS = (20.0, 14.0, 12.0, 12.0, 14.0, 17.0, 24.0, 30.0, 34.0, 38.0, 42.0, 50.0)


@formula
def crane_friction_factor(bore_m: float) -> float:
    """
    Give Crane's friction factor of commercial steel pipe at full turbulence.

    Parameters
    ----------
    bore_m : float
        Inner diameter of the pipe, 0.015 to 0.9 [m].

    Returns
    -------
    float
        Darcy friction factor f_T [1]; 0.018 for a 3 inch pipe.

    Notes
    -----
    Crane TP-410 prints rounded values by pipe size.  The smooth form here is that of the fluids
    library: Colebrook at a Reynolds number of 7.5e6 per metre of bore, with the roughness of bare
    carbon steel by Farshad and Rieke 2006; it rounds to every value that Crane prints.
    """
    relative_roughness = _ROUGHNESS_COEFFICIENT * math.pow(bore_m / _INCH_M, _ROUGHNESS_EXPONENT)
    return colebrook_friction_factor(_FULL_TURBULENCE_PER_M * bore_m, relative_roughness)


@formula
def crane_bend_factor(bend_ratio: float) -> float:
    """
    Give the loss coefficient of a 90 degree bend over the friction factor.

    Parameters
    ----------
    bend_ratio : float
        Radius of the bend's axis over the bore, 1 to 20 [1].

    Returns
    -------
    float
        K over f_T [1]; not a number outside the table.

    Notes
    -----
    Crane TP-410, flanged or butt-welded bends; straight lines between the printed points.  A
    polynomial through the same points differs by 1.1 % at a ratio of 5.
    """
    if bend_ratio == _BEND_RATIOS[0]:
        return _BEND_FACTORS[0]
    for place in range(1, len(_BEND_RATIOS)):
        left, right = _BEND_RATIOS[place - 1], _BEND_RATIOS[place]
        if left < bend_ratio <= right:
            share = (bend_ratio - left) / (right - left)
            return _BEND_FACTORS[place - 1] * (1.0 - share) + _BEND_FACTORS[place] * share
    return math.nan


@formula
def crane_bend_coefficient(
    friction_factor: float, bend_factor: float, bend_ratio: float, angle_rad: float
) -> float:
    """
    Give the loss coefficient of a bend of any angle.

    Parameters
    ----------
    friction_factor : float
        `crane_friction_factor` of the pipe [1].
    bend_factor : float
        `crane_bend_factor` of the bend [1].
    bend_ratio : float
        Radius of the bend's axis over the bore [1].
    angle_rad : float
        Angle of the bend [rad].

    Returns
    -------
    float
        Loss coefficient on the bore, the bend's own length included [1].

    Notes
    -----
    Crane TP-410: K = (n - 1)(pi/4 f_T r/d + K90/2) + K90 with n quarter turns.  The book gives it
    for whole quarter turns; less than one is the same line drawn on.
    """
    quarter = friction_factor * bend_factor
    more = 0.25 * math.pi * friction_factor * bend_ratio + 0.5 * quarter
    return (angle_rad / _QUARTER_TURN_RAD - 1.0) * more + quarter


def crane_range_faults(bore_m: float, bend_ratio: float, reynolds: float) -> list[str]:
    """
    Say in words where Crane's bends and factors leave the range of their source.

    Parameters
    ----------
    bore_m : float
        Inner diameter of the pipe [m].
    bend_ratio : float
        Radius of the bend's axis over the bore [1].
    reynolds : float
        Reynolds number on the bore [1].

    Returns
    -------
    list of str
        One sentence per departure; empty for turbulent flow in steel pipe of the book's sizes.
    """
    faults = []
    if bore_m < _LEAST_BORE_M:
        faults.append(
            f"bore {1e3 * bore_m:.1f} mm: Crane's friction factor is not for use below about"
            f" {1e3 * _LEAST_BORE_M:.0f} mm bore; take a two-K coefficient found on this bore"
        )
    if bore_m > _GREATEST_BORE_M:
        faults.append(
            f"bore {1e3 * bore_m:.0f} mm is above {1e3 * _GREATEST_BORE_M:.0f} mm, the end of"
            " Crane's table"
        )
    if not _BEND_RATIOS[0] <= bend_ratio <= _BEND_RATIOS[-1]:
        faults.append(
            f"bend radius of {bend_ratio:g} bores lies outside {_BEND_RATIOS[0]:g} to"
            f" {_BEND_RATIOS[-1]:g} (Crane TP-410)"
        )
    if reynolds < _TURBULENT_REYNOLDS:
        faults.append(
            f"Reynolds number {reynolds:.0f} is below {_TURBULENT_REYNOLDS:.0f}: Crane's"
            " coefficients are those of turbulent flow and understate a laminar loss"
        )
    return faults
