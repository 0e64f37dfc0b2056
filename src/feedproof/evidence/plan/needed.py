"""How many runs of each would settle a loss against a margin."""

from feedproof.evidence.designs import design_of_order, recommended_order
from feedproof.evidence.plan.chance import chance_of_excluding
from feedproof.evidence.planning import MOST_RUNS_EACH


def runs_needed(
    *,
    margin: float,
    repeatability: float,
    archive_dof: float = 0.0,
    true_loss: float = 0.0,
    u_other: float = 0.0,
    chance: float = 0.9,
    most: int = MOST_RUNS_EACH,
) -> int | None:
    """
    Give the runs of each that settle a loss against a margin.

    Parameters
    ----------
    margin : float
        Agreed margin.
    repeatability : float
        True run-to-run standard deviation.
    archive_dof : float
        Degrees of freedom of the declared repeatability; 0 without one. [-]
    true_loss : float
        Loss that the candidate has: below the margin to exclude it, above it to prove that it
        is exceeded.
    u_other : float
        Standard uncertainty that more runs do not lower.
    chance : float
        Wanted chance. [-]
    most : int
        Where to give up. [-]

    Returns
    -------
    int or None
        Runs of each in the recommended order; None when ``most`` are not enough.

    Notes
    -----
    By the chance with the archive's conflict check in it: the plain formula promises up to 0.03
    too much and could name one run too few.

    Examples
    --------
    >>> runs_needed(margin=2.0203, repeatability=1.0, archive_dof=8)
    5
    """
    gap = abs(margin - true_loss)
    for n in range(1, most + 1):
        reached = chance_of_excluding(
            design_of_order(recommended_order(n)),
            margin=gap,
            repeatability=repeatability,
            archive_dof=archive_dof,
            u_other=u_other,
        )
        if reached >= chance:
            return n
    return None
