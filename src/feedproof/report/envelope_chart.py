"""The envelope map: room left against fuel temperature and altitude, with its edge as a line."""

from collections.abc import Iterator

import numpy as np

from feedproof.core.units import to_si
from feedproof.physics.atmosphere import standard_pressure
from feedproof.report.digits import NO_BREAK
from feedproof.report.envelope_words import LETTERS, sentence
from feedproof.report.iso_lines import iso_lines
from feedproof.report.live_maps import Mapped
from feedproof.report.model import EnvelopeMap
from feedproof.report.notation import REPORT, Notation
from feedproof.report.svg import FAINT, FONT, INK, LIMIT, PAPER, RULE
from feedproof.report.vega import Spec, drawn, framed
from feedproof.report.words import upper_first

ROOM_STEPS = {"kPa": 10.0, "inHg": 3.0, "mbar": 100.0, "bar": 0.1, "psi": 1.5}
"""Between lines of equal room, by the unit that stands on them."""
SLACK_STEP = 0.2
NARROW_BELOW_PX = 600.0
"""Width below which a map is drawn as for a phone. [px]"""
THOUSANDS = {"m": "km", "ft": "thousand ft"}
"""What a thousand of a unit of altitude is called."""
CLEAN_DASH = "2 3"


def envelope_spec(
    publication: Mapped,
    envelope: EnvelopeMap,
    *,
    narrow: bool = False,
    width: float | None = None,
    notation: Notation = REPORT,
) -> Spec:
    """
    Write a map as a Vega-Lite specification.

    Parameters
    ----------
    publication : Publication or LiveMaps
        The report.
    envelope : EnvelopeMap
        One configuration.
    narrow : bool
        True for the phone.
    width : float, optional
        Width of the container that it is drawn for, axes included. [px]
    notation : Notation
        Units to write.

    Returns
    -------
    dict
        Specification with its data inside.
    """
    narrow = narrow if width is None else width < NARROW_BELOW_PX
    x = np.array([notation.value(float(k), "temperature") for k in envelope.fuel_temperature_k])
    y = np.array([notation.value(float(m), "length") for m in envelope.altitude_m]) / 1e3
    size = 12 if narrow else 13
    layers = [
        *_letters(envelope, x, y, size),
        *_levels(publication, envelope, x, y, size, notation),
        *_cloud(envelope, x, y, size, notation),
        *_edges(envelope, x, y, size),
        *_points(publication, x, y, size, notation),
    ]
    kit = upper_first(publication.kit(envelope.configuration).short)
    beside = f" ({notation.beside})" if notation.beside else ""
    what = (
        f"room to the maker's limit, {notation.pressure}{beside}"
        if publication.limit_abs_pa is not None
        else "no limit known: least slack, %"
    )
    title = [f"{kit}:", what] if narrow else f"{kit}: {what}"
    degrees = notation.name("temperature")
    held = {} if width is None else {"autosize": {"type": "fit", "contains": "padding"}}
    inside = 236 if narrow else 760
    return {
        **framed(layers, title, sentence(publication, envelope, notation), size),
        **held,
        "width": inside if width is None else width,
        "height": (240 if narrow else 300) if width is None else 340 if narrow else 400,
        "padding": {"left": 4, "right": 12, "top": 8, "bottom": 4},
        "encoding": {
            "x": {
                "field": "x",
                "type": "quantitative",
                "scale": {"domain": [float(x[0]), float(x[-1])], "nice": False},
                "axis": {
                    "title": f"fuel at the pump inlet, {degrees}",
                    "tickCount": 5 if narrow else 9,
                },
            },
            "y": {
                "field": "y",
                "type": "quantitative",
                "scale": {"domain": [float(y[0]), float(y[-1])], "nice": False},
                "axis": {"title": f"altitude, {THOUSANDS[notation.length]}", "tickCount": 5},
            },
        },
    }


def envelope_svg(
    publication: Mapped,
    envelope: EnvelopeMap,
    *,
    narrow: bool = False,
    width: float | None = None,
    notation: Notation = REPORT,
) -> str:
    """
    Draw a map.

    Parameters
    ----------
    publication : Publication or LiveMaps
        The report.
    envelope : EnvelopeMap
        One configuration.
    narrow : bool
        True for the phone.
    width : float, optional
        Width of the container that it is drawn for. [px]
    notation : Notation
        Units to write.

    Returns
    -------
    str
        SVG with a name and a description.
    """
    words = publication.kit(envelope.configuration)
    name = "".join(c if c.isalnum() else "-" for c in envelope.configuration)
    return drawn(
        envelope_spec(publication, envelope, narrow=narrow, width=width, notation=notation),
        f"envelope-{name}{'-live' if width is not None else '-narrow' if narrow else ''}",
        f"Envelope of {words.short}",
        sentence(publication, envelope, notation),
    )


def _line(points: list[tuple[float, float]], colour: str, width: float, dash: str) -> Spec:
    """Draw a polyline."""
    values = [{"x": px, "y": py, "order": n} for n, (px, py) in enumerate(points)]
    mark = {"type": "line", "color": colour, "strokeWidth": width}
    if dash:
        mark["strokeDash"] = [float(each) for each in dash.split()]
    return {
        "data": {"values": values},
        "mark": mark,
        "encoding": {"order": {"field": "order", "type": "quantitative"}},
    }


def _text(
    place: tuple[float, float], words: str, colour: str, size: int, **mark: object
) -> list[Spec]:
    """Write words at a place, on a rim of paper so that lines do not cross them."""
    data = {"values": [{"x": place[0], "y": place[1], "words": words}]}
    text = {"type": "text", "fontSize": size, "font": FONT, **mark}
    encoding = {"text": {"field": "words", "type": "nominal"}}
    rim = {**text, "stroke": PAPER, "strokeWidth": 4, "color": PAPER}
    return [
        {"data": data, "mark": rim, "encoding": encoding},
        {"data": data, "mark": {**text, "color": colour}, "encoding": encoding},
    ]


def _letters(envelope: EnvelopeMap, x: np.ndarray, y: np.ndarray, size: int) -> list[Spec]:
    """Mark the broken points of the heaviest loading by the letter of what binds there."""
    loading = len(envelope.loadings) - 1
    values = [
        {"x": float(x[i]), "y": float(y[j]), "words": LETTERS[envelope.binding[loading][i][j]]}
        for i in range(1, len(x) - 1, 2)
        for j in range(1, len(y) - 1)
        if envelope.slack[loading, i, j] < 0.0
    ]
    if not values:
        return []
    return [
        {
            "data": {"values": values},
            "mark": {"type": "text", "color": FAINT, "fontSize": size - 1, "font": FONT},
            "encoding": {"text": {"field": "words", "type": "nominal"}},
        }
    ]


def _levels(
    publication: Mapped,
    envelope: EnvelopeMap,
    x: np.ndarray,
    y: np.ndarray,
    size: int,
    notation: Notation,
) -> Iterator[Spec]:
    """Draw thin lines of equal room of the heaviest loading, each with its figure."""
    known = publication.limit_abs_pa is not None
    field = envelope.room_pa[-1] if known else envelope.slack[-1]
    unit = notation.pressure
    step = to_si(ROOM_STEPS[unit], unit, "pressure") if known else SLACK_STEP
    for level in step * np.arange(1, 12):
        for line in iso_lines(x, y, field, float(level)):
            yield _line(line, RULE, 1.25, "")
            words = _level_words(float(level), notation) if known else f"{100 * level:.0f} %"
            yield from _text(line[len(line) // 2], words, FAINT, size - 1)


def _level_words(level_pa: float, notation: Notation) -> str:
    """Write the figure of a line of equal room, a round one in the unit that it is written in."""
    told = f"{notation.value(level_pa, 'pressure'):.3g}"
    beside = notation.second(level_pa, 1).partition(NO_BREAK)[0]
    return f"{told} ({beside})" if beside else told


def _cloud(
    envelope: EnvelopeMap, x: np.ndarray, y: np.ndarray, size: int, notation: Notation
) -> list[Spec]:
    """Mark the cloud point where it lies inside the map."""
    cloud = notation.value(envelope.cloud_point_k, "temperature")
    if not x[0] < cloud < x[-1]:
        return []
    ends = [(cloud, float(y[0])), (cloud, float(y[-1]))]
    return [
        _line(ends, INK, 1.0, "1 3"),
        *_text(
            (cloud, float(y[-1])),
            "cloud point",
            FAINT,
            size - 1,
            align="left",
            dx=4,
            dy=8,
            baseline="top",
        ),
    ]


def _edges(envelope: EnvelopeMap, x: np.ndarray, y: np.ndarray, size: int) -> Iterator[Spec]:
    """Draw the edge of each loading with its name on it."""
    last = len(envelope.loadings) - 1
    for loading, name in enumerate(envelope.loadings):
        heavy = loading == last
        dash = LIMIT.dash if heavy else CLEAN_DASH
        for line in iso_lines(x, y, envelope.slack[loading], 0.0):
            yield _line(line, LIMIT.colour, LIMIT.width if heavy else 2.25, dash)
            # The loaded edge lies below the clean one, and so do their names.
            inside = line[len(line) * (3 if heavy else 2) // 5]
            short = "loaded" if heavy and last > 0 else name
            below = heavy and last > 0
            yield from _text(
                inside,
                f"edge, {short}",
                LIMIT.colour,
                size,
                align="left" if below else "right",
                dx=6 if below else -6,
                dy=12 if below else -8,
            )


def _points(
    publication: Mapped, x: np.ndarray, y: np.ndarray, size: int, notation: Notation
) -> Iterator[Spec]:
    """Draw the reference and the worst declared conditions."""
    worst = {point.conditions.name: point.conditions for point in publication.worst}
    # High pressure at the shore stands a little below the map and is drawn at its foot.
    below = notation.value(200.0, "length") / 1e3
    marks = [(publication.reference, "circle", "reference")]
    for n, each in enumerate(worst.values(), start=1):
        other = "" if each.fuel == publication.reference.fuel else f", {each.fuel} fuel"
        marks.append((each, "square", f"worst {n}{other}"))
    for conditions, shape, words in marks:
        place = (
            notation.value(conditions.fuel_temperature_k, "temperature"),
            notation.value(altitude_of(conditions.ambient_pressure_abs_pa), "length") / 1e3,
        )
        if not (x[0] <= place[0] <= x[-1] and y[0] - below <= place[1] <= y[-1]):
            continue
        place = (place[0], max(place[1], float(y[0])))
        yield {
            "data": {"values": [{"x": place[0], "y": place[1]}]},
            "mark": {
                "type": "point",
                "shape": shape,
                "filled": True,
                "size": 70,
                "color": INK,
                "stroke": PAPER,
                "clip": False,
                "opacity": 1,
            },
        }
        right = place[0] > 0.75 * x[-1] + 0.25 * x[0]
        low = place[1] < y[0] + 0.08 * (y[-1] - y[0])
        yield from _text(
            place,
            words,
            INK,
            size,
            align="right" if right else "left",
            dx=-8 if right else 8,
            dy=-9 if low else 0,
        )


def altitude_of(pressure_abs_pa: float) -> float:
    """
    Give the altitude of a pressure in the standard atmosphere.

    Parameters
    ----------
    pressure_abs_pa : float
        Air pressure. [Pa]

    Returns
    -------
    float
        ISO 2533, by bisection of `standard_pressure` between -1 and 11 km. [m]
    """
    low, high = -1000.0, 11000.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if standard_pressure(middle) > pressure_abs_pa:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
