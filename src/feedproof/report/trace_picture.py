"""One run as it was recorded: a strip for each channel, the window that is used, the faults."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from feedproof.report import svg

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
COLUMNS = 600
"""Columns that a long trace is reduced to, by least and greatest: a spike is never lost."""
STRIP = 92.0
GAP = 34.0
SIGNS = {"saturated": "at its limit", "stuck": "stuck", "dropout": "missing", "outlier": "outlier"}
"""Faults and the words that stand at their marks."""
_TRACE = svg.Stroke(colour=svg.INK, dash="", width=1.25)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """
    One channel of a run.

    Parameters
    ----------
    name, unit : str
        What it is and what it is drawn in.
    time_s : array, shape (n,)
        Times on the run's clock. [s]
    values : array, shape (n,)
        As written, in the unit; NaN where there is none.
    faults : mapping of str to array of bool, shape (n,)
        Marks by kind, keys of `SIGNS`.
    """

    name: str
    unit: str
    time_s: FloatArray
    values: FloatArray
    faults: Mapping[str, BoolArray] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where a picture's times stand."""

    left: float
    right: float
    first_s: float
    last_s: float

    def x(self, time_s: float) -> float:
        """Place a time."""
        return self.left + (self.right - self.left) * (time_s - self.first_s) / (
            self.last_s - self.first_s
        )


def trace_picture(
    strips: Sequence[Strip], window_s: tuple[float, float], width: float, title: str, name: str
) -> str:
    """
    Draw a run.

    Parameters
    ----------
    strips : sequence of Strip
        At least one, each with at least one time.
    window_s : (float, float)
        First and last time that are used. [s]
    width : float
        Width at which it is drawn. [px]
    title : str
        What it is.
    name : str
        Prefix of ids, unique in a page.

    Returns
    -------
    str
        SVG.
    """
    first = min(float(each.time_s[0]) for each in strips)
    last = max(float(each.time_s[-1]) for each in strips)
    frame = _Frame(52.0, width - 12.0, first, max(last, first + 1e-3))
    height = 28.0 + len(strips) * (STRIP + GAP) + 26.0
    body = [_window(frame, window_s, height)]
    top = 28.0
    for strip in strips:
        body += _strip(strip, frame, top + GAP - 12.0)
        top += STRIP + GAP
    body += _times(frame, top + 4.0, width)
    return svg.picture(width, height, title, sentence(strips, window_s), body, name)


def sentence(strips: Sequence[Strip], window_s: tuple[float, float]) -> str:
    """
    Say what the picture shows.

    Parameters
    ----------
    strips : sequence of Strip
        As drawn.
    window_s : (float, float)
        First and last time that are used. [s]

    Returns
    -------
    str
        One sentence.

    Examples
    --------
    >>> sentence([], (1.0, 9.25))
    'The pull is used from 1.0 to 9.2 s; no sample is marked.'
    """
    found = [
        f"{strip.name} {words} at {int(strip.faults[kind].sum())} of {strip.values.size} samples"
        for strip in strips
        for kind, words in SIGNS.items()
        if kind in strip.faults and strip.faults[kind].any()
    ]
    marked = "; ".join(found) if found else "no sample is marked"
    return f"The pull is used from {window_s[0]:.1f} to {window_s[1]:.1f} s; {marked}."


def reduced(time_s: FloatArray, values: FloatArray, columns: int = COLUMNS) -> list[list[int]]:
    """
    Choose the samples of a long trace that are drawn.

    Parameters
    ----------
    time_s, values : array, shape (n,)
        The trace.
    columns : int
        Columns of equal time.

    Returns
    -------
    list of list of int
        Runs of indices between gaps; each column keeps its first, least, greatest and last.

    Examples
    --------
    >>> reduced(np.arange(4.0), np.array([1.0, np.nan, 2.0, 3.0]))
    [[0], [2, 3]]
    """
    kept = np.flatnonzero(np.isfinite(values) & np.isfinite(time_s))
    if kept.size > 4 * columns:
        edges = np.linspace(time_s[kept[0]], time_s[kept[-1]], columns + 1)
        cuts = np.unique(np.searchsorted(time_s[kept], edges))
        chosen = set()
        for start, stop in pairwise(cuts):
            part = kept[start:stop]
            chosen |= {part[0], part[-1]}
            chosen |= {part[values[part].argmin()], part[values[part].argmax()]}
        kept = np.array(sorted({*chosen, kept[-1]}))
    missing = np.cumsum(~np.isfinite(values))
    runs: list[list[int]] = []
    for i in kept.tolist():
        if runs and missing[i] == missing[runs[-1][-1]]:
            runs[-1].append(i)
        else:
            runs.append([i])
    return runs


def _window(frame: _Frame, window_s: tuple[float, float], height: float) -> str:
    """Shade the part that is used and write its name."""
    left, right = (frame.x(min(max(t, frame.first_s), frame.last_s)) for t in window_s)
    label_x = min(max((left + right) / 2, frame.left + 60), frame.right - 60)
    return (
        svg.tag(
            "rect", x=left, y=20.0, width=max(right - left, 1.0), height=height - 46.0,
            fill=svg.SHADE,
        )
        + svg.line(left, 20.0, left, height - 26.0, colour=svg.FAINT, dash="2 3")
        + svg.line(right, 20.0, right, height - 26.0, colour=svg.FAINT, dash="2 3")
        + svg.text(
            label_x, 14.0, "used for the comparison", size=13, anchor="middle", fill=svg.FAINT
        )
    )  # fmt: skip


def _strip(strip: Strip, frame: _Frame, top: float) -> list[str]:
    """Draw one channel with its scale and marks."""
    good = strip.values[np.isfinite(strip.values)]
    low, high = (float(good.min()), float(good.max())) if good.size else (0.0, 1.0)
    if high - low < 1e-9 * max(abs(high), 1.0):
        low, high = low - 0.5, high + 0.5
    foot = top + STRIP - 20.0

    def y(value: float) -> float:
        return foot - (foot - top - 4.0) * (value - low) / (high - low)

    parts = [svg.text(frame.left, top - 4.0, f"{strip.name}, {strip.unit}", size=13, bold=True)]
    parts.append(svg.line(frame.left, foot, frame.right, foot))
    for tick in svg.ticks(low, high, 3):
        parts.append(svg.line(frame.left, y(tick), frame.right, y(tick)))
        label = f"{tick:g}"
        parts.append(
            svg.text(frame.left - 6, y(tick) + 4, label, size=12, anchor="end", fill=svg.FAINT)
        )
    for run in reduced(strip.time_s, strip.values):
        points = [(frame.x(float(strip.time_s[i])), y(float(strip.values[i]))) for i in run]
        parts.append(svg.path(points if len(points) > 1 else points * 2, _TRACE))
    for kind, words in SIGNS.items():
        if kind in strip.faults and strip.faults[kind].any():
            parts += _marks(strip, kind, words, frame, foot)
    return parts


def _marks(strip: Strip, kind: str, words: str, frame: _Frame, foot: float) -> list[str]:
    """Mark the stretches of one fault below the trace, each a bar, the first with its word."""
    marked = np.flatnonzero(strip.faults[kind])
    ends = np.flatnonzero(np.diff(marked) > 1)
    starts = [int(marked[0]), *(int(marked[i + 1]) for i in ends)]
    stops = [*(int(marked[i]) for i in ends), int(marked[-1])]
    parts = []
    for start, stop in zip(starts, stops, strict=True):
        left, right = frame.x(float(strip.time_s[start])), frame.x(float(strip.time_s[stop]))
        parts.append(
            svg.tag(
                "rect", x=left - 1, y=foot + 2, width=max(right - left + 2, 4.0), height=5.0,
                fill=svg.VERMILION,
            )
        )  # fmt: skip
    at = min(frame.x(float(strip.time_s[starts[0]])), frame.right - 90)
    return [*parts, svg.text(at, foot + 19, words, size=12, bold=True)]


def _times(frame: _Frame, y: float, width: float) -> list[str]:
    """Draw the common axis of time."""
    parts = []
    for tick in svg.ticks(frame.first_s, frame.last_s, 9 if width > 600 else 4):
        if frame.x(tick) < frame.right - 52:
            parts.append(
                svg.text(frame.x(tick), y + 14, svg.number(tick), size=12, anchor="middle")
            )
    parts.append(svg.text(frame.right, y + 14, "time, s", size=12, anchor="end", fill=svg.FAINT))
    return parts
