"""
Looks: how often the runs of a kit were judged while runs were still being added.

Whoever looks after every run and stops when he likes what he sees passes a loss of the margin
about twice as often as 5 %.  Looks that were declared with the margins are each judged at a
stricter level, so that all together keep 5 %; looks that were not declared void a pass.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from feedproof.case.outcome import Answer, Outcome
from feedproof.case.run import Role, Run
from feedproof.evidence.students import CONFIDENCE

UNDECLARED_TAG = "undeclared_looks"
LATE_EXCLUSION_TAG = "excluded_after_looking"
LOOK_CONFIDENCE = 0.98
"""
One-sided, for each of two to four declared looks that lie close together: looks after 2, 3, 4 and
5 runs of each pass a loss of the margin in 4.5 % (own simulation, tests/evidence/test_looks.py).
"""
CLOSE_TOGETHER = 2.5
"""Last look over first, up to which the figure above holds: the further apart, the less two looks
have in common, and the level is then 5 % over their number (Bonferroni)."""
_PASSES = (Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS, Answer.WITHIN_LIMIT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """
    One judgement of a configuration.

    Parameters
    ----------
    configuration : str
        As verdicts name it.
    baseline, candidate : tuple of int
        Runs recorded in the sessions that hold both, those left out too: leaving a run out makes
        no new look.
    counted : int
        Runs of the candidate that counted. [-]
    """

    configuration: str
    baseline: tuple[int, ...]
    candidate: tuple[int, ...]
    counted: int

    def same_runs(self, other: "Look") -> bool:
        """Say whether two looks saw the same runs."""
        return (self.configuration, self.baseline, self.candidate) == (
            other.configuration,
            other.baseline,
            other.candidate,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LookBook:
    """
    What the journal knows of earlier judgements.

    Parameters
    ----------
    earlier : tuple of Look
        In the order of the journal.
    left_out_late : tuple of int
        Runs that were left out after a judgement with them.
    """

    earlier: tuple[Look, ...] = field(default_factory=tuple)
    left_out_late: tuple[int, ...] = field(default_factory=tuple)


def look_of(
    runs: Sequence[Run], kits: tuple[str, ...], role: Role, configuration: str
) -> Look | None:
    """
    Say which runs a judgement of a configuration sees.

    Parameters
    ----------
    runs : sequence of Run
        Of the case.
    kits : tuple of str
        Kit ids of the candidate.
    role : Role
        What the candidate's runs are for.
    configuration : str
        As verdicts name it.

    Returns
    -------
    Look or None
        None while no session holds both.
    """
    mine = [run for run in runs if run.kits == kits and run.role is role]
    bare = [run for run in runs if not run.kits and run.role is Role.COMPARE]
    both = {run.session for run in mine} & {run.session for run in bare}
    if not both:
        return None
    seen = [run for run in mine if run.session in both]
    return Look(
        configuration=configuration,
        baseline=tuple(sorted(run.number for run in bare if run.session in both)),
        candidate=tuple(sorted(run.number for run in seen)),
        counted=sum(1 for run in seen if not run.excluded),
    )


def confidence_of(declared: Sequence[int]) -> float:
    """
    Give the one-sided confidence of each limit.

    Parameters
    ----------
    declared : sequence of int
        Runs of each after which a look was declared.

    Returns
    -------
    float
        95 % for one look or none declared, `LOOK_CONFIDENCE` for more, or 1 - 5 %/n for more
        than two that are far apart. [-]

    Examples
    --------
    >>> confidence_of(()), confidence_of((5,)), confidence_of((2, 3, 4, 5))
    (0.95, 0.95, 0.98)
    >>> confidence_of((1, 5, 20, 80))
    0.9875
    """
    if len(declared) < 2:
        return CONFIDENCE
    if len(declared) == 2 or max(declared) <= CLOSE_TOGETHER * min(declared):
        return LOOK_CONFIDENCE
    return 1.0 - (1.0 - CONFIDENCE) / len(declared)


def looks_so_far(book: LookBook, now: Look) -> tuple[Look, ...]:
    """
    Give the looks at a configuration, each set of runs once, this one last.

    Parameters
    ----------
    book : LookBook
        Earlier judgements.
    now : Look
        This one.

    Returns
    -------
    tuple of Look
        In their order.
    """
    found: list[Look] = []
    for look in book.earlier:
        if look.configuration != now.configuration or look.same_runs(now):
            continue
        if not any(look.same_runs(other) for other in found):
            found.append(look)
    return (*found, now)


def held_to_looks(outcome: Outcome, declared: Sequence[int], book: LookBook, now: Look) -> Outcome:
    """
    Void a pass that was reached with looks that nobody declared, and say what was looked at.

    Parameters
    ----------
    outcome : Outcome
        On one measure.
    declared : sequence of int
        Runs of each after which a look was declared.
    book : LookBook
        Earlier judgements.
    now : Look
        This one.

    Returns
    -------
    Outcome
        The same; a pass becomes void, a loss stays one.
    """
    looks = looks_so_far(book, now)
    outcome = replace(outcome, figures={**outcome.figures, "looks": float(len(looks))})
    late = sorted(set(book.left_out_late) & {*now.baseline, *now.candidate})
    if late:
        numbers = ", ".join(map(str, late))
        outcome = replace(
            outcome,
            tags=(*outcome.tags, LATE_EXCLUSION_TAG),
            reasons=(
                *outcome.reasons,
                f"Left out only after an answer with it had been computed: run {numbers}.",
            ),
        )
    why = _undeclared(looks, declared)
    if not why:
        told = _declared_words(looks, declared)
        return replace(outcome, reasons=(*outcome.reasons, told)) if told else outcome
    return replace(
        outcome,
        answer=Answer.VOID if outcome.answer in _PASSES else outcome.answer,
        tags=(*outcome.tags, UNDECLARED_TAG),
        reasons=(why, *outcome.reasons),
    )


def _undeclared(looks: Sequence[Look], declared: Sequence[int]) -> str:
    """Say which looks were not declared, or nothing."""
    counts = [look.counted for look in looks]
    listed = _listed(counts)
    if not declared:
        if len(looks) == 1:
            return ""
        return (
            f"These runs were judged {len(looks)} times while runs were added (kit runs each time:"
            f" {listed}), and no looks were declared with the margins: stopping at a look that"
            " pleases passes too much."
        )
    odd = [count for count in counts if count not in declared]
    if not odd and len(counts) == len(set(counts)):
        return ""
    return (
        f"Looks were declared after {_listed(declared)} runs with the kit, but the runs were judged"
        f" after {listed}."
    )


def _declared_words(looks: Sequence[Look], declared: Sequence[int]) -> str:
    """Say what the declared looks make of the limits, or nothing."""
    if len(declared) < 2:
        return ""
    return (
        f"Look {len(looks)} of those declared after {_listed(declared)} runs with the kit: each"
        f" limit holds with {100.0 * confidence_of(declared):.4g}\u00a0%, so that all looks"
        f" together keep {100.0 * CONFIDENCE:.0f}\u00a0%."
    )


def _listed(numbers: Sequence[int]) -> str:
    """List numbers in words."""
    texts = [str(number) for number in numbers]
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} and {texts[-1]}"
