"""
Fuel properties over temperature: viscosity, density, vapour pressure, air it can dissolve.

Viscosity is Newtonian only above the cloud point; below it the formulas describe the liquid
between the wax crystals.
"""

import math

from feedproof.core.compiled import formula

_M2_PER_MM2 = 1e-6
_ZERO_CELSIUS_K = 273.15
_TWENTY_CELSIUS_K = 293.15
# 10^(10^2.4) is the last double logarithm inside the range of a float.
_GREATEST_DOUBLE_LOGARITHM = 2.4
# ASTM D2779: Ostwald coefficient of air at 273 K in a liquid of 0.85 kg/L.
AIR_REFERENCE_COEFFICIENT = 0.098


@formula
def _double_logarithm(z: float) -> float:
    """Give log10 log10 of Walther's argument, not a number where it has none."""
    if z <= 1.0:
        return math.nan
    return math.log10(math.log10(z))


@formula
def _double_power(w: float) -> float:
    """Undo the double logarithm, infinite beyond the range of a float."""
    if w > _GREATEST_DOUBLE_LOGARITHM:
        return math.inf
    return math.pow(10.0, math.pow(10.0, w))


@formula
def _line_through(t1_k: float, w1: float, t2_k: float, w2: float) -> tuple[float, float]:
    """Give A and B of w = A - B log10 T through two points."""
    if t1_k <= 0.0 or t2_k <= 0.0 or t1_k == t2_k:
        return math.nan, math.nan
    b = (w1 - w2) / (math.log10(t2_k) - math.log10(t1_k))
    return w1 + b * math.log10(t1_k), b


@formula
def walther_constants(
    t1_k: float, nu1_m2_per_s: float, t2_k: float, nu2_m2_per_s: float
) -> tuple[float, float]:
    """
    Give Walther's two constants from two measured viscosities.

    Parameters
    ----------
    t1_k : float
        First temperature [K].
    nu1_m2_per_s : float
        Kinematic viscosity there, above 0.3e-6 [m2/s].
    t2_k : float
        Second temperature, not the first [K].
    nu2_m2_per_s : float
        Kinematic viscosity there, above 0.3e-6 [m2/s].

    Returns
    -------
    tuple of float and float
        A and B of log10 log10(nu + 0.7) = A - B log10 T with nu in mm2/s [1, 1]; not a number
        where the points allow none.

    Notes
    -----
    ASTM D341 short form, strictly for 2 mm2/s and more.  Mind the offset of the temperature: old
    worked sheets use C + 273.
    """
    w1 = _double_logarithm(nu1_m2_per_s / _M2_PER_MM2 + 0.7)
    w2 = _double_logarithm(nu2_m2_per_s / _M2_PER_MM2 + 0.7)
    return _line_through(t1_k, w1, t2_k, w2)


@formula
def walther_constant_by_slope(temperature_k: float, nu_m2_per_s: float, b: float) -> float:
    """
    Give Walther's first constant from one measured viscosity and a known slope.

    Parameters
    ----------
    temperature_k : float
        Temperature, above 0 [K].
    nu_m2_per_s : float
        Kinematic viscosity there, above 0.3e-6 [m2/s].
    b : float
        Constant B of a fuel of the same kind; road diesel 4.1 to 4.3 [1].

    Returns
    -------
    float
        A of log10 log10(nu + 0.7) = A - B log10 T with nu in mm2/s [1].

    Notes
    -----
    ASTM D341 short form; the slope of a kind of fuel changes little from batch to batch.
    """
    return _double_logarithm(nu_m2_per_s / _M2_PER_MM2 + 0.7) + b * math.log10(temperature_k)


@formula
def walther_kinematic_viscosity(temperature_k: float, a: float, b: float) -> float:
    """
    Give the kinematic viscosity by Walther's equation.

    Parameters
    ----------
    temperature_k : float
        Fuel temperature, above 0 [K].
    a : float
        Constant A of `walther_constants` [1].
    b : float
        Constant B of `walther_constants` [1].

    Returns
    -------
    float
        Kinematic viscosity [m2/s].

    Notes
    -----
    ASTM D341 short form.

    Examples
    --------
    >>> a, b = walther_constants(293.15, 4.8e-6, 313.15, 2.95e-6)
    >>> round(1e6 * walther_kinematic_viscosity(273.15, a, b), 1)
    9.2
    """
    return (_double_power(a - b * math.log10(temperature_k)) - 0.7) * _M2_PER_MM2


@formula
def d341_z(kinematic_viscosity_m2_per_s: float) -> float:
    """
    Give Z of the full form of ASTM D341.

    Parameters
    ----------
    kinematic_viscosity_m2_per_s : float
        Kinematic viscosity, 0.21e-6 and more [m2/s].

    Returns
    -------
    float
        Z = nu + 0.7 + exp(-1.47 - 1.84 nu - 0.51 nu^2), nu in mm2/s [1].

    Notes
    -----
    ASTM D341-09 equation 2.
    """
    nu = kinematic_viscosity_m2_per_s / _M2_PER_MM2
    return nu + 0.7 + math.exp(-1.47 - 1.84 * nu - 0.51 * nu * nu)


@formula
def d341_constants(
    t1_k: float, nu1_m2_per_s: float, t2_k: float, nu2_m2_per_s: float
) -> tuple[float, float]:
    """
    Give the two constants of the full form of ASTM D341.

    Parameters
    ----------
    t1_k : float
        First temperature [K].
    nu1_m2_per_s : float
        Kinematic viscosity there [m2/s].
    t2_k : float
        Second temperature, not the first [K].
    nu2_m2_per_s : float
        Kinematic viscosity there [m2/s].

    Returns
    -------
    tuple of float and float
        A and B of log10 log10 Z = A - B log10 T [1, 1].

    Notes
    -----
    ASTM D341-09; for light or hot fuel, below 2 mm2/s.
    """
    w1 = _double_logarithm(d341_z(nu1_m2_per_s))
    w2 = _double_logarithm(d341_z(nu2_m2_per_s))
    return _line_through(t1_k, w1, t2_k, w2)


@formula
def d341_kinematic_viscosity(temperature_k: float, a: float, b: float) -> float:
    """
    Give the kinematic viscosity by the full form of ASTM D341.

    Parameters
    ----------
    temperature_k : float
        Fuel temperature, above 0 [K].
    a : float
        Constant A of `d341_constants` [1].
    b : float
        Constant B of `d341_constants` [1].

    Returns
    -------
    float
        Kinematic viscosity [m2/s].

    Notes
    -----
    Z is undone by Newton steps on `d341_z` itself, so the pair returns its own points.  The
    standard prints an approximate inverse instead (memory), good to a fraction of a per cent.
    """
    z = _double_power(a - b * math.log10(temperature_k))
    if math.isinf(z) or math.isnan(z):
        return z
    nu = z - 0.7
    for _ in range(12):
        correction = math.exp(-1.47 - 1.84 * nu - 0.51 * nu * nu)
        residual = nu + 0.7 + correction - z
        nu -= residual / (1.0 - correction * (1.84 + 1.02 * nu))
    return nu * _M2_PER_MM2


@formula
def linear_density(density_15c: float, expansion_per_k: float, temperature_k: float) -> float:
    """
    Give the density by a straight line from its value at 15 degrees Celsius.

    Parameters
    ----------
    density_15c : float
        Density at 288.15 K [kg/m3].
    expansion_per_k : float
        Expansion coefficient, about 8.3e-4 for diesel [1/K].
    temperature_k : float
        Fuel temperature [K].

    Returns
    -------
    float
        Density [kg/m3].

    Notes
    -----
    Common practice; within 0.2 % of ASTM D1250 for diesel from -20 to 70 degrees Celsius.
    """
    return density_15c * (1.0 - expansion_per_k * (temperature_k - _ZERO_CELSIUS_K - 15.0))


@formula
def vapour_pressure(pressure_20c_abs_pa: float, slope_k: float, temperature_k: float) -> float:
    """
    Give the vapour pressure from its value at 20 degrees Celsius.

    Parameters
    ----------
    pressure_20c_abs_pa : float
        Vapour pressure at 293.15 K [Pa].
    slope_k : float
        Slope of ln p over -1/T; 5500 for diesel, about 3400 for petrol in diesel [K].
    temperature_k : float
        Fuel temperature, above 0 [K].

    Returns
    -------
    float
        Absolute vapour pressure [Pa].

    Notes
    -----
    Clausius-Clapeyron with a constant slope; slopes are screening values (memory).  For clean
    diesel the air that comes out of solution matters long before the vapour.
    """
    return pressure_20c_abs_pa * math.exp(slope_k * (1.0 / _TWENTY_CELSIUS_K - 1.0 / temperature_k))


@formula
def ostwald_coefficient(
    reference_coefficient: float, temperature_k: float, density_15c: float
) -> float:
    """
    Give the Ostwald coefficient of a gas in a petroleum liquid.

    Parameters
    ----------
    reference_coefficient : float
        Coefficient at 273 K in a liquid of 850 kg/m3; air 0.098, nitrogen 0.069, oxygen 0.16 [1].
    temperature_k : float
        Temperature, 228 to 423 [K].
    density_15c : float
        Density at 15 degrees Celsius, 630 to 900 [kg/m3].

    Returns
    -------
    float
        Gas volume over liquid volume at the gas's own partial pressure and temperature [1].

    Notes
    -----
    ASTM D2779, formula and constants from memory.  Expect it 20 to 30 % high for light paraffinic
    fuel.
    """
    exponent = 0.639 * (700.0 - temperature_k) / temperature_k
    at_850 = 0.300 * math.exp(exponent * math.log(3.333 * reference_coefficient))
    return 7.70 * at_850 * (0.980 - density_15c / 1000.0)


@formula
def ostwald_air_coefficient(temperature_k: float, density_15c: float) -> float:
    """
    Give the Ostwald coefficient of air in a petroleum fuel.

    Parameters
    ----------
    temperature_k : float
        Temperature, 228 to 423 [K].
    density_15c : float
        Density at 15 degrees Celsius, 630 to 900 [kg/m3].

    Returns
    -------
    float
        Air volume over fuel volume [1].

    Notes
    -----
    ASTM D2779 from memory; treat as 0.10 to 0.20 for road diesel.
    """
    return ostwald_coefficient(AIR_REFERENCE_COEFFICIENT, temperature_k, density_15c)


@formula
def ostwald_at_temperature(ostwald_20c: float, temperature_k: float) -> float:
    """
    Give the Ostwald coefficient of air of a fuel whose value at 20 degrees Celsius is known.

    Parameters
    ----------
    ostwald_20c : float
        Coefficient at 293.15 K, measured or of a grade [1].
    temperature_k : float
        Temperature, 228 to 423 [K].

    Returns
    -------
    float
        Coefficient there; it rises with temperature, 11.5 % from 20 to 40 degrees Celsius [1].

    Notes
    -----
    Temperature rule of ASTM D2779, from memory, in which density drops out.  For nitrogen in
    n-decane it has the slope of the GERG-2008 equation of state within 3 % from 0 to 60 degrees.
    """
    density = 850.0
    here = ostwald_air_coefficient(temperature_k, density)
    return ostwald_20c * here / ostwald_air_coefficient(_TWENTY_CELSIUS_K, density)


@formula
def bunsen_coefficient(ostwald: float, temperature_k: float) -> float:
    """
    Give the Bunsen from the Ostwald coefficient at one atmosphere.

    Parameters
    ----------
    ostwald : float
        Ostwald coefficient at the temperature [1].
    temperature_k : float
        Temperature, above 0 [K].

    Returns
    -------
    float
        Gas volume at 273.15 K and one atmosphere over liquid volume [1].

    Notes
    -----
    Definition, IUPAC.
    """
    return ostwald * _ZERO_CELSIUS_K / temperature_k
