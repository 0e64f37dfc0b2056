"""The verb ``cold-start``: a soaked vehicle cranked, idled and driven until a full load holds."""

from dataclasses import dataclass, replace

import numpy as np

from feedproof.app.asking import conditions_asked
from feedproof.app.configurations import circuit_for
from feedproof.app.predicting import BASELINE, kit_sets
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error, note
from feedproof.core.units import from_si, parse_quantity
from feedproof.feedline.cold_data import Assumption, ColdData, assumptions
from feedproof.feedline.cranking import ColdStart, cold_start
from feedproof.feedline.pull import engine_speeds
from feedproof.feedline.rail import RailShortfall, rail_of_full_load
from feedproof.feedline.warming import DURATION_S, ColdVehicle, warm_up
from feedproof.feedline.warming_result import WarmUp
from feedproof.physics.weather import station_pressure

PULL_POINTS = 9
"""Engine speeds along the pull at each moment; its worst counts."""

# Ends of what can be asked: (kind, least, most, unit for messages), in SI.  The pressure at sea
# level holds the deepest low and the highest high on record, 870 and 1084 hPa (memory).
_RANGES: dict[str, tuple[str, float, float, str]] = {
    "soak": ("temperature", 233.15, 323.15, "degC"),
    "ambient": ("temperature", 223.15, 323.15, "degC"),
    "sea_level_pressure": ("pressure", 85e3, 110e3, "hPa"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ColdConfiguration:
    """
    One configuration of the line in the cold.

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    start : ColdStart
        Cranking and idle at the soak temperature.
    full_load : RailShortfall or None
        What a full-load pull at the soak temperature does to the rail; None where the line has no
        state.
    warm_up : WarmUp
        Driven from there.
    """

    configuration: str
    start: ColdStart
    full_load: RailShortfall | None
    warm_up: WarmUp


@dataclass(frozen=True, slots=True, kw_only=True)
class ColdReport:
    """
    What ``cold-start`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-cold-start``, its version, and the version of the program.
    title, note, vehicle : str
        From the case.
    conditions : Conditions
        At the start: fuel, soak temperature, air, level, loading.
    cloud_point_k, cfpp_k : float
        Of the fuel. [K]
    ambient_k : float
        Air during start and drive. [K]
    maker_limit_abs_pa : float or None
        Least absolute inlet pressure, by the pump's maker. [Pa]
    configurations : tuple of ColdConfiguration
        The baseline first.
    assumptions : tuple of Assumption
        Every figure that the case does not say, with its standing.
    findings : tuple of Finding
        What must be known of all of them; those of a single one stand with it.
    """

    format: str
    version: int
    program: str
    title: str
    note: str
    vehicle: str
    conditions: Conditions
    cloud_point_k: float
    cfpp_k: float
    ambient_k: float
    maker_limit_abs_pa: float | None
    configurations: tuple[ColdConfiguration, ...]
    assumptions: tuple[Assumption, ...]
    findings: tuple[Finding, ...]


def cold_report(
    case: Case,
    *,
    kits: tuple[str, ...] | None = None,
    fuel: str | None = None,
    soak: str | None = None,
    ambient: str | None = None,
    altitude: str | None = None,
    ambient_pressure: str | None = None,
    sea_level_pressure: str | None = None,
    level: str | None = None,
    data: ColdData | None = None,
    duration_s: float = DURATION_S,
) -> ColdReport:
    """
    Start and drive the configurations of a case from cold.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str, optional
        Configurations asked for; all but positive controls when left out.
    fuel : str, optional
        Fuel of the case; that of the coldest declared conditions when left out.
    soak, ambient : str, optional
        Temperature of everything at the start, and of the air; that of the coldest declared
        conditions, and the soak's, when left out.
    altitude, ambient_pressure, sea_level_pressure : str, optional
        Altitude on a standard day, or the air pressure itself, or an altitude with the weather
        map's pressure at sea level.
    level : str, optional
        Fuel in the tank.
    data : ColdData, optional
        Figures that no case says.
    duration_s : float
        Length of the drive. [s]

    Returns
    -------
    ColdReport
        The answer.

    Raises
    ------
    InputError
        Everything that cannot be read, at once; a line without a filter.
    MissingError
        No such kit.
    """
    from feedproof import __version__

    base = _coldest(case, fuel)
    faults: list[Finding] = []
    soak_k = _quantity("soak", soak, faults)
    ambient_k = _quantity("ambient", ambient, faults)
    sea_level_pa = _quantity("sea_level_pressure", sea_level_pressure, faults)
    if sea_level_pa is not None and altitude is None:
        faults.append(
            error("--sea-level-pressure", "needs the place's altitude.", "Give --altitude too.")
        )
    if sea_level_pa is not None and ambient_pressure is not None:
        faults.append(
            error(
                "--sea-level-pressure",
                "and --ambient-pressure say the same thing.",
                "Give one of them.",
            )
        )
    try:
        changes = conditions_asked(
            case, fuel=fuel, altitude=altitude, ambient_pressure=ambient_pressure, level=level
        )
    except InputError as problem:
        raise InputError((*faults, *problem.findings)) from problem
    if faults:
        raise InputError(faults)
    soak_k = base.fuel_temperature_k if soak_k is None else soak_k
    ambient_k = soak_k if ambient_k is None else ambient_k
    if sea_level_pa is not None and altitude is not None:
        height_m = parse_quantity(altitude, "altitude")
        changes["ambient_pressure_abs_pa"] = station_pressure(sea_level_pa, height_m, ambient_k)
    conditions = replace(
        base,
        fuel_temperature_k=soak_k,
        tank_fuel_temperature_k=None,
        return_fuel_temperature_k=None,
        **changes,
    )
    used = data or ColdData()
    chosen = case.fuels[conditions.fuel]
    return ColdReport(
        format="feedproof-cold-start",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        conditions=conditions,
        cloud_point_k=chosen.cloud_point_k,
        cfpp_k=chosen.cfpp_k,
        ambient_k=ambient_k,
        maker_limit_abs_pa=case.vehicle.pump.maker_limit_abs_pa,
        configurations=tuple(
            _configuration(case, each, conditions, ambient_k, used, duration_s)
            for each in _sets(case, kits)
        ),
        assumptions=assumptions(used),
        findings=(_basis(case, base, soak),),
    )


def _sets(case: Case, kits: tuple[str, ...] | None) -> tuple[tuple[str, ...], ...]:
    """Give the configurations: all but controls, or those asked for."""
    return (
        (),
        *(
            each
            for each in kit_sets(case, kits)
            if kits is not None or not any(case.kits[kit_id].control for kit_id in each)
        ),
    )


def _coldest(case: Case, fuel: str | None) -> Conditions:
    """Give the coldest declared conditions, of the fuel asked for where there are such."""
    declared = (case.reference, *case.worst)
    alike = [each for each in declared if each.fuel == fuel] or list(declared)
    return min(alike, key=lambda each: each.fuel_temperature_k)


def _basis(case: Case, base: Conditions, soak: str | None) -> Finding:
    """Say where what was not asked comes from."""
    name = base.name or ("the reference conditions" if base is case.reference else "unnamed")
    what = "air, level, slope and loading are" if soak else "soak, air, level and loading are"
    return note(
        "cold start",
        f"what was not asked for is that of the coldest declared conditions ({name}): {what} taken"
        " from there.",
    )


def _configuration(
    case: Case,
    kits: tuple[str, ...],
    conditions: Conditions,
    ambient_k: float,
    data: ColdData,
    duration_s: float,
) -> ColdConfiguration:
    """Start and drive one configuration."""
    line = case.line_with(kits)
    present = {element.id for element in line.elements}
    loaded = {k: mass for k, mass in conditions.captured_mass_kg.items() if k in present}
    asked = replace(conditions, captured_mass_kg=loaded)
    cold = ColdVehicle(
        vehicle=case.vehicle,
        line=line,
        fuel=case.fuels[asked.fuel],
        conditions=asked,
        rule=case.friction_rule,
        soak_k=asked.fuel_temperature_k,
        ambient_k=ambient_k,
        data=data,
    )
    circuit = circuit_for(case, kits, asked)
    speeds = engine_speeds(
        circuit, np.linspace(case.pull.start_m_per_s, case.pull.stop_m_per_s, PULL_POINTS)
    )
    driven = warm_up(cold, speeds, duration_s=duration_s)
    try:
        full_load = rail_of_full_load(circuit, speeds, data.rail)
    except InputError:
        # The warm-up has refused speeds that cannot be; what is left is named in its findings.
        full_load = None
    return ColdConfiguration(
        configuration="+".join(kits) if kits else BASELINE,
        start=cold_start(cold),
        full_load=full_load,
        warm_up=driven,
    )


def _quantity(option: str, text: str | None, faults: list[Finding]) -> float | None:
    """Read one quantity and hold it against what can be asked."""
    if text is None:
        return None
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
