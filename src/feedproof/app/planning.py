"""The verb ``plan``: what to drive, what it can and cannot exclude, what to improve first."""

from collections.abc import Sequence
from dataclasses import replace

from feedproof.app.plan_conditions import catch_plan, windows
from feedproof.app.plan_control import control_for
from feedproof.app.plan_footing import (
    condition_steps,
    footings,
    gauges,
    planned_catches,
)
from feedproof.app.plan_foreseen import Foreseen, foresee
from feedproof.app.plan_result import BaselineRepeats, MeasurePlan, SessionPlan
from feedproof.app.plan_words import answer_words
from feedproof.app.progress import Progress, silent
from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error, note, warning
from feedproof.evidence.archive import archive_of
from feedproof.evidence.plan.choice import Choice, choose_order
from feedproof.evidence.plan.doubts import Doubts
from feedproof.evidence.plan.improve import first_step, step_shares, what_ifs
from feedproof.evidence.plan.measure_plan import Footing, order_figures
from feedproof.evidence.plan.orders import candidate_orders, describe_order
from feedproof.evidence.plan.sequential import SEQUENTIAL
from feedproof.evidence.plan.what_if import (
    catch_doubts,
    other_catches,
    other_rollers,
)
from feedproof.evidence.plan.what_if_gauge import other_gauges
from feedproof.evidence.planning import MOST_RUNS_EACH, smallest_margin

LEAST_CHANCE, MOST_CHANCE = 0.50, 0.99
REPEATS = (3, 5, 8)
"""Baseline runs whose worth is told where no repeatability is declared. [-]"""
MEASURES = (Measure.WHEEL_POWER, Measure.CAUGHT_RETURN, Measure.INLET_DEPRESSION)


def plan_case(
    case: Case,
    *,
    kits: tuple[str, ...] | None = None,
    chance_percent: float = 90.0,
    runs_each: int | None = None,
    replumbed: bool | None = None,
    findings: Sequence[Finding] = (),
    progress: Progress = silent,
) -> SessionPlan:
    """
    Plan the test of a case.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str, optional
        Configurations such as ``"secondary+primary"``; every kit that is no positive control
        when left out.
    chance_percent : float
        Wanted chance of excluding each margin when there is no loss. [%]
    runs_each : int, optional
        Runs of each that somebody decided on.
    replumbed : bool, optional
        Every change-over opens the line; when left out, True where a scatter of opening it is
        declared.
    findings : sequence of Finding
        What is known of the document already.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    SessionPlan
        The plan.

    Raises
    ------
    InputError
        Everything in the options that cannot be used, at once.
    """
    from feedproof import __version__

    sets = _checked(case, kits, chance_percent, runs_each)
    if replumbed is None:
        replumbed = any(each.setup_standard_deviation > 0.0 for each in case.repeatability.values())
    chance = chance_percent / 100.0
    progress(0, 3, "predicting the line")
    seen = foresee(case, sets)
    stands, told = footings(case, seen, replumbed=replumbed)
    progress(1, 3, "comparing orders")
    choice = choose_order(stands, chance, runs_each)
    measures = tuple(
        _measure_plan(footing, choice, chance, _others(case, footing, seen)) for footing in stands
    )
    progress(2, 3, "sizing a positive control")
    controls = tuple(
        control_for(case, footing.measure, footing.margin)
        for footing in stands
        if footing.measure is not Measure.CAUGHT_RETURN and footing.margin is not None
    )
    progress(3, 3, "sizing a positive control")
    plan = SessionPlan(
        format="feedproof-plan",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        configurations=tuple("+".join(each) for each in sets),
        chance=chance,
        replumbed=replumbed,
        order=choice.order.order,
        runs_each=choice.order.runs_each,
        reasons=choice.reasons,
        chance_of_all=choice.chance_of_all,
        answer=(),
        margins=case.margins,
        measures=measures,
        sequential=SEQUENTIAL,
        windows=windows(seen, measures),
        catch=catch_plan(case, seen),
        controls=controls,
        findings=(*findings, *_on_margins(case), *told),
    )
    return replace(plan, answer=answer_words(plan))


def _checked(
    case: Case, kits: tuple[str, ...] | None, chance_percent: float, runs_each: int | None
) -> tuple[tuple[str, ...], ...]:
    """Read the options, all mistakes at once, and give the sets of kits."""
    faults: list[Finding] = []
    low, high = 100 * LEAST_CHANCE, 100 * MOST_CHANCE
    if not low <= chance_percent <= high:
        faults.append(
            error(
                "--chance",
                f"{chance_percent:g} % is out of range: allowed is {low:.0f} to {high:.0f} %.",
                "Ask for 80, 90 or 95: below 50 a coin is as good, and 100 cannot be had.",
            )
        )
    if runs_each is not None and not 1 <= runs_each <= MOST_RUNS_EACH:
        faults.append(
            error(
                "--runs-each",
                f"{runs_each} runs of each: allowed is 1 to {MOST_RUNS_EACH}.",
                "Leave it out to have the least number worked out.",
            )
        )
    if kits is None:
        sets: tuple[tuple[str, ...], ...] = tuple(
            (kit.id,) for kit in case.kits.values() if not kit.control
        )
    else:
        sets = tuple(dict.fromkeys(tuple(dict.fromkeys(each.split("+"))) for each in kits))
        unknown = dict.fromkeys(kit for each in sets for kit in each if kit not in case.kits)
        faults += [
            error(
                "--kit",
                f"the case has no kit {kit!r}.",
                f"It has: {', '.join(case.kits) or 'none'}.",
            )
            for kit in unknown
        ]
    if not sets:
        faults.append(error("kit", "the case has no kit to be tested.", "Describe one in [[kit]]."))
    if faults:
        raise InputError(faults)
    return sets


def _measure_plan(
    footing: Footing, choice: Choice, chance: float, others: tuple[Doubts, ...]
) -> MeasurePlan:
    """Plan one measure."""
    order = choice.order
    shares = step_shares(footing, order, chance)
    archive = archive_of(footing.repeatability)
    need = next(each for each in choice.needs if each.measure is footing.measure)
    return MeasurePlan(
        measure=footing.measure,
        unit=footing.unit,
        margin=footing.margin,
        margin_source=footing.margin_source,
        repeatability=footing.scatter,
        degrees_of_freedom=archive.degrees_of_freedom if archive else None,
        repeatability_source=footing.repeatability.source if footing.repeatability else "",
        orders=tuple(
            order_figures(footing, each, chance) for each in candidate_orders(order.runs_each)
        ),
        planned=order_figures(footing, order, chance),
        needed_order=need.order,
        instruments=footing.doubts.title,
        steps=shares,
        what_ifs=what_ifs(footing, order, chance, others),
        first_step=first_step(footing, order, chance, shares),
        baseline_repeats=() if footing.repeatability else _baseline_repeats(chance),
    )


def _others(case: Case, footing: Footing, seen: Foreseen) -> tuple[Doubts, ...]:
    """Give the what-ifs of a measure."""
    if footing.measure is Measure.WHEEL_POWER:
        return other_rollers(footing.doubts, footing.margin or 0.0)
    if footing.measure is Measure.INLET_DEPRESSION:
        # Temperature and level are read beside every gauge, so their doubts go with each.
        density = case.fuels[case.reference.fuel].density_15c_kg_per_m3
        thought_of = (
            replace(each, steps=(*each.steps, *condition_steps(seen)))
            for each in other_gauges(seen.added_pa, density)
        )
        return (*gauges(case, seen)[0][1:], *thought_of)
    planned, *spare = planned_catches(case, seen).items()
    pull_s = (case.pull.stop_m_per_s - case.pull.start_m_per_s) / case.pull.rate_m_per_s2
    return (
        *(catch_doubts(title, caught) for title, caught in spare),
        *other_catches(planned[1], seen.pull_return_m3_per_s, pull_s),
    )


def _baseline_repeats(chance: float) -> tuple[BaselineRepeats, ...]:
    """Say what repeats of the baseline would give to one A-B-A."""
    design = describe_order("ABA").design
    return tuple(
        BaselineRepeats(
            runs=runs,
            degrees_of_freedom=runs - 2,
            smallest_in_repeatabilities=smallest_margin(
                design, repeatability=1.0, archive_dof=float(runs - 2), chance=chance
            ),
        )
        for runs in REPEATS
    )


def _on_margins(case: Case) -> list[Finding]:
    """Say whether the margins bind."""
    found = []
    if case.margins.declared is None:
        found.append(
            warning(
                "margins",
                "are not declared yet: they must be dated before the first run with a kit, or no"
                " verdict can rest on them.",
                "feedproof declare CASE --who NAME --source WHERE-FROM",
            )
        )
    driven = [run for run in case.runs if run.kits]
    if driven:
        found.append(
            note(
                "run",
                f"the case holds {len(driven)} runs with a kit already; this plan is of a session"
                " to come.",
            )
        )
    return found
