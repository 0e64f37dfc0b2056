"""
Student's t, Fisher's F and the noncentral t, from the special functions alone.

Importing the large statistics module costs about a second, which every start of the program
would pay; the special functions underneath it are the same code.
"""

import math
from collections.abc import Iterable

from scipy.special import fdtrc, nctdtr, ndtr, ndtri, stdtr, stdtrit

CONFIDENCE = 0.95
"""One-sided confidence of every limit that decides. [-]"""


def student_quantile(probability: float, degrees_of_freedom: float) -> float:
    """
    Give the quantile of Student's t; of the normal law for infinite degrees of freedom.

    Parameters
    ----------
    probability : float
        Probability below the quantile, inside 0 to 1. [-]
    degrees_of_freedom : float
        Positive, need not be whole. [-]

    Returns
    -------
    float
        The quantile. [-]

    Raises
    ------
    ValueError
        Degrees of freedom that are not positive.

    Examples
    --------
    >>> round(student_quantile(0.95, 9.0), 4)
    1.8331
    >>> round(student_quantile(0.95, math.inf), 4)
    1.6449
    """
    _check(degrees_of_freedom)
    if math.isinf(degrees_of_freedom):
        return float(ndtri(probability))
    return float(stdtrit(degrees_of_freedom, probability))


def student_survival(value: float, degrees_of_freedom: float) -> float:
    """
    Give the probability that Student's t exceeds a value.

    Parameters
    ----------
    value : float
        The value. [-]
    degrees_of_freedom : float
        Positive; infinite gives the normal law. [-]

    Returns
    -------
    float
        Probability above the value. [-]

    Raises
    ------
    ValueError
        Degrees of freedom that are not positive.

    Examples
    --------
    >>> round(student_survival(1.8331129, 9.0), 6)
    0.05
    """
    _check(degrees_of_freedom)
    # The lower tail at the mirrored value keeps its digits where 1 - cdf would lose them.
    if math.isinf(degrees_of_freedom):
        return float(ndtr(-value))
    return float(stdtr(degrees_of_freedom, -value))


def fisher_survival(ratio: float, upper_dof: float, lower_dof: float) -> float:
    """
    Give the probability that Fisher's F exceeds a ratio of variances.

    Parameters
    ----------
    ratio : float
        Variance ratio. [-]
    upper_dof, lower_dof : float
        Degrees of freedom of the numerator and the denominator. [-]

    Returns
    -------
    float
        Probability above the ratio. [-]

    Examples
    --------
    >>> round(fisher_survival(5.317655, 1.0, 8.0), 6)
    0.05
    """
    _check(upper_dof)
    # scipy's F takes no infinite denominator; a chi-square over its dof is the limit, and a
    # denominator this large is that limit to 7 digits.
    return float(fdtrc(upper_dof, min(lower_dof, 1e8), ratio))


def noncentral_student_survival(
    value: float, degrees_of_freedom: float, noncentrality: float
) -> float:
    """
    Give the probability that a noncentral t exceeds a value.

    Parameters
    ----------
    value : float
        The value. [-]
    degrees_of_freedom : float
        Positive; infinite gives a shifted normal law. [-]
    noncentrality : float
        Noncentrality. [-]

    Returns
    -------
    float
        Probability above the value. [-]

    Examples
    --------
    >>> round(noncentral_student_survival(1.8331129, 9.0, 0.0), 6)
    0.05
    """
    _check(degrees_of_freedom)
    if math.isinf(degrees_of_freedom):
        return float(ndtr(noncentrality - value))
    return min(1.0, max(0.0, 1.0 - float(nctdtr(degrees_of_freedom, noncentrality, value))))


def effective_degrees_of_freedom(components: Iterable[tuple[float, float]]) -> float:
    """
    Combine the degrees of freedom of uncertainty components.

    Parameters
    ----------
    components : iterable of (float, float)
        Standard uncertainty (all in one unit) and degrees of freedom of each. [-]

    Returns
    -------
    float
        Effective degrees of freedom, not rounded; infinite when every component that counts
        has infinite ones or all are zero. [-]

    Notes
    -----
    Welch-Satterthwaite formula, JCGM 100:2008, annex G.4.1.

    Examples
    --------
    >>> effective_degrees_of_freedom([(1.0, 4.0), (1.0, 4.0)])
    8.0
    """
    pairs = [(u, dof) for u, dof in components if u != 0.0]
    variance = math.fsum(u * u for u, _ in pairs)
    weighted = math.fsum(u**4 / dof for u, dof in pairs)
    return variance * variance / weighted if weighted > 0.0 else math.inf


def _check(degrees_of_freedom: float) -> None:
    """Refuse degrees of freedom that are not positive (NaN included)."""
    if not degrees_of_freedom > 0.0:
        raise ValueError(f"degrees of freedom {degrees_of_freedom} must be above 0")
