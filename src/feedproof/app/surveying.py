"""The verb ``envelope``: where each kit holds, what binds where it does not, what would mend it."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.configurations import circuit_for
from feedproof.app.predicting import BASELINE, kit_sets
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.case.line import Line
from feedproof.core.errors import MissingError
from feedproof.core.findings import Finding, warning
from feedproof.feedline.envelope import ORDER, EnvelopeLimits, envelope
from feedproof.feedline.mend import smallest_mends
from feedproof.feedline.pull import engine_speeds
from feedproof.physics.atmosphere import standard_pressure
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]

TEMPERATURES_K = np.linspace(263.15, 343.15, 17)
ALTITUDES_M = np.linspace(0.0, 4000.0, 9)
SPEEDS = 15
LOADED = "as loaded in the worst condition"


@dataclass(frozen=True, slots=True, kw_only=True)
class MendWords:
    """
    A change that was tried at the worst point and holds there.

    Parameters
    ----------
    what : str
        The change.
    slack, slack_before : float
        Least slack with it, and with the next smaller change. [-]
    """

    what: str
    slack: float
    slack_before: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyedConfiguration:
    """
    One configuration over the envelope.

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    loadings : tuple of str
        Names of the loadings.
    slack : array, shape (n_loadings, n_temperatures, n_altitudes)
        Least over the speeds of the pull; negative where a limit is broken. [-]
    room_pa : array, shape (n_loadings, n_temperatures, n_altitudes)
        Least room to the maker's limit; NaN when none is known. [Pa]
    binding : tuple of tuple of tuple of str
        Limit that binds at each point.
    worst_slack : float
        Least of all. [-]
    worst_binding, worst_place : str, str
        What binds there, and where that is.
    mends : tuple of MendWords
        Smallest changes of the kit that hold at the worst point; empty when it holds already,
        and when no single change does.
    """

    configuration: str
    loadings: tuple[str, ...]
    slack: FloatArray
    room_pa: FloatArray
    binding: tuple[tuple[tuple[str, ...], ...], ...]
    worst_slack: float
    worst_binding: str
    worst_place: str
    mends: tuple[MendWords, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """
    What ``envelope`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-envelope``, its version, and the version of the program.
    title, note, vehicle, fuel : str
        From the case.
    fuel_temperature_k : array, shape (n_temperatures,)
        Axis. [K]
    altitude_m : array, shape (n_altitudes,)
        Axis, ISO 2533. [m]
    limit_abs_pa : float or None
        The pump maker's limit. [Pa]
    most_free_gas_fraction, least_feed_margin : float
        The project's own limits. [-]
    configurations : tuple of SurveyedConfiguration
        The baseline first.
    findings : tuple of Finding
        What must be known.
    """

    format: str
    version: int
    program: str
    title: str
    note: str
    vehicle: str
    fuel: str
    fuel_temperature_k: FloatArray
    altitude_m: FloatArray
    limit_abs_pa: float | None
    most_free_gas_fraction: float
    least_feed_margin: float
    configurations: tuple[SurveyedConfiguration, ...]
    findings: tuple[Finding, ...]


def survey_case(
    case: Case,
    *,
    kits: tuple[str, ...] | None = None,
    fuel: str | None = None,
    mends: bool = True,
) -> Survey:
    """
    Solve every configuration over fuel temperature, altitude, loading and speed.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str, optional
        Configurations; all when left out.
    fuel : str, optional
        Fuel of the case; the reference fuel when left out.
    mends : bool
        False leaves the search for mends out.

    Returns
    -------
    Survey
        Slack and binding limit at every point, the worst one, and mends.

    Raises
    ------
    MissingError
        No such kit or fuel.
    """
    from feedproof import __version__

    name = fuel or case.reference.fuel
    if name not in case.fuels:
        raise MissingError.at(
            "--fuel", f"the case has no fuel {name!r}.", f"It has: {', '.join(case.fuels)}."
        )
    limits = EnvelopeLimits(least_pressure_abs_pa=case.vehicle.pump.maker_limit_abs_pa)
    base = replace(case.reference, fuel=name)
    sets = ((), *kit_sets(case, kits))
    return Survey(
        format="feedproof-envelope",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        fuel=name,
        fuel_temperature_k=TEMPERATURES_K,
        altitude_m=ALTITUDES_M,
        limit_abs_pa=limits.least_pressure_abs_pa,
        most_free_gas_fraction=limits.most_free_gas_fraction,
        least_feed_margin=limits.least_feed_margin,
        configurations=tuple(_survey(case, each, base, limits, mends=mends) for each in sets),
        findings=_findings(case, name),
    )


def _findings(case: Case, fuel: str) -> tuple[Finding, ...]:
    """Say what the reader of an envelope must know."""
    findings = []
    if case.vehicle.pump.maker_limit_abs_pa is None:
        findings.append(
            warning(
                "vehicle.pump.maker_limit_abs",
                "no limit known: only gas and feed margin bind here, by the project's own rules.",
                "Ask the pump's maker for the least absolute inlet pressure.",
            )
        )
    if case.fuels[fuel].cloud_point_k > float(TEMPERATURES_K[0]):
        findings.append(
            warning(
                f"fuel.{fuel}",
                "part of the envelope is below the cloud point: wax is a screening figure only.",
                "Ask again with the fuel of the season.",
            )
        )
    return tuple(findings)


def _loadings(case: Case, kits: tuple[str, ...]) -> list[tuple[str, dict[str, float]]]:
    """Give clean, and the heaviest loading that the worst conditions declare for this line."""
    present = {element.id for element in case.line_with(kits).elements}
    heaviest: dict[str, float] = {}
    for worst in case.worst:
        for element, mass in worst.captured_mass_kg.items():
            if element in present:
                heaviest[element] = max(mass, heaviest.get(element, 0.0))
    return [("clean", {}), *([(LOADED, heaviest)] if heaviest else [])]


def _survey(
    case: Case, kits: tuple[str, ...], base: Conditions, limits: EnvelopeLimits, *, mends: bool
) -> SurveyedConfiguration:
    """Survey one configuration."""
    speeds = engine_speeds(
        circuit_for(case, kits, base),
        np.linspace(case.pull.start_m_per_s, case.pull.stop_m_per_s, SPEEDS),
    )
    loadings = _loadings(case, kits)
    rule = FrictionRule[case.friction_rule.upper()]
    found = envelope(
        case.vehicle,
        case.line_with(kits),
        case.fuels[base.fuel],
        base,
        "+".join(kits) if kits else BASELINE,
        fuel_temperature_k=TEMPERATURES_K,
        ambient_pressure_abs_pa=np.array([float(standard_pressure(z)) for z in ALTITUDES_M]),
        engine_speed_rev_per_s=speeds,
        loadings=loadings,
        limits=limits,
        rule=rule,
    )
    slack, binding, (i, j, k, v) = found.worst()
    at_speed = np.argmin(found.slack, axis=-1)[..., None]
    bound = np.take_along_axis(found.binding, at_speed, axis=-1)[..., 0]
    place = (
        f"{found.fuel_temperature_k[i] - 273.15:.0f} °C fuel, {ALTITUDES_M[j]:.0f} m,"
        f" {found.loadings[k]}, {60 * speeds[v]:.0f} rpm"
    )
    return SurveyedConfiguration(
        configuration=found.configuration,
        loadings=found.loadings,
        slack=np.moveaxis(np.min(found.slack, axis=-1), 2, 0),
        room_pa=np.moveaxis(np.min(found.room_pa, axis=-1), 2, 0),
        binding=tuple(
            tuple(tuple(ORDER[int(b)].value for b in row) for row in bound[:, :, m])
            for m in range(len(loadings))
        ),
        worst_slack=slack,
        worst_binding=binding.value,
        worst_place=place,
        mends=_mends(case, kits, limits) if mends else (),
    )


def _mends(case: Case, kits: tuple[str, ...], limits: EnvelopeLimits) -> tuple[MendWords, ...]:
    """Mend a single kit over the declared worst conditions, where the bare line holds."""
    if len(kits) != 1 or case.kits[kits[0]].control or not case.worst:
        return ()
    if _least_slack(case, case.vehicle.line, limits) < 0.0:
        return ()
    found = smallest_mends(
        case.kits[kits[0]],
        lambda kit: _least_slack(case, case.vehicle.line.with_kit(kit), limits),
    )
    return tuple(
        MendWords(what=each.what, slack=each.slack, slack_before=each.slack_before)
        for each in found
    )


def _least_slack(case: Case, line: Line, limits: EnvelopeLimits) -> float:
    """Give the least slack of a line over the declared worst conditions, at the top of the pull."""
    top = np.array([case.pull.stop_m_per_s])
    slacks = [
        envelope(
            case.vehicle,
            line,
            case.fuels[worst.fuel],
            worst,
            "tried",
            fuel_temperature_k=np.array([worst.fuel_temperature_k]),
            ambient_pressure_abs_pa=np.array([worst.ambient_pressure_abs_pa]),
            engine_speed_rev_per_s=engine_speeds(circuit_for(case, (), worst), top),
            loadings=(("as declared", dict(worst.captured_mass_kg)),),
            limits=limits,
            rule=FrictionRule[case.friction_rule.upper()],
        ).worst()[0]
        for worst in case.worst
    ]
    return min(slacks)
