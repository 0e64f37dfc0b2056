"""Added elements beside the line's fit: what each adds at a stated flow and temperature."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.configurations import circuit_for
from feedproof.app.text import kpa, litres_per_hour
from feedproof.case.case import Case
from feedproof.case.parts import Element
from feedproof.core.errors import FeedproofError
from feedproof.core.findings import Finding, note
from feedproof.evidence.corrections import TEMPERATURE_U_K
from feedproof.evidence.fit.element_equivalent import (
    Restriction,
    RestrictionEquivalent,
    restriction_equivalent,
    restriction_rise,
)
from feedproof.evidence.fit.element_fit import fit_element
from feedproof.evidence.fit.element_result import AddedDepression, ElementFit
from feedproof.evidence.fit.element_run import ElementRun, FuelState
from feedproof.evidence.fit.estimate import Estimate
from feedproof.evidence.fit.groups import FACTORY_ROLE, loading_name
from feedproof.evidence.fit.parameters import LINE_ELEMENT
from feedproof.evidence.fit.runs_model import FitRun, RunsModel
from feedproof.evidence.fit.scatter import Errors
from feedproof.evidence.trial import BASELINE
from feedproof.feedline.circuit import FeedCircuit
from feedproof.feedline.line_loss import part_loss
from feedproof.feedline.plan import lower_part
from feedproof.physics.element import media_growth

FloatArray = NDArray[np.float64]

FLOW_U_SHARE = 0.002
"""Of one point's flow over the others of its run: speed within its bin. Judged."""
VISCOSITY_PER_K = 0.024
"""Fall of a diesel fuel's viscosity near 30 degC: common practice. [1/K]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedElement:
    """
    What one kit adds, from the runs of one session alone.

    Parameters
    ----------
    configuration, session : str
        Of which, in which session.
    flow_m3_per_s, fuel_temperature_k : float
        Where it is stated. [m3/s], [K]
    added_pa, expanded_u_pa : float
        Added depression there, and half its two-sided 95 % interval. [Pa]
    viscous_pa_s_per_m3, inertial_pa_s2_per_m6 : float or None
        a and b of a Q + b Q^2 there; None where they cannot be told apart.
    correlation : float or None
        Of a and b. [-]
    described_pa : float
        What the case's description of the kit loses there. [Pa]
    restriction_percent, restriction_low_percent, restriction_high_percent : float or None
        Over the restriction rise of the factory element up to the most dirt declared for it, and
        the 95 % interval of that; None where it cannot be told. [%]
    sentence : str
        The same in words.
    """

    configuration: str
    session: str
    flow_m3_per_s: float
    fuel_temperature_k: float
    added_pa: float
    expanded_u_pa: float
    viscous_pa_s_per_m3: float | None
    inertial_pa_s2_per_m6: float | None
    correlation: float | None
    described_pa: float
    restriction_percent: float | None
    restriction_low_percent: float | None
    restriction_high_percent: float | None
    sentence: str


def element_lines(
    case: Case, model: RunsModel, found: Estimate, errors: Errors
) -> tuple[tuple[AddedElement, ...], tuple[Finding, ...]]:
    """
    Fit what each kit adds, session by session.

    Parameters
    ----------
    case : Case
        The case.
    model : RunsModel
        The runs.
    found : Estimate
        The line's fit, for the flows and their shared scale.
    errors : Errors
        Of the readings.

    Returns
    -------
    tuple of AddedElement
        One for each configuration of each session that holds a baseline too; no controls.
    tuple of Finding
        Where it could not be told.
    """
    feeds = _feeds(model, found)
    groups: dict[tuple[str, str], list[int]] = {}
    for i, run in enumerate(model.runs):
        if run.depression_pa.size and not any(case.kits[kit].control for kit in run.kits):
            groups.setdefault((run.session, run.configuration), []).append(i)
    told, findings = [], []
    for (session, name), mine in groups.items():
        base = groups.get((session, BASELINE), [])
        if name == BASELINE or not base:
            continue
        try:
            told.append(_one(case, model, found, errors, feeds, base, mine))
        except FeedproofError as fault:
            reasons = " ".join(finding.message for finding in fault.findings)
            text = f"what {name} adds cannot be told from session {session} alone: {reasons}"
            findings.append(note(f"session {session}", text))
    return tuple(told), tuple(findings)


def _feeds(model: RunsModel, found: Estimate) -> list[FloatArray]:
    """Give the fitted feed at each run's bins. [m3/s]."""
    values = model.parameters.values(found.whitened[None, :])
    states = model.line.states(values)[0]
    feeds, first = [], 0
    for ask, run in zip(model.line.asks, model.runs, strict=True):
        feeds.append(states[first : first + run.depression_pa.size, 0])
        first += ask.engine_speed_rev_per_s.size
    return feeds


def _one(
    case: Case,
    model: RunsModel,
    found: Estimate,
    errors: Errors,
    feeds: Sequence[FloatArray],
    base: Sequence[int],
    mine: Sequence[int],
) -> AddedElement:
    """Fit one configuration of one session."""
    circuit = circuit_for(case, (), case.reference)
    runs = [_element_run(model, i, feeds[i], errors, candidate=i in mine) for i in (*base, *mine)]
    fit = fit_element(
        runs,
        fuel=_state(circuit),
        shared_flow_scale_u=_flow_scale_u(found),
    )
    flow = fit.only_flow_m3_per_s or fit.highest_m3_per_s
    added = fit.added_depression(flow)
    equivalent = _equivalent(case, circuit, found, added)
    first = model.runs[mine[0]]
    return _answer(fit, added, equivalent, first, _described(case, first, circuit, flow))


def _element_run(
    model: RunsModel, index: int, feed: FloatArray, errors: Errors, *, candidate: bool
) -> ElementRun:
    """Turn a run into points of flow and depression, level and lift taken off."""
    run, circuit = model.runs[index], model.line.circuits[index]
    density = circuit.fluid.density_kg_per_m3
    return ElementRun(
        name=f"run {run.number}",
        candidate=candidate,
        flow_m3_per_s=feed,
        depression_pa=run.depression_pa - circuit.static_pa,
        flow_u_m3_per_s=FLOW_U_SHARE * feed,
        depression_u_pa=errors.point_pa,
        depression_offset_u_pa=errors.run_pa,
        fuel_temperature_k=run.conditions.fuel_temperature_k,
        kinematic_viscosity_m2_per_s=circuit.fluid.dynamic_viscosity_pa_s / density,
        density_kg_per_m3=density,
        viscosity_relative_u=VISCOSITY_PER_K * TEMPERATURE_U_K,
    )


def _state(circuit: FeedCircuit) -> FuelState:
    """Give the fuel at the reference conditions."""
    density = circuit.fluid.density_kg_per_m3
    return FuelState(
        temperature_k=circuit.conditions.fuel_temperature_k,
        kinematic_viscosity_m2_per_s=circuit.fluid.dynamic_viscosity_pa_s / density,
        density_kg_per_m3=density,
    )


def _flow_scale_u(found: Estimate) -> float:
    """Give the relative uncertainty of all flows together: that of the pump's displacement."""
    return _sd_after(found, "pump.displacement")


def _sd_after(found: Estimate, name: str) -> float:
    """Give the standard deviation of a factor's logarithm after the runs; 0 if it is not fitted."""
    if name not in found.parameters.names:
        return 0.0
    place = found.parameters.names.index(name)
    return float(found.ratios[place]) * found.parameters.each[place].standard_deviation


def _described(case: Case, run: FitRun, circuit: FeedCircuit, flow_m3_per_s: float) -> float:
    """Give what the case's description of the kits loses at a flow. [Pa]."""
    parts = [
        part
        for kit in run.kits
        for insertion in case.kits[kit].insertions
        for part in insertion.parts
    ]
    held = run.conditions.captured_mass_kg
    return math.fsum(
        part_loss(flow_m3_per_s, lower_part(part, held.get(part.id, 0.0)), circuit.fluid,
                  circuit.rule)
        for part in parts
        if not getattr(part, "running", False)
    )  # fmt: skip


def _equivalent(
    case: Case, circuit: FeedCircuit, found: Estimate, added: AddedDepression
) -> RestrictionEquivalent | None:
    """Put the added depression beside the factory element's restriction rise."""
    masses = {
        part.id: max((each.captured_mass_kg.get(part.id, 0.0) for each in case.worst), default=0.0)
        for part in case.vehicle.line.parts
        if isinstance(part, Element) and part.role == FACTORY_ROLE
    }
    for part in case.vehicle.line.parts:
        mass = masses.get(part.id, 0.0)
        if not isinstance(part, Element) or mass <= 0.0:
            continue
        if not media_growth(mass, part.loading_scale_kg) > 1.0:
            continue
        flow = added.flow_m3_per_s
        clean, loaded = (
            part_loss(flow, lower_part(part, held), circuit.fluid, circuit.rule)
            for held in (0.0, mass)
        )
        exponent = mass / part.loading_scale_kg
        by_loading = exponent * math.exp(exponent) / math.expm1(exponent)
        relative = math.hypot(
            _sd_after(found, LINE_ELEMENT), by_loading * _sd_after(found, loading_name(part.id))
        )
        rise = restriction_rise(
            Restriction(loss_pa=loaded, standard_uncertainty_pa=0.0),
            Restriction(loss_pa=clean, standard_uncertainty_pa=0.0),
        )
        rise = replace(rise, standard_uncertainty_pa=relative * rise.loss_pa)
        figure = added.added_pa
        return restriction_equivalent(
            Restriction(
                loss_pa=figure.value,
                standard_uncertainty_pa=figure.standard_uncertainty,
                degrees_of_freedom=figure.degrees_of_freedom,
            ),
            rise,
        )
    return None


def _answer(
    fit: ElementFit,
    added: AddedDepression,
    equivalent: RestrictionEquivalent | None,
    run: FitRun,
    described_pa: float,
) -> AddedElement:
    """Put one answer together."""
    figure = added.added_pa
    expanded = 0.5 * (figure.high - figure.low)
    viscous, inertial = fit.viscous_pa_s_per_m3, fit.inertial_pa_s2_per_m6
    warm = (added.fuel.temperature_k or math.nan) - 273.15
    sentence = (
        f"{run.configuration} (session {run.session}) adds {kpa(figure.value)} ± {kpa(expanded)}"
        f" kPa at {litres_per_hour(added.flow_m3_per_s)} L/h and {warm:.0f} °C"
    )
    if viscous is not None and inertial is not None:
        sentence += (
            f" (a {viscous.value:.3g} Pa s/m³, b {inertial.value:.3g} Pa s²/m⁶, to be used"
            " together only)"
        )
    if equivalent is not None and equivalent.bounded and equivalent.low_percent is not None:
        sentence += (
            f", like the factory element at {equivalent.percent:.0f} %"
            f" ({max(0.0, equivalent.low_percent):.0f} to {equivalent.high_percent:.0f} %) of its"
            " restriction rise"
        )
    sentence += f"; the description gives {kpa(described_pa)} kPa."
    return AddedElement(
        configuration=run.configuration,
        session=run.session,
        flow_m3_per_s=added.flow_m3_per_s,
        fuel_temperature_k=added.fuel.temperature_k or math.nan,
        added_pa=figure.value,
        expanded_u_pa=expanded,
        viscous_pa_s_per_m3=viscous.value if viscous else None,
        inertial_pa_s2_per_m6=inertial.value if inertial else None,
        correlation=fit.correlation,
        described_pa=described_pa,
        restriction_percent=equivalent.percent if equivalent else None,
        restriction_low_percent=equivalent.low_percent if equivalent else None,
        restriction_high_percent=equivalent.high_percent if equivalent else None,
        sentence=sentence,
    )
