"""
What is assumed of instruments that a case does not describe.

No figure here is from a source: each is common practice, carries the mark of an assumption into
every budget that uses it, and gives way to what the case declares.
"""

from feedproof.evidence.budget.doubt import Doubt, limit, mark, standard

_SAID = "assumed, common practice"
AIR_DENSITY_KG_PER_M3 = 1.2
"""Of air at 20 degC and sea level (memory). [kg/m3]"""
WEIGHT_DENSITY_KG_PER_M3 = 8000.0
"""Of the weights that a balance is set with (OIML R 111, memory). [kg/m3]"""
EXPANSION_SHARE = 0.05
"""Of a fuel's expansion: values for diesel in print spread by so much. [-]"""
DENSITY_SHARE = 0.005
"""Of a fuel's density without a certificate of its own: 4 kg/m3. [-]"""


def torque_error() -> Doubt:
    """
    Give the limit of a roller's torque.

    Returns
    -------
    Doubt
        Common practice. [-]
    """
    return limit(0.01, f"1 % of the reading, {_SAID}", assumed=True)


def speed_error() -> Doubt:
    """
    Give the limit of a roller's speed.

    Returns
    -------
    Doubt
        Common practice. [-]
    """
    return limit(0.002, f"0.2 % of the reading, {_SAID}", assumed=True)


def roller_drift() -> Doubt:
    """
    Give what a roller's torque moves by within a session: some kelvin of its load cell.

    Returns
    -------
    Doubt
        Common practice. [-]
    """
    return limit(0.001, f"0.1 % within a session, {_SAID}", assumed=True)


def air_pressure_error() -> Doubt:
    """
    Give the limit of the cell's barometer.

    Returns
    -------
    Doubt
        Common practice. [Pa]
    """
    return limit(300.0, f"0.3 kPa, {_SAID}", assumed=True)


def air_temperature_error() -> Doubt:
    """
    Give the limit of the intake air's thermometer with its place.

    Returns
    -------
    Doubt
        Common practice. [K]
    """
    return limit(2.0, f"2 K with its place, {_SAID}", assumed=True)


def gauge_place() -> Doubt:
    """
    Give the standard uncertainty of a gauge's height above the pump inlet.

    Returns
    -------
    Doubt
        Common practice. [m]
    """
    return standard(0.010, f"10 mm with a rule beside the vehicle, {_SAID}", assumed=True)


def gauge_placed_again() -> Doubt:
    """
    Give the same of a gauge that is hung on its mark again.

    Returns
    -------
    Doubt
        Common practice. [m]
    """
    return standard(0.003, f"3 mm on the same mark, {_SAID}", assumed=True)


def zero_error() -> Doubt:
    """
    Give the limit of a zero that nobody read before and after.

    Returns
    -------
    Doubt
        Common practice. [Pa]
    """
    return limit(200.0, f"0.2 kPa, no zero was read, {_SAID}", assumed=True)


def reaction() -> Doubt:
    """
    Give the standard uncertainty of starting, and of stopping, a watch by hand.

    Returns
    -------
    Doubt
        Common practice. [s]
    """
    return standard(0.25, f"0.25 s each by hand, {_SAID}", assumed=True)


def thermometer() -> Doubt:
    """
    Give the limit of the temperature of fuel in a jug.

    Returns
    -------
    Doubt
        Common practice. [K]
    """
    return limit(2.0, f"2 K in a jug, {_SAID}", assumed=True)


def volume_left_over() -> Doubt:
    """
    Give the limit of fuel left in hose and jug in one catch.

    Returns
    -------
    Doubt
        Common practice. [m3]
    """
    return limit(5e-6, f"5 mL in hose and jug, {_SAID}", assumed=True)


def mass_left_over() -> Doubt:
    """
    Give the limit of fuel left in hose and jug in one catch.

    Returns
    -------
    Doubt
        Common practice. [kg]
    """
    return limit(4e-3, f"4 g in hose and jug, {_SAID}", assumed=True)


def jug_error() -> Doubt:
    """
    Give the limit of a measuring jug.

    Returns
    -------
    Doubt
        Common practice. [m3]
    """
    return limit(20e-6, f"20 mL, no jug is declared, {_SAID}", assumed=True)


def jug_reading() -> Doubt:
    """
    Give the reading of a measuring jug by eye.

    Returns
    -------
    Doubt
        Common practice. [m3]
    """
    return mark(10e-6, f"marks of 10 mL, no jug is declared, {_SAID}", assumed=True)


def fuel_expansion(expansion_per_k: float) -> Doubt:
    """
    Give the limit of a fuel's expansion.

    Parameters
    ----------
    expansion_per_k : float
        Of the fuel. [1/K]

    Returns
    -------
    Doubt
        Common practice. [1/K]
    """
    text = f"{100 * EXPANSION_SHARE:g} % of the expansion, {_SAID}"
    return limit(EXPANSION_SHARE * expansion_per_k, text, assumed=True)


def fuel_density(density_15c_kg_per_m3: float) -> Doubt:
    """
    Give the limit of a fuel's density at 15 degC.

    Parameters
    ----------
    density_15c_kg_per_m3 : float
        Of the fuel. [kg/m3]

    Returns
    -------
    Doubt
        Common practice. [kg/m3]
    """
    text = f"{100 * DENSITY_SHARE:g} % of the density, {_SAID}"
    return limit(DENSITY_SHARE * density_15c_kg_per_m3, text, assumed=True)


def buoyancy(density_15c_kg_per_m3: float) -> Doubt:
    """
    Give what air carries of a fuel beside the weights, which is not corrected for.

    Parameters
    ----------
    density_15c_kg_per_m3 : float
        Of the fuel. [kg/m3]

    Returns
    -------
    Doubt
        Common practice. [-]
    """
    share = AIR_DENSITY_KG_PER_M3 * (1.0 / density_15c_kg_per_m3 - 1.0 / WEIGHT_DENSITY_KG_PER_M3)
    return limit(share, f"{100 * share:.2f} % carried by the air, not corrected for")
