"""What a verdict can say: an outcome for each measure, a release for each kit."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from feedproof.case.margin import Measure

Unit = Literal["log-percent", "percent", "Pa"]
"""Of an outcome's figures."""


class Answer(StrEnum):
    """The five answers of a comparison, and the four ways of having none."""

    NO_LOSS_WITHIN = "no_loss_within_margin"
    SMALL_LOSS = "small_loss_inside_margin"
    LOSS_BEYOND = "loss_beyond_margin"
    LOSS_UNSETTLED = "loss_size_not_settled"
    CANNOT_TELL = "cannot_tell"
    REFUSED = "refused"
    VOID = "void"
    NOT_TESTED = "not_tested"
    NO_LIMIT_KNOWN = "no_limit_known"
    WITHIN_LIMIT = "within_limit"
    BEYOND_LIMIT = "beyond_limit"


class Release(StrEnum):
    """What the answers come to for a kit, or for a positive control."""

    RELEASE = "release"
    RELEASE_WITH_CONDITIONS = "release_with_conditions"
    DO_NOT_RELEASE = "do_not_release"
    CANNOT_SAY = "cannot_say"
    CONTROL_FOUND = "control_found"
    CONTROL_MISSED = "control_missed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """
    Answer on one measure, with the figures that it rests on.

    Parameters
    ----------
    measure : Measure
        What was judged.
    answer : Answer
        What can be said.
    estimate, lower, upper : float or None
        Best estimate and one-sided 95 % limits of the loss (or of the added depression), in
        the unit named by ``unit``; None when there is none.
    margin : float or None
        The agreed margin or limit in the same unit.
    unit : str
        ``log-percent`` (-100 ln of a ratio) or ``Pa``; ``percent`` only in a copy that was brought
        to the scale that people read. ``figures`` whose names end in ``_plain_percent`` are the
        same loss in percent.
    standard_uncertainty, coverage_factor, degrees_of_freedom : float or None
        Of the estimate.
    repeatability, flip_repeatability : float or None
        Run-to-run standard deviation used, and the one at which the answer flips.
    runs : mapping of str to tuple of int
        Run numbers used, by configuration.
    order : str
        Such as ``ABAB``.
    tags : tuple of str
        ``rests_on_declared_repeatability``, ``archive_dropped``, ``apparent_gain``,
        ``corrected_power_differs``, ...
    reasons : tuple of str
        Sentences for the reader: why refused, why void, what decided.
    """

    measure: Measure
    answer: Answer
    estimate: float | None = None
    lower: float | None = None
    upper: float | None = None
    margin: float | None = None
    unit: Unit = "log-percent"
    standard_uncertainty: float | None = None
    coverage_factor: float | None = None
    degrees_of_freedom: float | None = None
    repeatability: float | None = None
    flip_repeatability: float | None = None
    runs: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    order: str = ""
    tags: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()
    figures: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """
    All answers on one kit (or set of kits) against the baseline.

    Parameters
    ----------
    configuration : str
        Kits joined by ``+``.
    outcomes : tuple of Outcome
        One for each measure.
    release : Release
        What they come to.
    decided_by : Measure or None
        The measure that decided.
    reason : str
        Why, in one sentence.
    not_tested : tuple of str
        What nobody tested.
    primary : Measure
        The measure that was agreed to headline.
    every_measure_passed : bool
        True when all four measures were tested and passed, each at its own level: the claim over
        all of them, for which no correction is due.
    losses_shown : tuple of Measure
        Measures that show a loss when all are looked at together (Holm).
    """

    configuration: str
    outcomes: tuple[Outcome, ...]
    release: Release
    decided_by: Measure | None
    reason: str
    not_tested: tuple[str, ...]
    primary: Measure = Measure.WHEEL_POWER
    every_measure_passed: bool = False
    losses_shown: tuple[Measure, ...] = ()
