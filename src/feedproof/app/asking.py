"""What a user asks for on the command line, read into conditions, all mistakes at once."""

import math
from datetime import date
from typing import Any

from feedproof.case.case import Case
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error
from feedproof.core.units import from_si, parse_quantity
from feedproof.physics.atmosphere import standard_pressure

# Ends of what can be asked: (kind, least, most, unit for messages), in SI.
_RANGES: dict[str, tuple[str, float, float, str]] = {
    "fuel_temp": ("temperature", 233.15, 373.15, "degC"),
    "altitude": ("altitude", -400.0, 6000.0, "m"),
    "ambient_pressure": ("pressure", 45e3, 110e3, "kPa"),
    "level": ("fraction", 0.0, 1.0, "%"),
    "pitch": ("angle", -math.pi / 4, math.pi / 4, "deg"),
    "loading": ("mass", 0.0, 1.0, "g"),
}


def day_asked(place: str, text: str, faults: list[Finding]) -> date | None:
    """
    Read a day, or note that it is none.

    Parameters
    ----------
    place : str
        Option that gives it, for the finding.
    text : str
        Such as ``2026-03-31``; nothing is asked where it is empty.
    faults : list of Finding
        Takes what is wrong.

    Returns
    -------
    date or None
        None where nothing is asked, and where it cannot be read.
    """
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        faults.append(error(place, f"{text!r} is no day.", "Write it as 2026-03-31."))
    return None


def conditions_asked(
    case: Case,
    *,
    fuel: str | None = None,
    fuel_temp: str | None = None,
    altitude: str | None = None,
    ambient_pressure: str | None = None,
    level: str | None = None,
    pitch: str | None = None,
    loading: tuple[str, ...] = (),
) -> dict[str, Any]:
    """
    Read the options that change conditions.

    Parameters
    ----------
    case : Case
        For its fuels and elements.
    fuel : str, optional
        Name of a fuel of the case.
    fuel_temp, altitude, ambient_pressure, level, pitch : str, optional
        Quantities with units.
    loading : tuple of str
        ``element=9g``, one each.

    Returns
    -------
    dict
        Fields of `feedproof.case.conditions.Conditions` to be set.

    Raises
    ------
    InputError
        Everything that cannot be read, at once.
    """
    faults: list[Finding] = []
    changes: dict[str, Any] = {}
    if fuel is not None:
        if fuel not in case.fuels:
            faults.append(
                error(
                    "--fuel",
                    f"the case has no fuel {fuel!r}.",
                    f"It has: {', '.join(case.fuels)}.",
                )
            )
        changes["fuel"] = fuel
    if altitude is not None and ambient_pressure is not None:
        faults.append(
            error("--altitude", "and --ambient-pressure say the same thing.", "Give one of them.")
        )
    asked = {
        "fuel_temp": ("fuel_temperature_k", fuel_temp),
        "altitude": ("ambient_pressure_abs_pa", altitude),
        "ambient_pressure": ("ambient_pressure_abs_pa", ambient_pressure),
        "level": ("fuel_level_fraction", level),
        "pitch": ("road_pitch_rad", pitch),
    }
    for option, (field, text) in asked.items():
        value = None if text is None else _quantity(option, text, faults)
        if value is not None:
            changes[field] = float(standard_pressure(value)) if option == "altitude" else value
    masses = _masses(case, loading, faults)
    if masses:
        changes["captured_mass_kg"] = {**case.reference.captured_mass_kg, **masses}
    if faults:
        raise InputError(faults)
    return changes


def _quantity(option: str, text: str, faults: list[Finding]) -> float | None:
    """Read one quantity and hold it against what can be asked."""
    kind, least, most, unit = _RANGES[option]
    place = "--" + option.replace("_", "-")
    allowed = f"{from_si(least, unit, kind):g} to {from_si(most, unit, kind):g} {unit}"
    try:
        value = parse_quantity(text, kind)
    except ValueError as problem:
        faults.append(error(place, f"{problem};", f"allowed is {allowed}."))
        return None
    if not least <= value <= most:
        faults.append(error(place, f"{text} is out of range;", f"allowed is {allowed}."))
        return None
    return value


def _masses(case: Case, loading: tuple[str, ...], faults: list[Finding]) -> dict[str, float]:
    """Read the loading of elements."""
    names = {
        part.id
        for line in (case.vehicle.line, *(case.line_with((kit,)) for kit in case.kits))
        for part in line.elements
    }
    masses = {}
    for text in loading:
        name, _, amount = text.partition("=")
        if name not in names or not amount:
            faults.append(
                error(
                    "--loading",
                    f"{text!r} names no element of the case.",
                    f"Write element=9g; the elements are: {', '.join(sorted(names))}.",
                )
            )
            continue
        mass = _quantity("loading", amount, faults)
        if mass is not None:
            masses[name] = mass
    return masses
