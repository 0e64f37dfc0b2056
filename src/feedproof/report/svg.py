"""
Small SVG builders with one palette.

Colours are fixed, so that a picture is the same on paper and on its own; the page's style sheet
puts the dark colours in by attribute selectors.  Nothing here writes a ``style`` attribute,
because the page's content policy would drop it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

FONT = "Feedproof Sans"
PAPER = "#fbfaf7"
INK = "#1b1f23"
FAINT = "#5f666d"
RULE = "#cfccc4"
SHADE = "#efece5"
BLUE = "#0072B2"
GREEN = "#009E73"
VERMILION = "#D55E00"
PURPLE = "#CC79A7"
ORANGE = "#E69F00"
SKY = "#56B4E9"
WIDE = 960
NARROW = 340


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """
    How a configuration is drawn: no two share a colour or a dash.

    Parameters
    ----------
    colour : str
        Fixed colour.
    dash : str
        Dash pattern; empty is solid.
    width : float
        Width of its line. [px]
    """

    colour: str
    dash: str
    width: float


STROKES = (
    Stroke(colour=INK, dash="6 4", width=1.75),
    Stroke(colour=BLUE, dash="", width=2.5),
    Stroke(colour=GREEN, dash="12 4 2 4", width=2.5),
    Stroke(colour=PURPLE, dash="16 5", width=2.5),
    Stroke(colour=ORANGE, dash="10 3 2 3 2 3", width=2.5),
    Stroke(colour=SKY, dash="4 3", width=2.5),
)
LIMIT = Stroke(colour=VERMILION, dash="9 5", width=3.0)
PREDICTED_DASH = "1.5 3.5"


def stroke_of(place: int) -> Stroke:
    """
    Give the stroke of a configuration.

    Parameters
    ----------
    place : int
        0 for the baseline; behind the last stroke colours come again with longer dashes.

    Returns
    -------
    Stroke
        Colour, dash and width.
    """
    if place < len(STROKES):
        return STROKES[place]
    turns, again = divmod(place - 1, len(STROKES) - 1)
    colour = STROKES[1 + again].colour
    return Stroke(colour=colour, dash=f"{18 + 4 * again} {2 + 2 * turns}", width=2.5)


def number(value: float) -> str:
    """
    Write a coordinate, short and the same on every machine.

    Parameters
    ----------
    value : float
        Coordinate. [px]

    Returns
    -------
    str
        One decimal at most.
    """
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def tag(name: str, *children: str, **attributes: str | float | None) -> str:
    """
    Write an element.

    Parameters
    ----------
    name : str
        Its name.
    *children : str
        Markup inside it.
    **attributes : str, float or None
        Attributes; underscores become hyphens, None is left out.

    Returns
    -------
    str
        Markup.
    """
    words = [
        f" {key.rstrip('_').replace('_', '-')}="
        + quoteattr(value if isinstance(value, str) else number(value))
        for key, value in attributes.items()
        if value is not None and value != ""
    ]
    inside = "".join(children)
    return f"<{name}{''.join(words)}>{inside}</{name}>" if inside else f"<{name}{''.join(words)}/>"


def text(
    x: float,
    y: float,
    words: str,
    *,
    size: float = 14.0,
    anchor: str = "start",
    bold: bool = False,
    fill: str = INK,
    turn: float | None = None,
) -> str:
    """
    Write a label.

    Parameters
    ----------
    x, y : float
        Where its base line begins, ends or has its middle. [px]
    words : str
        The label.
    size : float
        Height of the type. [px]
    anchor : str
        ``start``, ``middle`` or ``end``.
    bold : bool
        Semibold.
    fill : str
        Colour.
    turn : float, optional
        Turned about its own point, clockwise. [deg]

    Returns
    -------
    str
        Markup.
    """
    return tag(
        "text",
        escape(words),
        x=x,
        y=y,
        font_size=size,
        text_anchor=None if anchor == "start" else anchor,
        font_weight="600" if bold else None,
        fill=fill,
        transform=None if turn is None else f"rotate({number(turn)} {number(x)} {number(y)})",
    )


def line(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    *,
    colour: str = RULE,
    width: float = 1.0,
    dash: str = "",
) -> str:
    """
    Draw a straight line.

    Parameters
    ----------
    x1, y1, x2, y2 : float
        Its ends. [px]
    colour : str
        Colour.
    width : float
        Width. [px]
    dash : str
        Dash pattern; empty is solid.

    Returns
    -------
    str
        Markup.
    """
    return tag(
        "line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=colour, stroke_width=width, stroke_dasharray=dash
    )


def path(points: Iterable[tuple[float, float]], stroke: Stroke) -> str:
    """
    Draw a line through points.

    Parameters
    ----------
    points : iterable of (float, float)
        Corners. [px]
    stroke : Stroke
        How.

    Returns
    -------
    str
        Markup.
    """
    corners = " L".join(f"{number(x)} {number(y)}" for x, y in points)
    return tag(
        "path",
        d=f"M{corners}",
        fill="none",
        stroke=stroke.colour,
        stroke_width=stroke.width,
        stroke_dasharray=stroke.dash,
        stroke_linejoin="round",
    )


def picture(
    width: float,
    height: float,
    title: str,
    description: str,
    body: Iterable[str],
    name: str,
    *,
    role: str = "img",
) -> str:
    """
    Close a picture with its name and description.

    Parameters
    ----------
    width, height : float
        Size at which it is drawn. [px]
    title, description : str
        What it is, and the one sentence that says what it shows.
    body : iterable of str
        Markup.
    name : str
        Prefix of ids, unique in a page.
    role : str
        ``group`` for a picture with buttons in it, which an image would hide.

    Returns
    -------
    str
        A whole SVG document.
    """
    return tag(
        "svg",
        tag("title", escape(title), id=f"{name}-title"),
        tag("desc", escape(description), id=f"{name}-desc"),
        *body,
        xmlns="http://www.w3.org/2000/svg",
        width=width,
        height=height,
        viewBox=f"0 0 {number(width)} {number(height)}",
        role=role,
        aria_labelledby=f"{name}-title {name}-desc",
        font_family=f"{FONT}, sans-serif",
    )


def wrapped(words: str, letters: int) -> list[str]:
    """
    Break words into lines; a number stays with its unit, which a no-break space holds to it.

    Parameters
    ----------
    words : str
        The words.
    letters : int
        Most letters in a line, unless one word is longer.

    Returns
    -------
    list of str
        Lines.
    """
    lines = [""]
    for word in words.replace("\n", " ").split(" "):
        if lines[-1] and len(lines[-1]) + 1 + len(word) > letters:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def spread(wanted: list[float], gap: float, low: float, high: float) -> list[float]:
    """
    Move labels apart without changing their order.

    Parameters
    ----------
    wanted : list of float
        Places, increasing. [px]
    gap : float
        Least distance. [px]
    low, high : float
        First and last place allowed. [px]

    Returns
    -------
    list of float
        Places at least ``gap`` apart where the room allows it.

    Examples
    --------
    >>> spread([10.0, 12.0], 20.0, 0.0, 100.0)
    [1.0, 21.0]
    """
    places = list(wanted)
    for _ in range(50):
        for i in range(len(places) - 1):
            short = gap - (places[i + 1] - places[i])
            if short > 0.0:
                places[i] -= short / 2.0
                places[i + 1] += short / 2.0
        places = [min(max(place, low), high) for place in places]
    # The sweeps above only come near; this pass settles what is left from the top down.
    for i in range(1, len(places)):
        places[i] = max(places[i], places[i - 1] + gap)
    return [round(place, 1) for place in places]


def ticks(low: float, high: float, most: int) -> list[float]:
    """
    Give round numbers along an axis.

    Parameters
    ----------
    low, high : float
        Ends of the axis.
    most : int
        Most ticks wanted.

    Returns
    -------
    list of float
        Multiples of 1, 2 or 5 times a power of ten.

    Examples
    --------
    >>> ticks(43.0, 91.0, 6)
    [50.0, 60.0, 70.0, 80.0, 90.0]
    """
    span = high - low
    if not span > 0.0:
        return [low]
    exponent = -6
    while True:
        for factor in (1.0, 2.0, 5.0):
            step = factor * 10.0**exponent
            first = -(-low // step)
            count = int(high // step - first) + 1
            if count <= most:
                return [round((first + i) * step, 9) for i in range(count)]
        exponent += 1
