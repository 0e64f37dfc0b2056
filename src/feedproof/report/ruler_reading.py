"""What a verdict ruler shows, in the unit of its axis."""

from dataclasses import dataclass

from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome
from feedproof.core.units import from_si
from feedproof.report import digits, words
from feedproof.report.model import BASELINE, Publication
from feedproof.report.notation import REPORT, Notation


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """
    What a ruler shows, in the unit of its axis.

    Parameters
    ----------
    answer : Answer
        The answer.
    label : str
        The answer in words.
    estimate, lower, upper : float or None
        Interval; None where there is none.
    mark : float or None
        Margin, or room that is left.
    mark_name : str
        Name on that line.
    axis : str
        What the axis counts.
    figures : str
        Interval in words.
    fill_room : bool
        True when the room is drawn as an area, as for depression.
    """

    answer: Answer
    label: str
    estimate: float | None
    lower: float | None
    upper: float | None
    mark: float | None
    mark_name: str
    axis: str
    figures: str
    fill_room: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Restriction:
    """
    Depression that a kit adds, on the room that the line without it leaves.

    Plain figures: a screen that keeps them can draw the ruler again in another unit.

    Parameters
    ----------
    answer : Answer
        The answer.
    label : str
        The answer in words.
    kit : str
        The kit in words.
    best_pa, lower_pa, upper_pa, half_pa, room_pa : float or None
        Best estimate, limits, half of the interval and the room; None where there is none. [Pa]
    is_bound : bool
        True where the sensor was at its end and only the least is known.
    """

    answer: Answer
    label: str
    kit: str
    best_pa: float | None
    lower_pa: float | None
    upper_pa: float | None
    half_pa: float | None
    room_pa: float | None
    is_bound: bool

    def reading(self, notation: Notation) -> Reading:
        """
        Bring it to the unit of its ruler.

        Parameters
        ----------
        notation : Notation
            Units to write.

        Returns
        -------
        Reading
            For the picture.
        """
        room = self.room_pa
        named = "" if room is None else f"room left without a kit: {notation.full(room, of_kpa=1)}"
        best, lower, upper, mark = (
            None if each is None else notation.value(each, "pressure")
            for each in (self.best_pa, self.lower_pa, self.upper_pa, room)
        )
        return Reading(
            answer=self.answer,
            label=self.label,
            estimate=best,
            lower=lower,
            upper=upper,
            mark=mark,
            mark_name=named,
            axis=f"depression added by {self.kit}, {notation.pressure}",
            figures=self._figures(notation),
            fill_room=True,
        )

    def _figures(self, notation: Notation) -> str:
        """Write the interval in words."""
        if self.best_pa is None:
            return "no figure"
        least = "at least " if self.is_bound else "where it is highest adds "
        span = ""
        if self.lower_pa is not None and self.half_pa is not None:
            span = f" \u00b1\u00a0{notation.brief(self.half_pa)}"
        elif self.lower_pa is not None and self.upper_pa is not None:
            span = f", from {notation.brief(self.lower_pa)} to {notation.brief(self.upper_pa)}"
        return f"{least}{notation.full(self.best_pa)}{span}"


def reading_of(
    publication: Publication, configuration: str, outcome: Outcome, notation: Notation = REPORT
) -> Reading:
    """
    Bring an outcome to the unit of its ruler.

    Parameters
    ----------
    publication : Publication
        Gives the room without a kit, for depression.
    configuration : str
        The kit.
    outcome : Outcome
        The outcome.
    notation : Notation
        Units to write.

    Returns
    -------
    Reading
        Percent for losses; pressures for depression, on the room that is left without a kit.
    """
    shown = words.shown(outcome)
    if shown.unit == "percent":
        return Reading(
            answer=shown.answer,
            label=words.label(shown),
            estimate=shown.estimate,
            lower=shown.lower,
            upper=shown.upper,
            mark=shown.margin,
            mark_name=f"agreed margin {words.margin_words(shown)}",
            axis=f"loss of {words.MEASURES[outcome.measure]}, %",
            figures=_span(shown),
        )
    if outcome.measure is Measure.INLET_DEPRESSION:
        return restriction_of(publication, configuration, shown).reading(notation)
    bound = publication.margins.rail_deviation_pa
    held = f"{publication.margins.rail_deviation_s:g}\u00a0s"
    return Reading(
        answer=shown.answer,
        label=words.label(shown),
        estimate=_scaled(shown.estimate, "MPa"),
        lower=None,
        upper=None,
        mark=_scaled(bound, "MPa"),
        mark_name=f"agreed: {_in(bound, 'MPa')}\u00a0MPa, for at most {held}",
        axis="largest shortfall of rail pressure, MPa",
        figures="no figure"
        if shown.estimate is None
        else f"largest {words.figure(shown, shown.estimate)}",
    )


def restriction_of(publication: Publication, configuration: str, outcome: Outcome) -> Restriction:
    """
    Read added depression on the room that the line without a kit leaves.

    Parameters
    ----------
    publication : Publication
        Gives the room without a kit.
    configuration : str
        The kit.
    outcome : Outcome
        On the inlet depression, as it is shown.

    Returns
    -------
    Restriction
        In SI.
    """
    found = outcome.figures
    room = found.get("room_pa", _room(publication))
    best = found.get("added_at_worst_speed_pa", outcome.estimate)
    share, top = found.get("room_share"), found.get("room_share_upper")
    half = found.get("added_expanded_pa")
    if share is not None and top is not None and room is not None:
        half = (top - share) * room
    lower, upper = outcome.lower, outcome.upper
    if best is not None and half is not None:
        lower, upper = best - half, best + half
    is_bound = "censored_lower_bound" in outcome.tags
    return Restriction(
        answer=outcome.answer,
        label=words.label(outcome),
        kit=words.kit_words(publication, configuration),
        best_pa=best,
        lower_pa=None if is_bound else lower,
        upper_pa=None if is_bound else upper,
        half_pa=half,
        room_pa=room,
        is_bound=is_bound,
    )


def sentence(reading: Reading) -> str:
    """
    Say in words what a ruler shows.

    Parameters
    ----------
    reading : Reading
        The ruler.

    Returns
    -------
    str
        Answer, interval and mark.
    """
    mark = f"; {reading.mark_name}" if reading.mark_name else ""
    return f"{reading.label}: {reading.figures}{mark}."


def _room(publication: Publication) -> float | None:
    """Give the room that the line without a kit leaves to the pump's limit."""
    return next(
        (one.room_pa for one in publication.staircases if one.configuration == BASELINE), None
    )


def _scaled(value_pa: float | None, unit: str) -> float | None:
    """Bring a pressure to the unit of the axis."""
    return None if value_pa is None else from_si(value_pa, unit, "pressure")


def _in(value_pa: float, unit: str) -> str:
    """Write a pressure in a unit, one decimal."""
    return digits.decimal(from_si(value_pa, unit, "pressure"), 1)


def _span(outcome: Outcome) -> str:
    """Write an interval in percent."""
    if outcome.estimate is None:
        return "no figure"
    best = f"best estimate {words.figure(outcome, outcome.estimate)}"
    if outcome.lower is None or outcome.upper is None:
        return f"{best}, no limits"
    low, high = (words.figure(outcome, value) for value in (outcome.lower, outcome.upper))
    return f"{best}, from {low} to {high}"
