"""
What is believed of each parameter before the runs: from the ranges of the case, else judged.

A factor of a group of parts takes every range of these parts by what it does to the group's loss
at the top of the pull; parts without a range bring a judged share.  Ranges count as rectangles.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from feedproof.app.case_budgets import gauge_budgets
from feedproof.app.configurations import circuit_for, top_state
from feedproof.app.spread import with_value
from feedproof.case.case import Case
from feedproof.case.parts import CheckValve, Element, Orifice, Part, Pipe
from feedproof.core.findings import Finding, warning
from feedproof.evidence.fit.groups import (
    Groups,
    groups_of_case,
    loading_name,
    viscosity_name,
)
from feedproof.evidence.fit.parameters import (
    GAUGE,
    HEIGHT,
    LINE_ELEMENT,
    LINE_INERTIAL,
    LINE_VISCOUS,
    TRANSITION,
    Parameter,
    Parameters,
)
from feedproof.feedline.line_loss import part_loss
from feedproof.feedline.plan import FluidPlan, PartRow, lower_part
from feedproof.physics.kinematics import head_pressure

LEAST_SD = 0.02
PIPE_SD, FITTING_SD, MEDIA_SD, HOUSING_SD, ORIFICE_SD = 0.10, 0.30, 0.15, 0.30, 0.06
"""
Standard deviations of the logarithm of a loss for parts without a range: a bore known to 2 %,
coefficients of fittings and housings out of tables, media out of a data sheet, a plate whose bore
was measured.  The project's own judgement.
"""
LOADING_SD = 0.25
"""Of the exponent of an element's growth by dirt: real loading curves differ in form. Judged."""
VISCOSITY_SD = 0.05
"""Of a fuel's viscosity where the case gives no range: another delivery. Judged."""
PUMP_SD = {
    "displacement": 0.03,
    "slip": 0.25,
    "half_pressure": 0.20,
    "softness": 0.20,
    "gas_release": 0.30,
}
"""Of the logarithms of a pump's constants without a range: judged."""
HEIGHT_M, CRACKING_SHARE = 0.03, 0.10
"""Of the pump inlet above the tank, and of cracking pressures: judged."""
GAUGE_PA = 500.0
"""Of the gauge's offset where its class or span is not declared: judged."""
_PUMP_PATHS = {
    "displacement": ("displacement", "filling"),
    "slip": ("slip",),
    "half_pressure": ("inlet_half_pressure_abs",),
    "softness": ("inlet_softness",),
    "gas_release": ("gas_release",),
}
_PUMP_WORDS = {
    "displacement": "the pump's displacement times its filling",
    "slip": "the pump's slip",
    "half_pressure": "inlet pressure at which the pump's filling is halved",
    "softness": "how softly the pump's filling falls",
    "gas_release": "share of the dissolved air that comes out",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Point:
    """Flow and fuel at which the shares of a group's parts are weighed."""

    flow_m3_per_s: float
    fluid: FluidPlan
    rule: int


def priors_of(
    case: Case, kits: Iterable[str], loaded: Iterable[str], fuels: Iterable[str]
) -> tuple[Parameters, tuple[Finding, ...]]:
    """
    Give the parameters of a case's fit with their priors.

    Parameters
    ----------
    case : Case
        The case with its book of values.
    kits : iterable of str
        Kits that were run or are asked about.
    loaded : iterable of str
        Ids of elements that hold dirt in a run or a condition.
    fuels : iterable of str
        Fuels of runs and conditions.

    Returns
    -------
    tuple of Parameters and tuple of Finding
        Priors, and what had to be judged.
    """
    gauge, findings = _gauge(case)
    point = _point(case)
    each = [gauge, _height(case, point)]
    line = list(case.vehicle.line.parts)
    groups = groups_of_case(case)
    words = {
        LINE_VISCOUS: "loss of the line's pipes and of laminar fittings",
        LINE_INERTIAL: "loss of the line's fittings and housings",
        LINE_ELEMENT: "media of the factory element",
    }
    for name, meaning in words.items():
        found = _group(case, line, groups, name, meaning, point)
        each += [found] if found else []
    for kit_id in dict.fromkeys(kits):
        parts = [part for one in case.kits[kit_id].insertions for part in one.parts]
        for kind, what in (("viscous", "media and hoses"), ("inertial", "fittings and housings")):
            meaning = f"{what} of kit {kit_id}"
            found = _group(case, parts, groups, f"kit.{kit_id}.{kind}", meaning, point)
            each += [found] if found else []
    each += [_loading(part_id) for part_id in dict.fromkeys(loaded)]
    each += [_pump(case, kind) for kind in PUMP_SD]
    each += [_viscosity(case, fuel) for fuel in dict.fromkeys(fuels)]
    each.append(
        Parameter(
            name=TRANSITION,
            meaning="place between the two edges of the friction's transition",
            unit="1",
            standard_deviation=1.0 / math.sqrt(3.0),
            source="a rectangle from one edge rule to the other",
        )
    )
    return Parameters(each=tuple(each)), findings


def _point(case: Case) -> _Point:
    """Give the top of the pull at the reference conditions."""
    circuit = circuit_for(case, (), case.reference)
    state, _ = top_state(case, circuit)
    return _Point(flow_m3_per_s=state.feed_m3_per_s, fluid=circuit.fluid, rule=circuit.rule)


def _gauge(case: Case) -> tuple[Parameter, tuple[Finding, ...]]:
    """Give the offset of the gauge, common to all runs."""
    budgets = gauge_budgets(case, 0.0, 1)
    findings: tuple[Finding, ...] = ()
    if budgets:
        sd, source = budgets[0].standard_uncertainty, "budget of the gauge"
    else:
        sd, source = GAUGE_PA, "judged: class or span of the gauge is not declared"
        text = f"class or span is not declared; an offset of {GAUGE_PA:.0f} Pa is allowed for."
        findings = (warning("fit, gauge", text, "Declare span and class of the instrument."),)
    words = "offset of the gauge in all runs"
    return _parameter(GAUGE, words, sd, source, unit="Pa"), findings


def _height(case: Case, point: _Point) -> Parameter:
    """Give what stands in the line without flow: heights and cracking pressures."""
    per_m = float(head_pressure(point.fluid.density_kg_per_m3, 1.0))
    widths = [
        (value.high - value.low) / math.sqrt(12.0)
        for name in ("inlet_above_full", "inlet_above_empty")
        if (value := case.values.get(f"vehicle.tank.{name}"))
        and value.low is not None
        and value.high is not None
    ]
    cracking = sum(
        part.cracking_pressure_pa
        for part in case.vehicle.line.parts
        if isinstance(part, CheckValve)
    )
    height = max(widths) if widths else HEIGHT_M
    sd = math.hypot(height, CRACKING_SHARE * cracking / per_m)
    words = "height of the pump inlet over the fuel with the cracking pressures"
    source = "ranges of the tank" if widths else f"judged: {HEIGHT_M:g} m"
    return _parameter(HEIGHT, words, sd, f"{source}, 10 % of the cracking pressures", unit="m")


def _group(
    case: Case,
    parts: list[Part],
    groups: Mapping[str, Groups],
    name: str,
    meaning: str,
    point: _Point,
) -> Parameter | None:
    """Give the factor of a group of parts; None where nothing is lost in it."""
    whole = sum(_loss(part, groups[part.id], name, point) for part in parts)
    if whole <= 0.0:
        return None
    square, judged, ranged = 0.0, 0.0, 0
    for part in parts:
        mine = _loss(part, groups[part.id], name, point)
        moves = [move for move in _moves(case, part, groups[part.id], name, point) if move > 0.0]
        square += sum((move / whole) ** 2 for move in moves)
        ranged += len(moves)
        if not moves:
            judged += _judged(part, name) * mine / whole
    sd = max(math.hypot(math.sqrt(square), judged), LEAST_SD)
    source = "judged"
    if ranged:
        source = f"{ranged} ranges of the case" + (", the rest judged" if judged > 0.0 else "")
    return _parameter(name, meaning, sd, source)


def _loss(part: Part, groups: Groups, name: str, point: _Point) -> float:
    """Give what a part loses by what a parameter multiplies. [Pa]."""
    row = _row(part)
    kept = PartRow(
        0.0,
        row.viscous_per_m3 if groups.viscous == name else 0.0,
        row.media_per_m3 if groups.viscous == name else 0.0,
        row.inertial_per_m4 if groups.inertial == name else 0.0,
        row.bore_m,
        row.length_m if groups.viscous == name else 0.0,
        row.roughness_m,
    )
    return part_loss(point.flow_m3_per_s, kept, point.fluid, point.rule)


def _row(part: Part) -> PartRow:
    """Lower a part; a running lift pump is no loss."""
    if getattr(part, "running", False):
        return PartRow(0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    return lower_part(part)


def _moves(case: Case, part: Part, groups: Groups, name: str, point: _Point) -> Iterable[float]:
    """Give what each range of a part does to its loss, as a standard deviation. [Pa]."""
    for path, value in case.values.items():
        if f"[{part.id}]." not in path or (value.low is None and value.high is None):
            continue
        ends = []
        for end in (value.low, value.high):
            changed = with_value(case, path, value, value.value if end is None else end)
            moved = part if changed is None else _part_of(changed, part.id)
            ends.append(_loss(moved, groups, name, point))
        yield abs(ends[1] - ends[0]) / math.sqrt(12.0)


def _part_of(case: Case, part_id: str) -> Part:
    """Find a part in the line or in a kit."""
    kits = [part for kit in case.kits.values() for one in kit.insertions for part in one.parts]
    return next(part for part in (*case.vehicle.line.parts, *kits) if part.id == part_id)


def _judged(part: Part, name: str) -> float:
    """Give the judged standard deviation of a part's loss."""
    match part:
        case Pipe():
            return PIPE_SD
        case Orifice():
            return ORIFICE_SD
        case Element():
            return HOUSING_SD if name.endswith("inertial") else MEDIA_SD
    return FITTING_SD


def _loading(part_id: str) -> Parameter:
    """Give the factor on an element's growth by dirt."""
    words = f"exponent of the growth of {part_id} by the dirt that it holds"
    return _parameter(loading_name(part_id), words, LOADING_SD, "judged")


def _pump(case: Case, kind: str) -> Parameter:
    """Give the factor on one of the pump's constants."""
    square = 0.0
    for name in _PUMP_PATHS[kind]:
        square += _log_width(case, f"vehicle.pump.{name}") ** 2
    sd, source = (math.sqrt(square), "range of the case") if square else (PUMP_SD[kind], "judged")
    return _parameter(f"pump.{kind}", _PUMP_WORDS[kind], sd, source)


def _viscosity(case: Case, fuel: str) -> Parameter:
    """Give the factor on a fuel's viscosity."""
    widths = [_log_width(case, f"fuel.{fuel}.viscosity_{at}") for at in ("20c", "40c")]
    sd, source = (max(widths), "range of the case") if max(widths) else (VISCOSITY_SD, "judged")
    return _parameter(viscosity_name(fuel), f"viscosity of fuel {fuel}", sd, source)


def _log_width(case: Case, path: str) -> float:
    """Give a range as the standard deviation of a logarithm; 0 where there is none."""
    value = case.values.get(path)
    if value is None or (value.low is None and value.high is None):
        return 0.0
    low, high = (value.value if end is None else end for end in (value.low, value.high))
    if not 0.0 < low < high:
        return 0.0
    return float(np.log(high / low)) / math.sqrt(12.0)


def _parameter(
    name: str, meaning: str, sd: float, source: str, *, unit: str = "factor"
) -> Parameter:
    """Make a parameter."""
    return Parameter(name=name, meaning=meaning, unit=unit, standard_deviation=sd, source=source)
