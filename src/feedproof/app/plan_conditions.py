"""How far runs may be apart in temperature, level and air, and how the return is caught."""

import math
from collections.abc import Sequence

import numpy as np

from feedproof.app.plan_footing import planned_catches
from feedproof.app.plan_foreseen import Foreseen
from feedproof.app.plan_result import CatchPlan, MeasurePlan, Window
from feedproof.app.slopes import MODEL_SHARES
from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.case.vehicle import Topology
from feedproof.evidence.carried import (
    LARGEST_DIFFERENCE_U_PA,
    LARGEST_TEMPERATURE_DIFFERENCE_K,
)
from feedproof.evidence.trial import LARGEST_AIR_DIFFERENCE_PA

LARGEST_LEVEL_DIFFERENCE = 0.25
"""Of the tank, up to which the derivative by the level is valid. [-]"""
HARMLESS_SHARE = 0.2
"""Share of a difference's standard uncertainty that may go uncorrected: it adds 2 % to it. [-]"""


def windows(seen: Foreseen, measures: Sequence[MeasurePlan]) -> tuple[Window, ...]:
    """
    Say how far runs may be apart.

    Parameters
    ----------
    seen : Foreseen
        How the line answers.
    measures : sequence of MeasurePlan
        For what the plan can tell from nothing.

    Returns
    -------
    tuple of Window
        Fuel temperature, fuel level, air pressure.
    """
    slopes = seen.slopes
    by_k, by_level, by_air = (
        float(np.mean(each))
        for each in (
            slopes.depression_per_k,
            slopes.depression_per_level,
            slopes.depression_per_ambient,
        )
    )
    carried = [
        LARGEST_DIFFERENCE_U_PA / (share * abs(slope)) if slope else math.inf
        for share, slope in zip(MODEL_SHARES, (by_k, by_level, by_air), strict=True)
    ]
    model = "the correction's own doubt would exceed 0.3 kPa"
    cap_k = LARGEST_TEMPERATURE_DIFFERENCE_K
    return (
        Window(
            condition="fuel_temperature",
            unit="K",
            as_it_is=_harmless(measures, by_k, slopes.return_percent_per_k),
            corrected=min(carried[0], cap_k),
            moves_pa=by_k,
            why=model if carried[0] < cap_k else f"means may differ by {cap_k:g} K at most",
        ),
        Window(
            condition="fuel_level",
            unit="1",
            as_it_is=_harmless(measures, by_level, slopes.return_percent_per_level),
            corrected=min(carried[1], LARGEST_LEVEL_DIFFERENCE),
            moves_pa=by_level,
            why=model
            if carried[1] < LARGEST_LEVEL_DIFFERENCE
            else "the model's derivative is good for a quarter of a tank",
        ),
        Window(
            condition="ambient_pressure",
            unit="Pa",
            as_it_is=_harmless(measures, by_air, slopes.return_percent_per_ambient),
            corrected=min(carried[2], LARGEST_AIR_DIFFERENCE_PA),
            moves_pa=by_air,
            why=model
            if carried[2] < LARGEST_AIR_DIFFERENCE_PA
            else "means of power may differ by 2 kPa at most",
        ),
    )


def _harmless(
    measures: Sequence[MeasurePlan], depression_slope: float, return_slope: float
) -> float | None:
    """Give the difference that needs no correction in depression nor return."""
    slopes = {
        Measure.INLET_DEPRESSION: depression_slope,
        Measure.CAUGHT_RETURN: return_slope,
    }
    found = [
        HARMLESS_SHARE * plan.planned.u_difference / abs(slopes[plan.measure])
        for plan in measures
        if slopes.get(plan.measure) and plan.planned.u_difference is not None
    ]
    return min(found, default=None)


def catch_plan(case: Case, seen: Foreseen) -> CatchPlan:
    """
    Say how the return is caught.

    Parameters
    ----------
    case : Case
        The case.
    seen : Foreseen
        What is predicted.

    Returns
    -------
    CatchPlan
        In neutral where the pump overflows to the tank, else loaded.
    """
    caught = next(iter(planned_catches(case, seen).values()))
    return CatchPlan(
        in_neutral=case.vehicle.pump.topology is Topology.OVERFLOW_TO_TANK,
        engine_speed_rev_per_s=caught.hold_rev_per_s,
        duration_s=caught.duration_s,
        return_m3_per_s=caught.flow_m3_per_s,
        volume_m3=caught.volume_m3,
        neutral_depression_pa=seen.hold_depression_pa,
        loaded_depression_pa=seen.loaded_depression_pa,
    )
