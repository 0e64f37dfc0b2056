"""Between the decision's log-percent scale and outcomes: conversions, and copying of figures."""

import math

from feedproof.case.margin import Measure
from feedproof.case.outcome import Outcome
from feedproof.evidence.comparison import Comparison


def log_percent(fraction: float) -> float:
    """
    Turn a loss as a fraction into the log-percent scale of the decision.

    Parameters
    ----------
    fraction : float
        Loss, below 1. [-]

    Returns
    -------
    float
        -100 ln(1 - fraction). [log-percent]

    Raises
    ------
    ValueError
        A loss of everything or more.

    Examples
    --------
    >>> round(log_percent(0.02), 4), round(log_percent(0.03), 4)
    (2.0203, 3.0459)
    """
    if not fraction < 1.0:
        raise ValueError(f"loss fraction {fraction} must be below 1")
    return -100.0 * math.log1p(-fraction)


def plain_percent(log_loss: float) -> float:
    """
    Turn a loss on the log-percent scale into plain percent.

    Parameters
    ----------
    log_loss : float
        Loss. [log-percent]

    Returns
    -------
    float
        100 (1 - exp(-loss/100)). [%]

    Examples
    --------
    >>> round(plain_percent(log_percent(0.05)), 9)
    5.0
    """
    return -100.0 * math.expm1(-log_loss / 100.0)


def correction_uncertainty(
    comparison: Comparison, corrections: list[float], uncertainties: list[float]
) -> float:
    """
    Carry the uncertainty of the runs' corrections into the difference.

    Parameters
    ----------
    comparison : Comparison
        Its weights, in the order of the places.
    corrections, uncertainties : list of float, length n
        What bringing each run to the reference conditions moved, and its uncertainty, in the
        order of the places.

    Returns
    -------
    float
        The larger of two readings: all corrections wrong by the same share (they come from one
        model) or each by itself; infinite when one of them cannot be told.
    """
    if any(math.isinf(u) for u in uncertainties):
        return math.inf
    terms = [
        (weight * math.copysign(u, correction), weight * u)
        for weight, correction, u in zip(
            comparison.design.weights, corrections, uncertainties, strict=True
        )
    ]
    together = abs(math.fsum(shared for shared, _ in terms))
    alone = math.sqrt(math.fsum(own * own for _, own in terms))
    return max(together, alone)


def outcome_of(comparison: Comparison, measure: Measure, unit: str) -> Outcome:
    """
    Copy a comparison's figures into an outcome.

    Parameters
    ----------
    comparison : Comparison
        The comparison.
    measure : Measure
        Of what.
    unit : str
        ``percent`` (log-percent) or ``Pa``.

    Returns
    -------
    Outcome
        With the comparison's answer; infinite limits become None.
    """
    c = comparison
    known = c.coverage_factor is not None
    figures = {
        "variance_factor": c.design.variance_factor,
        "u_repeatability": c.u_repeatability,
        "u_setup": c.u_setup,
        "u_drift": c.u_drift,
        "u_type_b": c.u_type_b,
        "drift_bound": c.drift_bound,
        "drift_per_run": c.drift_per_run,
        "repeatability_degrees_of_freedom": c.repeatability_dof,
        "repeatability_of_these_runs": c.data_sd,
    }
    return Outcome(
        measure=measure,
        answer=c.answer,
        estimate=c.estimate,
        lower=c.lower if known else None,
        upper=c.upper if known else None,
        margin=c.margin,
        unit=unit,
        standard_uncertainty=c.standard_uncertainty if known else None,
        coverage_factor=c.coverage_factor,
        degrees_of_freedom=_finite(c.degrees_of_freedom),
        repeatability=c.repeatability,
        flip_repeatability=c.flip_repeatability,
        order=c.order,
        tags=c.tags,
        reasons=c.reasons,
        figures={k: v for k, v in figures.items() if v is not None and math.isfinite(v)},
    )


def _finite(value: float | None) -> float | None:
    """Give None for an infinite figure: no document holds infinity."""
    return value if value is not None and math.isfinite(value) else None
