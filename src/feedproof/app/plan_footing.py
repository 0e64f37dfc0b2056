"""What a plan stands on: margins, repeatability, instruments, and what is predicted."""

from dataclasses import replace

import numpy as np

from feedproof.app import declared_doubts as declared
from feedproof.app.case_budgets import difference_of
from feedproof.app.plan_foreseen import Foreseen
from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.case.measures import Balance, Jug
from feedproof.case.vehicle import Topology
from feedproof.core.findings import Finding, note, warning
from feedproof.evidence.budget import common_practice as usual
from feedproof.evidence.budget.power import power_difference
from feedproof.evidence.corrections import LEVEL_U_FRACTION, TEMPERATURE_U_K
from feedproof.evidence.outcomes import log_percent
from feedproof.evidence.plan.doubts import Doubts, Step, doubts_of
from feedproof.evidence.plan.measure_plan import Footing
from feedproof.evidence.plan.what_if import CatchSet, catch_doubts
from feedproof.evidence.plan.what_if_gauge import (
    USUAL_CLASS,
    USUAL_SPAN_PA,
    USUAL_STEP_PA,
    GaugeSet,
    gauge_doubts,
)

SMALL_SHARE = 0.2
"""Share of the room that a kit may take and still be called small: a proposal of this project."""
HIGH_PERCENTILE = 95.0
HOLD_S = 60.0
LOADED_HOLD_S = 30.0
"""Of a catch at full load: a minute overheats brakes, tyres and gearbox."""


def footings(
    case: Case, seen: Foreseen, *, replumbed: bool
) -> tuple[tuple[Footing, ...], tuple[Finding, ...]]:
    """
    Say what each measure's plan stands on.

    Parameters
    ----------
    case : Case
        The case.
    seen : Foreseen
        What is predicted.
    replumbed : bool
        Every change-over opens the line.

    Returns
    -------
    tuple of Footing
        Wheel power, caught return, depression.
    tuple of Finding
        What must be known of them.
    """
    findings: list[Finding] = []
    power, caught = (
        log_percent(share)
        for share in (case.margins.wheel_power_fraction, case.margins.caught_return_fraction)
    )
    said = case.margins.source or "the case"
    small, small_source = small_margin(case, seen)
    title, catch = next(iter(planned_catches(case, seen).items()))
    read, told = gauges(case, seen)
    findings += told
    loss = power_difference(
        loss_percent=power, torque=declared.torque(case), drift=declared.drift(case)
    )
    roller = doubts_of("the roller, uncorrected power, same sweep rate", loss)
    entries = (
        (Measure.WHEEL_POWER, "log-percent", power, said, roller),
        (Measure.CAUGHT_RETURN, "log-percent", caught, said, catch_doubts(title, catch)),
        (Measure.INLET_DEPRESSION, "Pa", small, small_source, read[0]),
    )
    made = tuple(
        Footing(
            measure=measure,
            unit=unit,
            margin=margin,
            margin_source=source,
            repeatability=case.repeatability.get(measure),
            doubts=doubts,
            replumbed=replumbed,
        )
        for measure, unit, margin, source, doubts in entries
    )
    for footing in made:
        findings += _findings_on(footing)
    return made, tuple(findings)


def small_margin(case: Case, seen: Foreseen) -> tuple[float | None, str]:
    """
    Give the margin below which an added depression is called small.

    Parameters
    ----------
    case : Case
        The case.
    seen : Foreseen
        What is predicted.

    Returns
    -------
    float or None
        A fifth of the room that the bare line leaves; None without a limit or without room. [Pa]
    str
        Where it comes from, or why there is none.
    """
    limit_abs = case.vehicle.pump.maker_limit_abs_pa
    if limit_abs is None:
        return None, "no limit of the pump's maker is known, so nothing is called small"
    allowed = case.reference.ambient_pressure_abs_pa - limit_abs
    high = float(np.percentile(seen.baseline_pa, HIGH_PERCENTILE))
    room = allowed - high
    if room <= 0.0:
        return None, "the line without a kit leaves no room above the maker's limit"
    return SMALL_SHARE * room, (
        f"'small': a fifth of the {room / 1e3:.1f} kPa that the bare line is predicted to leave"
        f" ({allowed / 1e3:.1f} kPa allowed less {high / 1e3:.1f} kPa, its 95th percentile along"
        " the pull); a proposal, the absolute limit decides"
    )


def planned_catches(case: Case, seen: Foreseen) -> dict[str, CatchSet]:
    """
    Give the catch that the plan takes, and the same with every other measure of the case.

    Parameters
    ----------
    case : Case
        With its measures, and its runs, if any: the catch that was done before is planned again.
    seen : Foreseen
        What is predicted.

    Returns
    -------
    dict of str to CatchSet
        By the words for it, the planned one first: steady in neutral where the pump overflows to
        the tank, else a loaded hold.
    """
    fuel = case.fuels[case.reference.fuel]
    held = case.vehicle.pump.topology is Topology.OVERFLOW_TO_TANK
    before = [
        run.caught_return
        for run in case.runs
        if run.caught_return and run.caught_return.hold == "steady"
    ]
    lasted = float(np.median([each.duration_s for each in before])) if before else None
    duration = lasted or (HOLD_S if held else LOADED_HOLD_S)
    used = [each.measure for each in before if each.measure]
    known = dict.fromkeys((*used, *case.measures))
    ids = [each for each in known if isinstance(case.measures.get(each), Jug | Balance)]
    load = "in neutral" if held else "at load"
    hold = f"{duration:.0f} s at {60 * seen.hold_rev_per_s:.0f} rpm {load}"
    found = {}
    for each in ids or [""]:
        measure = case.measures.get(each)
        weighed = isinstance(measure, Balance)
        name = "a jug, assumed" if measure is None else (getattr(measure, "title", "") or each)
        found[f"{hold}, {name}"] = CatchSet(
            flow_m3_per_s=seen.hold_return_m3_per_s if held else seen.pull_return_m3_per_s,
            duration_s=duration,
            expansion_per_k=fuel.expansion_per_k,
            density_15c_kg_per_m3=fuel.density_15c_kg_per_m3,
            doubts=declared.weighing_doubts(case, each, fuel)
            if weighed
            else declared.volume_doubts(case, each, fuel),
            hold_rev_per_s=seen.hold_rev_per_s,
        )
    return found


def gauges(case: Case, seen: Foreseen) -> tuple[tuple[Doubts, ...], tuple[Finding, ...]]:
    """
    Give the doubts of every gauge of the case, with those of temperature and level.

    Parameters
    ----------
    case : Case
        The case.
    seen : Foreseen
        What is predicted.

    Returns
    -------
    tuple of Doubts
        The planned gauge first; an assumed one where the case describes none.
    tuple of Finding
        Gauges that are not described.
    """
    found, told = [], []
    for instrument in case.instruments.values():
        if not any(each.channel in declared.INLET_CHANNELS for each in instrument.channels):
            continue
        difference = difference_of(case, [instrument], [instrument], seen.added_pa, 1)
        if difference is None:
            told.append(_undescribed(f"instrument.{instrument.id}"))
        else:
            found.append(doubts_of(instrument.title, difference))
    if not found:
        told = told or [_undescribed("instrument")]
        found.append(
            gauge_doubts(
                f"a gauge of class {USUAL_CLASS:g}, {USUAL_SPAN_PA / 1e3:g} kPa, assumed",
                GaugeSet(
                    class_percent=USUAL_CLASS,
                    span_pa=USUAL_SPAN_PA,
                    resolution_pa=USUAL_STEP_PA,
                    height=usual.gauge_placed_again(),
                    zero=usual.zero_error(),
                    added_pa=seen.added_pa,
                    density_kg_per_m3=case.fuels[case.reference.fuel].density_15c_kg_per_m3,
                ),
            )
        )
    sensors = condition_steps(seen)
    return tuple(replace(each, steps=(*each.steps, *sensors)) for each in found), tuple(told)


def _undescribed(place: str) -> Finding:
    """Say that a gauge is not described."""
    return warning(
        place,
        "class and span of a gauge at the pump inlet are not declared; without them one of class"
        f" {USUAL_CLASS:g} and {USUAL_SPAN_PA / 1e3:g} kPa is assumed.",
        "Declare span and class.",
    )


def condition_steps(seen: Foreseen) -> tuple[Step, Step]:
    """
    Give what reading temperature and level puts into a depression that is corrected for them.

    Parameters
    ----------
    seen : Foreseen
        How the line answers.

    Returns
    -------
    tuple of Step
        In Pa.
    """
    return (
        _sensor("inlet fuel temperature", seen, TEMPERATURE_U_K),
        _sensor("fuel level", seen, LEVEL_U_FRACTION),
    )


def _sensor(name: str, seen: Foreseen, u: float) -> Step:
    """Give what reading a condition puts into a depression that is corrected for it."""
    warm = name == "inlet fuel temperature"
    slope = seen.slopes.depression_per_k if warm else seen.slopes.depression_per_level
    size = f"{u:g} K" if warm else f"{100 * u:g} % of the tank"
    return Step(
        name=name,
        u=abs(float(np.mean(slope))) * u,
        in_repeats=True,
        basis=f"read to {size}; the correction through the model carries it (common practice)",
        assumed=True,
    )


def _findings_on(footing: Footing) -> list[Finding]:
    """Say what is missing or odd in a footing."""
    name = footing.measure.value
    if footing.repeatability is None:
        return [
            warning(
                f"repeatability.{name}",
                "no repeatability is declared: one run of each can then never decide, and for more"
                " only the ratio of margin to repeatability can be planned.",
                "Drive the baseline three times or more in one session, without touching"
                " anything, and declare what they scatter by.",
            )
        ]
    found = []
    own, declared = footing.doubts.of_a_run, footing.repeatability.standard_deviation
    if own > declared:
        found.append(
            note(
                f"repeatability.{name}",
                f"the steps of one run, as assumed, would scatter by {own:.3g} alone, the declared"
                f" repeatability is {declared:.3g} {footing.unit}.",
                "Either the steps are better than assumed or the declared figure is too good.",
            )
        )
    if footing.replumbed and footing.repeatability.setup_standard_deviation == 0.0:
        found.append(
            warning(
                f"repeatability.{name}",
                "every change-over opens the line, but no scatter of opening it is declared.",
                "Declare setup_standard_deviation from repeats with re-plumbing, or use a"
                " change-over loop.",
            )
        )
    return found
