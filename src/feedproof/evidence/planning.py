"""
Planning: what an order of runs can find out, before anybody drives.

The figures hold for a loss to be excluded and, by symmetry, for a real loss to be detected.
"""

import math

from feedproof.evidence.designs import Design
from feedproof.evidence.students import (
    CONFIDENCE,
    noncentral_student_survival,
    student_quantile,
)

MOST_RUNS_EACH = 20
"""Runs of each beyond which planning gives up. [-]"""


def power(
    design: Design,
    *,
    margin: float,
    repeatability: float,
    archive_dof: float = 0.0,
    true_loss: float = 0.0,
    u_other: float = 0.0,
    confidence: float = CONFIDENCE,
) -> float:
    """
    Give the chance that a margin will be excluded.

    Parameters
    ----------
    design : Design
        Order of runs.
    margin : float
        Agreed margin, on the scale of the losses.
    repeatability : float
        True run-to-run standard deviation, on the same scale.
    archive_dof : float
        Degrees of freedom of the declared repeatability; 0 without one. [-]
    true_loss : float
        Loss that the candidate really has, on the same scale.
    u_other : float
        Standard uncertainty that more runs do not lower, on the same scale.
    confidence : float
        One-sided. [-]

    Returns
    -------
    float
        Probability that the upper limit falls below the margin; 0 when no degree of freedom
        is left. [-]

    Notes
    -----
    Noncentral t with (margin - true loss) / u as noncentrality.  The check of the archive
    against the runs costs up to 0.03 of it.

    Examples
    --------
    >>> from feedproof.evidence.designs import design_of_order
    >>> abba = design_of_order("ABBA")
    >>> round(power(abba, margin=2.0203, repeatability=1.0, archive_dof=8), 2)
    0.59
    """
    dof = design.degrees_of_freedom + archive_dof
    if dof <= 0.0:
        return 0.0
    u = math.sqrt(design.variance_factor * repeatability**2 + u_other**2)
    return noncentral_student_survival(
        student_quantile(confidence, dof), dof, (margin - true_loss) / u
    )


def smallest_margin(
    design: Design,
    *,
    repeatability: float,
    archive_dof: float = 0.0,
    chance: float = 0.9,
    u_other: float = 0.0,
) -> float:
    """
    Give the smallest margin that an order can exclude when there is no loss.

    Parameters
    ----------
    design : Design
        Order of runs.
    repeatability : float
        True run-to-run standard deviation.
    archive_dof : float
        Degrees of freedom of the declared repeatability; 0 without one. [-]
    chance : float
        Wanted chance of excluding it. [-]
    u_other : float
        Standard uncertainty that more runs do not lower.

    Returns
    -------
    float
        Margin on the scale of the repeatability; also the smallest real loss that would be
        detected with that chance; infinite when the order cannot exclude any.

    Examples
    --------
    >>> from feedproof.evidence.designs import design_of_order
    >>> round(smallest_margin(design_of_order("ABABAB"), repeatability=1.0, archive_dof=8), 2)
    2.67
    """
    if design.degrees_of_freedom + archive_dof <= 0.0:
        return math.inf
    settings = {
        "repeatability": repeatability,
        "archive_dof": archive_dof,
        "u_other": u_other,
    }
    low, high = 0.0, math.hypot(repeatability, u_other)
    while power(design, margin=high, **settings) < chance:
        low, high = high, 2.0 * high
    for _ in range(60):
        middle = 0.5 * (low + high)
        if power(design, margin=middle, **settings) < chance:
            low = middle
        else:
            high = middle
    return high
