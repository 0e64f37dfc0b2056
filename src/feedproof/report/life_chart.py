"""The life fan: what the gauge will read along the distance, and where elements are changed."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.report.model import Table
from feedproof.report.notation import REPORT, Notation
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
        Check point in words, with its fuel.
    fuel_temperature_k : float or None
        Of that fuel; None where the words say it. [K]
    levels_for : str
        Fuel that both readings belong to; empty where nobody says.
    levels_k : tuple of (float, float) or None
        Band of its temperature; None where the words say it. [K]
    """

    title: str
    distance_m: FloatArray
    share: tuple[float, ...]
    depression_pa: FloatArray
    change_out_pa: float
    alarm_pa: float
    interval_m: float
    where: str
    fuel_temperature_k: float | None = None
    levels_for: str = ""
    levels_k: tuple[float, float] | None = None

    def row(self, share: float) -> FloatArray:
        """Give the readings of a share. [Pa]."""
        row: FloatArray = self.depression_pa[self.share.index(share)]
        return row

    def place(self, notation: Notation) -> str:
        """
        Say where the gauge is read.

        Parameters
        ----------
        notation : Notation
            Units to write.

        Returns
        -------
        str
            With fuel and temperature.
        """
        if self.fuel_temperature_k is None:
            return self.where
        degrees = notation.value(self.fuel_temperature_k, "temperature")
        return f"{self.where} at {degrees:.0f} {notation.name('temperature')}"

    def levels(self, notation: Notation) -> str:
        """
        Say which row of the table both levels belong to.

        Parameters
        ----------
        notation : Notation
            Units to write.

        Returns
        -------
        str
            Fuel and band of temperature; empty where nobody says.
        """
        if not self.levels_for or self.levels_k is None:
            return self.levels_for
        low, high = (notation.value(each, "temperature") for each in self.levels_k)
        return f"{self.levels_for}, {low:.0f} to {high:.0f} {notation.name('temperature')}"


def sentence(fan: LifeFan, notation: Notation = REPORT) -> str:
    """
    Say in words what a fan shows.

    Parameters
    ----------
    fan : LifeFan
        What is shown.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        Readings at the interval, against the change-out value.
    """
    low, middle, high = (
        notation.bare(float(np.interp(fan.interval_m, fan.distance_m, fan.row(share))), 1)
        for share in (0.05, 0.5, 0.95)
    )
    unit, levels = notation.pressure, fan.levels(notation)
    of_levels = f" (alarm and change-out of {levels})" if levels else ""
    return (
        f"{fan.title}: after {_km(fan.interval_m)} km half of such vehicles will read"
        f" {middle} {unit} or less {fan.place(notation)}, nine in ten between {low} and {high}"
        f" {unit}; elements are changed at {notation.bare(fan.change_out_pa, 1)} {unit} at the"
        f" latest{of_levels}."
    )


def _km(distance_m: float) -> str:
    """Write a distance, its thousands apart."""
    return f"{distance_m / 1e3:,.0f}".replace(",", "\u202f")


def table(fan: LifeFan, rows: int = 9, notation: Notation = REPORT) -> Table:
    """
    Lay a fan out as numbers.

    Parameters
    ----------
    fan : LifeFan
        What is shown.
    rows : int
        Distances that are shown.
    notation : Notation
        Units to write.

    Returns
    -------
    Table
        Readings by distance and share.
    """
    places = np.unique(np.linspace(0, fan.distance_m.size - 1, rows).round().astype(int))
    return Table(
        caption=f"Depression {fan.place(notation)}, {notation.pressure}: {fan.title}",
        head=("km", *(f"{100 * share:.0f} % read no more" for share in fan.share)),
        rows=tuple(
            (
                _km(float(fan.distance_m[place])),
                *(notation.bare(float(value), 1) for value in fan.depression_pa[:, place]),
            )
            for place in places
        ),
        note="",
    )


def life_spec(fan: LifeFan, *, narrow: bool = False, notation: Notation = REPORT) -> Spec:
    """
    Specify the chart.

    Parameters
    ----------
    fan : LifeFan
        What is shown.
    narrow : bool
        For a phone.
    notation : Notation
        Units to write.

    Returns
    -------
    dict
        Vega-Lite, with its data inside.
    """
    size = 13 if narrow else 14
    points = [
        {
            "km": float(distance) / 1e6,
            **{
                name: notation.value(float(fan.row(share)[i]), "pressure")
                for name, share in (("low", 0.05), ("middle", 0.5), ("high", 0.95))
            },
        }
        for i, distance in enumerate(fan.distance_m)
    ]
    end = points[-1]["km"]
    reached = float(np.interp(fan.interval_m, fan.distance_m, fan.row(0.95)))
    top = 1.2 * notation.value(max(fan.alarm_pa, reached), "pressure")
    change_out = notation.value(fan.change_out_pa, "pressure")
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
        *_named_edges(points, change_out, top, size, y),
        *_level(fan.alarm_pa, "alarm", LIMIT, -9, end, size, y, notation),
        *_level(fan.change_out_pa, "change the elements", CHANGE_OUT, 14, end, size, y, notation),
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
    levels = fan.levels(notation)
    spec = framed(
        layers,
        [
            f"Depression at the check point, {notation.pressure}",
            fan.place(notation),
            *([f"alarm and change-out of {levels}"] if levels else []),
        ],
        sentence(fan, notation),
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
    notation: Notation,
) -> list[Spec]:
    """Draw a level across the picture with its name and value on the line."""
    level = notation.value(pressure_pa, "pressure")
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
                "text": f"{name} {notation.bare(pressure_pa, 1)}",
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


def life_svg(
    fan: LifeFan, *, name: str = "life", narrow: bool = False, notation: Notation = REPORT
) -> str:
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
    notation : Notation
        Units to write.

    Returns
    -------
    str
        SVG with a name and a description.
    """
    spec = life_spec(fan, narrow=narrow, notation=notation)
    return drawn(spec, name, f"Life fan: {fan.title}", sentence(fan, notation))
