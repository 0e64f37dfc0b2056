"""What the keys of a fuel say together, and whether its grade or blend can be resolved."""

from collections.abc import Iterator, Mapping

from feedproof.core.findings import Finding
from feedproof.physics.fuel_catalogue import fuel_catalogue
from feedproof.physics.fuel_values import (
    FIXED_VISCOSITY,
    FREE_VISCOSITY,
    NEEDED,
    CatalogueFuel,
)
from feedproof.records.fuels import FuelRecipe, recipes_as_written, resolved_fuels
from feedproof.records.lineup import Lineup
from feedproof.records.mistakes import Places, did_you_mean, how_to_write
from feedproof.records.places import Location
from feedproof.records.quantity import shown
from feedproof.records.raw_tables import Table, named, table, text, texts

# Cloud point and CFPP are each repeated to a few kelvin only, so a small inversion is possible.
_COLD_REPEATABILITY_K = 3.0


def check_fuels(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """
    Check every fuel: figures, grade, blend, and what these say together.

    Parameters
    ----------
    document : mapping
        As read from TOML.
    lineup : Lineup
        Names of the document.
    places : Places
        For the place of each finding.

    Yields
    ------
    Finding
        Errors and warnings.
    """
    recipes = recipes_as_written(document)
    resolved = resolved_fuels(recipes)
    for location, name, fuel in named(document, "fuel"):
        if "grade" in fuel or "blend" in fuel:
            yield from _check_origin(location, fuel, recipes, lineup, places)
        else:
            yield from _check_whole(location, fuel, places)
        yield from _check_viscosity_keys(location, fuel, places)
        if name in resolved:
            yield from _check_resolved(location, fuel, resolved[name], places)


def cfpp_of(document: Table, name: str) -> float | None:
    """
    Give the cold filter plugging point of a fuel, wherever it comes from.

    Parameters
    ----------
    document : mapping
        As read from TOML.
    name : str
        Of the fuel.

    Returns
    -------
    float or None
        In K; None where it cannot be told.
    """
    fuel = resolved_fuels(recipes_as_written(document)).get(name)
    return fuel.values["cfpp"].value if fuel is not None and "cfpp" in fuel.values else None


def _check_origin(
    location: Location,
    fuel: Table,
    recipes: Mapping[str, FuelRecipe],
    lineup: Lineup,
    places: Places,
) -> Iterator[Finding]:
    """Check that a grade exists, and that a blend is of two fuels that are not made of it."""
    if "grade" in fuel and "blend" in fuel:
        yield places.error(
            location, "a fuel has a grade or a blend, found both.", "Leave one of them out."
        )
    grade = text(fuel, "grade")
    if grade is not None and grade not in fuel_catalogue():
        yield places.error(
            (*location, "grade"),
            f"the catalogue has no grade {shown(grade)}.",
            did_you_mean(grade, fuel_catalogue()),
        )
    if "petrol" in fuel and "vapour_pressure_20c_abs" not in fuel:
        yield places.error(
            (*location, "petrol"),
            "petrol beside a grade or a blend leaves its vapour pressure as without petrol.",
            'Blend it in, blend = { of = [..., "en228_petrol"], ... }, or write its'
            " vapour_pressure_20c_abs and vapour_pressure_slope.",
        )
    known = lineup.fuels | set(fuel_catalogue())
    for position, part in enumerate(texts(table(fuel, "blend"), "of")):
        at = (*location, "blend", "of", position)
        if part not in known:
            yield places.error(
                at,
                f"neither the case nor the catalogue has a fuel {shown(part)}.",
                did_you_mean(part, known),
            )
        elif str(location[-1]) in _made_of(part, recipes):
            yield places.error(
                at, f"{shown(part)} is made of this fuel itself.", "Name two fuels of another kind."
            )


def _made_of(name: str, recipes: Mapping[str, FuelRecipe]) -> set[str]:
    """Give every fuel of the case that a fuel is made of, itself included."""
    found: set[str] = set()
    waiting = [name]
    while waiting:
        current = waiting.pop()
        if current in recipes and current not in found:
            found.add(current)
            waiting += recipes[current].of
    return found


def _check_whole(location: Location, fuel: Table, places: Places) -> Iterator[Finding]:
    """Find what a fuel with figures of its own leaves out."""
    for key in NEEDED:
        if key not in fuel:
            at = (*location, key)
            yield places.error(at, "key is missing.", how_to_write(at, places.document))


def _check_viscosity_keys(location: Location, fuel: Table, places: Places) -> Iterator[Finding]:
    """Check that the viscosities which are written make a pair."""
    fixed = [key for key in FIXED_VISCOSITY if key in fuel]
    free = [key for key in FREE_VISCOSITY if key in fuel]
    allowed = [(2, 0), (0, 4)]
    if "grade" in fuel or "blend" in fuel:
        allowed += [(0, 0), (1, 0)]
    if (len(fixed), len(free)) not in allowed:
        yield places.error(
            location,
            f"viscosity at two temperatures is needed, found {', '.join(fixed + free) or 'none'}.",
            f"Write viscosity_20c and viscosity_40c, or all of {', '.join(FREE_VISCOSITY)}.",
        )


def _check_resolved(
    location: Location, fuel: Table, found: CatalogueFuel, places: Places
) -> Iterator[Finding]:
    """Check the figures of a fuel with those of its grade or blend beside them."""
    values = {key: value.value for key, value in found.values.items()}
    yield from _check_viscosities(location, values, places)
    cloud, cfpp = values.get("cloud_point"), values.get("cfpp")
    if cloud is not None and cfpp is not None and cloud < cfpp:
        say = places.warning if cfpp - cloud <= _COLD_REPEATABILITY_K else places.error
        yield say(
            (*location, "cloud_point"),
            f"cloud point {cloud - 273.15:.1f} degC is below CFPP {cfpp - 273.15:.1f} degC.",
            "Wax shows before it plugs: swapped?",
        )
    for key, warning in found.warnings.items():
        origin = next((word for word in ("grade", "blend") if word in fuel), key)
        yield places.warning((*location, key if key in fuel else origin), warning)


def _check_viscosities(
    location: Location, values: Mapping[str, float], places: Places
) -> Iterator[Finding]:
    """Check one fuel's pair of viscosities."""
    free = FREE_VISCOSITY[0] in values or FREE_VISCOSITY[2] in values
    keys = (FREE_VISCOSITY[0], FREE_VISCOSITY[2]) if free else FIXED_VISCOSITY
    cool, warm = (values.get(key) for key in keys)
    if cool is not None and warm is not None and cool <= warm:
        yield places.error(
            (*location, keys[0]),
            f"{cool * 1e6:.3g} mm^2/s cool is not above {warm * 1e6:.3g} mm^2/s warm.",
            "Fuel thins as it warms: swapped?",
        )
    low, high = (values.get(key) for key in FREE_VISCOSITY[1::2])
    if low is not None and high is not None and high - low < 5.0:
        yield places.error(
            (*location, "temperature_warm"),
            f"{high - 273.15:.1f} degC is not 5 K or more above temperature_cool,"
            f" {low - 273.15:.1f} degC.",
            "Two temperatures well apart are needed.",
        )
