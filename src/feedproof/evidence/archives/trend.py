"""Whether a rig's scatter moves over time: a plain test that can say "cannot tell"."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import fdtr, fdtri

from feedproof.evidence.students import fisher_survival

_LEVEL = 0.05
_CHANCE = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """
    The later sessions' scatter against the earlier ones'.

    Parameters
    ----------
    answer : str
        ``worse``, ``better`` or ``cannot_tell``.
    earlier, later : float or None
        Pooled standard deviation of each part; None with fewer than two sessions.
    earlier_dof, later_dof : float
        Degrees of freedom of each. [-]
    chance : float or None
        Two-sided probability of parts so unlike when nothing changed. [-]
    visible_ratio : float or None
        Rise of the standard deviation that would be seen with 80 % chance. [-]
    """

    answer: str
    earlier: float | None = None
    later: float | None = None
    earlier_dof: float = 0.0
    later_dof: float = 0.0
    chance: float | None = None
    visible_ratio: float | None = None


def trend_of(standard_deviations: Sequence[float], degrees_of_freedom: Sequence[float]) -> Trend:
    """
    Ask whether the scatter moves over time.

    Parameters
    ----------
    standard_deviations, degrees_of_freedom : sequence of float
        Of each session, the oldest first.

    Returns
    -------
    Trend
        From Fisher's F of the later part over the earlier one, 5 % two-sided; the parts are cut
        where their degrees of freedom are the most alike, which is decided before the scatter
        is looked at.

    Examples
    --------
    >>> trend_of([1.0, 1.1, 0.9, 1.0], [1, 1, 1, 1]).answer
    'cannot_tell'
    """
    count = len(standard_deviations)
    if count < 2:
        return Trend(answer="cannot_tell")
    cut = _middle(degrees_of_freedom)
    s1, dof1 = _pooled(standard_deviations[:cut], degrees_of_freedom[:cut])
    s2, dof2 = _pooled(standard_deviations[cut:], degrees_of_freedom[cut:])
    ratio = (s2 / s1) ** 2
    upper = fisher_survival(ratio, dof2, dof1)
    lower = float(fdtr(dof2, dof1, ratio))
    chance = min(1.0, 2.0 * min(upper, lower))
    told = chance < _LEVEL
    return Trend(
        answer=("worse" if ratio > 1.0 else "better") if told else "cannot_tell",
        earlier=s1,
        later=s2,
        earlier_dof=dof1,
        later_dof=dof2,
        chance=chance,
        visible_ratio=visible_ratio(dof1, dof2),
    )


def visible_ratio(earlier_dof: float, later_dof: float) -> float:
    """
    Give the rise of a standard deviation that the test would see with 80 % chance.

    Parameters
    ----------
    earlier_dof, later_dof : float
        Degrees of freedom of the two parts. [-]

    Returns
    -------
    float
        Later over earlier standard deviation. [-]

    Examples
    --------
    >>> round(visible_ratio(10, 10), 2)
    2.54
    """
    critical = float(fdtri(later_dof, earlier_dof, 1.0 - 0.5 * _LEVEL))
    return math.sqrt(critical / float(fdtri(later_dof, earlier_dof, 1.0 - _CHANCE)))


def _middle(degrees_of_freedom: Sequence[float]) -> int:
    """Find the cut that makes the two parts' degrees of freedom the most alike."""
    total = math.fsum(degrees_of_freedom)
    gaps = [
        abs(total - 2.0 * math.fsum(degrees_of_freedom[:cut]))
        for cut in range(1, len(degrees_of_freedom))
    ]
    return 1 + gaps.index(min(gaps))


def _pooled(
    standard_deviations: Sequence[float], degrees_of_freedom: Sequence[float]
) -> tuple[float, float]:
    """Pool one part."""
    dof = math.fsum(degrees_of_freedom)
    pairs = zip(standard_deviations, degrees_of_freedom, strict=True)
    return math.sqrt(math.fsum(n * s * s for s, n in pairs) / dof), dof
