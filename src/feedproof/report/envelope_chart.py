"""The envelope map: room left against fuel temperature and altitude, with its edge as a line."""

from collections.abc import Iterator

import numpy as np

from feedproof.core.units import from_si
from feedproof.physics.atmosphere import standard_pressure
from feedproof.report import digits
from feedproof.report.iso_lines import iso_lines
from feedproof.report.live_maps import Mapped
from feedproof.report.model import EnvelopeMap, Table
from feedproof.report.svg import FAINT, FONT, INK, LIMIT, PAPER, RULE
from feedproof.report.vega import Spec, drawn, framed
from feedproof.report.words import upper_first

LETTERS = {"absolute_pressure": "p", "depression": "d", "gas": "g", "feed_margin": "m"}
"""Limit that binds where something is broken."""
ROOM_STEP_PA = 10e3
SLACK_STEP = 0.2
NARROW_BELOW_PX = 600.0
"""Width below which a map is drawn as for a phone. [px]"""
CLEAN_DASH = "2 3"
KEY = (
    "Heavy dashes: edge with the elements loaded as declared; dots: edge with clean elements; all"
    " conditions below and to the right of an edge hold. Thin lines: room left with loaded"
    " elements. Letters: limit that binds where one is broken with loaded elements (p absolute"
    " pressure, d depression, g free gas, m feed margin). Circle: reference; squares: declared"
    " worst conditions, numbered in their order. The maps are for the fuel level and the slope of"
    " the reference: a worst condition with less fuel, on a climb or with a blocked breather stands"
    " worse than its place here."
)


def sentence(publication: Mapped, envelope: EnvelopeMap) -> str:
    """
    Say in words what a map shows.

    Parameters
    ----------
    publication : Publication or LiveMaps
        The report.
    envelope : EnvelopeMap
        One configuration.

    Returns
    -------
    str
        Altitude up to which each loading holds at the reference temperature.
    """
    temperature = publication.reference.fuel_temperature_k
    ends = []
    for loading, name in enumerate(envelope.loadings):
        height = edge_altitude_m(envelope, loading, temperature)
        lowest, highest = envelope.altitude_m[0], envelope.altitude_m[-1]
        if height is None:
            first = np.interp(
                temperature, envelope.fuel_temperature_k, envelope.slack[loading, :, 0]
            )
            word = (
                f"holds up to {highest:.0f} m and beyond"
                if first >= 0.0
                else f"does not hold at {lowest:.0f} m"
            )
        else:
            word = f"holds up to about {round(height, -1):.0f} m"
        ends.append(f"{name} it {word}")
    kit = publication.kit(envelope.configuration).short
    degrees = digits.temperature(temperature)
    return f"{upper_first(kit)} with fuel at {degrees}: {'; '.join(ends)}."


def edge_altitude_m(envelope: EnvelopeMap, loading: int, temperature_k: float) -> float | None:
    """
    Find the altitude at which a configuration stops holding.

    Parameters
    ----------
    envelope : EnvelopeMap
        One configuration.
    loading : int
        Which loading.
    temperature_k : float
        Fuel temperature, inside the map. [K]

    Returns
    -------
    float or None
        From the lowest altitude up, where the interpolated slack first passes zero; None when it
        does not. [m]
    """
    slack = [
        float(np.interp(temperature_k, envelope.fuel_temperature_k, column))
        for column in envelope.slack[loading].T
    ]
    for j in range(len(slack) - 1):
        if slack[j] >= 0.0 > slack[j + 1]:
            low, high = envelope.altitude_m[j : j + 2]
            return float(low + (high - low) * slack[j] / (slack[j] - slack[j + 1]))
    return None


def table(publication: Mapped, envelope: EnvelopeMap) -> Table:
    """
    Lay a map out as numbers.

    Parameters
    ----------
    publication : Publication or LiveMaps
        The report.
    envelope : EnvelopeMap
        One configuration.

    Returns
    -------
    Table
        Room, or slack where no limit is known, with the letter of the limit that is broken; one
        column for each altitude, loadings under each other.
    """
    known = publication.limit_abs_pa is not None
    rows = []
    for loading, name in enumerate(envelope.loadings):
        for i, temperature in enumerate(envelope.fuel_temperature_k):
            cells = [_cell(envelope, loading, i, j, known) for j in range(len(envelope.altitude_m))]
            rows.append((f"{digits.temperature(float(temperature))}, {name}", *cells))
    what = "Room to the maker's limit, kPa" if known else "Least slack, %"
    return Table(
        caption=f"{what}: {publication.kit(envelope.configuration).short}",
        head=("fuel, loading", *(f"{altitude:.0f} m" for altitude in envelope.altitude_m)),
        rows=tuple(rows),
        note="A letter marks what is broken: p absolute pressure, d depression, g gas, m margin.",
    )


def _cell(envelope: EnvelopeMap, loading: int, i: int, j: int, known: bool) -> str:
    """Write one point."""
    value = envelope.room_pa[loading, i, j] / 1e3 if known else 100 * envelope.slack[loading, i, j]
    letter = LETTERS[envelope.binding[loading][i][j]]
    return f"{value:.0f}{' ' + letter if envelope.slack[loading, i, j] < 0.0 else ''}"


def envelope_spec(
    publication: Mapped,
    envelope: EnvelopeMap,
    *,
    narrow: bool = False,
    width: float | None = None,
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

    Returns
    -------
    dict
        Specification with its data inside.
    """
    narrow = narrow if width is None else width < NARROW_BELOW_PX
    x = envelope.fuel_temperature_k - 273.15
    y = envelope.altitude_m / 1e3
    size = 12 if narrow else 13
    layers = [
        *_letters(envelope, x, y, size),
        *_levels(publication, envelope, x, y, size),
        *_cloud(envelope, x, y, size),
        *_edges(envelope, x, y, size),
        *_points(publication, x, y, size),
    ]
    kit = upper_first(publication.kit(envelope.configuration).short)
    what = (
        "room to the maker's limit, kPa (inHg)"
        if publication.limit_abs_pa is not None
        else "no limit known: least slack, %"
    )
    title = [f"{kit}:", what] if narrow else f"{kit}: {what}"
    held = {} if width is None else {"autosize": {"type": "fit", "contains": "padding"}}
    inside = 236 if narrow else 760
    return {
        **framed(layers, title, sentence(publication, envelope), size),
        **held,
        "width": inside if width is None else width,
        "height": (240 if narrow else 300) if width is None else 340 if narrow else 400,
        "padding": {"left": 4, "right": 12, "top": 8, "bottom": 4},
        "encoding": {
            "x": {
                "field": "x",
                "type": "quantitative",
                "scale": {"domain": [float(x[0]), float(x[-1])], "nice": False},
                "axis": {"title": "fuel at the pump inlet, °C", "tickCount": 5 if narrow else 9},
            },
            "y": {
                "field": "y",
                "type": "quantitative",
                "scale": {"domain": [float(y[0]), float(y[-1])], "nice": False},
                "axis": {"title": "altitude, km", "tickCount": 5},
            },
        },
    }


def envelope_svg(
    publication: Mapped,
    envelope: EnvelopeMap,
    *,
    narrow: bool = False,
    width: float | None = None,
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

    Returns
    -------
    str
        SVG with a name and a description.
    """
    words = publication.kit(envelope.configuration)
    name = "".join(c if c.isalnum() else "-" for c in envelope.configuration)
    return drawn(
        envelope_spec(publication, envelope, narrow=narrow, width=width),
        f"envelope-{name}{'-live' if width is not None else '-narrow' if narrow else ''}",
        f"Envelope of {words.short}",
        sentence(publication, envelope),
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
    publication: Mapped, envelope: EnvelopeMap, x: np.ndarray, y: np.ndarray, size: int
) -> Iterator[Spec]:
    """Draw thin lines of equal room of the heaviest loading, each with its figure."""
    known = publication.limit_abs_pa is not None
    field = envelope.room_pa[-1] if known else envelope.slack[-1]
    step = ROOM_STEP_PA if known else SLACK_STEP
    for level in step * np.arange(1, 12):
        for line in iso_lines(x, y, field, float(level)):
            yield _line(line, RULE, 1.25, "")
            yield from _text(
                line[len(line) // 2], _level_words(float(level), known), FAINT, size - 1
            )


def _level_words(level: float, known: bool) -> str:
    """Write the figure of a line of equal room."""
    if not known:
        return f"{100 * level:.0f} %"
    return f"{level / 1e3:.0f} ({from_si(level, 'inHg', 'pressure'):.1f})"


def _cloud(envelope: EnvelopeMap, x: np.ndarray, y: np.ndarray, size: int) -> list[Spec]:
    """Mark the cloud point where it lies inside the map."""
    cloud = envelope.cloud_point_k - 273.15
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


def _points(publication: Mapped, x: np.ndarray, y: np.ndarray, size: int) -> Iterator[Spec]:
    """Draw the reference and the worst declared conditions."""
    worst = {point.conditions.name: point.conditions for point in publication.worst}
    marks = [(publication.reference, "circle", "reference")]
    for n, each in enumerate(worst.values(), start=1):
        other = "" if each.fuel == publication.reference.fuel else f", {each.fuel} fuel"
        marks.append((each, "square", f"worst {n}{other}"))
    for conditions, shape, words in marks:
        place = (
            conditions.fuel_temperature_k - 273.15,
            altitude_of(conditions.ambient_pressure_abs_pa) / 1e3,
        )
        if not (x[0] <= place[0] <= x[-1] and y[0] - 0.2 <= place[1] <= y[-1]):
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
