"""The pull overlay: every run thin, every mean thick with its band, the prediction dotted."""

import numpy as np

from feedproof.case.margin import Measure
from feedproof.report import digits
from feedproof.report.model import CurveBand, Publication, Table
from feedproof.report.notation import REPORT, Notation
from feedproof.report.overlay_curves import KeptCurves, kept_curves
from feedproof.report.overlay_layers import (
    KINDS,
    Spec,
    band_layers,
    bands_of,
    label_layers,
    of_run,
    prediction_layers,
    run_layers,
    write,
)
from feedproof.report.vega import drawn, framed
from feedproof.report.words import MEASURES, upper_first

SAME_SPEED_M_PER_S = 0.5
"""Bins of two sessions that lie nearer than this share a row of the table."""
KEY = (
    "Thin lines: single runs, in the dash of what was in the line. Thick lines with a band: means"
    " with their simultaneous 95\u00a0% bands. Dotted lines: predictions, with the range left open"
    " by the change from laminar to turbulent flow."
)


def measures(publication: Publication) -> tuple[Measure, ...]:
    """
    List the measures that have a curve.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    tuple of Measure
        Wheel power and inlet depression, as far as a run or a prediction has them.
    """
    drawn = {measure: kept_curves(publication, measure) for measure in KINDS}
    return tuple(
        measure
        for measure, curves in drawn.items()
        if any(not np.all(np.isnan(of_run(run, measure))) for run in curves.runs) or curves.bands
    )


def sentence(curves: KeptCurves, notation: Notation = REPORT) -> str:
    """
    Say in words what an overlay shows.

    Parameters
    ----------
    curves : KeptCurves
        What is drawn.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        Means at the top of the pull.
    """
    ends = []
    for band in bands_of(curves):
        name = curves.kit(band.configuration).short
        low, mean, high = (
            write(float(array[-1]), curves.measure, notation)
            for array in (band.lower, band.mean, band.upper)
        )
        ends.append(f"{name} {mean}" + (f" (band {low} to {high})" if low != high else ""))
    speed = notation.speed_words(curves.stop_m_per_s)
    what = upper_first(MEASURES[curves.measure])
    unit = notation.name(KINDS[curves.measure])
    if not ends:
        return f"{what} against road speed, one thin line for each run."
    return f"{what} in {unit} in the last speed band before {speed}: {'; '.join(ends)}."


def table(curves: KeptCurves, notation: Notation = REPORT) -> Table:
    """
    Lay an overlay out as numbers.

    Parameters
    ----------
    curves : KeptCurves
        What is drawn.
    notation : Notation
        Units to write.

    Returns
    -------
    Table
        Mean and band of each configuration at each speed.
    """
    bands = bands_of(curves)
    head = [f"road speed, {notation.speed}"]
    head += [
        f"{curves.kit(b.configuration).short}, {notation.name(KINDS[curves.measure])}"
        for b in bands
    ]
    rows = []
    for group in _near(sorted({float(v) for band in bands for v in band.speed_m_per_s})):
        row = [_between(group, notation)]
        for band in bands:
            inside = (band.speed_m_per_s >= group[0]) & (band.speed_m_per_s <= group[-1])
            row.append(
                "; ".join(_cell(band, int(i), notation) for i in np.flatnonzero(inside)) or "\u2013"
            )
        rows.append(tuple(row))
    return Table(
        caption=f"{upper_first(MEASURES[curves.measure])} along the pull in numbers",
        head=tuple(head),
        rows=tuple(rows),
        note="Mean, and in brackets its simultaneous 95\u00a0% band. A dash: not every run that is"
        " compared has readings at that speed.",
    )


def _near(speeds: list[float]) -> list[list[float]]:
    """Put speeds of sessions whose bins lie a little apart into one group."""
    groups: list[list[float]] = []
    for speed in speeds:
        if groups and speed - groups[-1][0] < SAME_SPEED_M_PER_S:
            groups[-1].append(speed)
        else:
            groups.append([speed])
    return groups


def _between(group: list[float], notation: Notation) -> str:
    """Write a group of speeds as one figure, or as a range when they differ."""
    low, high = (
        digits.decimal(notation.value(speed, "speed"), 1) for speed in (group[0], group[-1])
    )
    return low if low == high else f"{low} to {high}"


def _cell(band: CurveBand, i: int, notation: Notation) -> str:
    """Write a mean with its band, which a baseline may not have."""
    mean, low, high = (
        write(float(array[i]), band.measure, notation)
        for array in (band.mean, band.lower, band.upper)
    )
    return mean if low == high else f"{mean} ({low} to {high})"


def overlay_spec(
    curves: KeptCurves,
    *,
    narrow: bool = False,
    notation: Notation = REPORT,
) -> Spec:
    """
    Write the overlay as a Vega-Lite specification.

    Parameters
    ----------
    curves : KeptCurves
        What is drawn.
    narrow : bool
        True for the phone.
    notation : Notation
        Units to write.

    Returns
    -------
    dict
        Specification with its data inside.
    """
    layers = run_layers(curves, notation)
    for band in bands_of(curves):
        layers += band_layers(curves, band, notation)
    for prediction in curves.predictions:
        layers += prediction_layers(curves, prediction, notation)
    low, high = _range(layers)
    layers += label_layers(curves, low, high, narrow=narrow, notation=notation)
    size = 12 if narrow else 13
    return {
        **framed(
            layers,
            f"{MEASURES[curves.measure]}, {notation.name(KINDS[curves.measure])}",
            sentence(curves, notation),
            size,
        ),
        "width": 206 if narrow else 740,
        "height": 300 if narrow else 380,
        "padding": {"left": 4, "right": 8, "top": 8, "bottom": 4},
        "encoding": {
            "x": {
                "field": "speed",
                "type": "quantitative",
                "scale": {"zero": False, "nice": False},
                "axis": {
                    "title": f"road speed, {notation.speed}",
                    "tickCount": 5 if narrow else 10,
                },
            },
            "y": {
                "field": "value",
                "type": "quantitative",
                "scale": {"domain": [low, high], "nice": False, "zero": False},
                "axis": {"title": None, "tickCount": 6},
            },
        },
    }


def overlay_svg(
    curves: KeptCurves,
    *,
    narrow: bool = False,
    notation: Notation = REPORT,
) -> str:
    """
    Draw an overlay.

    Parameters
    ----------
    curves : KeptCurves
        What is drawn.
    narrow : bool
        True for the phone.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        SVG with a name and a description, without ``style`` attributes.
    """
    return drawn(
        overlay_spec(curves, narrow=narrow, notation=notation),
        f"overlay-{curves.measure.value.replace('_', '-')}{'-narrow' if narrow else ''}",
        f"{upper_first(MEASURES[curves.measure])} along the pull",
        sentence(curves, notation),
    )


def _range(layers: list[Spec]) -> tuple[float, float]:
    """Find the ends of the value axis from the layers' data."""
    values = [
        row[key]
        for layer in layers
        for row in layer["data"]["values"]
        for key in ("value", "high")
        if row.get(key) is not None
    ]
    low, high = min(values), max(values)
    margin = 0.06 * (high - low or 1.0)
    return low - margin, high + margin
