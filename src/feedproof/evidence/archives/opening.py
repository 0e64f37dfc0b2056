"""Scatter of opening the line: what repeats with re-plumbing have over those without."""

import math
from dataclasses import dataclass

from scipy.special import chdtri

from feedproof.evidence.students import CONFIDENCE, fisher_survival


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningScatter:
    """
    Scatter that each opening of the line adds.

    Parameters
    ----------
    standard_deviation : float
        Root of the difference of the two variances; 0 where the difference is not above 0.
    upper : float
        One-sided 95 % limit.
    chance : float
        Probability of so large a ratio when opening adds nothing (Fisher's F). [-]
    """

    standard_deviation: float
    upper: float
    chance: float


def opening_scatter(
    replumbed: float, replumbed_dof: float, as_plumbed: float, as_plumbed_dof: float
) -> OpeningScatter:
    """
    Estimate what opening the line adds to the scatter.

    Parameters
    ----------
    replumbed, replumbed_dof : float
        Pooled from repeats with the line opened before each, and its degrees of freedom.
    as_plumbed, as_plumbed_dof : float
        Pooled from repeats in one plumbing.

    Returns
    -------
    OpeningScatter
        Estimate and limit.

    Notes
    -----
    Method of moments.  The limit is that of a difference of two mean squares by modified large
    samples (Ting, Burdick, Graybill, Jeyaratnam and Lu 1990, memory) without its small cross term.

    Examples
    --------
    >>> found = opening_scatter(1.25, 20, 1.0, 20)
    >>> found.standard_deviation, round(found.upper, 2)
    (0.75, 1.39)
    """
    v1, v2 = replumbed**2, as_plumbed**2
    above = replumbed_dof / float(chdtri(replumbed_dof, CONFIDENCE)) - 1.0
    below = 1.0 - as_plumbed_dof / float(chdtri(as_plumbed_dof, 1.0 - CONFIDENCE))
    limit = v1 - v2 + math.hypot(above * v1, below * v2)
    return OpeningScatter(
        standard_deviation=math.sqrt(max(v1 - v2, 0.0)),
        upper=math.sqrt(max(limit, 0.0)),
        chance=fisher_survival(v1 / v2, replumbed_dof, as_plumbed_dof),
    )
