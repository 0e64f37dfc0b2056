"""Looks while runs are still added, as an alternative to a fixed number of runs."""

from dataclasses import dataclass

from feedproof.evidence.looks import LOOK_CONFIDENCE


@dataclass(frozen=True, slots=True, kw_only=True)
class SequentialOption:
    """
    Declared looks with what they cost and save.

    Parameters
    ----------
    order : str
        In which the runs are added; a look falls after each even number of them.
    looks : tuple of int
        Runs of each after which the answer is looked at. [-]
    confidence : float
        One-sided, of each limit at each look. [-]
    false_accept : float
        Chance that a loss of exactly the margin passes at any look. [-]
    power : float
        Chance that a kit without loss passes at some look. [-]
    mean_runs : float
        Runs in all that such a session takes on average, without a loss. [-]
    mean_runs_alternating : float
        The same when the runs alternate. [-]
    single_look_power : float
        Chance that one look after the last runs passes it. [-]
    undeclared_false_accept : float
        The first chance when the same looks are taken at 95 % without declaring them. [-]
    margin_in_repeatabilities, archive_dof : float
        Settings that the figures were simulated with. [-]
    source : str
        Where they come from.
    """

    order: str
    looks: tuple[int, ...]
    confidence: float
    false_accept: float
    power: float
    mean_runs: float
    mean_runs_alternating: float
    single_look_power: float
    undeclared_false_accept: float
    margin_in_repeatabilities: float
    archive_dof: float
    source: str


SEQUENTIAL = SequentialOption(
    order="ABBABAABAB",
    looks=(2, 3, 4, 5),
    confidence=LOOK_CONFIDENCE,
    false_accept=0.045,
    power=0.84,
    mean_runs=6.6,
    mean_runs_alternating=6.8,
    single_look_power=0.907,
    undeclared_false_accept=0.104,
    margin_in_repeatabilities=2.02,
    archive_dof=8.0,
    source="simulated sessions that stop at the first look that passes",
)
