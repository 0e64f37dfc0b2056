"""The verb ``predict``: what each configuration will do, before any hose is cut."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from feedproof.app.bands import influences, predict_band
from feedproof.app.configurations import circuit_for, top_state
from feedproof.app.prediction_findings import findings_of
from feedproof.app.spread import Contribution
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.core.errors import MissingError
from feedproof.core.findings import Finding
from feedproof.feedline.assess import Assessment, assess
from feedproof.feedline.pull import PullPrediction, predict_pull
from feedproof.feedline.staircase import Staircase, staircase

BASELINE = "baseline"


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictedConfiguration:
    """
    One configuration under one set of conditions.

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    pull : PullPrediction
        Along the pull.
    staircase : Staircase
        At the top of the pull.
    assessment : Assessment
        In words.
    depression_low_pa, depression_high_pa : float
        Range of the depression at the top of the pull: what is not known of the transition of
        the friction, and two standard uncertainties of the inputs' ranges. [Pa]
    influences : tuple of Contribution
        How much each ranged input moves it, the largest first.
    vapour_margin_pa : float
        Inlet pressure above vapour pressure and port loss at the top of the pull. [Pa]
    back_pressure_pa : float
        Of the return line on the pump there; 0 where none is described. [Pa]
    """

    configuration: str
    pull: PullPrediction
    staircase: Staircase
    assessment: Assessment
    depression_low_pa: float
    depression_high_pa: float
    influences: tuple[Contribution, ...]
    vapour_margin_pa: float
    back_pressure_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """
    What ``predict`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-prediction``, its version, and the version of the program.
    title, note, vehicle : str
        From the case.
    friction_rule : str
        Rule between laminar and turbulent flow; what is not known of it is in the band of each
        depression.
    conditions : Conditions
        The conditions asked about.
    configurations : tuple of PredictedConfiguration
        The baseline first.
    worst : tuple of PredictedConfiguration
        The same under the declared worst conditions.
    findings : tuple of Finding
        What must be known.
    """

    format: str
    version: int
    program: str
    title: str
    note: str
    vehicle: str
    friction_rule: str
    conditions: Conditions
    configurations: tuple[PredictedConfiguration, ...]
    worst: tuple[PredictedConfiguration, ...]
    findings: tuple[Finding, ...]


def kit_sets(case: Case, wanted: tuple[str, ...] | None) -> tuple[tuple[str, ...], ...]:
    """
    Give the sets of kits to predict: those asked for, or each kit and every set that was run.

    Parameters
    ----------
    case : Case
        The case.
    wanted : tuple of str or None
        Configurations such as ``"secondary+primary"``; None for all.

    Returns
    -------
    tuple of tuple of str
        Sets of kit ids, without the baseline.

    Raises
    ------
    MissingError
        A kit that the case does not have.
    """
    if wanted is None:
        single = [(kit_id,) for kit_id in case.kits]
        run = [run.kits for run in case.runs if run.kits]
        return tuple(dict.fromkeys(single + run))
    sets = tuple(tuple(dict.fromkeys(each.split("+"))) for each in wanted if each != BASELINE)
    for kit_id in {kit_id for each in sets for kit_id in each}:
        if kit_id not in case.kits:
            raise MissingError.at(
                "--kit", f"the case has no kit {kit_id!r}.", f"It has: {', '.join(case.kits)}."
            )
    return sets


def staircase_at(
    case: Case,
    kits: tuple[str, ...],
    conditions: Conditions,
    speed_m_per_s: float | None = None,
) -> Staircase:
    """
    Lay a configuration out part by part at full load.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids; empty is the baseline.
    conditions : Conditions
        The conditions.
    speed_m_per_s : float, optional
        Road speed; the top of the pull when left out. [m/s]

    Returns
    -------
    Staircase
        Tank to pump inlet.
    """
    circuit = circuit_for(case, kits, conditions)
    state, speed = top_state(case, circuit, speed_m_per_s)
    name = "+".join(kits) if kits else BASELINE
    return staircase(circuit, state, speed, name, owners_of(case, kits))


def owners_of(case: Case, kits: tuple[str, ...]) -> dict[str, str]:
    """
    Say which kit each added part belongs to.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids.

    Returns
    -------
    dict of str to str
        Kit id by part id.
    """
    return {
        part.id: kit_id
        for kit_id in kits
        for insertion in case.kits[kit_id].insertions
        for part in insertion.parts
    }


def predict_configuration(
    case: Case, kits: tuple[str, ...], conditions: Conditions
) -> PredictedConfiguration:
    """
    Predict one configuration under one set of conditions.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids; empty is the baseline.
    conditions : Conditions
        The conditions.

    Returns
    -------
    PredictedConfiguration
        Pull, staircase and words.
    """
    name = "+".join(kits) if kits else BASELINE
    circuit = circuit_for(case, kits, conditions)
    state, speed = top_state(case, circuit)
    bare, _ = top_state(case, circuit_for(case, (), conditions))
    _, low, high = predict_band(case, kits, np.array([case.pull.stop_m_per_s]), conditions)
    return PredictedConfiguration(
        configuration=name,
        pull=predict_pull(circuit, case.pull, name),
        staircase=staircase_at(case, kits, conditions),
        assessment=assess(state, bare, case.vehicle.pump.maker_limit_abs_pa, kit=bool(kits)),
        depression_low_pa=float(low[0]),
        depression_high_pa=float(high[0]),
        influences=influences(case, kits, conditions),
        vapour_margin_pa=circuit.vapour_margin_pa(state, speed),
        back_pressure_pa=circuit.back_pressure_pa(state),
    )


def predict_case(
    case: Case,
    *,
    kits: tuple[str, ...] | None = None,
    changes: dict[str, Any] | None = None,
) -> Prediction:
    """
    Predict all configurations of a case.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str, optional
        Configurations asked for; all when left out.
    changes : dict, optional
        Fields of `Conditions` to set in place of the case's reference conditions.

    Returns
    -------
    Prediction
        The answer, with the worst declared conditions beside the ones asked about.
    """
    from feedproof import __version__

    conditions = replace(case.reference, **(changes or {}))
    sets = ((), *kit_sets(case, kits))
    configurations = tuple(predict_configuration(case, each, conditions) for each in sets)
    worst = tuple(
        predict_configuration(case, each, _known_loading(case, each, extreme))
        for extreme in case.worst
        for each in sets
        if not any(case.kits[kit_id].control for kit_id in each)
    )
    return Prediction(
        format="feedproof-prediction",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        friction_rule=case.friction_rule,
        conditions=conditions,
        configurations=configurations,
        worst=worst,
        findings=findings_of(case, configurations, conditions),
    )


def _known_loading(case: Case, kits: tuple[str, ...], conditions: Conditions) -> Conditions:
    """Keep the loading of those elements that stand in this line."""
    present = {element.id for element in case.line_with(kits).elements}
    return replace(
        conditions,
        captured_mass_kg={
            part_id: mass
            for part_id, mass in conditions.captured_mass_kg.items()
            if part_id in present
        },
    )
