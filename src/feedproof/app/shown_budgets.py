"""The budgets that a proof shows, and what instruments add to the answers of one configuration."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feedproof.app import declared_doubts as declared
from feedproof.app.case_budgets import (
    Pair,
    added_depression_of,
    depression_of,
    gauge,
    pair_of,
    power_loss_of,
    scatter_of,
)
from feedproof.app.configurations import candidates
from feedproof.app.return_budgets import catches, return_losses_of, return_of
from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.case.run import Role, Run
from feedproof.evidence.air import GROUPS, full_load_fuel
from feedproof.evidence.budget.doubt import limit
from feedproof.evidence.budget.measurand import Budget, Measurand, linear_budget
from feedproof.evidence.budget.monte_carlo import full_budget
from feedproof.evidence.budget.power import power_at_wheel, power_corrected
from feedproof.evidence.budget.scatter import with_scatter
from feedproof.evidence.reduced import ReducedRun
from feedproof.physics.atmosphere import dry_pressure
from feedproof.physics.power_correction import PowerStandard, fuel_per_cycle

SHOWN_STANDARD = PowerStandard.ISO_1585
_FUEL_SHARE = 0.05
"""Of the engine's consumption as described: common practice. [-]"""
_REVOLUTIONS_PER_CYCLE = 2.0
_SCATTER = "declared repeatability, over these runs"


@dataclass(frozen=True, slots=True, kw_only=True)
class TypeB:
    """
    Standard uncertainties that instruments add to the scatter of the runs.

    Parameters
    ----------
    gauge_known : bool
        False when class or span of the gauge is not declared.
    depression_pa, added_pa : float
        Of one absolute depression, and of a difference. [Pa]
    power_percent, return_percent : float
        Of the losses. [log-percent]
    """

    gauge_known: bool
    depression_pa: float
    added_pa: float
    power_percent: float
    return_percent: float


def type_b_of(
    case: Case, reduced: Sequence[ReducedRun], kits: tuple[str, ...], role: Role
) -> TypeB:
    """
    Give what instruments add to the answers on one configuration.

    Parameters
    ----------
    case : Case
        The case.
    reduced : sequence of ReducedRun
        All reduced runs.
    kits : tuple of str
        Kit ids.
    role : Role
        What the kit's runs are for.

    Returns
    -------
    TypeB
        What repeats show by themselves is in their scatter and not counted again, where the
        declared scatter is large enough to hold it.
    """
    pair = pair_of(case, reduced, kits, role)
    factor = pair.scatter_factor()
    one, added = depression_of(case, gauge(case), 0.0), added_depression_of(case, pair)
    losses = return_losses_of(case, pair)
    return TypeB(
        gauge_known=one is not None and added is not None,
        depression_pa=_beside(case, Measure.INLET_DEPRESSION, one, 1.0),
        added_pa=_beside(case, Measure.INLET_DEPRESSION, added, factor),
        power_percent=_beside(case, Measure.WHEEL_POWER, power_loss_of(case, pair), factor),
        return_percent=max(
            (_beside(case, Measure.CAUGHT_RETURN, each, factor) for each in losses), default=0.0
        ),
    )


def _beside(case: Case, measure: Measure, found: Measurand | None, factor: float) -> float:
    """Give the uncertainty that one measurand's instruments add to the scatter."""
    if found is None:
        return 0.0
    return linear_budget(found).beside_scatter(scatter_of(case, measure, factor))


def shown_budgets(case: Case, reduced: Sequence[ReducedRun]) -> tuple[Budget, ...]:
    """
    Give the budgets that a proof shows, with scatter and simulation.

    Parameters
    ----------
    case : Case
        The case.
    reduced : sequence of ReducedRun
        All reduced runs.

    Returns
    -------
    tuple of Budget
        Of the configuration that was run most: depression, added depression, return flow, its
        loss, wheel power, corrected power, loss of power; those that were measured.
    """
    pairs = [pair_of(case, reduced, kits, role) for kits, role in candidates(case)]
    if not pairs:
        return ()
    pair = max(pairs, key=lambda each: min(len(each.without), len(each.with_kit)))
    found = [*_depressions(case, pair), *_returns(case, pair), *_powers(case, pair)]
    return tuple(_simulated(each) for each in found)


def _simulated(found: Measurand) -> Budget:
    """Give a budget with its simulation; without where some draws have no result."""
    try:
        return full_budget(found)
    except ValueError:
        # A watch off by as much as a very short catch: the linear budget still stands.
        return linear_budget(found)


def _depressions(case: Case, pair: Pair) -> list[Measurand]:
    """Describe depression and added depression."""
    means = [r.depression_mean_pa for r in pair.without if r.depression_mean_pa is not None]
    one = depression_of(case, gauge(case), math.fsum(means) / len(means)) if means else None
    added = added_depression_of(case, pair)
    factors = (1.0 / max(len(means), 1), pair.scatter_factor())
    return [
        _scattered(case, Measure.INLET_DEPRESSION, each, factor)
        for each, factor in zip((one, added), factors, strict=True)
        if each is not None
    ]


def _returns(case: Case, pair: Pair) -> list[Measurand]:
    """Describe return flow and its loss; the flow's scatter is declared of its logarithm."""
    flows = [return_of(case, runs) for runs in catches(pair, pair.without).values()]
    losses = [
        _scattered(case, Measure.CAUGHT_RETURN, each, pair.scatter_factor())
        for each in return_losses_of(case, pair)
    ]
    return [*(each for each in flows if each is not None), *losses]


def _powers(case: Case, pair: Pair) -> list[Measurand]:
    """Describe wheel power, corrected power and the loss of power."""
    losses = [
        r.power_loss_log_percent for r in pair.without if r.power_loss_log_percent is not None
    ]
    if not losses:
        return []
    power = math.exp(-math.fsum(losses) / len(losses) / 100.0)
    torque, speed = declared.torque(case), declared.roller_speed(case)
    loss = _scattered(case, Measure.WHEEL_POWER, power_loss_of(case, pair), pair.scatter_factor())
    run = pair.records[pair.without[0].number]
    return [
        power_at_wheel(power_w=power, torque=torque, speed=speed),
        corrected_power_of(case, run, power),
        loss,
    ]


def corrected_power_of(case: Case, run: Run, power_w: float) -> Measurand:
    """
    Describe one power corrected to reference air, at the engine's rated speed.

    Parameters
    ----------
    case : Case
        With the engine and the air sensors.
    run : Run
        Whose air it is.
    power_w : float
        As read. [W]

    Returns
    -------
    Measurand
        In W, after ISO 1585 (exponents from memory).
    """
    engine = case.vehicle.engine
    rated = engine.rated_speed_rev_per_s
    burnt = float(full_load_fuel(engine, np.array([rated]))[0])
    per_cycle = fuel_per_cycle(burnt, engine.displacement_m3, rated, _REVOLUTIONS_PER_CYCLE)
    corrected = float(per_cycle) / engine.boost_ratio
    text = f"{100 * _FUEL_SHARE:g} % of the consumption, assumed, common practice"
    return power_corrected(
        power_w=power_w,
        torque=declared.torque(case),
        speed=declared.roller_speed(case),
        dry_pressure_abs_pa=float(
            dry_pressure(
                run.ambient_pressure_abs_pa, run.air_temperature_k, run.relative_humidity_fraction
            )
        ),
        dry_pressure=declared.air_pressure(case),
        air_temperature_k=run.air_temperature_k,
        air_temperature=declared.air_temperature(case),
        corrected_fuel_kg_per_m3=corrected,
        corrected_fuel=limit(_FUEL_SHARE * corrected, text, assumed=True),
        group=GROUPS[engine.charge],
        standard=SHOWN_STANDARD,
    )


def _scattered(case: Case, measure: Measure, found: Measurand, factor: float) -> Measurand:
    """Add the declared scatter of runs, where there is one."""
    scatter = case.repeatability.get(measure)
    if scatter is None or not math.isfinite(factor) or scatter.degrees_of_freedom <= 0.0:
        return found
    return with_scatter(
        found,
        standard_deviation=scatter.standard_deviation,
        degrees_of_freedom=scatter.degrees_of_freedom,
        variance_factor=factor,
        basis=_SCATTER,
    )
