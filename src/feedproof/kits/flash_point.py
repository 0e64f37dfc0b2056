"""
Flash point of diesel with petrol in it: a screening rule.

Vapour burns when the shares of its lower flammable limits add up to one (Le Chatelier), and each
liquid gives vapour by its share of moles (Raoult).  Diesel's own part is set by its own flash
point, so that no limit of diesel is needed.  Both rules and the limit of petrol are from memory.
"""

import math

from feedproof.physics.fuel import vapour_pressure

PETROL_LIMIT = (0.011, 0.014, 0.016)
"""Lower flammable limit of petrol vapour in air by volume: low, typical, high, memory. [-]"""
NORMAL_PRESSURE_ABS_PA = 101325.0
DIESEL_SLOPE_K = 5500.0
_COLDEST_K, _HALVINGS = 150.0, 80


def flash_point_with_petrol(
    petrol_mole_fraction: float,
    petrol_pressure_20c_abs_pa: float,
    petrol_slope_k: float,
    flammable_fraction: float,
    diesel_flash_k: float,
) -> float:
    """
    Give the flash point of diesel with petrol in it.

    Parameters
    ----------
    petrol_mole_fraction : float
        Petrol by mole, 0 to 1. [-]
    petrol_pressure_20c_abs_pa : float
        Its vapour pressure at 20 degC. [Pa]
    petrol_slope_k : float
        Slope of its logarithm against 1/T. [K]
    flammable_fraction : float
        Lower flammable limit of its vapour by volume. [-]
    diesel_flash_k : float
        Flash point of the diesel alone. [K]

    Returns
    -------
    float
        Flash point, never above that of the diesel unless petrol's own rule says so. [K]

    Raises
    ------
    ValueError
        A share that is none.
    """
    if not 0.0 <= petrol_mole_fraction <= 1.0:
        raise ValueError(f"petrol of {petrol_mole_fraction:g} by mole is not from 0 to 1")

    def burning(temperature_k: float) -> float:
        own = math.exp(DIESEL_SLOPE_K * (1.0 / diesel_flash_k - 1.0 / temperature_k))
        partial = petrol_mole_fraction * vapour_pressure(
            petrol_pressure_20c_abs_pa, petrol_slope_k, temperature_k
        )
        petrol = partial / (flammable_fraction * NORMAL_PRESSURE_ABS_PA)
        return (1.0 - petrol_mole_fraction) * own + petrol

    low, high = _COLDEST_K, diesel_flash_k
    # Rising with temperature, so that halving finds the one place where it is 1.
    while burning(high) < 1.0:
        high += 10.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if burning(middle) >= 1.0 else (middle, high)
    return high
