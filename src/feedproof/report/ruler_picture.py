"""The verdict ruler: zero, the agreed margin or the room, and the interval as one bar."""

from feedproof.case.outcome import Outcome
from feedproof.report import digits, words
from feedproof.report.model import Publication, Table
from feedproof.report.notation import REPORT, Notation
from feedproof.report.ruler_reading import Reading, reading_of, sentence
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
PHONE_PX = 480.0
"""Width below which the type is smaller. [px]"""
LINE_PX = 15.0
"""From one line of words to the next. [px]"""


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
    notation: Notation = REPORT,
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
    notation : Notation
        Units to write.

    Returns
    -------
    str
        SVG.
    """
    reading = reading_of(publication, configuration, outcome, notation)
    ids = ruler_name(publication, configuration, outcome)
    ids += "-live" if width is not None else "-narrow" if narrow else ""
    title = ruler_title(publication, configuration, outcome)
    return drawn_ruler(reading, title, ids, width or float(NARROW if narrow else WIDE))


def ruler_name(publication: Publication, configuration: str, outcome: Outcome) -> str:
    """
    Give the prefix of a ruler's ids.

    Parameters
    ----------
    publication : Publication
        The report.
    configuration : str
        The kit.
    outcome : Outcome
        The outcome.

    Returns
    -------
    str
        Unique in a report, but for the layouts.
    """
    return f"ruler-{publication.place(configuration)}-{outcome.measure.value}".replace("_", "-")


def ruler_title(publication: Publication, configuration: str, outcome: Outcome) -> str:
    """
    Name a ruler.

    Parameters
    ----------
    publication : Publication
        The report.
    configuration : str
        The kit.
    outcome : Outcome
        The outcome.

    Returns
    -------
    str
        Measure and kit.
    """
    kit = publication.kit(configuration).short
    return f"{words.MEASURES[outcome.measure].capitalize()} with {kit}"


def drawn_ruler(reading: Reading, title: str, name: str, width: float) -> str:
    """
    Draw what a ruler shows.

    Parameters
    ----------
    reading : Reading
        What it shows.
    title : str
        What it is.
    name : str
        Prefix of its ids.
    width : float
        Width of the container that it is drawn for. [px]

    Returns
    -------
    str
        SVG.
    """
    layout = _Layout(reading, width)
    body = _body(layout)
    return picture(layout.width, layout.height, title, sentence(reading), body, name)


class _Layout:
    """Where words stand: beside each other, or stacked where the width is small."""

    def __init__(self, reading: Reading, width: float) -> None:
        self.reading = reading
        self.width = width
        label = reading.label
        beside = 60.0 + 7.7 * min(len(label), 70) + 7.3 * len(reading.figures)
        self.stacked = width < max(BESIDE_PX, beside)
        self.size = 12.0 if width < PHONE_PX else 13.0
        letters = int((width - 44.0) / (0.51 * self.size)) if self.stacked else 400
        self.label = wrapped(words.upper_first(label), int(0.92 * letters) if self.stacked else 70)
        self.figures = wrapped(reading.figures, letters)
        self.name = wrapped(reading.mark_name, int(0.95 * letters))
        self.caption = wrapped(f"{reading.axis}; worse\u00a0\u2192", letters)
        # Under the answer; beside it where there is room, and then the answer may take two lines.
        self.below = 23.0 + 17.0 * len(self.label)
        lines = len(self.name) - 1 + (len(self.figures) - 1 if self.stacked else 0)
        top = self.below + 55.0 if self.stacked else 78.0 + 17.0 * max(len(self.label) - 2, 0)
        self.y = top + LINE_PX * lines
        self.height = self.y + 50.0 + LINE_PX * (len(self.caption) - 1)


def _body(layout: _Layout) -> list[str]:
    """Draw sign, words, axis, mark and interval."""
    axis = _Axis(layout)
    reading, width = layout.reading, layout.width
    body = [tag("rect", x=0, y=0, width=width, height=layout.height, fill=PAPER)]
    body.append(sign(reading.answer, 14, 16, 15))
    body += [
        text(30, 21 + 17 * i, part, size=layout.size + 1, bold=True)
        for i, part in enumerate(layout.label)
    ]
    if layout.stacked:
        body += [
            text(30, layout.below + LINE_PX * i, part, size=layout.size)
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
