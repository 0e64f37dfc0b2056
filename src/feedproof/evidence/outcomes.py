"""Between the decision's log-percent scale and outcomes: conversions, and copying of figures."""

import math

from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome, Unit
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


def answer_words(answer: Answer, measure: Measure) -> str:
    """
    Name an answer in few words that claim nothing without a number.

    Parameters
    ----------
    answer : Answer
        The answer.
    measure : Measure
        On what: a shortfall of rail pressure is held against a bound.

    Returns
    -------
    str
        Such as ``loss beyond the margin``.

    Examples
    --------
    >>> answer_words(Answer.NO_LOSS_WITHIN, Measure.WHEEL_POWER)
    'loss inside the margin if there is any'
    """
    if measure is Measure.RAIL_PRESSURE and answer in _RAIL_WORDS:
        return _RAIL_WORDS[answer]
    return _ANSWER_WORDS[answer]


_RAIL_WORDS = {
    Answer.NO_LOSS_WITHIN: "shortfall inside the agreed bound",
    Answer.LOSS_BEYOND: "shortfall beyond the agreed bound",
}
_ANSWER_WORDS = {
    Answer.NO_LOSS_WITHIN: "loss inside the margin if there is any",
    Answer.SMALL_LOSS: "small loss inside the margin",
    Answer.LOSS_BEYOND: "loss beyond the margin",
    Answer.LOSS_UNSETTLED: "loss of unsettled size",
    Answer.CANNOT_TELL: "cannot tell",
    Answer.REFUSED: "not comparable",
    Answer.VOID: "void",
    Answer.NOT_TESTED: "not tested",
    Answer.NO_LIMIT_KNOWN: "no limit known",
    Answer.WITHIN_LIMIT: "inside the limit",
    Answer.BEYOND_LIMIT: "beyond the limit",
}


def outcome_of(comparison: Comparison, measure: Measure, unit: Unit) -> Outcome:
    """
    Copy a comparison's figures into an outcome.

    Parameters
    ----------
    comparison : Comparison
        The comparison.
    measure : Measure
        Of what.
    unit : str
        ``log-percent`` or ``Pa``.

    Returns
    -------
    Outcome
        With the comparison's answer; infinite limits become None.
    """
    c = comparison
    known = c.coverage_factor is not None
    figures = {
        "confidence": c.confidence,
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
