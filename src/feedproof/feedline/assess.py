"""
What a predicted state is worth: a word for it, what decided, and whether the kit is to blame.

The inlet limit is absolute and belongs to the pump.  Without one from the pump's maker the word
is "no limit known", whatever the depression: the common-practice figure is a line in a drawing
and never grants a pass.
"""

from dataclasses import dataclass
from enum import StrEnum

from feedproof.core.units import from_si
from feedproof.feedline.pump_state import FeedState

COMMON_PRACTICE_DEPRESSION_PA = 50795.8
"""15 inHg at sea level for suction-capable pumps: common practice, no source, [Pa]."""

# The project's own grades (no source): they say how much of the room a kit takes, in words.
LOW_ADDED_PA = 5000.0
NOTICEABLE_ADDED_PA = 12000.0
LOW_ADDED_SHARE = 0.10
LOW_TOTAL_SHARE = 0.50
NOTICEABLE_TOTAL_SHARE = 0.80
LEAST_FEED_MARGIN = 1.15
RETURN_DO_NOT_RELEASE = 0.10


class Grade(StrEnum):
    """How much a restriction weighs, from harmless to unacceptable."""

    LOW = "low"
    NOTICEABLE = "noticeable"
    MARGINAL = "marginal"
    DO_NOT_RELEASE = "do_not_release"
    NO_LIMIT_KNOWN = "no_limit_known"


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """
    A predicted state in words.

    Parameters
    ----------
    grade : Grade
        The word.
    reasons : tuple of str
        What decided, each in one sentence.
    kit_to_blame : bool
        False when the line that it is compared with gets the same grade or a worse one.
    added_pa : float
        Depression added to the line it is compared with. [Pa]
    room_pa : float or None
        Absolute pressure left above the limit; None when no limit is known. [Pa]
    """

    grade: Grade
    reasons: tuple[str, ...]
    kit_to_blame: bool
    added_pa: float
    room_pa: float | None


def assess(
    state: FeedState, baseline: FeedState, limit_abs_pa: float | None, *, kit: bool = True
) -> Assessment:
    """
    Grade a state against the line without the kit.

    Parameters
    ----------
    state : FeedState
        With the kit, the fault or the loading in question.
    baseline : FeedState
        What it is compared with, under the same conditions.
    limit_abs_pa : float or None
        Least absolute pump-inlet pressure that the pump's maker states. [Pa]
    kit : bool
        False when the state is the baseline itself.

    Returns
    -------
    Assessment
        Grade and reasons.
    """
    failures = _failures(state, baseline, limit_abs_pa)
    added = state.depression_pa - baseline.depression_pa
    ambient = state.pressure_abs_pa + state.depression_pa
    room = None if limit_abs_pa is None else state.pressure_abs_pa - limit_abs_pa
    if failures:
        grade, reasons = Grade.DO_NOT_RELEASE, failures
    elif limit_abs_pa is None:
        grade = Grade.NO_LIMIT_KNOWN
        reasons = (
            "No limit known: the pump's maker states none here, so the line is compared with its"
            " own baseline only.",
        )
    else:
        grade, reasons = _weigh(state.depression_pa, added, ambient - limit_abs_pa)
    blame = kit and grade is Grade.DO_NOT_RELEASE
    if blame and _failures(baseline, baseline, limit_abs_pa):
        blame = False
        reasons = (*reasons, "The vehicle without the kit fails too: the kit is not the cause.")
    return Assessment(
        grade=grade, reasons=reasons, kit_to_blame=blame, added_pa=added, room_pa=room
    )


def _failures(state: FeedState, baseline: FeedState, limit_abs_pa: float | None) -> tuple[str, ...]:
    """Name everything that forbids a release."""
    failures = []
    if limit_abs_pa is not None and state.pressure_abs_pa < limit_abs_pa:
        failures.append(
            f"The pump inlet falls to {_kpa(state.pressure_abs_pa)} absolute, below the maker's"
            f" {_kpa(limit_abs_pa)}."
        )
    if state.feed_pressure_ratio <= 0.0:
        failures.append("Starved: the delivery does not cover injection and back-leak.")
    elif state.feed_pressure_ratio < 1.0:
        failures.append(
            f"Short feed: the feed pressure falls to {100 * state.feed_pressure_ratio:.0f} % of"
            " its regulated value."
        )
    elif state.feed_margin < LEAST_FEED_MARGIN:
        failures.append(
            f"The feed margin is {state.feed_margin:.2f}, less than {LEAST_FEED_MARGIN}."
        )
    if baseline.return_m3_per_s > 0.0:
        fall = 1.0 - state.return_m3_per_s / baseline.return_m3_per_s
        if fall >= RETURN_DO_NOT_RELEASE:
            failures.append(f"The return falls by {100 * fall:.0f} %.")
    return tuple(failures)


def _weigh(depression_pa: float, added_pa: float, allowed_pa: float) -> tuple[Grade, tuple[str]]:
    """Grade a line that nothing forbids by the share of the allowed depression that it takes."""
    total_share = depression_pa / allowed_pa
    text = (
        f"The line takes {100 * total_share:.0f} % of the allowed depression of"
        f" {_kpa(allowed_pa)}, {_kpa(added_pa)} of it added."
    )
    if added_pa > NOTICEABLE_ADDED_PA or total_share > NOTICEABLE_TOTAL_SHARE:
        return Grade.MARGINAL, (text,)
    if (
        added_pa > LOW_ADDED_PA
        or added_pa > LOW_ADDED_SHARE * allowed_pa
        or total_share > LOW_TOTAL_SHARE
    ):
        return Grade.NOTICEABLE, (text,)
    return Grade.LOW, (text,)


def _kpa(pressure_pa: float) -> str:
    """Write a pressure for a sentence."""
    return f"{from_si(pressure_pa, 'kPa', 'pressure'):.1f} kPa"
