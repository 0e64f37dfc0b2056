"""Layers of the pull overlay, each a piece of a Vega-Lite specification with its own data."""

import itertools
from typing import Any

import numpy as np
from numpy.typing import NDArray

from feedproof.case.margin import Measure
from feedproof.case.run import Role
from feedproof.report import digits
from feedproof.report.model import CurveBand
from feedproof.report.notation import REPORT, Notation
from feedproof.report.overlay_curves import KeptCurves, KeptPrediction, KeptRun
from feedproof.report.svg import INK, PREDICTED_DASH, Stroke, spread, stroke_of, wrapped

FloatArray = NDArray[np.float64]
Spec = dict[str, Any]

MOST_COLUMNS = 600
KINDS = {Measure.WHEEL_POWER: "power", Measure.INLET_DEPRESSION: "pressure"}
"""Kind of quantity of each measure that has a curve."""


def thinned(x: FloatArray, y: FloatArray, columns: int = MOST_COLUMNS) -> tuple[FloatArray, ...]:
    """
    Reduce a long trace without losing its extremes.

    Parameters
    ----------
    x, y : array, shape (n,)
        The trace, in the order of drawing.
    columns : int
        Columns of the picture; each keeps its lowest and highest point.

    Returns
    -------
    tuple of array
        x and y, unchanged when there are at most two points a column.

    Examples
    --------
    >>> y = np.zeros(10_000); y[1234] = 9.0
    >>> bool(thinned(np.arange(10_000.0), y)[1].max() == 9.0)
    True
    """
    if len(x) <= 2 * columns:
        return x, y
    edges = np.linspace(0, len(x), columns + 1).astype(int)
    keep: set[int] = set()
    for start, stop in itertools.pairwise(edges.tolist()):
        part = y[start:stop]
        if np.all(np.isnan(part)):
            keep.add(start)
            continue
        keep |= {int(start + np.nanargmin(part)), int(start + np.nanargmax(part))}
    order = np.array(sorted(keep))
    return x[order], y[order]


def run_layers(curves: KeptCurves, notation: Notation = REPORT) -> list[Spec]:
    """
    Draw every run thin, in its configuration's colour and dash.

    Parameters
    ----------
    curves : KeptCurves
        What is drawn.
    notation : Notation
        Units to write.

    Returns
    -------
    list of dict
        Layers.
    """
    layers = []
    for run in curves.runs:
        values = of_run(run, curves.measure)
        if run.role is not Role.WARM_UP and not np.all(np.isnan(values)):
            stroke = stroke_of(curves.place(run.configuration))
            layers.append(
                _line_layer(
                    run.speed_m_per_s,
                    values,
                    curves.measure,
                    stroke.colour,
                    stroke.dash,
                    0.8,
                    0.75,
                    notation,
                )
            )
    return layers


def band_layers(curves: KeptCurves, band: CurveBand, notation: Notation = REPORT) -> list[Spec]:
    """
    Draw a mean thick, with its band as 20 % fill and thin edges.

    Parameters
    ----------
    curves : KeptCurves
        What is drawn.
    band : CurveBand
        Mean and band.
    notation : Notation
        Units to write.

    Returns
    -------
    list of dict
        Layers.
    """
    stroke = stroke_of(curves.place(band.configuration))
    rows = [
        {"speed": speed, "value": low, "high": high}
        for speed, low, high in zip(
            _speeds(band.speed_m_per_s, notation),
            _values(band.lower, band.measure, notation),
            _values(band.upper, band.measure, notation),
            strict=True,
        )
    ]
    area: Spec = {
        "data": {"values": rows},
        "mark": {"type": "area", "color": stroke.colour, "opacity": 0.2},
        "encoding": {"y2": {"field": "high"}},
    }
    edges = [
        _line_layer(band.speed_m_per_s, edge, band.measure, stroke.colour, "", 0.7, 0.9, notation)
        for edge in (band.lower, band.upper)
    ]
    mean = _line_layer(
        band.speed_m_per_s, band.mean, band.measure, stroke.colour, stroke.dash, 3.0, 1.0, notation
    )
    return [area, *edges, mean]


def prediction_layers(
    curves: KeptCurves,
    prediction: KeptPrediction,
    notation: Notation = REPORT,
) -> list[Spec]:
    """
    Draw a prediction dotted, with the range that laminar or turbulent flow leaves open.

    Parameters
    ----------
    curves : KeptCurves
        What is drawn.
    prediction : PullPrediction or KeptPrediction
        The prediction.
    notation : Notation
        Units to write.

    Returns
    -------
    list of dict
        Layers.
    """
    stroke = stroke_of(curves.place(prediction.configuration))
    speed = prediction.speed_m_per_s
    if curves.measure is Measure.WHEEL_POWER:
        return [
            _line_layer(
                speed,
                prediction.wheel_power_w,
                curves.measure,
                stroke.colour,
                PREDICTED_DASH,
                1.6,
                1.0,
                notation,
            )
        ]
    rows = [
        {"speed": x, "value": low, "high": high}
        for x, low, high in zip(
            _speeds(speed, notation),
            _values(prediction.depression_low_pa, curves.measure, notation),
            _values(prediction.depression_high_pa, curves.measure, notation),
            strict=True,
        )
    ]
    band: Spec = {
        "data": {"values": rows},
        "mark": {"type": "area", "color": stroke.colour, "opacity": 0.1},
        "encoding": {"y2": {"field": "high"}},
    }
    dotted = _line_layer(
        speed,
        prediction.depression_pa,
        curves.measure,
        stroke.colour,
        PREDICTED_DASH,
        1.6,
        1.0,
        notation,
    )
    return [band, dotted]


def _line_layer(
    speed: FloatArray,
    values: FloatArray,
    measure: Measure,
    colour: str,
    dash: str,
    width: float,
    opacity: float,
    notation: Notation,
) -> Spec:
    """Write one line as a layer with its own data."""
    x, y = thinned(speed, values)
    rows = [
        {"speed": a, "value": b}
        for a, b in zip(_speeds(x, notation), _values(y, measure, notation), strict=True)
    ]
    mark: Spec = {"type": "line", "color": colour, "strokeWidth": width, "opacity": opacity}
    if dash:
        mark["strokeDash"] = [float(part) for part in dash.split()]
    return {"data": {"values": rows}, "mark": mark}


def label_layers(
    curves: KeptCurves,
    low: float,
    high: float,
    *,
    narrow: bool,
    notation: Notation = REPORT,
) -> list[Spec]:
    """
    Write names beside the ends of the means, moved apart.

    Parameters
    ----------
    curves : KeptCurves
        What is drawn.
    low, high : float
        Ends of the value axis, in the chart's unit.
    narrow : bool
        True for the phone.
    notation : Notation
        Units to write.

    Returns
    -------
    list of dict
        Layers.
    """
    ends = _ends(curves, notation)
    height, size = (300.0, 12) if narrow else (380.0, 14)
    step = (high - low) / height
    names = [wrapped(words, 13 if narrow else 22) for _, _, words in ends]
    gap = (max((len(name) for name in names), default=1) * (size + 3) + 6) * step
    tops = spread([value for value, _, _ in ends], gap, low + 10 * step, high - 10 * step)
    stop = notation.value(curves.stop_m_per_s, "speed")
    layers: list[Spec] = []
    for (_, stroke, _), name, top in zip(ends, names, tops, strict=True):
        layers.append(
            {
                "data": {"values": [{"speed": stop, "value": top}]},
                "mark": {
                    "type": "text",
                    "text": name if len(name) > 1 else name[0],
                    "align": "left",
                    "baseline": "middle",
                    "dx": 36,
                    "dy": -(size + 3) * (len(name) - 1) / 2,
                    "fontSize": size,
                    "fontWeight": 600,
                    "lineHeight": size + 3,
                    "color": INK,
                },
            }
        )
        layers.append(
            {
                "data": {"values": [{"speed": stop, "value": top}]},
                "mark": {
                    "type": "point",
                    "shape": "M-1,0L1,0",
                    "size": 676,
                    "xOffset": 18,
                    "color": stroke.colour,
                    "strokeWidth": stroke.width,
                    "strokeDash": [float(part) for part in stroke.dash.split()] or [1, 0],
                    "filled": False,
                    "opacity": 1,
                },
            }
        )
    return layers


def _ends(curves: KeptCurves, notation: Notation) -> list[tuple[float, Stroke, str]]:
    """List value, stroke and name at the top of the pull, from low to high."""
    known: dict[str, float] = {}
    for prediction in curves.predictions:
        array = (
            prediction.wheel_power_w
            if curves.measure is Measure.WHEEL_POWER
            else prediction.depression_pa
        )
        known[prediction.configuration] = float(array[-1])
    for band in bands_of(curves):
        known[band.configuration] = float(band.mean[-1])
    ends = [
        (
            notation.value(value, KINDS[curves.measure]),
            stroke_of(curves.place(name)),
            curves.kit(name).short,
        )
        for name, value in known.items()
    ]
    return sorted(ends, key=lambda end: (end[0], end[2]))


def bands_of(curves: KeptCurves) -> list[CurveBand]:
    """
    Give the bands in the order of the configurations.

    Parameters
    ----------
    curves : KeptCurves
        What is drawn.

    Returns
    -------
    list of CurveBand
        Baseline first.
    """
    return sorted(curves.bands, key=lambda band: curves.place(band.configuration))


def of_run(run: KeptRun, measure: Measure) -> FloatArray:
    """
    Give a run's bin means of a measure.

    Parameters
    ----------
    run : ReducedRun or KeptRun
        The run.
    measure : Measure
        Of what.

    Returns
    -------
    array, shape (n_bins,)
        In SI.
    """
    return run.wheel_power_w if measure is Measure.WHEEL_POWER else run.depression_pa


def _speeds(speed_m_per_s: FloatArray, notation: Notation) -> list[float]:
    """Give road speeds in their unit, short enough to print."""
    return [round(notation.value(float(v), "speed"), 4) for v in speed_m_per_s]


def _values(values: FloatArray, measure: Measure, notation: Notation) -> list[float | None]:
    """Give values in the unit of the chart; what was not measured is a gap."""
    kind = KINDS[measure]
    return [None if np.isnan(v) else round(notation.value(float(v), kind), 5) for v in values]


def write(value: float, measure: Measure, notation: Notation = REPORT) -> str:
    """
    Write a value of a measure without its unit.

    Parameters
    ----------
    value : float
        In SI.
    measure : Measure
        Of what.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        A bare number.
    """
    if KINDS[measure] == "pressure":
        return notation.bare(value)
    return digits.decimal(notation.value(value, KINDS[measure]), 2)
