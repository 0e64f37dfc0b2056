"""What a Monte Carlo gives, and whether it agrees with the linear budget."""

from dataclasses import dataclass
from enum import StrEnum


class Agreement(StrEnum):
    """Whether the linear interval is that of the simulation (JCGM 101:2008, clause 8)."""

    AGREES = "agrees"
    DIFFERS = "differs"
    CANNOT_TELL = "cannot_tell"


@dataclass(frozen=True, slots=True, kw_only=True)
class MonteCarlo:
    """
    A distribution propagated by simulation.

    Parameters
    ----------
    trials, seed : int, int
        How many, begun where. [-]
    digits : int
        Digits of the standard uncertainty that had to be stable. [-]
    tolerance : float
        Half a unit of the last of those digits. Unit of the measurand.
    doubt : float
        Within which they are: twice the standard deviation of the least stable of mean, standard
        uncertainty and both ends. Unit of the measurand.
    stable : bool
        False when the cap of trials came first.
    finding : str
        What to say then, empty otherwise.
    mean, standard_uncertainty : float
        Of the trials. Unit of the measurand.
    symmetric_low, symmetric_high : float
        Interval that leaves as many trials below as above. Unit of the measurand.
    shortest_low, shortest_high : float
        Shortest interval. Unit of the measurand.
    """

    trials: int
    seed: int
    digits: int
    tolerance: float
    doubt: float
    stable: bool
    finding: str
    mean: float
    standard_uncertainty: float
    symmetric_low: float
    symmetric_high: float
    shortest_low: float
    shortest_high: float
