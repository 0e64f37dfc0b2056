"""The change-over loop: two three-way valves on one lever, kit in the loop, catch beside."""

from dataclasses import dataclass

from feedproof.report.svg import (
    BLUE,
    FAINT,
    INK,
    NARROW,
    PAPER,
    SHADE,
    WIDE,
    Stroke,
    line,
    path,
    picture,
    tag,
    text,
    wrapped,
)

TITLE = "Change-over loop in the feed line"
SENTENCE = (
    "Two full-bore three-way valves on one lever lead the feed line straight through (A, dashed) or"
    " through the kit (B, solid), so that no joint is opened between runs; a third valve leads the"
    " return into a measure."
)
STRAIGHT = Stroke(colour=INK, dash="7 4", width=3.0)
THROUGH_KIT = Stroke(colour=BLUE, dash="", width=3.0)
PLAIN = Stroke(colour=INK, dash="", width=3.0)
LEVER = Stroke(colour=FAINT, dash="2 3", width=1.75)
_VALVE = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
    """Where things stand in one of the two widths, in px."""

    width: float
    height: float
    left: float
    valves: tuple[float, float]
    right: float
    feed: float
    kit: float
    lever: float
    back: float
    size: float
    letters: int


_WIDE = _Layout(
    width=WIDE,
    height=400.0,
    left=150.0,
    valves=(300.0, 620.0),
    right=800.0,
    feed=160.0,
    kit=60.0,
    lever=226.0,
    back=320.0,
    size=14.0,
    letters=22,
)
_NARROW = _Layout(
    width=NARROW,
    height=470.0,
    left=62.0,
    valves=(98.0, 222.0),
    right=268.0,
    feed=190.0,
    kit=70.0,
    lever=262.0,
    back=380.0,
    size=12.0,
    letters=11,
)


def loop_svg(kit: str, *, narrow: bool = False) -> str:
    """
    Draw the loop.

    Parameters
    ----------
    kit : str
        What stands in the loop, in a few words.
    narrow : bool
        For a phone.

    Returns
    -------
    str
        A whole SVG document with title and description.
    """
    at = _NARROW if narrow else _WIDE
    body = [
        *_feed_line(at),
        *_boxes(at, kit),
        *_valves(at),
        *_return(at),
    ]
    return picture(at.width, at.height, TITLE, SENTENCE, body, "loop-narrow" if narrow else "loop")


def _feed_line(at: _Layout) -> list[str]:
    """Draw the feed line with both ways."""
    one, two = at.valves
    middle = (one + two) / 2.0
    return [
        path([(at.left, at.feed), (one, at.feed)], PLAIN),
        path([(two, at.feed), (at.right, at.feed)], PLAIN),
        path([(one, at.feed), (two, at.feed)], STRAIGHT),
        path([(one, at.feed), (one, at.kit), (two, at.kit), (two, at.feed)], THROUGH_KIT),
        text(middle, at.feed - 8.0, "A: straight", size=at.size, anchor="middle", bold=True),
        _arrow((at.left + one - _VALVE) / 2.0, at.feed),
        # On a phone the gauge stands where the second arrow would.
        *([_arrow((two + _VALVE + at.right) / 2.0 - 8.0, at.feed)] if at.letters > 20 else []),
    ]


def _arrow(x: float, y: float) -> str:
    """Draw the direction of flow."""
    corners = f"M{x - 5:.1f} {y - 6:.1f} L{x + 7:.1f} {y:.1f} L{x - 5:.1f} {y + 6:.1f} Z"
    return tag("path", d=corners, fill=INK)


def _ring(x: float, y: float, fill: str) -> str:
    """Draw a valve or a gauge."""
    return tag("circle", cx=x, cy=y, r=_VALVE, fill=fill, stroke=INK, stroke_width=2.0)


def _box(x: float, y: float, width: float, height: float, *, colour: str = INK) -> str:
    """Draw a part as a plain outline."""
    return tag(
        "rect",
        x=x,
        y=y,
        width=width,
        height=height,
        rx=3.0,
        fill=PAPER,
        stroke=colour,
        stroke_width=2.0,
    )


def _words(x: float, y: float, words: str, at: _Layout, letters: int = 0) -> list[str]:
    """Write words in lines about a middle."""
    rows = wrapped(words, letters or at.letters)
    first = y - (len(rows) - 1) * (at.size + 2.0) / 2.0 + at.size * 0.35
    return [
        text(x, first + i * (at.size + 2.0), row, size=at.size, anchor="middle")
        for i, row in enumerate(rows)
    ]


def _boxes(at: _Layout, kit: str) -> list[str]:
    """Draw kit, tank side, pump and gauge."""
    one, two = at.valves
    narrow = at.letters < 20
    middle = (one + two) / 2.0
    half = 44.0 if narrow else 105.0
    side = 56.0 if narrow else 130.0
    gauge = (two + at.right) / 2.0 + (10.0 if narrow else 26.0)
    high = 76.0 if narrow else 60.0
    return [
        _box(middle - half, at.kit - 34.0, 2.0 * half, 68.0, colour=BLUE),
        *_words(middle, at.kit, kit, at, 12 if narrow else 26),
        text(middle, at.kit + 52.0, "B: kit", size=at.size, anchor="middle", bold=True, fill=BLUE)
        if narrow
        else text(
            middle,
            at.kit + 52.0,
            "B: through the kit",
            size=at.size,
            anchor="middle",
            bold=True,
            fill=BLUE,
        ),
        _box(at.left - side, at.feed - high / 2.0, side, high),
        *_words(
            at.left - side / 2.0,
            at.feed,
            "tank and factory filter" if not narrow else "tank, factory filter",
            at,
            14 if not narrow else 8,
        ),
        _box(at.right, at.feed - high / 2.0, side if not narrow else 66.0, high),
        *_words(
            at.right + (side if not narrow else 66.0) / 2.0,
            at.feed,
            "injection pump, inlet",
            at,
            14 if not narrow else 9,
        ),
        line(gauge, at.feed, gauge, at.feed - 46.0, colour=INK, width=2.0),
        _ring(gauge, at.feed - 60.0, PAPER),
        text(gauge, at.feed - 55.0, "P", size=at.size, anchor="middle", bold=True),
        *_words(
            gauge,
            at.feed - (96.0 if narrow else 92.0),
            "gauge, stays" if narrow else "gauge, stays in place",
            at,
            8 if narrow else 12,
        ),
    ]


def _valves(at: _Layout) -> list[str]:
    """Draw the two valves and the lever that turns both."""
    one, two = at.valves
    middle = (one + two) / 2.0
    marks = []
    for x, name in ((one, "V1"), (two, "V2")):
        marks += [
            _ring(x, at.feed, SHADE),
            text(x, at.feed + 5.0, name, size=12.0, anchor="middle", bold=True),
            path([(x, at.feed + _VALVE), (x, at.lever)], LEVER),
        ]
    return [
        *marks,
        path([(one, at.lever), (two, at.lever)], LEVER),
        tag("circle", cx=middle, cy=at.lever, r=6.0, fill=INK),
        *_words(
            middle,
            at.lever + 26.0,
            "one lever turns both valves",
            at,
            30 if at.letters > 20 else 16,
        ),
    ]


def _return(at: _Layout) -> list[str]:
    """Draw the return with its remote valve and the measure."""
    narrow = at.letters < 20
    side = 66.0 if narrow else 130.0
    pump = at.right + side / 2.0
    valve = at.valves[1] - (40.0 if narrow else 0.0)
    end = 8.0 if narrow else 85.0
    bottom = at.back + (52.0 if narrow else 40.0)
    width = 84.0 if narrow else 120.0
    return [
        path(
            [(pump, at.feed + (38.0 if narrow else 30.0)), (pump, at.back), (valve, at.back)], PLAIN
        ),
        path([(valve, at.back), (end, at.back)], PLAIN),
        path([(valve, at.back), (valve, bottom)], STRAIGHT),
        _ring(valve, at.back, SHADE),
        text(valve, at.back + 5.0, "V3", size=12.0, anchor="middle", bold=True),
        _box(valve - width / 2.0, bottom, width, 32.0),
        *_words(valve, bottom + 16.0, "measure", at),
        *_words(
            (end + valve) / 2.0 - (0.0 if narrow else 20.0),
            at.back - 14.0,
            "return to the tank",
            at,
            30,
        ),
        *_words(
            valve + (width / 2.0 + 56.0 if narrow else 175.0),
            bottom + 16.0,
            "V3 turned from outside, over a spill tray"
            if not narrow
            else "V3 turned from afar, spill tray",
            at,
            28 if not narrow else 14,
        ),
    ]
