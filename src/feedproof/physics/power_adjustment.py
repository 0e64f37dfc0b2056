"""
Power that a compression-ignition engine is expected to give in other ambient air.

The other direction of `feedproof.physics.power_correction`: not a measured power brought to
reference air, but a declared power carried to the air of a site.  ISO 3046-1 and ISO 15550 write
it for engines that are not limited by their fuelling; formula and reference air are from memory.
"""

import math

from feedproof.core.compiled import formula

SITE_REFERENCE_PRESSURE_PA = 100000.0
SITE_REFERENCE_TEMPERATURE_K = 298.0
SITE_REFERENCE_COOLANT_K = 298.0


@formula
def indicated_power_ratio(
    ambient_abs_pa: float,
    temperature_k: float,
    coolant_temperature_k: float,
    pressure_exponent: float,
    temperature_exponent: float,
    coolant_exponent: float,
) -> float:
    """
    Give k, the indicated power in a site's air over that in reference air.

    Parameters
    ----------
    ambient_abs_pa : float
        Ambient pressure [Pa].
    temperature_k : float
        Temperature of the ambient air [K].
    coolant_temperature_k : float
        Temperature of the coolant at the charge-air cooler's inlet [K].
    pressure_exponent : float
        m of the engine's group; 1 naturally aspirated, 0.7 turbocharged [1].
    temperature_exponent : float
        n of the group; 0.75 naturally aspirated, 1.2 charge cooled, 2 turbocharged without [1].
    coolant_exponent : float
        q of the group; 1 charge cooled, else 0 [1].

    Returns
    -------
    float
        Ratio, 1 at 100 kPa, 298 K and a coolant of 298 K [1].

    Notes
    -----
    ISO 3046-1 with its humidity term left out (its factor a = 0); exponents and form from memory.
    """
    air = math.pow(ambient_abs_pa / SITE_REFERENCE_PRESSURE_PA, pressure_exponent)
    warmth = math.pow(SITE_REFERENCE_TEMPERATURE_K / temperature_k, temperature_exponent)
    cooler = math.pow(SITE_REFERENCE_COOLANT_K / coolant_temperature_k, coolant_exponent)
    return air * warmth * cooler


@formula
def brake_power_ratio(indicated_ratio: float, mechanical_efficiency_ratio: float) -> float:
    """
    Give alpha, the brake power in a site's air over that in reference air.

    Parameters
    ----------
    indicated_ratio : float
        `indicated_power_ratio` [1].
    mechanical_efficiency_ratio : float
        Mechanical efficiency in reference air, above 0; 0.8 where it is not known [1].

    Returns
    -------
    float
        Ratio [1].

    Notes
    -----
    ISO 3046-1, k - 0.7 (1 - k)(1/eta - 1), from memory: friction falls less than the power.
    """
    return indicated_ratio - 0.7 * (1.0 - indicated_ratio) * (
        1.0 / mechanical_efficiency_ratio - 1.0
    )


def adjustment_range_faults(ambient_abs_pa: float, mechanical_efficiency_ratio: float) -> list[str]:
    """
    Say in words where a power adjustment has no meaning.

    Parameters
    ----------
    ambient_abs_pa : float
        Ambient pressure [Pa].
    mechanical_efficiency_ratio : float
        Mechanical efficiency in reference air [1].

    Returns
    -------
    list of str
        One sentence per fault.

    Notes
    -----
    The pressure limit is ours: 54 kPa is 5000 m of ISO 2533.  The standard leaves the range to the
    maker of the engine.
    """
    faults = []
    if not 54000.0 <= ambient_abs_pa <= 110000.0:
        faults.append(
            f"ambient pressure {ambient_abs_pa / 1000.0:.1f} kPa lies outside 54 to 110 kPa:"
            " ask the maker of the engine"
        )
    if not 0.0 < mechanical_efficiency_ratio <= 1.0:
        faults.append(
            f"mechanical efficiency {mechanical_efficiency_ratio:g} is not above 0 and up to 1"
        )
    return faults
