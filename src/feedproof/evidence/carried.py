"""
How far corrections carry: their doubts in a difference, and when a comparison is refused.

All runs share the error of a derivative, so that it enters a difference by what the corrections
differ; each run has the errors of its own sensors.
"""

import math
from collections.abc import Callable, Sequence

import numpy as np

from feedproof.core.findings import Finding, warning
from feedproof.evidence.reduced import Doubt, ReducedRun

LARGEST_DIFFERENCE_U_PA = 300.0
"""Project's own rule: a kit run 6 K warmer must be corrected to within 0.3 kPa."""
LARGEST_TEMPERATURE_DIFFERENCE_K = 10.0
"""Project's own rule: derivatives taken at one temperature are not carried further."""

Corrected = Callable[[ReducedRun], tuple[float, float, tuple[Doubt, ...]]]


def depression_corrected(run: ReducedRun) -> tuple[float, float, tuple[Doubt, ...]]:
    """
    Give what a run's depression was moved by, its uncertainty, and its doubts.

    Parameters
    ----------
    run : ReducedRun
        The run.

    Returns
    -------
    tuple
        Correction, standard uncertainty [Pa], and the same cause by cause.
    """
    return run.depression_correction_pa, run.depression_correction_u_pa, run.depression_doubts


def return_corrected(run: ReducedRun) -> tuple[float, float, tuple[Doubt, ...]]:
    """
    Give what a run's return was moved by, its uncertainty, and its doubts.

    Parameters
    ----------
    run : ReducedRun
        The run.

    Returns
    -------
    tuple
        Correction, standard uncertainty [log-percent], and the same cause by cause.
    """
    return run.return_correction_log_percent, run.return_correction_u_log_percent, run.return_doubts


def carried_uncertainty(
    weights: Sequence[float], runs: Sequence[ReducedRun], corrected: Corrected
) -> float:
    """
    Carry the uncertainty of the runs' corrections into a weighted difference of the runs.

    Parameters
    ----------
    weights : sequence of float, length n
        Of the runs in the difference. [-]
    runs : sequence of ReducedRun, length n
        In the order of the weights.
    corrected : callable
        `depression_corrected` or `return_corrected`.

    Returns
    -------
    float
        Standard uncertainty: for each cause the shared error of the derivative and the sensors'
        own errors, in quadrature; infinite when a run could not be corrected.
        [Pa] or [log-percent]

    Notes
    -----
    JCGM 100, 5.2: fully correlated inputs add with their signs, independent ones in quadrature.
    Runs that bring no doubts cause by cause are taken as shared or as independent, whichever
    is larger.
    """
    held = [corrected(run) for run in runs]
    if any(math.isinf(u) for _, u, _ in held):
        return math.inf
    if not all(doubts for _, _, doubts in held):
        pairs = list(zip(weights, held, strict=True))
        together = abs(math.fsum(w * math.copysign(u, moved) for w, (moved, u, _) in pairs))
        alone = math.sqrt(math.fsum((w * u) ** 2 for w, (_, u, _) in pairs))
        return max(together, alone)
    squares = []
    for cause in dict.fromkeys(doubt.cause for _, _, doubts in held for doubt in doubts):
        mine = [
            (w, next(doubt for doubt in doubts if doubt.cause == cause))
            for w, (_, _, doubts) in zip(weights, held, strict=True)
        ]
        squares.append(math.fsum(w * doubt.model_u for w, doubt in mine) ** 2)
        squares += [(w * doubt.sensor_u) ** 2 for w, doubt in mine]
    return math.sqrt(math.fsum(squares))


def refuse_depression(
    baseline: Sequence[ReducedRun],
    candidate: Sequence[ReducedRun],
    weights: Sequence[float] | None = None,
) -> Finding | None:
    """
    Say whether two configurations may not be compared for depression.

    Parameters
    ----------
    baseline, candidate : sequence of ReducedRun
        Runs compared, at least one each.
    weights : sequence of float, optional
        Of the baseline's runs, then the candidate's, in the difference; those of a difference of
        two means when left out. [-]

    Returns
    -------
    Finding or None
        The reason of the refusal; None when they may be compared.
    """
    place = f"{candidate[0].configuration} against {baseline[0].configuration}, depression"
    if weights is None:
        weights = [-1.0 / len(baseline)] * len(baseline) + [1.0 / len(candidate)] * len(candidate)
    runs = (*baseline, *candidate)
    uncertainty = carried_uncertainty(weights, runs, depression_corrected)
    if not uncertainty <= LARGEST_DIFFERENCE_U_PA:
        moved = math.fsum(
            w * run.depression_correction_pa for w, run in zip(weights, runs, strict=True)
        )
        text = f"bringing the runs to one condition moves their difference by {moved:.0f} Pa with a"
        text += f" standard uncertainty of {uncertainty:.0f} Pa, more than"
        text += f" {LARGEST_DIFFERENCE_U_PA:.0f} Pa: comparison refused."
        if math.isinf(uncertainty):
            text = "the runs could not be brought to one condition: comparison refused."
        return warning(place, text, "Log the fuel temperature; run both at like conditions.")
    temperatures = [
        [run.fuel_temperature_k for run in group if run.fuel_temperature_k is not None]
        for group in (baseline, candidate)
    ]
    if temperatures[0] and temperatures[1]:
        apart = abs(float(np.mean(temperatures[1])) - float(np.mean(temperatures[0])))
        if apart > LARGEST_TEMPERATURE_DIFFERENCE_K:
            text = f"fuel temperatures differ by {apart:.1f} K, more than"
            text += f" {LARGEST_TEMPERATURE_DIFFERENCE_K:.0f} K: comparison refused."
            return warning(place, text, "Run both at like fuel temperature.")
    return None
