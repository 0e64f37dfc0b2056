"""The life fan: what the gauge will read along the distance, and where elements are changed."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.report.model import Table
from feedproof.report.svg import BLUE, FONT, INK, LIMIT, Stroke
from feedproof.report.vega import Spec, drawn, framed

FloatArray = NDArray[np.float64]

BAND = BLUE
CHANGE_OUT = Stroke(colour=INK, dash="3 3", width=1.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class LifeFan:
    """
    What a life fan shows.

    Parameters
    ----------
    title : str
        Configuration in words.
    distance_m : array, shape (n_g,)
        Distance since the elements were new. [m]
    share : tuple of float, length n_q
        Share of vehicles that read no more; holds 0.05, 0.5 and 0.95. [-]
    depression_pa : array, shape (n_q, n_g)
        Reading at the check point. [Pa]
    change_out_pa, alarm_pa : float
        Readings at which elements are changed, and at which the worst conditions are no longer
        kept. [Pa]
    interval_m : float
        Chosen interval. [m]
    where : str
        Check point in words, with fuel and temperature.
    levels_for : str
        Fuel and band of temperature that both readings belong to; empty where nobody says.
    """

    title: str
    distance_m: FloatArray
    share: tuple[float, ...]
    depression_pa: FloatArray
    change_out_pa: float
    alarm_pa: float
    interval_m: float
    where: str
    levels_for: str = ""

    def row(self, share: float) -> FloatArray:
        """Give the readings of a share. [Pa]."""
        row: FloatArray = self.depression_pa[self.share.index(share)]
        return row


def sentence(fan: LifeFan) -> str:
    """
    Say in words what a fan shows.

    Parameters
    ----------
    fan : LifeFan
        What is shown.

    Returns
    -------
    str
        Readings at the interval, against the change-out value.
    """
    low, middle, high = (
        float(np.interp(fan.interval_m, fan.distance_m, fan.row(share))) / 1e3
        for share in (0.05, 0.5, 0.95)
    )
    return (
        f"{fan.title}: after {_km(fan.interval_m)} km half of such vehicles will read"
        f" {middle:.1f} kPa or less {fan.where}, nine in ten between {low:.1f} and {high:.1f} kPa;"
        f" elements are changed at {fan.change_out_pa / 1e3:.1f} kPa at the latest{_levels(fan)}."
    )


def _levels(fan: LifeFan) -> str:
    """Say which row of the table both levels belong to."""
    return f" (alarm and change-out of {fan.levels_for})" if fan.levels_for else ""


def _km(distance_m: float) -> str:
    """Write a distance, its thousands apart."""
    return f"{distance_m / 1e3:,.0f}".replace(",", "\u202f")


def table(fan: LifeFan, rows: int = 9) -> Table:
    """
    Lay a fan out as numbers.

    Parameters
    ----------
    fan : LifeFan
        What is shown.
    rows : int
        Distances that are shown.

    Returns
    -------
    Table
        Readings by distance and share.
    """
    places = np.unique(np.linspace(0, fan.distance_m.size - 1, rows).round().astype(int))
    return Table(
        caption=f"Depression {fan.where}, kPa: {fan.title}",
        head=("km", *(f"{100 * share:.0f} % read no more" for share in fan.share)),
        rows=tuple(
            (
                _km(float(fan.distance_m[place])),
                *(f"{value / 1e3:.1f}" for value in fan.depression_pa[:, place]),
            )
            for place in places
        ),
        note="",
    )


def life_spec(fan: LifeFan, *, narrow: bool = False) -> Spec:
    """
    Specify the chart.

    Parameters
    ----------
    fan : LifeFan
        What is shown.
    narrow : bool
        For a phone.

    Returns
    -------
    dict
        Vega-Lite, with its data inside.
    """
    size = 13 if narrow else 14
    points = [
        {
            "km": float(distance) / 1e6,
            "low": float(fan.row(0.05)[i]) / 1e3,
            "middle": float(fan.row(0.5)[i]) / 1e3,
            "high": float(fan.row(0.95)[i]) / 1e3,
        }
        for i, distance in enumerate(fan.distance_m)
    ]
    end = points[-1]["km"]
    reached = float(np.interp(fan.interval_m, fan.distance_m, fan.row(0.95)))
    top = 1.2 * max(fan.alarm_pa, reached) / 1e3
    x = {
        "field": "km",
        "type": "quantitative",
        "title": "thousand km since the elements were new",
        "scale": {"domain": [0, end], "nice": False},
        "axis": {"grid": False, "tickCount": 4 if narrow else 8},
    }
    y = {
        "type": "quantitative",
        "title": None,
        "scale": {"domain": [0, top], "nice": False, "zero": True},
    }
    values = {"values": points}
    edge = {"type": "line", "strokeWidth": 0.8, "color": BAND, "clip": True}
    layers: list[Spec] = [
        {
            "data": values,
            "mark": {"type": "area", "opacity": 0.2, "color": BAND, "clip": True},
            "encoding": {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}},
        },
        {"data": values, "mark": edge, "encoding": {"x": x, "y": {**y, "field": "low"}}},
        {"data": values, "mark": edge, "encoding": {"x": x, "y": {**y, "field": "high"}}},
        {
            "data": values,
            "mark": {"type": "line", "strokeWidth": 2.2, "color": BAND, "clip": True},
            "encoding": {"x": x, "y": {**y, "field": "middle"}},
        },
        *_named_edges(points, fan.change_out_pa / 1e3, top, size, y),
        *_level(fan.alarm_pa, "alarm", LIMIT, -9, end, size, y),
        *_level(fan.change_out_pa, "change the elements", CHANGE_OUT, 14, end, size, y),
        {
            "data": {"values": [{"km": fan.interval_m / 1e6, "name": "interval"}]},
            "mark": {"type": "rule", "strokeWidth": 1.6, "color": INK},
            "encoding": {"x": x},
        },
        {
            "data": {"values": [{"km": fan.interval_m / 1e6, "at": 0.04 * top}]},
            "mark": {
                "type": "text",
                "text": "interval",
                "align": "left",
                "dx": 5,
                "font": FONT,
                "fontSize": size,
                "color": INK,
            },
            "encoding": {"x": x, "y": {**y, "field": "at"}},
        },
    ]
    spec = framed(
        layers,
        [
            "Depression at the check point, kPa",
            fan.where,
            *([f"alarm and change-out of {fan.levels_for}"] if fan.levels_for else []),
        ],
        sentence(fan),
        size,
    )
    return {**spec, "width": 270 if narrow else 640, "height": 260 if narrow else 320}


def _named_edges(
    points: list[dict[str, float]], change_out: float, top: float, size: int, y: Spec
) -> list[Spec]:
    """Name the median and the upper edge where no level crosses them."""
    below = [point for point in points if point["middle"] <= 0.95 * change_out] or points[:1]
    middle = below[len(below) * 2 // 3]
    inside = [point for point in points if point["high"] <= 0.93 * top]
    values = [
        {"km": middle["km"], "at": middle["middle"], "name": "half below"},
        {"km": inside[-1]["km"], "at": inside[-1]["high"], "name": "19 in 20 below"},
    ]
    # At the left end a name before the curve would stand on the axis.
    is_early = inside[-1]["km"] < 0.3 * points[-1]["km"]
    upper = ("left", 6, 4) if is_early else ("right", -6, -4)
    return [
        {
            "data": {"values": [value]},
            "mark": {
                "type": "text",
                "text": value["name"],
                "align": align,
                "dx": dx,
                "dy": dy,
                "font": FONT,
                "fontSize": size - 1,
                "color": INK,
            },
            "encoding": {
                "x": {"field": "km", "type": "quantitative"},
                "y": {**y, "field": "at"},
            },
        }
        for value, (align, dx, dy) in zip(values, (("left", 0, 14), upper), strict=True)
    ]


def _level(
    pressure_pa: float,
    name: str,
    stroke: Stroke,
    dy: int,
    end_km: float,
    size: int,
    y: Spec,
) -> list[Spec]:
    """Draw a level across the picture with its name and value on the line."""
    level = pressure_pa / 1e3
    data = {"values": [{"at": level, "km": end_km}]}
    return [
        {
            "data": data,
            "mark": {
                "type": "rule",
                "strokeDash": [float(each) for each in stroke.dash.split()],
                "strokeWidth": stroke.width,
                "color": stroke.colour,
            },
            "encoding": {"y": {**y, "field": "at"}},
        },
        {
            "data": data,
            "mark": {
                "type": "text",
                "text": f"{name} {level:.1f}",
                "align": "right",
                "dy": dy,
                "font": FONT,
                "fontSize": size,
                "fontWeight": "bold",
                "color": stroke.colour,
            },
            "encoding": {
                "x": {"field": "km", "type": "quantitative"},
                "y": {**y, "field": "at"},
            },
        },
    ]


def life_svg(fan: LifeFan, *, name: str = "life", narrow: bool = False) -> str:
    """
    Draw the chart.

    Parameters
    ----------
    fan : LifeFan
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
    return drawn(life_spec(fan, narrow=narrow), name, f"Life fan: {fan.title}", sentence(fan))
