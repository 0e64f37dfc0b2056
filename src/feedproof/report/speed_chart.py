"""Curves of up to three configurations against road speed, drawn for the width of a container."""

from feedproof.core.units import from_si, to_si
from feedproof.report import digits
from feedproof.report.notation import REPORT, Notation
from feedproof.report.speed_words import (
    TITLES,
    UNITS,
    SpeedCurves,
    SpeedMeasure,
    at_speed,
    figure,
    in_unit,
    limit_of,
    sentence,
    unit_name,
    values_of,
)
from feedproof.report.svg import (
    FAINT,
    LIMIT,
    PAPER,
    line,
    path,
    picture,
    spread,
    stroke_of,
    tag,
    text,
    ticks,
    wrapped,
)
from feedproof.report.words import upper_first

LABELS_PX, LEAST_FOR_LABELS_PX = 168.0, 600.0
"""Room for labels at the right, and width from which there is any."""
SIZE = 13.0


def y_range(curves: SpeedCurves, measure: SpeedMeasure) -> tuple[float, float]:
    """
    Give the ends of the upright axis that hold all curves and the limit.

    Parameters
    ----------
    curves : SpeedCurves
        The curves.
    measure : SpeedMeasure
        Of what.

    Returns
    -------
    tuple of float
        Low and high, in the unit that is drawn; to be handed in while a slider is dragged, so
        that the axis stands still.
    """
    low, high = _ends(curves, measure)
    span = (high - low) or 1.0
    return (low if low == 0.0 else low - 0.06 * span), high + 0.08 * span


def _ends(curves: SpeedCurves, measure: SpeedMeasure) -> tuple[float, float]:
    """Give the least and the greatest figure that is drawn."""
    values = [float(v) for pull in curves.pulls for v in values_of(pull, measure)]
    limit = limit_of(curves, measure)
    if limit is not None:
        values.append(limit[0])
    if measure is SpeedMeasure.DEPRESSION:
        values += [in_unit(v, measure) for each in curves.ranges_pa if each for v in each]
    if measure is not SpeedMeasure.PRESSURE:
        values.append(0.0)
    return min(values), max(values)


def speed_svg(
    curves: SpeedCurves,
    measure: SpeedMeasure,
    width: float,
    *,
    axis: tuple[float, float] | None = None,
    name: str = "",
    notation: Notation = REPORT,
) -> str:
    """
    Draw curves against speed.

    Parameters
    ----------
    curves : SpeedCurves
        Up to three configurations.
    measure : SpeedMeasure
        Of what.
    width : float
        Width of the container that it is drawn for. [px]
    axis : tuple of float, optional
        Ends of the upright axis, see `y_range`; it grows where a curve would leave it.
    name : str
        Prefix of its ids.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        SVG.
    """
    drawing = _Drawing(curves, measure, width, axis, notation)
    return picture(
        width,
        drawing.height,
        upper_first(f"{TITLES[measure]} against speed"),
        sentence(curves, measure, notation),
        drawing.drawn(),
        name or f"speed-{measure.value.replace('_', '-')}",
    )


class _Drawing:
    """Axes, curves and labels."""

    def __init__(
        self,
        curves: SpeedCurves,
        measure: SpeedMeasure,
        width: float,
        axis: tuple[float, float] | None,
        notation: Notation,
    ) -> None:
        self.notation = notation
        self.curves = curves
        self.measure = measure
        self.width = width
        self.wide = width >= LEAST_FOR_LABELS_PX
        self.left, self.top = 46.0, 32.0
        self.right = width - (LABELS_PX if self.wide else 14.0)
        self.bottom = self.top + min(max(0.42 * width, 200.0), 320.0)
        below = 0.0 if self.wide else 6.0 + 26.0 * len(curves.kits)
        self.height = self.bottom + 58.0 + below
        low, high = _ends(curves, measure)
        free = y_range(curves, measure)
        # A curve that would leave an axis that stands still makes it longer on that side.
        self.low = free[0] if axis is None or low < axis[0] else axis[0]
        self.high = free[1] if axis is None or high > axis[1] else axis[1]
        self.start = float(curves.pulls[0].speed_m_per_s[0])
        self.stop = float(curves.pulls[0].speed_m_per_s[-1])

    def x(self, speed_m_per_s: float) -> float:
        """Place a speed."""
        share = (speed_m_per_s - self.start) / (self.stop - self.start)
        return self.left + share * (self.right - self.left)

    def y(self, value: float) -> float:
        """Place a figure."""
        share = (value - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)

    def drawn(self) -> list[str]:
        """Draw everything."""
        return [
            tag("rect", x=0, y=0, width=self.width, height=self.height, fill=PAPER),
            *self._axes(),
            *self._marker(),
            *self._limit(),
            *self._lines(),
            *(self._labels_beside() if self.wide else self._labels_below()),
        ]

    def _axes(self) -> list[str]:
        """Draw ticks, and engine speed under road speed."""
        unit = unit_name(self.measure, self.notation)
        title = upper_first(TITLES[self.measure]) + (f", {unit}" if unit else "")
        body = [text(4, 15, title, size=SIZE, fill=FAINT)]
        for value, words in self._ticks():
            y = self.y(value)
            body.append(line(self.left, y, self.right, y))
            body.append(text(self.left - 7, y + 4.5, words, size=SIZE, anchor="end", fill=FAINT))
        pull = self.curves.pulls[0]
        per_speed = float(pull.engine_speed_rev_per_s[-1]) / self.stop
        most = max(3, int((self.right - self.left) / 62.0))
        for speed, words in self.notation.ticks(self.start, self.stop, most, "speed"):
            x = self.x(speed)
            rpm = digits.engine_speed(speed * per_speed).split(digits.NO_BREAK)[0]
            body.append(line(x, self.bottom, x, self.bottom + 5, colour=FAINT))
            body.append(text(x, self.bottom + 19, words, size=SIZE, anchor="middle"))
            body.append(text(x, self.bottom + 35, rpm, size=12, anchor="middle", fill=FAINT))
        body.append(line(self.left, self.bottom, self.right, self.bottom, colour=FAINT))
        names = f"road speed, {self.notation.speed}; below it engine speed, rpm"
        body.append(text(self.right, self.bottom + 52, names, size=12, anchor="end", fill=FAINT))
        return body

    def _ticks(self) -> list[tuple[float, str]]:
        """Give places along the upright axis, with round numbers in the unit that is written."""
        unit, kind = UNITS[self.measure]
        if not kind:
            return [(each, f"{each:g}") for each in ticks(self.low, self.high, 7)]
        low, high = (to_si(each, unit, kind) for each in (self.low, self.high))
        found = self.notation.ticks(low, high, 7, kind)
        return [(from_si(place, unit, kind), words) for place, words in found]

    def _marker(self) -> list[str]:
        """Mark the speed at which the staircase stands."""
        x = self.x(self.curves.speed_m_per_s)
        return [line(x, self.top, x, self.bottom, colour=FAINT, dash="1 3")]

    def _limit(self) -> list[str]:
        """Draw the limit with its name on it."""
        limit = limit_of(self.curves, self.measure, self.notation)
        if limit is None:
            if self.measure is SpeedMeasure.RETURN:
                return []
            return [
                text(
                    self.right - 4,
                    self.top + 12,
                    "no limit known",
                    size=SIZE,
                    anchor="end",
                    bold=True,
                )
            ]
        y = self.y(limit[0])
        # Below the line where it stands at the top, so that the name stays inside.
        place = y - 7.0 if y - 22.0 > self.top - 8.0 else y + 17.0
        return [
            line(
                self.left,
                y,
                self.right,
                y,
                colour=LIMIT.colour,
                width=LIMIT.width,
                dash=LIMIT.dash,
            ),
            text(self.left + 6, place, limit[1], size=SIZE, bold=True),
        ]

    def _lines(self) -> list[str]:
        """Draw the curves, the baseline last, and the ranges at the marked speed."""
        body = []
        order = sorted(range(len(self.curves.pulls)), key=lambda i: -self.curves.places[i])
        for i in order:
            pull = self.curves.pulls[i]
            stroke = stroke_of(self.curves.places[i])
            points = zip(pull.speed_m_per_s, values_of(pull, self.measure), strict=True)
            body.append(path([(self.x(float(s)), self.y(float(v))) for s, v in points], stroke))
        if self.measure is SpeedMeasure.DEPRESSION:
            for i, ends in enumerate(self.curves.ranges_pa):
                if ends is not None:
                    body += self._range(i, ends)
        return body

    def _range(self, index: int, ends: tuple[float, float]) -> list[str]:
        """Draw the range of one configuration beside the marked speed."""
        colour = stroke_of(self.curves.places[index]).colour
        count = len(self.curves.pulls)
        x = self.x(self.curves.speed_m_per_s) + 6.0 * (index - (count - 1) / 2.0)
        # At the ends of the pull the bars stand inside the picture.
        x = min(max(x, self.left + 6.0 * index + 3.0), self.right - 6.0 * (count - 1 - index) - 3.0)
        low, high = (self.y(in_unit(each, self.measure)) for each in ends)
        return [
            line(x, low, x, high, colour=colour, width=2),
            *(line(x - 3, end, x + 3, end, colour=colour, width=2) for end in (low, high)),
        ]

    def _words(self, index: int) -> str:
        """Write the figure at the marked speed, with its range."""
        told = figure(at_speed(self.curves, index, self.measure), self.measure, self.notation)
        ends = self.curves.ranges_pa[index]
        if self.measure is not SpeedMeasure.DEPRESSION or ends is None:
            return told
        return f"{told} ±\u00a0{self.notation.bare((ends[1] - ends[0]) / 2.0)}"

    def _labels_beside(self) -> list[str]:
        """Write the names at the right ends of the curves."""
        ends = {
            i: self.y(float(values_of(pull, self.measure)[-1]))
            for i, pull in enumerate(self.curves.pulls)
        }
        order = sorted(ends, key=lambda i: ends[i])
        places = spread([ends[i] for i in order], 38.0, self.top + 8.0, self.bottom - 20.0)
        body = []
        for i, place in zip(order, places, strict=True):
            stroke = stroke_of(self.curves.places[i])
            x = self.right + 16.0
            body.append(line(self.right + 2, ends[i], x, place, colour=FAINT))
            body.append(
                line(
                    x,
                    place,
                    x + 24,
                    place,
                    colour=stroke.colour,
                    width=stroke.width,
                    dash=stroke.dash,
                )
            )
            name = wrapped(self.curves.kits[i].short, 17)
            first = name[0] if len(name) == 1 else f"{name[0][:16]}…"
            body.append(text(x + 29, place + 4.5, first, size=SIZE, bold=True))
            body.append(text(x, place + 20.5, self._words(i), size=SIZE))
        return body

    def _labels_below(self) -> list[str]:
        """Write the names below the picture, each with its line."""
        body = []
        for i, kit in enumerate(self.curves.kits):
            y = self.bottom + 80.0 + 26.0 * i
            stroke = stroke_of(self.curves.places[i])
            body.append(
                line(
                    4, y - 4, 40, y - 4, colour=stroke.colour, width=stroke.width, dash=stroke.dash
                )
            )
            words = f"{kit.short}: {self._words(i)}"
            body.append(text(47, y, wrapped(words, int((self.width - 50) / 6.9))[0], size=SIZE))
        return body
