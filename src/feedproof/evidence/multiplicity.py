"""
Several measures at once.

"No loss" needs every measure to pass, each at 5 %: no correction, the joint error is smaller.
"A loss in something" picks the worst of several, so its probabilities are adjusted by Holm.
"""

import math
from collections.abc import Sequence

from feedproof.case.margin import Measure
from feedproof.case.outcome import Outcome
from feedproof.evidence.students import CONFIDENCE, student_survival


def holm_adjusted(p_values: Sequence[float]) -> tuple[float, ...]:
    """
    Adjust probabilities for having looked at several.

    Parameters
    ----------
    p_values : sequence of float, length m
        As found. [-]

    Returns
    -------
    tuple of float, length m
        Adjusted, in the order given, at most 1. [-]

    Notes
    -----
    Holm 1979: the k-th smallest is multiplied by m - k + 1, and none falls below a smaller one's.

    Examples
    --------
    >>> holm_adjusted([0.01, 0.04, 0.03, 0.005])
    (0.03, 0.06, 0.06, 0.02)
    """
    m = len(p_values)
    adjusted = [0.0] * m
    running = 0.0
    for rank, index in enumerate(sorted(range(m), key=lambda i: p_values[i])):
        running = max(running, min(1.0, (m - rank) * p_values[index]))
        adjusted[index] = running
    return tuple(adjusted)


def measures_with_a_loss(outcomes: Sequence[Outcome]) -> tuple[Measure, ...]:
    """
    Name the measures in which a loss is shown, looked at together.

    Parameters
    ----------
    outcomes : sequence of Outcome
        Outcomes of one kit; those without figures are passed over, and so is depression, of which
        every kit adds some: it is a restriction and no loss.

    Returns
    -------
    tuple of Measure
        Measures whose Holm-adjusted probability of no loss is below 5 %.
    """
    judged: list[Measure] = []
    p_values: list[float] = []
    for outcome in outcomes:
        d, u, dof = outcome.estimate, outcome.standard_uncertainty, outcome.degrees_of_freedom
        if outcome.measure is Measure.INLET_DEPRESSION:
            continue
        if d is None or u is None or outcome.coverage_factor is None or u <= 0.0:
            continue
        judged.append(outcome.measure)
        # Outcomes hold None for infinite degrees of freedom.
        p_values.append(student_survival(d / u, math.inf if dof is None else dof))
    adjusted = holm_adjusted(p_values)
    return tuple(m for m, p in zip(judged, adjusted, strict=True) if p < 1.0 - CONFIDENCE)
