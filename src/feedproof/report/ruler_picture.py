"""The verdict ruler: zero, the agreed margin or the room, and the interval as one bar."""

from dataclasses import dataclass

from feedproof.case.margin import Measure
from feedproof.case.outcome import Outcome
from feedproof.core.units import from_si
from feedproof.report import digits, words
from feedproof.report.model import BASELINE, Publication, Table
from feedproof.report.signs import sign
from feedproof.report.svg import (
    BLUE,
    FAINT,
    INK,
    LIMIT,
    NARROW,
    PAPER,
    SHADE,
    WIDE,
    line,
    picture,
    tag,
    text,
    ticks,
    wrapped,
)

BESIDE_PX = 760.0
"""Width from which the figures stand beside the answer. [px]"""
LINE_PX = 15.0
"""From one line of words to the next. [px]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """
    What a ruler shows, in the unit of its axis.

    Parameters
    ----------
    outcome : Outcome
        The answer.
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

    outcome: Outcome
    estimate: float | None
    lower: float | None
    upper: float | None
    mark: float | None
    mark_name: str
    axis: str
    figures: str
    fill_room: bool = False


def reading_of(publication: Publication, configuration: str, outcome: Outcome) -> Reading:
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

    Returns
    -------
    Reading
        Percent for losses; kPa for depression on the room that the line without a kit leaves.
    """
    shown = words.shown(outcome)
    if shown.unit == "percent":
        return Reading(
            outcome=shown,
            estimate=shown.estimate,
            lower=shown.lower,
            upper=shown.upper,
            mark=shown.margin,
            mark_name=f"agreed margin {words.margin_words(shown)}",
            axis=f"loss of {words.MEASURES[outcome.measure]}, %",
            figures=_span(shown),
        )
    if outcome.measure is Measure.INLET_DEPRESSION:
        return _restriction(publication, configuration, shown)
    bound = publication.margins.rail_deviation_pa
    held = f"{publication.margins.rail_deviation_s:g}\u00a0s"
    return Reading(
        outcome=shown,
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


def _restriction(publication: Publication, configuration: str, shown: Outcome) -> Reading:
    """Read added depression on the room that the line without a kit leaves."""
    found = shown.figures
    room = found.get("room_pa", _room(publication))
    best = found.get("added_at_worst_speed_pa", shown.estimate)
    share, top = found.get("room_share"), found.get("room_share_upper")
    half = found.get("added_expanded_pa")
    if share is not None and top is not None and room is not None:
        half = (top - share) * room
    lower, upper = shown.lower, shown.upper
    if best is not None and half is not None:
        lower, upper = best - half, best + half
    if "censored_lower_bound" in shown.tags:
        lower, upper = None, None
    figures = "no figure"
    if best is not None:
        least = "at least " if "censored_lower_bound" in shown.tags else "where it is highest adds "
        span = f" \u00b1\u00a0{digits.kpa(half)}" if half is not None else ""
        if half is None and lower is not None and upper is not None:
            span = f", from {digits.kpa(lower)} to {digits.kpa(upper)}"
        figures = f"{least}{digits.kpa_inhg(best)}{span if lower is not None else ''}"
    inhg = "" if room is None else f" ({_in(room, 'inHg')}\u00a0inHg)"
    return Reading(
        outcome=shown,
        estimate=_scaled(best, "kPa"),
        lower=_scaled(lower, "kPa"),
        upper=_scaled(upper, "kPa"),
        mark=_scaled(room, "kPa"),
        mark_name=""
        if room is None
        else f"room left without a kit: {_in(room, 'kPa')}\u00a0kPa{inhg}",
        axis=f"depression added by {words.kit_words(publication, configuration)}, kPa",
        figures=figures,
        fill_room=True,
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
    return f"{words.label(reading.outcome)}: {reading.figures}{mark}."


def table(publication: Publication, configuration: str, outcomes: tuple[Outcome, ...]) -> Table:
    """
    Lay the rulers of a kit out as numbers.

    Parameters
    ----------
    publication : Publication
        The report.
    configuration : str
        The kit.
    outcomes : tuple of Outcome
        Its outcomes.

    Returns
    -------
    Table
        One row for each measure.
    """
    rows = []
    for outcome in outcomes:
        shown = words.shown(outcome)
        rows.append(
            (
                words.MEASURES[outcome.measure],
                words.label(outcome),
                *(
                    "" if value is None else words.figure(shown, value)
                    for value in (shown.estimate, shown.lower, shown.upper)
                ),
                reading_of(publication, configuration, outcome).mark_name or "no limit known",
            )
        )
    return Table(
        caption=f"Answers in numbers: {publication.kit(configuration).short}",
        head=("measure", "answer", "best estimate", "at least", "at most", "compared with"),
        rows=tuple(rows),
        note=f"At least and at most are one-sided {_confidence(outcomes)} limits.",
    )


def _confidence(outcomes: tuple[Outcome, ...]) -> str:
    """Give the confidence of a kit's limits: declared looks make it the same for all."""
    limited = [outcome for outcome in outcomes if "confidence" in outcome.figures]
    return words.confidence_words(limited[0]) if limited else f"95{digits.NO_BREAK}%"


def ruler_svg(
    publication: Publication,
    configuration: str,
    outcome: Outcome,
    *,
    narrow: bool = False,
    width: float | None = None,
) -> str:
    """
    Draw one ruler.

    Parameters
    ----------
    publication : Publication
        The report.
    configuration : str
        The kit.
    outcome : Outcome
        The outcome.
    narrow : bool
        True for the phone.
    width : float, optional
        Width of the container that it is drawn for; it is stacked as on the phone where words
        would not stand beside each other. [px]

    Returns
    -------
    str
        SVG.
    """
    reading = reading_of(publication, configuration, outcome)
    kit = publication.kit(configuration).short
    name = "-".join(
        ["ruler", str(publication.place(configuration)), outcome.measure.value]
        + (["live"] if width is not None else ["narrow"] if narrow else [])
    )
    layout = _Layout(reading, width or float(NARROW if narrow else WIDE))
    return picture(
        layout.width,
        layout.height,
        f"{words.MEASURES[outcome.measure].capitalize()} with {kit}",
        sentence(reading),
        _body(layout),
        name.replace("_", "-"),
    )


class _Layout:
    """Where words stand: beside each other, or stacked where the width is small."""

    def __init__(self, reading: Reading, width: float) -> None:
        self.reading = reading
        self.width = width
        label = words.label(reading.outcome)
        self.stacked = width < BESIDE_PX
        self.size = 12.0 if self.stacked else 13.0
        letters = int((width - 44.0) / (0.51 * self.size)) if self.stacked else 400
        self.label = wrapped(words.upper_first(label), int(0.92 * letters) if self.stacked else 70)
        self.figures = wrapped(reading.figures, letters)
        self.name = wrapped(reading.mark_name, int(0.95 * letters))
        self.caption = wrapped(f"{reading.axis}; worse \u2192", letters)
        more = max(len(self.label) - 2, 0) + len(self.name) - 1
        more += len(self.figures) - 1 if self.stacked else 0
        base = 112.0 if self.stacked else 78.0
        self.y = base + LINE_PX * more
        self.height = self.y + 50.0 + LINE_PX * (len(self.caption) - 1)


def _body(layout: _Layout) -> list[str]:
    """Draw sign, words, axis, mark and interval."""
    axis = _Axis(layout)
    reading, width = layout.reading, layout.width
    body = [tag("rect", x=0, y=0, width=width, height=layout.height, fill=PAPER)]
    body.append(sign(reading.outcome.answer, 14, 16, 15))
    body += [
        text(30, 21 + 17 * i, part, size=layout.size + 1, bold=True)
        for i, part in enumerate(layout.label)
    ]
    if layout.stacked:
        below = 57.0 + 17.0 * max(len(layout.label) - 2, 0)
        body += [
            text(30, below + LINE_PX * i, part, size=layout.size)
            for i, part in enumerate(layout.figures)
        ]
    else:
        body.append(text(width - 14, 21, reading.figures, size=14, anchor="end"))
    return body + axis.scale() + axis.mark() + axis.interval()


class _Axis:
    """The ruler itself: from figures to places."""

    def __init__(self, layout: _Layout) -> None:
        self.layout = layout
        self.reading = reading = layout.reading
        self.left, self.right = 16.0, layout.width - 16.0
        self.y, self.size = layout.y, layout.size
        self.most_ticks = 5 if layout.stacked else 10
        known = [
            v
            for v in (reading.lower, reading.upper, reading.estimate, reading.mark)
            if v is not None
        ]
        self.low, self.high = min([0.0, *known]), max([0.0, *known])
        span = (self.high - self.low) or 1.0
        self.low, self.high = self.low - 0.12 * span, self.high + 0.12 * span

    def at(self, value: float) -> float:
        """Place a figure across the ruler."""
        return self.left + (value - self.low) / (self.high - self.low) * (self.right - self.left)

    def scale(self) -> list[str]:
        """Draw axis, ticks, zero and what the axis counts."""
        y, room = self.y, self.reading.mark
        body = []
        if self.reading.fill_room and room is not None and room > 0.0:
            width = self.at(room) - self.at(0.0)
            body.append(tag("rect", x=self.at(0.0), y=y - 13, width=width, height=26, fill=SHADE))
        body.append(line(self.left, y, self.right, y, colour=FAINT, width=1.5))
        for value in ticks(self.low, self.high, self.most_ticks):
            x = self.at(value)
            body.append(line(x, y - 4, x, y + 4, colour=FAINT))
            words_ = digits.decimal(value, 6).rstrip("0").rstrip(".")
            body.append(text(x, y + 29, words_, size=self.size, anchor="middle"))
        zero = self.at(0.0)
        body.append(line(zero, y - 15, zero, y + 15, colour=INK, width=2))
        return body + [
            text(self.right, y + 46 + LINE_PX * i, part, size=self.size, anchor="end", fill=FAINT)
            for i, part in enumerate(self.layout.caption)
        ]

    def mark(self) -> list[str]:
        """Draw margin or room as a named line, or say that there is none."""
        value, names = self.reading.mark, self.layout.name
        if value is None:
            words_ = "no limit known" if self.reading.fill_room else "no margin agreed"
            return [text(self.right, self.y - 22, words_, size=self.size, bold=True, anchor="end")]
        x, half = self.at(value), 0.26 * self.size * max(len(name) for name in names)
        middle = min(max(x, self.left + half), self.right - half)
        return [
            line(
                x, self.y - 17, x, self.y + 15, colour=LIMIT.colour, width=LIMIT.width, dash="6 3"
            ),
            *(
                text(
                    middle,
                    self.y - 22 - LINE_PX * (len(names) - 1 - i),
                    name,
                    size=self.size,
                    anchor="middle",
                    bold=True,
                )
                for i, name in enumerate(names)
            ),
        ]

    def interval(self) -> list[str]:
        """Draw the interval as a bar with closed ends and the best estimate as a point."""
        lower, upper, best = self.reading.lower, self.reading.upper, self.reading.estimate
        body = []
        if lower is not None and upper is not None:
            x, end = self.at(lower), self.at(upper)
            body.append(
                tag(
                    "rect",
                    x=x,
                    y=self.y - 6,
                    width=max(end - x, 1.0),
                    height=12,
                    fill=BLUE,
                    fill_opacity="0.25",
                    stroke=BLUE,
                    stroke_width=1.5,
                )
            )
        if best is not None:
            body.append(tag("circle", cx=self.at(best), cy=self.y, r=5, fill=BLUE))
        return body


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
