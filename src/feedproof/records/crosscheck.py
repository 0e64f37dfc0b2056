"""What two keys of a case say together: the parts, kits, fuels, conditions and the vehicle."""

from collections.abc import Callable, Iterator
from itertools import pairwise

from feedproof.core.findings import Finding
from feedproof.core.units import from_si
from feedproof.physics.atmosphere import standard_pressure
from feedproof.physics.kinematics import engine_speed
from feedproof.records.crosscheck_fuels import cfpp_of, check_fuels
from feedproof.records.crosscheck_measures import check_measures
from feedproof.records.crosscheck_network import check_network, check_recirculation, check_tees
from feedproof.records.crosscheck_parts import check_parts
from feedproof.records.crosscheck_rig import check_rig
from feedproof.records.crosscheck_runs import check_instruments, check_runs
from feedproof.records.crosscheck_supply import check_duty, check_filtering
from feedproof.records.lineup import Lineup
from feedproof.records.mistakes import Places, did_you_mean
from feedproof.records.places import Location
from feedproof.records.quantity import shown
from feedproof.records.raw_tables import Table, entries, number, series, table, text

# Below this absolute pressure a limit asks for more suction than the trade uses ("common
# practice", no source): it is more likely a depression written in the wrong place.
_IMPLAUSIBLE_LIMIT_ABS_PA = 35_000.0
_STANDARD_PRESSURE_ABS_PA = 101_325.0


def cross_findings(document: Table, places: Places) -> list[Finding]:
    """
    Run every cross check on a document as it stands.

    Parameters
    ----------
    document : mapping
        As read from TOML, whether or not its single keys are right.
    places : Places
        For the place of each finding.

    Returns
    -------
    list of Finding
        Errors and warnings.
    """
    lineup = Lineup.of(document)
    findings: list[Finding] = []
    checks: tuple[Callable[[Table, Lineup, Places], Iterator[Finding]], ...] = (
        check_identities,
        check_kits,
        check_parts,
        check_filtering,
        check_duty,
        check_network,
        check_tees,
        check_recirculation,
        check_vehicle,
        check_limit,
        check_fuels,
        check_pull,
        check_conditions,
        check_margins,
        check_rig,
        check_instruments,
        check_measures,
        check_runs,
    )
    for check in checks:
        findings += check(document, lineup, places)
    return findings


def check_identities(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Find ids that two parts, or two kits, share."""
    yield from _duplicates(lineup.part_places, "part", places)
    kits = [(location, text(kit, "id")) for location, kit in entries(document, "kit")]
    yield from _duplicates([(at, name) for at, name in kits if name is not None], "kit", places)
    for location, name in kits:
        if name == "baseline":
            yield places.error(
                (*location, "id"),
                '"baseline" is the line without a kit.',
                "Name the kit otherwise.",
            )


def _duplicates(found: list[tuple[Location, str]], what: str, places: Places) -> Iterator[Finding]:
    """Report the second and later bearers of an id."""
    first: dict[str, Location] = {}
    for location, name in found:
        if name in first:
            yield places.error(
                (*location, "id"),
                f"{what} id {shown(name)} is used before, at {places.place(first[name])}.",
                "Give each its own id.",
            )
        first.setdefault(name, location)


def check_kits(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Find kits without a place, and places that no line has."""
    for at_kit, kit in entries(document, "kit"):
        for location, insertion in entries(kit, "insertion", at_kit):
            sides = [side for side in ("before", "after") if side in insertion]
            if len(sides) != 1:
                yield places.error(
                    location,
                    f"an insertion needs one of before and after, found {len(sides)}.",
                    "Write after = the id of the part on its tank side, or before.",
                )
            for side in sides:
                place = text(insertion, side)
                if place is not None and place not in lineup.kit_places:
                    yield places.error(
                        (*location, side),
                        f"the line has no part {shown(place)}.",
                        did_you_mean(place, lineup.kit_places),
                    )


def check_vehicle(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Check the full-load curve, the charge and the tank."""
    del lineup
    engine = table(document, "vehicle", "engine")
    at = ("vehicle", "engine")
    yield from _check_curve(table(engine, "full_load"), (*at, "full_load"), places)
    boost = number(engine, "boost_ratio", "number")
    if text(engine, "charge") == "natural" and boost is not None and boost > 1.0:
        yield places.error(
            (*at, "boost_ratio"),
            f"boost ratio {boost:g} with charge natural.",
            "Write boost_ratio = 1, or the engine's charge.",
        )
    rated = number(engine, "rated_speed", "rotation")
    speeds = _speeds(engine)
    if rated is not None and speeds and not speeds[0] <= rated <= speeds[-1]:
        yield places.error(
            (*at, "rated_speed"),
            f"{rated * 60:.0f} rpm is outside the full-load curve,"
            f" {speeds[0] * 60:.0f} to {speeds[-1] * 60:.0f} rpm.",
            "Extend the curve or correct the speed.",
        )
    tank = table(document, "vehicle", "tank")
    full, empty = (number(tank, f"inlet_above_{end}", "length") for end in ("full", "empty"))
    if full is not None and empty is not None and full >= empty:
        yield places.error(
            ("vehicle", "tank", "inlet_above_empty"),
            f"the pump inlet is {empty:g} m above the fuel of an empty tank,"
            f" {full:g} m of a full one.",
            "The surface sinks as the tank empties: the empty figure is the larger. Swapped?",
        )


def _speeds(engine: Table) -> list[float]:
    """Give the speeds of the full-load curve, empty where they cannot be read."""
    curve = table(engine, "full_load", "speed")
    found = series(table(engine, "full_load"), "speed") or []
    probe = [number({"at": f"{v!r} {curve.get('unit', '')}"}, "at", "rotation") for v in found]
    return [speed for speed in probe if speed is not None]


def _check_curve(curve: Table, at: Location, places: Places) -> Iterator[Finding]:
    """Check that the curve's lists belong together and its speeds rise."""
    lists = {key: series(curve, key) for key in ("speed", "torque", "specific_consumption")}
    speeds = lists["speed"]
    if speeds is None:
        return
    for key, values in lists.items():
        if values is not None and len(values) != len(speeds):
            yield places.error(
                (*at, key, "values"),
                f"{len(values)} values for {len(speeds)} speeds.",
                "Each speed needs one value.",
            )
    for position, (one, two) in enumerate(pairwise(speeds), start=1):
        if not two > one:
            yield places.error(
                (*at, "speed", "values"),
                f"speeds are not increasing: {two:g} (number {position + 1}) after {one:g}.",
                "List the curve from the lowest speed up, each speed once.",
            )


def check_limit(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Ask whether the maker's limit is a depression in disguise, or no limit at all."""
    del lineup
    at = ("vehicle", "pump", "maker_limit_abs")
    limit = number(table(document, "vehicle", "pump"), "maker_limit_abs", "pressure")
    if limit is None:
        return
    as_depression = _STANDARD_PRESSURE_ABS_PA - limit
    written = table(document, "vehicle", "pump").get("maker_limit_abs")
    value = written.get("value") if isinstance(written, dict) else written
    if not isinstance(written, dict) or not written.get("source"):
        yield places.warning(
            at, "the limit has no source.", "Write where the pump's maker states it, as source."
        )
    if isinstance(value, str) and "inHg" in value:
        yield places.warning(
            at,
            f"{value} is read as an absolute pressure; in inHg the trade states depressions"
            " (common practice).",
            f"If it is a depression, write {as_depression / 1e3:.1f} kPa.",
        )
    if limit < _IMPLAUSIBLE_LIMIT_ABS_PA:
        yield places.warning(
            at,
            f"{limit / 1e3:.1f} kPa absolute limit means a depression of {as_depression / 1e3:.1f}"
            f" kPa ({from_si(as_depression, 'inHg', 'pressure'):.1f} inHg) at sea level, more than"
            " pumps are used at (common practice); did you mean a depression?",
            f"A depression of {limit / 1e3:.1f} kPa is a limit of {as_depression / 1e3:.1f} kPa"
            " absolute at sea level.",
        )
    for location, where in _all_conditions(document):
        ambient = ambient_of(where)
        if ambient is not None and limit >= ambient:
            yield places.warning(
                at,
                f"{limit / 1e3:.1f} kPa absolute limit is not below the air pressure"
                f" {ambient / 1e3:.1f} kPa of {places.place(location)}: no suction is allowed.",
                "Is it an absolute pressure of the pump's inlet?",
            )


def _all_conditions(document: Table) -> Iterator[tuple[Location, Table]]:
    """Go through the reference and the worst conditions."""
    if table(document, "reference"):
        yield ("reference",), table(document, "reference")
    yield from entries(document, "worst")


def ambient_of(conditions: Table) -> float | None:
    """
    Give the air pressure of conditions, from either way of writing it.

    Parameters
    ----------
    conditions : mapping
        The table as it stands.

    Returns
    -------
    float or None
        Absolute pressure in Pa, None where it cannot be read.
    """
    ambient = number(conditions, "ambient_pressure_abs", "pressure")
    if ambient is not None:
        return ambient
    altitude = number(conditions, "altitude", "altitude")
    # Air of the lowest layer of ISO 2533 ends at 11 km.
    if altitude is None or not -2000.0 <= altitude <= 11000.0:
        return None
    return float(standard_pressure(altitude))


def check_pull(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Check the sweep's ends, and that the engine reaches them."""
    del lineup
    pull = table(document, "pull")
    start, stop = (number(pull, key, "speed") for key in ("start", "stop"))
    if start is not None and stop is not None and start >= stop:
        yield places.error(
            ("pull", "start"),
            f"start {start * 3.6:.1f} km/h is not below stop {stop * 3.6:.1f} km/h.",
            "A pull goes up: swapped?",
        )
        return
    gearing = table(document, "vehicle", "gearing")
    radius = number(gearing, "rolling_radius", "length")
    ratios = [number(gearing, key, "number") for key in ("gear_ratio", "final_drive_ratio")]
    slip = number(gearing, "tyre_slip", "fraction") or 0.0
    speeds = _speeds(table(document, "vehicle", "engine"))
    if not radius or not speeds or None in ratios or not 0.0 <= slip < 1.0:
        return
    total = float(ratios[0] or 0.0) * float(ratios[1] or 0.0)
    for key, road_speed in (("start", start), ("stop", stop)):
        if road_speed is None:
            continue
        engine = engine_speed(road_speed, radius, slip, total, 1.0)
        if not speeds[0] <= engine <= speeds[-1]:
            yield places.warning(
                ("pull", key),
                f"{road_speed * 3.6:.1f} km/h is {engine * 60:.0f} rpm, outside the full-load curve"
                f" {speeds[0] * 60:.0f} to {speeds[-1] * 60:.0f} rpm.",
                "Check the gearing, or extend the curve.",
            )


def check_conditions(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Check fuels, air, levels and loadings of the reference and worst conditions."""
    for location, conditions in _all_conditions(document):
        given = [key for key in ("altitude", "ambient_pressure_abs") if key in conditions]
        if len(given) != 1:
            yield places.error(
                location,
                f"one of altitude and ambient_pressure_abs is needed, found {len(given)}.",
                "Write the one that is known.",
            )
        yield from lineup.check_fuel(conditions, location, places)
        yield from lineup.check_level(conditions, location, places)
        yield from lineup.check_loading(conditions, location, lineup.all_elements, places)
        yield from _check_cold(document, location, conditions, places)
        yield from _check_return_temperature(location, conditions, places)
    if ("worst" in document and not document["worst"]) or "worst" not in document:
        yield places.warning(
            ("worst",), "no worst condition is declared.", "Add [[worst]] before the first run."
        )


def _check_cold(
    document: Table, location: Location, conditions: Table, places: Places
) -> Iterator[Finding]:
    """Warn of a fuel asked for below its filter plugging point."""
    cfpp = cfpp_of(document, text(conditions, "fuel") or "")
    for key in ("fuel_temperature", "tank_fuel_temperature"):
        temperature = number(conditions, key, "temperature")
        if temperature is not None and cfpp is not None and temperature < cfpp:
            yield places.warning(
                (*location, key),
                f"{temperature - 273.15:.1f} degC is below the fuel's CFPP,"
                f" {cfpp - 273.15:.1f} degC.",
                "Below it no flow is promised by any filter.",
            )


def _check_return_temperature(
    location: Location, conditions: Table, places: Places
) -> Iterator[Finding]:
    """Warn of a tank that is warmer than what comes back to it."""
    tank, back = (
        number(conditions, f"{end}_fuel_temperature", "temperature") for end in ("tank", "return")
    )
    if tank is not None and back is not None and tank > back:
        yield places.warning(
            (*location, "tank_fuel_temperature"),
            f"the tank's {tank - 273.15:.1f} degC are above the return's"
            f" {back - 273.15:.1f} degC, but pump and injectors warm the fuel.",
            "Swapped?",
        )


def check_margins(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Ask whether margins make sense beside each other and beside the repeatability."""
    del lineup
    margins = table(document, "margins")
    keep, stop = (
        number(margins, key, "fraction") for key in ("caught_return", "return_do_not_release")
    )
    if keep is not None and stop is not None and stop < keep:
        yield places.error(
            ("margins", "return_do_not_release"),
            f"{stop:.1%} is below the margin caught_return, {keep:.1%}.",
            "A loss inside the margin cannot forbid a release: swapped?",
        )
    for key, high in (("wheel_power", 0.10), ("caught_return", 0.20)):
        found = number(margins, key, "fraction")
        if found is not None and high < found <= 0.5:
            yield places.warning(
                ("margins", key),
                f"a margin of {found:.1%} calls a large loss harmless.",
                f"Margins up to {high:.0%} are usual (common practice).",
            )
        yield from _check_reach(document, key, found, places)
    looks = margins.get("looks")
    counts = looks if isinstance(looks, list) and all(isinstance(n, int) for n in looks) else []
    if any(later <= earlier for earlier, later in pairwise(counts)):
        yield places.error(
            ("margins", "looks"),
            f"{looks} does not rise.",
            "List how many runs with the kit each look comes after, such as [2, 3, 4, 5].",
        )


def _check_reach(
    document: Table, key: str, margin: float | None, places: Places
) -> Iterator[Finding]:
    """Warn of a margin below the scatter that it must be told from."""
    scatter = number(table(document, "repeatability", key), "standard_deviation", "fraction")
    if margin is not None and scatter is not None and 0.0 < margin < scatter:
        yield places.warning(
            ("margins", key),
            f"the margin {margin:.2%} is below the declared repeatability {scatter:.2%}.",
            "Few runs will not settle it; ask the plan how many.",
        )
