"""Limits and answers: the half-width of a limit, and what two limits say against a margin."""

import math

from feedproof.case.outcome import Answer
from feedproof.evidence.students import (
    CONFIDENCE,
    effective_degrees_of_freedom,
    student_quantile,
)


def coverage(
    u_repeatability: float,
    repeatability_dof: float,
    u_other: float,
    probability: float = CONFIDENCE,
) -> tuple[float, float, float]:
    """
    Give the half-width of a limit from its two kinds of uncertainty.

    Parameters
    ----------
    u_repeatability : float
        Standard uncertainty from run-to-run scatter.
    repeatability_dof : float
        Its degrees of freedom. [-]
    u_other : float
        What more runs do not lower (set-up, drift, type B), taken as well known.
    probability : float
        One-sided; 0.975 for a two-sided 95 % interval. [-]

    Returns
    -------
    half_width, coverage_factor, degrees_of_freedom : float
        Half-width, half-width over standard uncertainty [-], effective degrees of freedom [-].

    Notes
    -----
    k = t at the Welch-Satterthwaite degrees of freedom (JCGM 100, G.4).  Trap: with one to four
    degrees of freedom that formula gives a *smaller* k u when an uncertainty is added.  More
    uncertainty must never help, so the half-width is never below that of the scatter alone.

    Examples
    --------
    >>> alone = coverage(1.0, 1.0, 0.0)[0]
    >>> coverage(1.0, 1.0, 0.5)[0] == alone
    True
    """
    u = math.hypot(u_repeatability, u_other)
    dof = repeatability_dof
    if u_other > 0.0:
        components = [(u_repeatability, repeatability_dof), (u_other, math.inf)]
        dof = effective_degrees_of_freedom(components)
    half = student_quantile(probability, dof) * u
    if u_other > 0.0 and u_repeatability > 0.0:
        half = max(half, student_quantile(probability, repeatability_dof) * u_repeatability)
    return half, (half / u if u > 0.0 else student_quantile(probability, dof)), dof


def classify(lower: float, upper: float, margin: float | None) -> Answer:
    """
    Turn two limits and a margin into one of the five answers.

    Parameters
    ----------
    lower, upper : float
        One-sided 95 % limits of the loss.
    margin : float or None
        Agreed margin on the same scale; without one, only a loss can be told.

    Returns
    -------
    Answer
        One of the five.

    Examples
    --------
    >>> classify(-1.0, 1.5, 2.0).value, classify(-1.0, 2.0, 2.0).value
    ('no_loss_within_margin', 'cannot_tell')
    """
    if margin is None:
        return Answer.LOSS_UNSETTLED if lower > 0.0 else Answer.CANNOT_TELL
    if upper < margin:
        return Answer.SMALL_LOSS if lower > 0.0 else Answer.NO_LOSS_WITHIN
    if lower > margin:
        return Answer.LOSS_BEYOND
    return Answer.LOSS_UNSETTLED if lower > 0.0 else Answer.CANNOT_TELL
