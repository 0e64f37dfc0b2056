"""
Loss coefficients of an equal tee of 90 degrees, by the split of its flow.

Each is referred to the velocity in the leg that carries the whole flow, and counts total pressure
from that leg (dividing) or to it (combining).  They may be below 0: the faster stream drags the
slower one along.  All hold for turbulent flow; nothing published covers laminar flow in bores of
this size, where they are too low.
"""

from feedproof.core.compiled import formula

THROUGH_BRANCH = 1.5
"""Coefficient where the side leg carries the whole flow: 60 times a fully turbulent friction
factor of 0.025, common practice. [1]"""


@formula
def tee_run_dividing(branch_share: float) -> float:
    """
    Give the coefficient of the leg straight on, where flow divides.

    Parameters
    ----------
    branch_share : float
        Flow in the side leg over the whole flow, 0 to 1 [1].

    Returns
    -------
    float
        Loss coefficient [1].

    Notes
    -----
    Crane TP-410 (2009), equal bores: M q^2 with M = 2(2q - 1) up to a half, 0.3(2q - 1) beyond.
    """
    slope = 2.0 if branch_share <= 0.5 else 0.3
    return slope * (2.0 * branch_share - 1.0) * branch_share * branch_share


@formula
def tee_branch_dividing(branch_share: float) -> float:
    """
    Give the coefficient of the side leg, where flow divides.

    Parameters
    ----------
    branch_share : float
        Flow in the side leg over the whole flow, 0 to 1 [1].

    Returns
    -------
    float
        Loss coefficient [1].

    Notes
    -----
    Crane TP-410 (2009), equal bores, 90 degrees: (1 + 0.3 q^2)^2.
    """
    once = 1.0 + 0.3 * branch_share * branch_share
    return once * once


@formula
def tee_run_combining(branch_share: float) -> float:
    """
    Give the coefficient of the leg straight on, where flows combine.

    Parameters
    ----------
    branch_share : float
        Flow in the side leg over the whole flow, 0 to 1 [1].

    Returns
    -------
    float
        Loss coefficient [1].

    Notes
    -----
    Crane TP-410 (2009), 90 degrees: 1.55 q - q^2.
    """
    return 1.55 * branch_share - branch_share * branch_share


@formula
def tee_branch_combining(branch_share: float) -> float:
    """
    Give the coefficient of the side leg, where flows combine.

    Parameters
    ----------
    branch_share : float
        Flow in the side leg over the whole flow, 0 to 1 [1].

    Returns
    -------
    float
        Loss coefficient [1].

    Notes
    -----
    Crane TP-410 (2009), equal bores, 90 degrees: C (1 + q^2 - 2 (1 - q)^2) with
    C = 0.9 (1 - q) up to q = 0.4 and 0.55 beyond.
    """
    drag = 1.0 - branch_share
    scale = 0.9 * drag if branch_share <= 0.4 else 0.55
    return scale * (1.0 + branch_share * branch_share - 2.0 * drag * drag)
