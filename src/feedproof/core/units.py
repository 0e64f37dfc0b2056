"""
Units, at the edges only: text with a unit becomes an SI float, an SI float becomes text.

Inside the program every number is SI and its name says the unit.  Conversion factors come from
the pint library; the program keeps no table of its own.  Two traps are closed here: a bare
number for a quantity that has a dimension is refused, and "barrel" (which pint takes for
31.5 US gallons) is not offered.
"""

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """
    A kind of quantity that a case or a log can hold.

    Parameters
    ----------
    name : str
        Name in words, for messages.
    si_unit : str
        Unit of the stored float.
    examples : tuple of str
        Units that a workshop would write, for messages.
    """

    name: str
    si_unit: str
    examples: tuple[str, ...]


DIMENSIONS: dict[str, Dimension] = {
    key: Dimension(name=name, si_unit=si, examples=tuple(examples.split(", ")))
    for key, name, si, examples in (
        ("length", "length", "m", "mm, m, inch"),
        ("area", "area", "m**2", "m^2, cm^2"),
        ("volume", "volume", "m**3", "L, mL, US_gallon"),
        ("duration", "duration", "s", "s, min, h"),
        ("speed", "road speed", "m/s", "km/h, mph, m/s"),
        ("acceleration", "sweep rate", "m/s**2", "km/h/s, m/s^2"),
        ("rotation", "rotational speed", "revolution/s", "rpm, rps"),
        ("pressure", "pressure or difference", "Pa", "kPa, inHg, bar, mbar, psi"),
        ("temperature", "temperature", "K", "degC, K, degF"),
        ("temperature_difference", "temperature difference", "K", "K, delta_degC"),
        ("flow", "volume flow", "m**3/s", "L/h, L/min, mL/min"),
        ("volume_per_revolution", "displacement per revolution", "m**3", "cm^3, mL"),
        ("mass", "mass", "kg", "g, kg"),
        ("power", "power", "W", "kW, hp, PS"),
        ("torque", "torque", "N*m", "N m, lbf ft"),
        ("density", "density", "kg/m**3", "kg/m^3, g/mL"),
        ("kinematic_viscosity", "kinematic viscosity", "m**2/s", "mm^2/s, cSt"),
        ("dynamic_viscosity", "dynamic viscosity", "Pa*s", "mPa s, cP"),
        ("specific_consumption", "specific fuel consumption", "kg/J", "g/kWh"),
        ("specific_energy", "heating value", "J/kg", "MJ/kg, kJ/kg"),
        ("inertia", "moment of inertia", "kg*m**2", "kg m^2"),
        ("angle", "angle", "rad", "deg, rad"),
        ("per_length", "media resistance", "1/m", "1/m"),
        ("per_volume", "housing resistance, viscous", "1/m**3", "1/m^3"),
        ("inertial", "housing resistance, inertial", "1/m**4", "1/m^4"),
        ("per_temperature", "thermal expansion", "1/K", "1/K"),
        ("fraction", "fraction", "dimensionless", "%, 1"),
        ("number", "pure number", "dimensionless", "1"),
        ("altitude", "altitude", "m", "m, ft"),
    )
}
# Written by workshops, not known to pint under this name, or known as something else.
_SPELLINGS = {
    "inHg": "inch_Hg",
    "inH2O": "inch_H2O",
    "PS": "metric_horsepower",
    "km/h/s": "km/h/s",
    "kmh": "km/h",
    "l/h": "L/h",
    "lph": "L/h",
    # Litres over a hundred kilometres are centilitres over one.
    "L/100km": "cL/km",
    "L/100 km": "cL/km",
    "l/100km": "cL/km",
    "l/100 km": "cL/km",
    "°C": "degC",
    "C": "degC",
    "deg C": "degC",
    "mm2/s": "mm^2/s",
    "m2/s": "m^2/s",
    "m2": "m^2",
    "kg/m3": "kg/m^3",
    "N m": "N*m",
    "Nm": "N*m",
    "mPa s": "mPa*s",
    "mPas": "mPa*s",
    "Pa s": "Pa*s",
    "kg m^2": "kg*m^2",
    "kg m2": "kg*m^2",
    "lbf ft": "lbf*ft",
    "g/kWh": "g/(kW*h)",
    "%": "percent",
    "1": "dimensionless",
    "": "dimensionless",
    "cm3": "cm^3",
    "1/min": "rpm",
    "U/min": "rpm",
    "US_gallon": "US_liquid_gallon",
    "US_gallon/h": "US_liquid_gallon/h",
    "l": "L",
    "ml": "mL",
}
# A unit such as m**(9**9**9) would keep the machine busy for ever: powers are one digit.
_LONGEST_UNIT = 40
_POWER_TRAPS = re.compile(r"\)(\^|\*\*)|(\^|\*\*)(?!-?\d(?!\d|\.|e|\^|\*\*))")
_REFUSED = {"barrel": "write oil_barrel (42 US gal) or L", "c": "write degC"}


@cache
def _registry() -> Any:
    """Load the unit library once, when a unit is first needed."""
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@cache
def _unit(unit: str) -> Any:
    """Parse a unit in the spellings that workshops write."""
    text = unit.strip()
    if text in _REFUSED:
        raise ValueError(f"unit {text!r} is ambiguous: {_REFUSED[text]}")
    text = _SPELLINGS.get(text, text)
    if len(text) > _LONGEST_UNIT or _POWER_TRAPS.search(text.replace(" ", "")):
        raise ValueError(f"unit {unit[:_LONGEST_UNIT]!r} is not known")
    try:
        return _registry().Unit(text)
    except Exception as fault:  # pint raises many kinds, from parser errors to attribute errors
        raise ValueError(f"unit {unit!r} is not known") from fault


@cache
def _line(unit: str, si_unit: str) -> tuple[float, float]:
    """Give factor and offset of the straight line from a unit to SI."""
    registry = _registry()
    origin = registry.Quantity(0.0, _unit(unit)).to(_unit(si_unit)).magnitude
    one = registry.Quantity(1.0, _unit(unit)).to(_unit(si_unit)).magnitude
    return float(one - origin), float(origin)


@cache
def _base_unit(unit: str) -> str:
    """Give the SI unit that a unit reduces to; rotation is kept in revolutions."""
    parsed = _unit(unit)
    for dimension in DIMENSIONS.values():
        if _registry().is_compatible_with(parsed, _unit(dimension.si_unit)) and (
            dimension.si_unit != "revolution/s" or "revolution" in str(parsed)
        ):
            return dimension.si_unit
    return str(_registry().Quantity(1.0, parsed).to_base_units().units)


def to_si(value: float, unit: str, kind: str | None = None) -> float:
    """
    Change a number in a unit to SI.

    Parameters
    ----------
    value : float
        The number as read.
    unit : str
        Its unit, as a workshop writes it.
    kind : str, optional
        Key of `DIMENSIONS` that the unit must fit; without it any known unit is taken.

    Returns
    -------
    float
        The value in SI; rotational speed in revolutions per second.

    Raises
    ------
    ValueError
        The unit is not known, or does not fit the kind.

    Examples
    --------
    >>> round(to_si(15.0, "inHg", "pressure"), 1)
    50795.8
    >>> to_si(40.0, "degC", "temperature")
    313.15
    >>> to_si(3000.0, "rpm", "rotation")
    50.0
    """
    si_unit = DIMENSIONS[kind].si_unit if kind else _base_unit(unit)
    if kind and not unit_fits(unit, kind):
        dimension = DIMENSIONS[kind]
        raise ValueError(
            f"unit {unit!r} is not a unit of {dimension.name}"
            f" (such as {', '.join(dimension.examples)})"
        )
    factor, origin = _line(unit, si_unit)
    return value * factor + origin


def from_si(value: float, unit: str, kind: str | None = None) -> float:
    """
    Change an SI number to a unit.

    Parameters
    ----------
    value : float
        The number in SI.
    unit : str
        The unit wanted.
    kind : str, optional
        Key of `DIMENSIONS`, as in `to_si`.

    Returns
    -------
    float
        The value in that unit.

    Examples
    --------
    >>> round(from_si(50795.8, "inHg", "pressure"), 3)
    15.0
    """
    si_unit = DIMENSIONS[kind].si_unit if kind else _base_unit(unit)
    factor, origin = _line(unit, si_unit)
    return (value - origin) / factor


def unit_fits(unit: str, kind: str) -> bool:
    """
    Say whether a unit belongs to a kind of quantity.

    Parameters
    ----------
    unit : str
        Unit as written.
    kind : str
        Key of `DIMENSIONS`.

    Returns
    -------
    bool
        False for a unit of another kind.

    Raises
    ------
    ValueError
        The unit is not known at all.

    Examples
    --------
    >>> unit_fits("kPa", "pressure"), unit_fits("kPa", "length")
    (True, False)
    """
    return _fits(unit, kind)


# A document asks for the same few units hundreds of times, and each answer takes the library long.
@cache
def _fits(unit: str, kind: str) -> bool:
    """Say whether a unit belongs to a kind of quantity."""
    parsed = _unit(unit)
    # The unit library counts turns, plain numbers and 1/s as one dimension: it would take 50 Hz
    # for 8 rev/s and 90 degrees of pedal for 157 %.
    turns = any(word in str(parsed) for word in ("revolution", "radian", "degree", "turn"))
    if kind == "rotation" and not turns:
        return False
    if kind in ("fraction", "number") and turns:
        return False
    return bool(_registry().is_compatible_with(parsed, _unit(DIMENSIONS[kind].si_unit)))


def si_line(unit: str, kind: str) -> tuple[float, float]:
    """
    Give the straight line that changes a unit to SI, for whole columns at once.

    Parameters
    ----------
    unit : str
        Unit as written.
    kind : str
        Key of `DIMENSIONS` that the unit must fit.

    Returns
    -------
    tuple of float and float
        Factor and offset: ``si = value * factor + offset``, digit for digit as `to_si`.

    Raises
    ------
    ValueError
        The unit is not known, or does not fit the kind.

    Examples
    --------
    >>> si_line("kPa", "pressure")
    (1000.0, 0.0)
    >>> si_line("degC", "temperature")
    (1.0, 273.15)
    """
    dimension = DIMENSIONS[kind]
    if not unit_fits(unit, kind):
        raise ValueError(
            f"unit {unit!r} is not a unit of {dimension.name}"
            f" (such as {', '.join(dimension.examples)})"
        )
    return _line(unit, dimension.si_unit)


def parse_quantity(text: str | float, kind: str) -> float:
    """
    Read a quantity such as ``"8 mm"`` into SI.

    Parameters
    ----------
    text : str or float
        Number and unit; a bare number only for fractions and pure numbers.
    kind : str
        Key of `DIMENSIONS`.

    Returns
    -------
    float
        The value in SI.

    Raises
    ------
    ValueError
        No number, not finite, no unit, a unit not known or of another kind.

    Examples
    --------
    >>> parse_quantity("2 %", "fraction")
    0.02
    >>> parse_quantity(8.0, "length")
    Traceback (most recent call last):
    ...
    ValueError: 8 has no unit: write it with one, such as "8 mm"
    """
    dimension = DIMENSIONS[kind]
    bare = dimension.si_unit == "dimensionless"
    if isinstance(text, bool):
        raise ValueError(f"{text} is not a {dimension.name}")
    if isinstance(text, (int, float)):
        if not math.isfinite(text):
            raise ValueError(f"{text} is not a finite number")
        if not bare:
            raise ValueError(
                f"{text:g} has no unit: write it with one, such as"
                f' "{text:g} {dimension.examples[0]}"'
            )
        return float(text)
    number, unit = split_quantity(text)
    if not unit and not bare:
        raise ValueError(
            f'{text.strip()} has no unit: write it with one, such as "{text.strip()}'
            f' {dimension.examples[0]}"'
        )
    return to_si(number, unit, kind)


def split_quantity(text: str) -> tuple[float, str]:
    """
    Split ``"8 mm"`` into its number and its unit.

    Parameters
    ----------
    text : str
        A number, then a unit; a decimal comma is refused because it cannot be told from a
        thousands mark.

    Returns
    -------
    tuple of float and str
        The number and the unit, empty when there is none.

    Raises
    ------
    ValueError
        No number at the start, or one that is not finite.
    """
    stripped = text.strip()
    end = len(stripped)
    for position in range(len(stripped), 0, -1):
        try:
            number = float(stripped[:position].replace("_", " "))
        except ValueError:
            continue
        end = position
        break
    else:
        raise ValueError(f"{text!r} does not begin with a number")
    if stripped[end:].startswith(","):
        raise ValueError(f"{text!r} has a comma: write a decimal point")
    if not math.isfinite(number):
        raise ValueError(f"{text!r} is not a finite number")
    return number, stripped[end:].strip()
