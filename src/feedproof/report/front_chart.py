"""The trade-off front: what kits cost, what restriction they leave, and what still passes them."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from feedproof.report.model import Table
from feedproof.report.svg import BLUE, FAINT, FONT, GREEN, INK, ORANGE, PAPER
from feedproof.report.vega import Spec, drawn, framed

SHAPES = {
    "none": ("circle", INK),
    "primary": ("square", ORANGE),
    "secondary": ("triangle-up", BLUE),
    "both": ("diamond", GREEN),
}
"""Shape and colour of a kind: no two share a shape. [-]"""
KINDS = {
    "none": "no kit",
    "primary": "primary",
    "secondary": "secondary",
    "both": "both",
}
WIDE, NARROW = (640, 340), (270, 300)
LETTER_WIDTH = 0.56
"""Mean width of a letter over the size of the type: of our typeface. [-]"""
FILLED_BELOW = 0.5
"""Exposure below which a sign is filled. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontPoint:
    """
    One kit of the front.

    Parameters
    ----------
    sign : str
        Letter that it has in the picture and the table.
    kind : str
        ``none``, ``primary``, ``secondary`` or ``both``.
    name, title : str
        Short and in full.
    cost : float
        Over 100 000 km. [-]
    slack : float
        Least share of a limit left when clean under the worst conditions. [-]
    end_slack : float
        The same at the end of its interval. [-]
    exposure : float
        Over that without a kit. [-]
    interval_m : float
        Between changes. [m]
    best : bool
        True for the answer.
    """

    sign: str
    kind: str
    name: str
    title: str
    cost: float
    slack: float
    end_slack: float
    exposure: float
    interval_m: float
    best: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Front:
    """
    What the picture shows.

    Parameters
    ----------
    title : str
        In words.
    currency : str
        Word behind costs.
    points : tuple of FrontPoint
        At least one.
    """

    title: str
    currency: str
    points: tuple[FrontPoint, ...]


def sentence(front: Front) -> str:
    """
    Say in words what the front shows.

    Parameters
    ----------
    front : Front
        What is shown.

    Returns
    -------
    str
        Ends of the front, and the answer.
    """
    least = min(front.points, key=lambda each: (round(each.exposure, 2), each.cost))
    widest = max(front.points, key=lambda each: each.slack)
    best = next((each for each in front.points if each.best), None)
    said = (
        f"{front.title}: none of these {len(front.points)} is worse than another in everything."
        f" Least passes {least.sign}, {least.name} ({in_a_hundred(least)});"
        f" most restriction is left by {widest.sign}, {widest.name}"
        f" ({100 * widest.slack:.0f} %)."
    )
    if best is None:
        return said
    return f"{said} Best by the rule is {best.sign}, {best.name}."


def in_a_hundred(point: FrontPoint) -> str:
    """
    Write an exposure.

    Parameters
    ----------
    point : FrontPoint
        A kit.

    Returns
    -------
    str
        Particles of a hundred that still pass.
    """
    return f"{100 * point.exposure:.0f} in 100"


def table(front: Front) -> Table:
    """
    Lay the front out as numbers.

    Parameters
    ----------
    front : Front
        What is shown.

    Returns
    -------
    Table
        A row a kit.
    """
    return Table(
        caption=f"{front.title}, in numbers",
        head=(
            "kit",
            "particles that still pass",
            "limit left, clean",
            "limit left at the end",
            "interval km",
            f"{front.currency} over 100\u202f000 km",
        ),
        rows=tuple(
            (
                f"{each.sign} {each.title}{' (best by the rule)' if each.best else ''}",
                in_a_hundred(each),
                f"{100 * each.slack:.0f} %",
                f"{100 * abs(each.end_slack):.0f} %",
                f"{each.interval_m / 1e3:,.0f}".replace(",", "\u202f"),
                f"{each.cost:.0f}",
            )
            for each in front.points
        ),
        note="Of particles of the size of the clearances, those that still reach the pump; the"
        " limit is the nearest one under the declared worst conditions.",
    )


def front_spec(front: Front, *, narrow: bool = False) -> Spec:
    """
    Specify the picture.

    Parameters
    ----------
    front : Front
        What is shown.
    narrow : bool
        For a phone, where signs stand in place of names.

    Returns
    -------
    dict
        Vega-Lite, with its data inside.
    """
    width, height = NARROW if narrow else WIDE
    size = 13 if narrow else 14
    right = 1.12 * max(*(each.cost for each in front.points), 1.0)
    slacks = [100.0 * each.slack for each in front.points]
    margin = 0.12 * max(max(slacks) - min(slacks), 2.0)
    bottom, top = min(slacks) - margin, max(slacks) + margin
    x = {
        "field": "cost",
        "type": "quantitative",
        "title": f"{front.currency} over 100 000 km, joints and changes counted in",
        "scale": {"domain": [0, right], "nice": False},
        "axis": {"tickCount": 4 if narrow else 8, "grid": False},
    }
    y = {
        "field": "slack",
        "type": "quantitative",
        "title": None,
        "scale": {"domain": [bottom, top], "nice": False, "zero": False},
    }
    layers: list[Spec] = []
    for each in front.points:
        shape, colour = SHAPES[each.kind]
        filled = each.exposure < FILLED_BELOW
        layers.append(
            {
                "data": {"values": [{"cost": each.cost, "slack": 100.0 * each.slack}]},
                "mark": {
                    "type": "point",
                    "shape": shape,
                    "size": 190 if each.best else 100,
                    "filled": True,
                    "fill": colour if filled else PAPER,
                    "stroke": INK if each.best else colour,
                    "strokeWidth": 3 if each.best else 1.8,
                    "opacity": 1,
                },
                "encoding": {"x": x, "y": y},
            }
        )
    places = [
        (each.cost / right * width, (top - 100.0 * each.slack) / (top - bottom) * height)
        for each in front.points
    ]
    texts = [_labels(each, narrow=narrow) for each in front.points]
    placed = _label_places(places, texts, size, (width, height))
    for each, (text, dx, dy, align) in zip(front.points, placed, strict=True):
        layers.append(
            {
                "data": {"values": [{"cost": each.cost, "slack": 100.0 * each.slack}]},
                "mark": {
                    "type": "text",
                    "text": text,
                    "align": align,
                    "baseline": "middle",
                    "dx": dx,
                    "dy": dy,
                    "font": FONT,
                    "fontSize": size - 1,
                    "fontWeight": "bold" if each.best else "normal",
                    "color": INK if each.best else FAINT,
                },
                "encoding": {"x": x, "y": y},
            }
        )
    kinds = [KINDS[kind] for kind in SHAPES if any(p.kind == kind for p in front.points)]
    spec = framed(
        layers,
        [
            "Share of the nearest limit left when clean, % (worst conditions)",
            *_key(kinds, narrow=narrow),
        ],
        sentence(front),
        size,
    )
    return {**spec, "width": width, "height": height}


def _labels(point: FrontPoint, *, narrow: bool) -> tuple[str, ...]:
    """Write what may stand beside a sign, the longest first."""
    short = f"{point.sign} {100 * point.exposure:.0f}"
    if narrow:
        return short, point.sign
    best = "best: " if point.best else ""
    return f"{best}{point.sign} {point.name}, {in_a_hundred(point)}", short, point.sign


def _key(kinds: Sequence[str], *, narrow: bool) -> list[str]:
    """Say what the signs mean."""
    marks = {"no kit": "●", "primary": "■", "secondary": "▲", "both": "◆"}
    shapes = ", ".join(f"{marks[kind]} {kind}" for kind in kinds)
    filled = "filled: less than half of the particles pass"
    if narrow:
        return [shapes, filled, "letter and particles in 100 that pass"]
    return [f"{shapes}; {filled}"]


def _label_places(
    places: Sequence[tuple[float, float]],
    texts: Sequence[tuple[str, ...]],
    size: int,
    frame: tuple[int, int],
) -> list[tuple[str, float, float, str]]:
    """Find the longest label that has room right beside its sign; the letter where none has."""
    taken = [(x - 8.0, y - 8.0, x + 8.0, y + 8.0) for x, y in places]
    found: list[tuple[str, float, float, str]] = []
    sides = [
        (dx, dy, align)
        for dy in (0.0, -15.0, 15.0)
        for dx, align in ((12.0, "left"), (-12.0, "right"), (0.0, "center"))
        if dy or align != "center"
    ]
    for (x, y), choices in zip(places, texts, strict=True):
        chosen = (choices[-1], *sides[0])
        for text, (dx, dy, align) in itertools.product(choices, sides):
            length = LETTER_WIDTH * (size - 1) * len(text)
            left = x + dx - {"left": 0.0, "right": 1.0, "center": 0.5}[align] * length
            box = (left, y + dy - 7.0, left + length, y + dy + 7.0)
            across = box[0] >= 0.0 and box[2] <= frame[0]
            upright = box[1] >= 0.0 and box[3] <= frame[1]
            if across and upright and not any(_meet(box, other) for other in taken):
                chosen = (text, dx, dy, align)
                taken.append(box)
                break
        found.append(chosen)
    return found


def _meet(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    """Say whether two boxes meet."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def front_svg(front: Front, *, name: str = "front", narrow: bool = False) -> str:
    """
    Draw the picture.

    Parameters
    ----------
    front : Front
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
    spec = front_spec(front, narrow=narrow)
    return drawn(spec, name, f"Trade-off front: {front.title}", sentence(front))
