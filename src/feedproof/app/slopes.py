"""The line's derivatives for every configuration that was run, with what is not known of them."""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.spread import curve_u_pa
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.evidence.corrections import Sensitivity
from feedproof.evidence.trial import BASELINE
from feedproof.feedline.sensitivity import LineDerivatives, line_derivatives

FloatArray = NDArray[np.float64]

HOLD_REV_PER_S = 50.0
"""Engine speed of a steady catch where no run says: 3000 rpm."""
POINTS, FEW_POINTS = 25, 5
MODEL_SHARES = (0.15, 0.05, 0.30)
"""
Relative standard uncertainty of the derivatives by temperature, level and ambient pressure that
remains when every range of the case is taken in: the project's own judgement.  The first is what a
line that is not as described leaves (the demonstration's independent truth is off by 10 to 12 %),
the second hydrostatics with a tank of uncertain shape, the third a small term.
"""
DECAY_STEP_K = 5.0
_EDGES = ("laminar_late", "turbulent_early")


def sensitivities(case: Case) -> dict[str, Sensitivity]:
    """
    Take the line's derivatives for every configuration that was run.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    dict of str to Sensitivity
        By configuration, at the reference conditions.
    """
    return {
        "+".join(kits) if kits else BASELINE: _sensitivity(case, kits)
        for kits in dict.fromkeys(run.kits for run in case.runs)
    }


def hold_of(case: Case) -> float:
    """
    Give the engine speed at which the return was caught.

    Parameters
    ----------
    case : Case
        With its runs.

    Returns
    -------
    float
        The first that a run names, else `HOLD_REV_PER_S`. [rev/s]
    """
    holds = [
        run.caught_return.engine_speed_rev_per_s
        for run in case.runs
        if run.caught_return and run.caught_return.engine_speed_rev_per_s
    ]
    return holds[0] if holds else HOLD_REV_PER_S


def _slopes(
    case: Case,
    kits: tuple[str, ...],
    conditions: Conditions,
    points: int = FEW_POINTS,
    rule: str = "",
) -> LineDerivatives:
    """Take the derivatives of one configuration."""
    return line_derivatives(
        case.vehicle,
        case.line_with(kits),
        case.fuels[case.reference.fuel],
        conditions,
        rule or case.friction_rule,
        np.linspace(case.pull.start_m_per_s, case.pull.stop_m_per_s, points),
        hold_of(case),
    )


def _sensitivity(case: Case, kits: tuple[str, ...]) -> Sensitivity:
    """Take the derivatives of one configuration with their fading and their uncertainty."""
    slopes = _slopes(case, kits, case.reference, POINTS)
    return Sensitivity(
        speed_m_per_s=slopes.speed_m_per_s,
        depression_per_k=slopes.depression_per_k,
        depression_per_level=slopes.depression_per_level,
        depression_per_ambient=slopes.depression_per_ambient,
        return_percent_per_k=slopes.return_percent_per_k,
        return_percent_per_level=slopes.return_percent_per_level,
        return_percent_per_ambient=slopes.return_percent_per_ambient,
        slope_decay_per_k=_decay(case, kits),
        relative_uncertainty=_shares(case, kits),
    )


def _means(slopes: LineDerivatives) -> FloatArray:
    """Give the band means of the three derivatives of the depression."""
    return np.array(
        [
            slopes.depression_per_k.mean(),
            slopes.depression_per_level.mean(),
            slopes.depression_per_ambient.mean(),
        ]
    )


def _decay(case: Case, kits: tuple[str, ...]) -> float:
    """Give how fast the derivative by temperature fades; 0 where it does not keep its sign."""
    warm = case.reference.fuel_temperature_k
    low, high = (
        float(
            _means(_slopes(case, kits, replace(case.reference, fuel_temperature_k=warm + step)))[0]
        )
        for step in (-DECAY_STEP_K, DECAY_STEP_K)
    )
    return math.log(high / low) / (2.0 * DECAY_STEP_K) if low * high > 0.0 else 0.0


def _shares(case: Case, kits: tuple[str, ...]) -> tuple[float, float, float]:
    """Give the relative uncertainty of the three derivatives of the depression."""
    centre = _means(_slopes(case, kits, case.reference))
    edges = [_means(_slopes(case, kits, case.reference, rule=rule)) for rule in _EDGES]

    def moved(other: Case) -> FloatArray:
        return _means(_slopes(other, kits, other.reference))

    # Friction between its two edges is taken as a rectangle, as the inputs' ranges are.
    friction = np.abs(edges[0] - edges[1]) / math.sqrt(12.0)
    absolute = np.hypot(curve_u_pa(case, moved), friction)
    relative = np.where(np.abs(centre) > 0.0, absolute / np.maximum(np.abs(centre), 1e-12), 0.0)
    by_temperature, by_level, by_ambient = (
        float(share) for share in np.hypot(relative, MODEL_SHARES)
    )
    return by_temperature, by_level, by_ambient
