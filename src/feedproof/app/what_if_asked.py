"""What a question "what if" may hold, and the conditions that it means."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.case.parts import Element
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error
from feedproof.core.units import from_si
from feedproof.physics.atmosphere import standard_pressure
from feedproof.physics.blocking import BlockingLaw, load_share_at_growth

REFERENCE = "reference"
MOST_KITS = 2
MOST_LOADING = 1.5
"""Captured mass over an element's loading scale at the end of a slider. [-]"""
MOST_GROWTH = 20.0
"""Growth of a media's resistance at which a slider ends where its law shuts the media. [-]"""

# Ends of what can be asked, in SI: the same as on the command line.
TEMPERATURES_K = (233.15, 373.15)
ALTITUDES_M = (-400.0, 6000.0)
PITCHES_RAD = (-0.7853981633974483, 0.7853981633974483)


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """
    One question; what is left out stays as the case says.

    Parameters
    ----------
    kits : tuple of str
        Up to two configurations beside the baseline, such as ``secondary`` or
        ``secondary+primary``.
    base : str
        ``reference``, or ``worst-1`` for the first of the declared worst conditions.
    fuel : str, optional
        Name of a fuel of the case, or of a grade of the catalogue.
    blend_with : str, optional
        Fuel or grade that is blended in.
    blend_fraction : float
        Of it, by volume. [-]
    fuel_temperature_k : float, optional
        At the pump inlet. [K]
    altitude_m : float, optional
        In the standard atmosphere. [m]
    fuel_level_fraction : float, optional
        Fuel in the tank over its capacity. [-]
    road_pitch_rad : float, optional
        Climb of the road. [rad]
    loading_share : float, optional
        Captured mass over loading scale, of all elements that load. [-]
    loading_shares : mapping of str to float
        The same for single elements, by id; goes before the one for all. [-]
    speed_m_per_s : float, optional
        Road speed at which staircase and drawing stand; the top of the pull when left out. [m/s]
    ranges : bool
        False leaves the ranges of the figures out, as while a slider is dragged.
    """

    kits: tuple[str, ...] = ()
    base: str = REFERENCE
    fuel: str | None = None
    blend_with: str | None = None
    blend_fraction: float = 0.0
    fuel_temperature_k: float | None = None
    altitude_m: float | None = None
    fuel_level_fraction: float | None = None
    road_pitch_rad: float | None = None
    loading_share: float | None = None
    loading_shares: Mapping[str, float] = field(default_factory=dict)
    speed_m_per_s: float | None = None
    ranges: bool = True


def base_conditions(case: Case, base: str) -> Conditions | None:
    """
    Give the conditions that a question starts from.

    Parameters
    ----------
    case : Case
        The case.
    base : str
        ``reference`` or ``worst-`` with a number from 1.

    Returns
    -------
    Conditions or None
        None where the case declares none of that name.
    """
    if base == REFERENCE:
        return case.reference
    head, _, number = base.partition("-")
    if head == "worst" and number.isdecimal() and 1 <= int(number) <= len(case.worst):
        return case.worst[int(number) - 1]
    return None


def base_fuel(case: Case, asked: WhatIf) -> str:
    """
    Give the fuel that a question asks about, before anything is blended in.

    Parameters
    ----------
    case : Case
        The case.
    asked : WhatIf
        The question.

    Returns
    -------
    str
        The one asked for, else that of the conditions it starts from.
    """
    base = base_conditions(case, asked.base) or case.reference
    return base.fuel if asked.fuel is None else asked.fuel


def most_loading(element: Element) -> float:
    """
    Give the end of an element's loading slider.

    Parameters
    ----------
    element : Element
        An element that loads.

    Returns
    -------
    float
        Captured mass over its loading scale; below 1 where its law shuts the media at 1. [-]
    """
    shut = float(load_share_at_growth(MOST_GROWTH, int(BlockingLaw[element.loading_law.upper()])))
    return min(MOST_LOADING, round(shut, 2))


def loading_elements(case: Case, kits: tuple[str, ...]) -> dict[str, Element]:
    """
    List the elements that load, of the line and of every kit that is shown.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Configurations, all known.

    Returns
    -------
    dict of str to Element
        By id, in line order.
    """
    lines = [case.vehicle.line, *(case.line_with(tuple(each.split("+"))) for each in kits)]
    return {
        element.id: element
        for line in lines
        for element in line.elements
        if element.loading_scale_kg < float("inf")
    }


def faults_of(case: Case, asked: WhatIf) -> list[Finding]:
    """
    Find everything in a question that cannot be answered, but for its fuel.

    Parameters
    ----------
    case : Case
        The case.
    asked : WhatIf
        The question.

    Returns
    -------
    list of Finding
        Errors, each at the field's name; empty for a good question.
    """
    kit_faults = _kit_faults(case, asked.kits)
    faults = list(kit_faults)
    if base_conditions(case, asked.base) is None:
        names = [REFERENCE, *(f"worst-{n}" for n in range(1, len(case.worst) + 1))]
        faults.append(_unknown("base", f"no conditions {asked.base!r}", names))
    pull = case.pull
    kmh = ("km/h", "speed")
    for name, value, (least, most), (unit, kind) in (
        ("fuel_temperature", asked.fuel_temperature_k, TEMPERATURES_K, ("degC", "temperature")),
        ("altitude", asked.altitude_m, ALTITUDES_M, ("m", "altitude")),
        ("fuel_level", asked.fuel_level_fraction, (0.0, 1.0), ("%", "fraction")),
        ("road_pitch", asked.road_pitch_rad, PITCHES_RAD, ("deg", "angle")),
        ("blend_fraction", asked.blend_fraction, (0.0, 1.0), ("%", "fraction")),
        ("speed", asked.speed_m_per_s, (pull.start_m_per_s, pull.stop_m_per_s), kmh),
    ):
        # A comparison with what is no number is never true, so that it is a fault as well.
        if value is not None and not least <= value <= most:
            ends = [f"{from_si(each, unit, kind):.6g}" for each in (least, most)]
            faults.append(
                error(
                    name,
                    f"{from_si(value, unit, kind):.6g} {unit} is out of range;",
                    f"allowed is {ends[0]} to {ends[1]} {unit}.",
                )
            )
    # Which elements there are hangs on the kits.
    return faults if kit_faults else [*faults, *_loading_faults(case, asked)]


def _kit_faults(case: Case, kits: tuple[str, ...]) -> list[Finding]:
    """Find kits that there are not, and more of them than can be shown."""
    faults = [
        _unknown("kits", f"no kit {kit_id!r}", list(case.kits))
        for kit_id in dict.fromkeys(part for each in kits for part in each.split("+"))
        if kit_id not in case.kits
    ]
    faults += (
        []
        if faults
        else [
            error("kits", f"{name!r} cannot be laid out: {place!r} is not in that line.")
            for name in kits
            if (place := _missing_place(case, name)) is not None
        ]
    )
    if len(set(kits)) != len(kits):
        faults.append(error("kits", "the same configuration twice;", "choose another one."))
    if len(kits) > MOST_KITS:
        faults.append(
            error("kits", f"{len(kits)} configurations;", f"at most {MOST_KITS} are shown.")
        )
    return faults


def _missing_place(case: Case, configuration: str) -> str | None:
    """Give the part next to which a kit goes and that is not there; None where all are."""
    try:
        case.line_with(tuple(configuration.split("+")))
    except KeyError as missing:
        return str(missing.args[0])
    return None


def _loading_faults(case: Case, asked: WhatIf) -> list[Finding]:
    """Find loadings of elements that are not there or do not load, and beyond the slider."""
    elements = loading_elements(case, asked.kits)
    faults = [
        _unknown("loading", f"no element {name!r} that loads", list(elements))
        for name in asked.loading_shares
        if name not in elements
    ]
    for name, element in elements.items():
        share = asked.loading_shares.get(name, asked.loading_share)
        most = most_loading(element)
        if share is not None and not 0.0 <= share <= most:
            faults.append(
                error(
                    f"loading.{name}",
                    f"{100 * share:.4g} % of its loading scale is out of range;",
                    f"allowed is 0 to {100 * most:.4g} %.",
                )
            )
    return faults


def _unknown(place: str, what: str, known: list[str]) -> Finding:
    """Say that the case has no such thing, and what it has."""
    return error(place, f"the case has {what}.", f"It has: {', '.join(known)}.")


def conditions_of(case: Case, asked: WhatIf, fuel: str) -> Conditions:
    """
    Give the conditions that a good question means.

    Parameters
    ----------
    case : Case
        The case.
    asked : WhatIf
        Without faults.
    fuel : str
        Name of the fuel, see `feedproof.app.what_if_fuels`.

    Returns
    -------
    Conditions
        Loading of elements that stand in no line that is shown is left out.

    Raises
    ------
    InputError
        The question has faults.
    """
    base = base_conditions(case, asked.base)
    if base is None:
        raise InputError(faults_of(case, asked))
    altitude, level = asked.altitude_m, asked.fuel_level_fraction
    pitch, temperature = asked.road_pitch_rad, asked.fuel_temperature_k
    return replace(
        base,
        fuel=fuel,
        fuel_temperature_k=base.fuel_temperature_k if temperature is None else temperature,
        ambient_pressure_abs_pa=base.ambient_pressure_abs_pa
        if altitude is None
        else float(standard_pressure(altitude)),
        fuel_level_fraction=base.fuel_level_fraction if level is None else level,
        road_pitch_rad=base.road_pitch_rad if pitch is None else pitch,
        captured_mass_kg=_masses(case, asked, base),
    )


def _masses(case: Case, asked: WhatIf, base: Conditions) -> dict[str, float]:
    """Give the dirt that each element holds. [kg]."""
    masses = {}
    for name, element in loading_elements(case, asked.kits).items():
        share = asked.loading_shares.get(name, asked.loading_share)
        if share is not None:
            masses[name] = share * element.loading_scale_kg
        elif name in base.captured_mass_kg:
            masses[name] = base.captured_mass_kg[name]
    return masses
