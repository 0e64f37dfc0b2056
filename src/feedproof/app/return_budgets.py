"""Budgets of a case's caught returns, and of their change with a kit."""

import math
from collections.abc import Sequence

from feedproof.app import declared_doubts as declared
from feedproof.app.case_budgets import Pair
from feedproof.case.case import Case
from feedproof.case.run import Run
from feedproof.evidence.budget.catch import (
    Catch,
    return_by_volume,
    return_by_weighing,
    return_loss_by_volume,
    return_loss_by_weighing,
)
from feedproof.evidence.budget.catch_models import REFERENCE_TEMPERATURE_K
from feedproof.evidence.budget.measurand import Measurand
from feedproof.evidence.reduced import ReducedRun


def return_of(case: Case, runs: Sequence[Run]) -> Measurand | None:
    """
    Describe the mean return flow of like catches.

    Parameters
    ----------
    case : Case
        The case.
    runs : sequence of Run
        With catches made in one way.

    Returns
    -------
    Measurand or None
        None when none was caught.
    """
    caught = [run.caught_return for run in runs if run.caught_return is not None]
    if not caught:
        return None
    fuel, mean = case.fuels[runs[0].fuel], _mean_catch(runs)
    if caught[0].mass_kg is None:
        return return_by_volume(
            mean,
            declared.volume_doubts(case, caught[0].measure, fuel),
            expansion_per_k=fuel.expansion_per_k,
        )
    return return_by_weighing(
        mean,
        declared.weighing_doubts(case, caught[0].measure, fuel),
        density_15c_kg_per_m3=fuel.density_15c_kg_per_m3,
    )


def return_losses_of(case: Case, pair: Pair) -> tuple[Measurand, ...]:
    """
    Describe the loss of return with a kit, for each measure that both were caught in.

    Parameters
    ----------
    case : Case
        The case.
    pair : Pair
        The runs.

    Returns
    -------
    tuple of Measurand
        In log-percent; empty where nothing was caught alike.
    """
    found = []
    sides = [catches(pair, side) for side in (pair.without, pair.with_kit)]
    for key in sides[0]:
        if key not in sides[1]:
            continue
        without, with_kit = (side[key] for side in sides)
        fuel = case.fuels[without[0].fuel]
        first, second = _mean_catch(without), _mean_catch(with_kit)
        if key[1]:
            found.append(
                return_loss_by_weighing(
                    first,
                    second,
                    declared.weighing_doubts(case, key[0], fuel),
                    density_15c_kg_per_m3=fuel.density_15c_kg_per_m3,
                )
            )
        else:
            found.append(
                return_loss_by_volume(
                    first,
                    second,
                    declared.volume_doubts(case, key[0], fuel),
                    expansion_per_k=fuel.expansion_per_k,
                )
            )
    return tuple(found)


def catches(pair: Pair, side: Sequence[ReducedRun]) -> dict[tuple[str, bool], list[Run]]:
    """
    Group runs whose return was usable by measure and by whether they were weighed.

    Parameters
    ----------
    pair : Pair
        With the records.
    side : sequence of ReducedRun
        Runs without or with the kit.

    Returns
    -------
    dict
        Records by id of the measure and "was weighed".
    """
    groups: dict[tuple[str, bool], list[Run]] = {}
    for run in side:
        record = pair.records[run.number]
        caught = record.caught_return
        if caught is not None and run.return_loss_log_percent is not None:
            groups.setdefault((caught.measure, caught.mass_kg is not None), []).append(record)
    return groups


def _mean_catch(runs: Sequence[Run]) -> Catch:
    """Give the mean of like catches."""
    caught = [run.caught_return for run in runs if run.caught_return is not None]
    n = len(caught)
    warm = [each.temperature_k for each in caught if each.temperature_k is not None]
    return Catch(
        amount=math.fsum(each.amount for each in caught) / n,
        duration_s=math.fsum(each.duration_s for each in caught) / n,
        temperature_k=math.fsum(warm) / len(warm) if warm else REFERENCE_TEMPERATURE_K,
        count=n,
    )
