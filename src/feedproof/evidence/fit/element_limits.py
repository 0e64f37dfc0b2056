"""A fitted figure with its standard uncertainty, its degrees of freedom and its limits."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from feedproof.evidence.students import (
    CONFIDENCE,
    effective_degrees_of_freedom,
    student_quantile,
)

TWO_SIDED = 0.5 + 0.5 * CONFIDENCE
"""Probability below the upper end of a two-sided 95 % interval. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """
    A figure with its uncertainty.

    Parameters
    ----------
    value, standard_uncertainty : float
        Figure and standard uncertainty.
    degrees_of_freedom : float
        Effective ones; infinite when every source is declared. [-]
    lower, upper : float
        One-sided 95 % limits: each by itself is held in 19 cases of 20.
    low, high : float
        Two-sided 95 % interval.
    """

    value: float
    standard_uncertainty: float
    degrees_of_freedom: float
    lower: float
    upper: float
    low: float
    high: float


def components(
    parts: Sequence[tuple[str, float, float]], expansion: float
) -> list[tuple[float, float]]:
    """
    Pair uncertainties with degrees of freedom.

    Parameters
    ----------
    parts : sequence of (str, float, float)
        Name, standard uncertainty and degrees of freedom of each source.
    expansion : float
        Factor by which the runs' own scatter widened the declared uncertainties. [-]

    Returns
    -------
    list of (float, float)
        Standard uncertainties and degrees of freedom.

    Notes
    -----
    Where the runs' own scatter widened the declared uncertainties, one scatter widened them all:
    their sum has its degrees of freedom, not each of them.
    """
    if expansion <= 1.0:
        return [(u, dof) for _, u, dof in parts]
    judged = [(u, dof) for _, u, dof in parts if math.isfinite(dof)]
    declared = [(u, dof) for _, u, dof in parts if math.isinf(dof)]
    u = math.sqrt(math.fsum(u * u for u, _ in judged))
    return [*declared, *([(u, judged[0][1])] if judged else [])]


def make_estimate(value: float, components: Iterable[tuple[float, float]]) -> Estimate:
    """
    Put limits to a figure.

    Parameters
    ----------
    value : float
        Figure.
    components : iterable of (float, float)
        Standard uncertainty of each source in the figure's unit, and degrees of freedom. [-]

    Returns
    -------
    Estimate
        Figure with its limits.

    Notes
    -----
    JCGM 100, G.4; never narrower than any source would make it alone, since the formula can
    give a smaller k u when an uncertainty is added to one with few degrees of freedom.
    """
    pairs = list(components)
    u = math.sqrt(math.fsum(part * part for part, _ in pairs))
    dof = effective_degrees_of_freedom(pairs)
    one, two = (
        max(
            [student_quantile(p, dof) * u]
            + [student_quantile(p, each) * part for part, each in pairs if part > 0.0]
        )
        for p in (CONFIDENCE, TWO_SIDED)
    )
    return Estimate(
        value=value,
        standard_uncertainty=u,
        degrees_of_freedom=dof,
        lower=value - one,
        upper=value + one,
        low=value - two,
        high=value + two,
    )
