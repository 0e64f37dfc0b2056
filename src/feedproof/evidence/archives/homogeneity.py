"""
Whether sessions scatter alike: the largest variance, and all of them together.

What does not fit is named; nothing is dropped here.  An outlying session may be a fault of that
day, or the rig as it is on some days: only a person can say, and withdraw it with a reason.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import chdtrc, fdtri

from feedproof.evidence.students import fisher_survival

STRAGGLER = 0.05
OUTLIER = 0.01
"""Levels at which ISO 5725-2 calls a laboratory a straggler and an outlier."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Homogeneity:
    """
    How well the sessions of one pool fit together.

    Parameters
    ----------
    largest : tuple of float
        For each session, the probability that any of so many sessions would stand out above the
        rest as much as this one does. [-]
    bartlett : float or None
        Probability of variances so unlike, all together; None with fewer than two sessions. [-]
    """

    largest: tuple[float, ...]
    bartlett: float | None

    def standing_out(self, level: float) -> tuple[int, ...]:
        """Give the places of the sessions that stand out at a level."""
        return tuple(i for i, p in enumerate(self.largest) if p < level)


def cochran_critical(level: float, sessions: int, degrees_of_freedom: float) -> float:
    """
    Give the critical value of Cochran's test for the largest variance.

    Parameters
    ----------
    level : float
        Probability of a larger value when all scatter alike. [-]
    sessions : int
        How many variances, 2 or more. [-]
    degrees_of_freedom : float
        Of each of them. [-]

    Returns
    -------
    float
        Largest variance over the sum of all. [-]

    Notes
    -----
    Cochran 1941; ISO 5725-2, 7.3.3, table 4 (memory).

    Examples
    --------
    >>> round(cochran_critical(0.05, 8, 2), 4), round(cochran_critical(0.01, 8, 2), 4)
    (0.5157, 0.6152)
    """
    others = (sessions - 1) * degrees_of_freedom
    ratio = float(fdtri(degrees_of_freedom, others, 1.0 - level / sessions))
    return 1.0 / (1.0 + (sessions - 1) / ratio)


def homogeneity(
    standard_deviations: Sequence[float], degrees_of_freedom: Sequence[float]
) -> Homogeneity:
    """
    Ask whether sessions scatter alike.

    Parameters
    ----------
    standard_deviations, degrees_of_freedom : sequence of float
        Of each session, above 0.

    Returns
    -------
    Homogeneity
        Each session against the rest, and all together.

    Notes
    -----
    Each variance over the pooled variance of the others, held against Fisher's F at the level
    over the number of sessions: with equal degrees of freedom that is Cochran's test to the last
    digit, and it needs no equal ones.  Bartlett's statistic with its correction (1937,
    memory), which is made for normal scatter.
    """
    pairs = list(zip(standard_deviations, degrees_of_freedom, strict=True))
    count = len(pairs)
    if count < 2:
        return Homogeneity(largest=(1.0,) * count, bartlett=None)
    sums = [dof * s * s for s, dof in pairs]
    total, total_dof = math.fsum(sums), math.fsum(degrees_of_freedom)
    largest = []
    for (s, dof), own in zip(pairs, sums, strict=True):
        rest = math.fsum([total, -own]) / (total_dof - dof)
        tail = fisher_survival(s * s / rest, dof, total_dof - dof)
        largest.append(min(1.0, count * tail))
    return Homogeneity(largest=tuple(largest), bartlett=_bartlett(pairs))


def _bartlett(pairs: Sequence[tuple[float, float]]) -> float:
    """Give the probability of variances so unlike, all together."""
    total = math.fsum(dof for _, dof in pairs)
    pooled = math.fsum(dof * s * s for s, dof in pairs) / total
    spread = math.fsum(dof * math.log(pooled / (s * s)) for s, dof in pairs)
    inverse = math.fsum(1.0 / dof for _, dof in pairs) - 1.0 / total
    correction = 1.0 + inverse / (3.0 * (len(pairs) - 1))
    return float(chdtrc(len(pairs) - 1, max(spread, 0.0) / correction))
