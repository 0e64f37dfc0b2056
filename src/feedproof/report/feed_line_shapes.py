"""Plain outlines of the parts of a feed line, drawn about a middle point."""

from collections.abc import Callable

from feedproof.case.parts import (
    AirHole,
    CheckValve,
    Cooler,
    Element,
    Fitting,
    LiftPump,
    Orifice,
    Part,
    Pipe,
)
from feedproof.report.svg import PAPER, Stroke, number, tag

HALF = 17.0
"""Half the height of an outline. [px]"""


def outline(part: Part, x: float, y: float, half_width: float, stroke: Stroke, inner: float) -> str:
    """
    Draw the outline of a part.

    Parameters
    ----------
    part : Part
        The part.
    x, y : float
        Its middle. [px]
    half_width : float
        Half its width. [px]
    stroke : Stroke
        How.
    inner : float
        Width of the line that runs through it. [px]

    Returns
    -------
    str
        Markup.
    """
    return _SHAPES[type(part)](x, y, half_width, stroke, inner)


def terminal(x: float, y: float, half_width: float, stroke: Stroke, *, tank: bool) -> str:
    """
    Draw the tank or the pump.

    Parameters
    ----------
    x, y : float
        Its middle. [px]
    half_width : float
        Half its width. [px]
    stroke : Stroke
        How.
    tank : bool
        False for the pump.

    Returns
    -------
    str
        Markup.
    """
    if not tank:
        body = tag(
            "rect",
            x=x - half_width,
            y=y - HALF,
            width=2 * half_width,
            height=2 * HALF,
            rx=3,
            **_drawn(stroke, PAPER),
        )
        return body + _path(
            f"M{_n(x - 8)} {_n(y - 8)} L{_n(x + 8)} {_n(y)} L{_n(x - 8)} {_n(y + 8)}", stroke
        )
    level = y - 4.0
    return tag(
        "rect",
        x=x - half_width,
        y=y - HALF,
        width=2 * half_width,
        height=2 * HALF,
        rx=8,
        **_drawn(stroke, PAPER),
    ) + _path(
        f"M{_n(x - half_width + 4)} {_n(level)} L{_n(x + half_width - 4)} {_n(level)}", stroke
    )


def _pipe(x: float, y: float, half: float, stroke: Stroke, inner: float) -> str:
    """Draw two walls; the line shows between them."""
    gap = inner / 2.0 + 4.0
    return "".join(
        _path(f"M{_n(x - half)} {_n(y + side)} L{_n(x + half)} {_n(y + side)}", stroke)
        for side in (-gap, gap)
    )


def _fitting(x: float, y: float, half: float, stroke: Stroke, inner: float) -> str:
    """Draw a six-sided nut."""
    del half
    across = max(HALF, inner / 2.0 + 6.0)
    corners = [
        (x - across, y),
        (x - across / 2, y - across * 0.87),
        (x + across / 2, y - across * 0.87),
        (x + across, y),
        (x + across / 2, y + across * 0.87),
        (x - across / 2, y + across * 0.87),
    ]
    return tag("polygon", points=_points(corners), **_drawn(stroke, PAPER))


def _element(x: float, y: float, half: float, stroke: Stroke, inner: float) -> str:
    """Draw a housing with pleats."""
    del inner
    wide = min(half, 26.0)
    box = tag(
        "rect",
        x=x - wide,
        y=y - HALF,
        width=2 * wide,
        height=2 * HALF,
        rx=4,
        **_drawn(stroke, PAPER),
    )
    step = 2 * wide / 8
    pleats = " L".join(
        f"{_n(x - wide + step * (i + 1))} {_n(y + (9.0 if i % 2 else -9.0))}" for i in range(7)
    )
    return box + _path(f"M{pleats}", Stroke(colour=stroke.colour, dash="", width=1.25))


def _valve(x: float, y: float, half: float, stroke: Stroke, inner: float) -> str:
    """Draw a cone before its seat."""
    del half, inner
    cone = [(x - 13, y - 13), (x + 9, y), (x - 13, y + 13)]
    return tag("polygon", points=_points(cone), **_drawn(stroke, PAPER)) + _path(
        f"M{_n(x + 11)} {_n(y - 14)} L{_n(x + 11)} {_n(y + 14)}", stroke
    )


def _orifice(x: float, y: float, half: float, stroke: Stroke, inner: float) -> str:
    """Draw a plate with a hole."""
    del half, inner
    return "".join(
        _path(
            f"M{_n(x)} {_n(y + side * 20)} L{_n(x)} {_n(y + side * 4)}",
            Stroke(colour=stroke.colour, dash=stroke.dash, width=4.0),
        )
        for side in (-1, 1)
    )


def _lift(x: float, y: float, half: float, stroke: Stroke, inner: float) -> str:
    """Draw a round body with an arrow."""
    del half, inner
    arrow = [(x - 6, y - 9), (x + 11, y), (x - 6, y + 9)]
    return tag("circle", cx=x, cy=y, r=HALF, **_drawn(stroke, PAPER)) + tag(
        "polygon",
        points=_points(arrow),
        **_drawn(Stroke(colour=stroke.colour, dash="", width=1.5), "none"),
    )


def _cooler(x: float, y: float, half: float, stroke: Stroke, inner: float) -> str:
    """Draw a box with fins."""
    del inner
    wide = min(half, 26.0)
    box = tag("rect", x=x - wide, y=y - 13, width=2 * wide, height=26, **_drawn(stroke, PAPER))
    thin = Stroke(colour=stroke.colour, dash="", width=1.25)
    fins = "".join(
        _path(f"M{_n(x + wide * s)} {_n(y - 13)} L{_n(x + wide * s)} {_n(y + 13)}", thin)
        for s in (-0.5, 0.0, 0.5)
    )
    return box + fins


def _hole(x: float, y: float, half: float, stroke: Stroke, inner: float) -> str:
    """Draw a gap in the wall with an arrow of air."""
    del half, inner
    return tag("circle", cx=x, cy=y, r=6, **_drawn(stroke, PAPER)) + _path(
        f"M{_n(x)} {_n(y - 20)} L{_n(x)} {_n(y - 8)} M{_n(x - 4)} {_n(y - 13)} L{_n(x)} {_n(y - 8)}"
        f" L{_n(x + 4)} {_n(y - 13)}",
        stroke,
    )


_Shape = Callable[[float, float, float, Stroke, float], str]
_SHAPES: dict[type[Part], _Shape] = {
    Pipe: _pipe,
    Fitting: _fitting,
    Element: _element,
    CheckValve: _valve,
    Orifice: _orifice,
    LiftPump: _lift,
    Cooler: _cooler,
    AirHole: _hole,
}


def _drawn(stroke: Stroke, fill: str) -> dict[str, str | float]:
    """Give the attributes of an outline."""
    return {
        "fill": fill,
        "stroke": stroke.colour,
        "stroke_width": stroke.width,
        "stroke_dasharray": stroke.dash,
    }


def _path(d: str, stroke: Stroke) -> str:
    """Draw a path without a filling."""
    return tag("path", d=d, **_drawn(stroke, "none"))


def _points(corners: list[tuple[float, float]]) -> str:
    """Write corners."""
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in corners)


def _n(value: float) -> str:
    """Write a coordinate."""
    return number(value)
