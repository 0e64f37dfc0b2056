"""
The protection picture: marks by size band, water carried over, and what no filter stops.

On a wide picture bands stand side by side and the names at the right end; on a phone bands stand
below each other, and the first of them is opened so that each mark has its name beside it.  Every
configuration has a mark of its own shape and a dash of its own, so that grey paper will do.
"""

import math
from dataclasses import dataclass

import numpy as np

from feedproof.report.protection_model import (
    HIGH,
    LOW,
    TYPICAL,
    ProtectionLine,
    ProtectionPicture,
    sentence,
    water_words,
)
from feedproof.report.svg import (
    FAINT,
    INK,
    NARROW,
    PAPER,
    RULE,
    SHADE,
    WIDE,
    Stroke,
    line,
    number,
    path,
    picture,
    spread,
    stroke_of,
    tag,
    text,
    wrapped,
)

MOST_DECADES = 4
"""Smaller numbers stand at the edge with an arrow; the table has them."""
ROW, FIRST_ROW, GAP = 11.0, 19.0, 10.0
WATER_ROW = 24.0
BULLET, INDENT = "\u2013 ", "\u2003"


@dataclass(frozen=True, slots=True)
class Scale:
    """
    A logarithmic axis.

    Parameters
    ----------
    decades : int
        From the least number shown up to the top.
    top : float
        Greatest number shown, a power of ten. [-]
    start, end : float
        Places of the least and the greatest number. [px]
    """

    decades: int
    top: float
    start: float
    end: float

    @property
    def least(self) -> float:
        """Give the least number that has its own place. [-]."""
        return float(self.top * 10.0**-self.decades)

    def at(self, value: float) -> float:
        """Give the place of a number, at the edge for those below it. [px]."""
        inside = max(value, self.least)
        along = 1.0 + math.log10(inside / self.top) / self.decades
        return self.start + along * (self.end - self.start)


def scale_of(shown: ProtectionPicture, start: float, end: float) -> Scale:
    """
    Choose the axis.

    Parameters
    ----------
    shown : ProtectionPicture
        What is shown.
    start, end : float
        Places of its ends. [px]

    Returns
    -------
    Scale
        Whole decades that hold every number above zero, or four.
    """
    every = np.concatenate([each.relative.ravel() for each in shown.lines])
    some = every[np.isfinite(every) & (every > 0.0)]
    top = math.ceil(math.log10(max(float(some.max()), 1.0)) - 1e-9) if some.size else 0
    least = math.floor(math.log10(float(some.min())) + 1e-9) if some.size else -1
    return Scale(min(max(top - least, 1), MOST_DECADES), 10.0**top, start, end)


def mark(place: int, x: float, y: float, size: float = 4.5) -> str:
    """
    Draw the mark of a configuration.

    Parameters
    ----------
    place : int
        0 for the baseline.
    x, y : float
        Its middle. [px]
    size : float
        Half its width. [px]

    Returns
    -------
    str
        Ring, disc, square, triangle or diamond, with paper around it.
    """
    colour = stroke_of(place).colour
    corners = {
        2: [(-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)],
        3: [(-1.1, 0.9), (1.1, 0.9), (0.0, -1.1)],
        4: [(-1.25, 0.0), (0.0, -1.25), (1.25, 0.0), (0.0, 1.25)],
    }.get(place)
    if corners is None:
        fill = PAPER if place == 0 else colour
        edge = colour if place == 0 else PAPER
        return tag("circle", cx=x, cy=y, r=size, fill=fill, stroke=edge, stroke_width=1.5)
    points = " ".join(f"{number(x + size * a)},{number(y + size * b)}" for a, b in corners)
    return tag("polygon", points=points, fill=colour, stroke=PAPER, stroke_width=1)


def protection_svg(
    shown: ProtectionPicture, *, name: str = "protection", narrow: bool = False
) -> str:
    """
    Draw the picture.

    Parameters
    ----------
    shown : ProtectionPicture
        What is shown.
    name : str
        For the ids of the picture.
    narrow : bool
        For a phone.

    Returns
    -------
    str
        SVG with a name and a description.
    """
    width = NARROW if narrow else WIDE
    letters = 46 if narrow else 120
    title, legend = wrapped(shown.title, letters), _heading(shown, narrow)
    head = [*title, *legend]
    body = [text(8.0, 20.0 + 19.0 * i, words, bold=i < len(title)) for i, words in enumerate(head)]
    top = 26.0 + 19.0 * len(head)
    bands, bottom = _bands_down(shown, top) if narrow else _bands_across(shown, top)
    water, bottom = _water(shown, bottom + 40.0, narrow)
    listed, bottom = _listed(shown, bottom + 20.0, letters)
    return picture(
        width,
        bottom + 10.0,
        f"Protection: {shown.title}",
        sentence(shown),
        [*body, *bands, *water, *listed],
        name,
    )


def _heading(shown: ProtectionPicture, narrow: bool) -> list[str]:
    """Say what the marks are."""
    base = shown.lines[0].name
    if narrow:
        return [f"Particles at the pump, {base} = 1,", "by size in µm(c); bars: low to high"]
    return [f"Particles that reach the pump, {base} = 1; bars: low to high"]


def _tick(value: float) -> str:
    """Write a power of ten."""
    return f"{value:.0f}" if value >= 1.0 else f"{value:.{round(-math.log10(value))}f}"


def _powers(scale: Scale) -> list[float]:
    """List the whole decades of an axis."""
    return [scale.top * 10.0**-k for k in range(scale.decades + 1)]


def _bands_across(shown: ProtectionPicture, top: float) -> tuple[list[str], float]:
    """Draw bands side by side, numbers upward."""
    left, right, height = 70.0, WIDE - 170.0, 300.0
    bottom = top + height
    scale = scale_of(shown, bottom, top)
    step = (right - left) / len(shown.bands)
    body = [
        tag("rect", x=left + step * i, y=top, width=step, height=height, fill=SHADE)
        for i in range(0, len(shown.bands), 2)
    ]
    for value in _powers(scale):
        y = scale.at(value)
        body += [
            line(left, y, right, y),
            text(left - 8.0, y + 5.0, _tick(value), anchor="end", fill=FAINT),
        ]
    for i, band in enumerate(shown.bands):
        body.append(text(left + step * (i + 0.5), bottom + 28.0, band, anchor="middle", size=13.0))
    body.append(
        text(0.5 * (left + right), bottom + 50.0, "size, µm(c)", anchor="middle", fill=FAINT)
    )
    slots = _slots(len(shown.lines), step)
    ends: list[tuple[int, float, float]] = []
    for place, each in enumerate(shown.lines):
        points = [
            (left + step * (i + 0.5) + slots[place], i)
            for i in range(len(shown.bands))
            if not np.isnan(each.relative[:, i]).any()
        ]
        body += _drawn_line(place, each, points, scale, upward=True)
        if points:
            x, i = points[-1]
            ends.append((place, x, scale.at(float(each.relative[TYPICAL, i]))))
    return [*body, *_names_at_right(shown, ends, right, top, bottom)], bottom + 50.0


def _slots(count: int, step: float) -> list[float]:
    """Place marks beside each other inside a band. [px]."""
    room = 0.72 * step
    return [room * ((i + 0.5) / count - 0.5) for i in range(count)]


def _names_at_right(
    shown: ProtectionPicture,
    ends: list[tuple[int, float, float]],
    right: float,
    top: float,
    bottom: float,
) -> list[str]:
    """Write names where the lines end."""
    body = []
    order = sorted(ends, key=lambda each: each[2])
    places = spread([y for _, _, y in order], 22.0, top + 6.0, bottom)
    for (place, x, y), at in zip(order, places, strict=True):
        stroke = stroke_of(place)
        body += [
            line(x + 6.0, y, right + 12.0, at, colour=stroke.colour, width=0.8),
            mark(place, right + 20.0, at),
            text(right + 30.0, at + 5.0, shown.lines[place].name, bold=True),
        ]
    return body


def _bands_down(shown: ProtectionPicture, top: float) -> tuple[list[str], float]:
    """Draw bands below each other, numbers to the right."""
    left, right = 62.0, NARROW - 14.0
    scale = scale_of(shown, left + 8.0, right - 4.0)
    count = len(shown.lines)
    body: list[str] = []
    under: list[str] = []
    points: dict[int, list[tuple[float, int]]] = {place: [] for place in range(count)}
    y = top
    for i, band in enumerate(shown.bands):
        row = FIRST_ROW if i == 0 else ROW
        height = row * count + GAP
        if i % 2 == 0:
            under.append(tag("rect", x=0.0, y=y, width=NARROW, height=height, fill=SHADE))
        body.append(text(left - 8.0, y + 0.5 * height + 5.0, band, anchor="end", size=13.0))
        for place, each in enumerate(shown.lines):
            at = y + 0.5 * GAP + row * (place + 0.5)
            if not np.isnan(each.relative[:, i]).any():
                points[place].append((at, i))
                if i == 0:
                    body.append(_name_beside(each, scale, at, left, right))
        y += height
    for value in _powers(scale):
        x = scale.at(value)
        under += [line(x, top, x, y), text(x, y + 18.0, _tick(value), anchor="middle", fill=FAINT)]
    lines = [
        piece
        for place, each in enumerate(shown.lines)
        for piece in _drawn_line(place, each, points[place], scale, upward=False)
    ]
    return [*under, *lines, *body], y + 18.0


def _name_beside(each: ProtectionLine, scale: Scale, y: float, left: float, right: float) -> str:
    """Write a name on the side of its mark that has more room."""
    typical, low, high = (scale.at(float(each.relative[row, 0])) for row in (TYPICAL, LOW, HIGH))
    to_left = typical - left > right - typical
    x = low - 9.0 if to_left else high + 9.0
    return text(x, y + 5.0, each.name, bold=True, size=13.0, anchor="end" if to_left else "start")


def _drawn_line(
    place: int,
    each: ProtectionLine,
    points: list[tuple[float, int]],
    scale: Scale,
    *,
    upward: bool,
) -> list[str]:
    """Draw a configuration: its dash from band to band, its ranges, its marks."""
    stroke = stroke_of(place)
    thin = Stroke(colour=stroke.colour, dash=stroke.dash, width=1.2)

    def placed(along: float, value: float) -> tuple[float, float]:
        return (along, scale.at(value)) if upward else (scale.at(value), along)

    middles = [placed(along, float(each.relative[TYPICAL, i])) for along, i in points]
    body = [path(middles, thin)] if len(middles) > 1 else []
    for (along, i), (x, y) in zip(points, middles, strict=True):
        low, high = (placed(along, float(each.relative[row, i])) for row in (LOW, HIGH))
        if low != high:
            body.append(line(*low, *high, colour=stroke.colour, width=2.0))
        body.append(mark(place, x, y))
        if each.relative[LOW, i] < scale.least:
            body.append(_arrow(*low, stroke.colour, upward=upward))
    return body


def _arrow(x: float, y: float, colour: str, *, upward: bool) -> str:
    """Point beyond the edge of the axis."""
    if upward:
        corners = [(x - 4.0, y + 6.0), (x, y + 12.0), (x + 4.0, y + 6.0)]
    else:
        corners = [(x - 6.0, y - 4.0), (x - 12.0, y), (x - 6.0, y + 4.0)]
    return path(corners, Stroke(colour=colour, dash="", width=1.5))


def _water(shown: ProtectionPicture, top: float, narrow: bool) -> tuple[list[str], float]:
    """Draw the free water that is carried over, a row for each configuration."""
    # On a phone a name stands above its row: beside it a long one would run into the bar.
    left, right = (14.0, 190.0) if narrow else (230.0, 620.0)
    heading = "Free water carried over, % of what is free"
    body = [text(8.0, top, heading, fill=INK)]
    y = top + 8.0
    for place, each in enumerate(shown.lines):
        y += WATER_ROW + (16.0 if narrow else 0.0)
        stroke = stroke_of(place)
        name_y = y - 12.0 if narrow else y + 5.0
        body += [
            text(8.0, name_y, each.name, bold=True, size=13.0 if narrow else 14.0),
            line(left, y, right, y, colour=RULE, width=1.0),
        ]
        if each.water_carried is not None:
            typical, low, high = (left + share * (right - left) for share in each.water_carried)
            if low != high:
                body.append(line(low, y, high, y, colour=stroke.colour, width=3.0))
            body.append(mark(place, typical, y))
        body.append(text(right + 12.0, y + 5.0, water_words(each), size=13.0 if narrow else 14.0))
    y += 20.0
    body += [
        text(left, y, "0", anchor="middle", fill=FAINT, size=13.0),
        text(right, y, "100", anchor="middle", fill=FAINT, size=13.0),
    ]
    return body, y


def _listed(shown: ProtectionPicture, top: float, letters: int) -> tuple[list[str], float]:
    """List what no filter stops."""
    y = top + 14.0
    body = [text(8.0, y, "What no filter stops", bold=True)]
    for item in shown.unstopped:
        for i, words in enumerate(wrapped(item, letters - 4)):
            y += 19.0
            body.append(text(8.0, y, f"{BULLET if i == 0 else INDENT}{words}"))
    return body, y
