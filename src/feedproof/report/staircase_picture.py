"""The pressure staircase: tank to pump, part by part, every kit over the line without one."""

import math

from feedproof.core.units import to_si
from feedproof.feedline.staircase import Staircase
from feedproof.report.model import BASELINE
from feedproof.report.notation import REPORT, Notation
from feedproof.report.staircase_words import (
    TITLE,
    Staired,
    columns,
    end_pressure,
    left_words,
    sentence,
    short_name,
)
from feedproof.report.svg import (
    FAINT,
    INK,
    LIMIT,
    NARROW,
    PAPER,
    RULE,
    SHADE,
    WIDE,
    Stroke,
    line,
    path,
    picture,
    spread,
    stroke_of,
    tag,
    text,
    wrapped,
)

COMMON_PRACTICE_INHG = 15.0
"""Depression often named for suction-fed pumps; common practice, no source, grants no pass."""
LONGEST_LABEL = 30
LETTER_PX = 6.3
TURN_DEG = 42.0
LINE_PX = 14.5
"""Distance of turned labels below which they touch. [px]"""
RIGHT_LABELS = 252.0
"""Room for name, pressure and room at the right end. [px]"""


def staircase_svg(
    publication: Staired,
    *,
    narrow: bool = False,
    width: float | None = None,
    name: str = "",
    notation: Notation = REPORT,
) -> str:
    """
    Draw the staircase.

    Parameters
    ----------
    publication : Publication or LiveStaircases
        What is drawn.
    narrow : bool
        True for the phone: the line runs down the page and pressure across it.
    width : float, optional
        Width of the container that it is drawn for; the line runs down the page where the labels
        would not stand side by side. [px]
    name : str
        Prefix of its ids; one by its layout when left out.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        SVG.
    """
    drawn = (NARROW if narrow else WIDE) if width is None else width
    drawing = _Drawing(publication, drawn, notation)
    narrow = narrow if width is None else drawing.is_crowded
    if narrow:
        drawing.turn_down_the_page()
    body = drawing.down_the_page() if narrow else drawing.across_the_page()
    ids = name or ("staircase-narrow" if narrow else "staircase")
    return picture(drawn, drawing.height, TITLE, sentence(publication, notation), body, ids)


class _Drawing:
    """Both layouts of one staircase."""

    left, top, bottom, row = 56.0, 26.0, 420.0, 34.0

    def __init__(self, publication: Staired, width: float, notation: Notation) -> None:
        self.notation = notation
        self.publication = publication
        self.width = width
        self.right = width - RIGHT_LABELS
        self.stairs = publication.staircases
        self.columns = columns(self.stairs)
        self.ambient = self.stairs[0].conditions.ambient_pressure_abs_pa
        self.limit, self.limit_name = self._limit()
        self.left = self._room_for_labels()
        self.height = 590.0
        self.low, self.high = self._range()

    @property
    def is_crowded(self) -> bool:
        """Say whether turned labels would touch, or the width is a phone's."""
        column = (self.right - self.left) / len(self.columns)
        return column * math.sin(math.radians(TURN_DEG)) < LINE_PX

    def turn_down_the_page(self) -> None:
        """Take the measures of the other layout."""
        self.left, self.right, self.top = self._label_column(), self.width - 12.0, 44.0
        self.bottom = self.top + self.row * (len(self.columns) + bool(self._measured()))
        self.height = self.bottom + 46.0 + 52.0 * len(self.stairs)

    def _label_column(self) -> float:
        """Give the width of the parts' names down the page: two lines, or one where it fits."""
        longest = max(len(column.title) for column in self.columns)
        return 128.0 if self.width < 480.0 else min(7.2 * longest + 12.0, 0.4 * self.width)

    def _room_for_labels(self) -> float:
        """Give the left edge that keeps turned labels inside the picture."""
        reach = LETTER_PX * math.cos(math.radians(TURN_DEG))
        left = self.left
        for i, column in enumerate(self.columns):
            wanted = reach * len(_shortened(column.title)) + 4.0
            # The label's end stands in the middle of its column, which moves with the edge.
            share = (i + 0.5) / len(self.columns)
            left = max(left, (wanted - share * self.right) / (1.0 - share))
        return left

    def _limit(self) -> tuple[float, str]:
        """Give the line to draw and its name: the maker's limit, or common practice."""
        limit = self.stairs[0].limit_abs_pa
        if limit is not None:
            return (
                limit,
                f"limit of the pump's maker: {self.notation.brief(limit, of_kpa=1)} absolute",
            )
        usual = to_si(COMMON_PRACTICE_INHG, "inHg", "pressure")
        # It is named so; beside one chosen unit it is written in that.
        beside = self.notation.beside == "inHg"
        named = "15\u00a0inHg" if beside else self.notation.brief(usual, of_kpa=1)
        return self.ambient - usual, f"no limit known; common practice (no source): {named}"

    def _measured(self) -> dict[str, tuple[float, float, bool]]:
        """Give measured inlet pressure, its uncertainty, and whether it is only a bound."""
        drawn = {one.configuration for one in self.stairs}
        return {
            one.configuration: (
                self.ambient - one.depression_pa,
                one.expanded_u_pa,
                one.censored,
            )
            for one in self.publication.measured_inlets
            if one.configuration in drawn
        }

    def _range(self) -> tuple[float, float]:
        """Find the ends of the pressure axis."""
        values = [self.ambient, self.limit]
        values += [step.pressure_abs_after_pa for one in self.stairs for step in one.steps]
        values += [p - u for p, u, _ in self._measured().values()]
        span = max(values) - min(values)
        return min(values) - 0.09 * span, max(values) + 0.05 * span

    def _at(self, pressure_pa: float, start: float, stop: float) -> float:
        """Place a pressure on an axis from ``start`` (low) to ``stop`` (high)."""
        return start + (pressure_pa - self.low) / (self.high - self.low) * (stop - start)

    def y(self, pressure_pa: float) -> float:
        """Place a pressure up the page."""
        return self._at(pressure_pa, self.bottom, self.top)

    def x(self, pressure_pa: float) -> float:
        """Place a pressure across the page."""
        return self._at(pressure_pa, self.left, self.right)

    def _stroke(self, stairs: Staircase) -> Stroke:
        """Give a configuration's stroke."""
        return stroke_of(self.publication.place(stairs.configuration))

    def _dodge(self, stairs: Staircase, step: float) -> float:
        """Move a configuration's drops aside, so that equal lines stay apart."""
        return (self.stairs.index(stairs) - (len(self.stairs) - 1) / 2.0) * step

    def _drops(self, stairs: Staircase) -> list[tuple[int, float]]:
        """Give the pressure after each column that the configuration has."""
        after = {step.part_id: step.pressure_abs_after_pa for step in stairs.steps}
        return [
            (i, after[column.part_id])
            for i, column in enumerate(self.columns)
            if column.part_id in after
        ]

    def _drawn_order(self) -> list[Staircase]:
        """Put the baseline last, so that its dashes lie on top of the kits' lines."""
        return sorted(self.stairs, key=lambda one: one.configuration == BASELINE)

    def across_the_page(self) -> list[str]:
        """Draw pressure up the page and the line across it."""
        width = (self.right - self.left) / len(self.columns)
        body = [tag("rect", x=0, y=0, width=self.width, height=self.height, fill=PAPER)]
        for i, column in enumerate(self.columns):
            x = self.left + i * width
            if column.owner != "factory":
                body.append(self._band(x, self.top, width, self.bottom - self.top))
            body.append(
                text(
                    x + width / 2 + 4.0,
                    self.bottom + 16.0,
                    _shortened(column.title),
                    anchor="end",
                    turn=-TURN_DEG,
                    size=13.0,
                    bold=column.owner != "factory",
                )
            )
        for value, words in self.notation.ticks(self.low, self.high, 8, "pressure"):
            y = self.y(value)
            body.append(line(self.left, y, self.right, y))
            body.append(text(self.left - 8, y + 4.5, words, anchor="end", fill=FAINT))
        body.append(text(4.0, 15.0, self._axis_title(), fill=FAINT))
        y = self.y(self.limit)
        body.append(
            line(
                self.left,
                y,
                self.right + 40,
                y,
                colour=LIMIT.colour,
                width=LIMIT.width,
                dash=LIMIT.dash,
            )
        )
        body.append(text(self.left + 10, y - 9, self.limit_name, bold=True))
        for stairs in self._drawn_order():
            points = [(self.left, self.y(self.ambient))]
            for i, after in self._drops(stairs):
                x = self.left + (i + 0.5) * width + self._dodge(stairs, 5.0)
                points += [(x, points[-1][1]), (x, self.y(after))]
            points.append((self.right, points[-1][1]))
            body.append(path(points, self._stroke(stairs)))
        body += self._right_labels()
        return body

    def _axis_title(self) -> str:
        """Say what the pressure axis counts."""
        return f"absolute pressure, {self.notation.pressure}"

    def _end_words(self, stairs: Staircase) -> str:
        """Write the pressure at the pump inlet."""
        return self.notation.brief(end_pressure(stairs), of_kpa=1)

    def _band(self, x: float, y: float, width: float, height: float) -> str:
        """Shade the place of a part that a kit brings."""
        return tag("rect", x=x, y=y, width=width, height=height, fill=SHADE)

    def _right_labels(self) -> list[str]:
        """Write name, pressure and room at the right end, with the measured points."""
        body = []
        ordered = sorted(self.stairs, key=end_pressure, reverse=True)
        places = spread(
            [self.y(end_pressure(one)) for one in ordered], 64.0, 34.0, self.bottom - 30.0
        )
        for i, (stairs, place) in enumerate(zip(ordered, places, strict=True)):
            stroke = self._stroke(stairs)
            mark_x = self.right + 8.0 + min(12.0, 40.0 / len(ordered)) * i
            measured = self._measured().get(stairs.configuration)
            start = self.y(end_pressure(stairs))
            body.append(line(self.right, start, self.right + 44, start, colour=RULE))
            body.append(line(self.right + 44, start, self.right + 58, place, colour=FAINT))
            if measured:
                body.append(self._mark_up(mark_x, measured, stroke))
            x = self.right + 62.0
            body.append(
                line(
                    x,
                    place - 19,
                    x + 34,
                    place - 19,
                    colour=stroke.colour,
                    width=stroke.width,
                    dash=stroke.dash,
                )
            )
            body.append(
                text(
                    x + 40,
                    place - 14,
                    _shortened(short_name(self.publication, stairs), 22),
                    bold=True,
                )
            )
            body.append(text(x, place + 4, f"{self._end_words(stairs)} absolute"))
            body.append(text(x, place + 21, left_words(stairs, self.notation)))
        if self._measured():
            x, y = self.right + 8.0, self.height - 20.0
            body.append(self._key_mark(x, y - 5))
            body.append(text(x + 16, y, "measured at the inlet, ±\u00a0U", size=13.0))
        return body

    def _mark_up(self, x: float, measured: tuple[float, float, bool], stroke: Stroke) -> str:
        """Draw a measured point with its upright error bar; a bound points at lower pressure."""
        pressure, u, bound = measured
        y = self.y(pressure)
        if bound:
            bar = line(x, y, x, y + 24, colour=stroke.colour, width=2, dash="3 2")
        else:
            low, high = self.y(pressure - u), self.y(pressure + u)
            bar = line(x, low, x, high, colour=stroke.colour, width=2) + "".join(
                line(x - 4, end, x + 4, end, colour=stroke.colour, width=2) for end in (low, high)
            )
        return bar + _dot(x, y, stroke.colour)

    def _mark_across(self, y: float, measured: tuple[float, float, bool], stroke: Stroke) -> str:
        """Draw a measured point with its level error bar; a bound points at lower pressure."""
        pressure, u, bound = measured
        x = self.x(pressure)
        if bound:
            bar = line(x - 20, y, x, y, colour=stroke.colour, width=2, dash="3 2")
        else:
            low, high = self.x(pressure - u), self.x(pressure + u)
            bar = line(low, y, high, y, colour=stroke.colour, width=2) + "".join(
                line(end, y - 3, end, y + 3, colour=stroke.colour, width=2) for end in (low, high)
            )
        return bar + _dot(x, y, stroke.colour, 3.5)

    def _key_mark(self, x: float, y: float) -> str:
        """Draw the measured point of the key."""
        return line(x, y - 8, x, y + 8, colour=INK, width=2) + _dot(x, y, INK)

    def down_the_page(self) -> list[str]:
        """Draw the line down the page and pressure across it."""
        body = [tag("rect", x=0, y=0, width=self.width, height=self.height, fill=PAPER)]
        for i, column in enumerate(self.columns):
            y = self.top + i * self.row
            if column.owner != "factory":
                body.append(self._band(0, y, self.width, self.row))
            body += self._row_label(y, column.title, bold=column.owner != "factory")
        for value, words in self.notation.ticks(self.low, self.high, 5, "pressure"):
            x = self.x(value)
            body.append(line(x, self.top, x, self.bottom))
            body.append(text(x, self.bottom + 16, words, size=12, anchor="middle"))
        body.append(
            text(
                self.right,
                self.bottom + 33,
                self._axis_title(),
                size=12,
                anchor="end",
                fill=FAINT,
            )
        )
        x = self.x(self.limit)
        body.append(
            line(
                x,
                self.top - 6,
                x,
                self.bottom,
                colour=LIMIT.colour,
                width=LIMIT.width,
                dash=LIMIT.dash,
            )
        )
        for i, words in enumerate(
            wrapped(self.limit_name, int((self.width - self.left) / 6.2))[:2]
        ):
            body.append(text(self.left - 6, 14 + 15 * i, words, size=12, bold=True))
        for stairs in self._drawn_order():
            points = [(self.x(self.ambient), self.top)]
            for i, after in self._drops(stairs):
                y = self.top + (i + 0.5) * self.row + self._dodge(stairs, 5.0)
                points += [(points[-1][0], y), (self.x(after), y)]
            points.append((points[-1][0], self.top + self.row * len(self.columns)))
            body.append(path(points, self._stroke(stairs)))
        return body + self._narrow_measured() + self._narrow_labels()

    def _row_label(self, y: float, words: str, *, bold: bool = False) -> list[str]:
        """Write a row's name in one or two lines."""
        lines = wrapped(words, int((self.left - 2.0) / 6.0))[:2]
        first = y + self.row / 2 + (4.0 if len(lines) == 1 else -3.0)
        return [text(4, first + 14 * i, part, size=12, bold=bold) for i, part in enumerate(lines)]

    def _narrow_measured(self) -> list[str]:
        """Draw the measured points in a row of their own below the pump inlet."""
        measured = self._measured()
        if not measured:
            return []
        y = self.top + self.row * len(self.columns)
        body = self._row_label(y, "measured at the inlet, ±\u00a0U", bold=True)
        for stairs in self.stairs:
            if stairs.configuration in measured:
                middle = y + self.row / 2 + self._dodge(stairs, 9.0)
                body.append(
                    self._mark_across(middle, measured[stairs.configuration], self._stroke(stairs))
                )
        return body

    def _narrow_labels(self) -> list[str]:
        """Write name, pressure and room below the picture."""
        body = []
        for i, stairs in enumerate(self.stairs):
            y, stroke = self.bottom + 58.0 + 52.0 * i, self._stroke(stairs)
            body.append(
                line(
                    4, y - 5, 44, y - 5, colour=stroke.colour, width=stroke.width, dash=stroke.dash
                )
            )
            body.append(text(52, y, short_name(self.publication, stairs), size=14, bold=True))
            words = f"{self._end_words(stairs)} absolute; {left_words(stairs, self.notation)}"
            body.append(text(52, y + 18, words, size=13))
        return body


def _dot(x: float, y: float, colour: str, radius: float = 4.5) -> str:
    """Draw a measured point, open so that the line below it shows."""
    return tag("circle", cx=x, cy=y, r=radius, fill=PAPER, stroke=colour, stroke_width=2)


def _shortened(title: str, most: int = LONGEST_LABEL) -> str:
    """Cut a label that would not fit; the table has the whole of it."""
    return title if len(title) <= most else f"{title[: most - 1].rstrip()}…"
