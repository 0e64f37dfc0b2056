"""Lines of equal value over a grid, by linear interpolation along its edges."""

import math

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Point = tuple[float, float]
Edge = tuple[int, int, int]


def iso_lines(x: FloatArray, y: FloatArray, z: FloatArray, level: float) -> list[list[Point]]:
    """
    Find the lines on which a gridded quantity has a value.

    Parameters
    ----------
    x : array, shape (n_x,)
        Increasing.
    y : array, shape (n_y,)
        Increasing.
    z : array, shape (n_x, n_y)
        The quantity; a cell with a corner that is not finite is passed over.
    level : float
        The value.

    Returns
    -------
    list of list of (float, float)
        Polylines; a closed one ends where it begins.  Exact for a plane.  A saddle is joined by
        the mean of its four corners.

    Examples
    --------
    >>> unit = np.array([0.0, 1.0])
    >>> iso_lines(unit, unit, np.array([[0.0, 0.0], [2.0, 2.0]]), 1.0)
    [[(0.5, 0.0), (0.5, 1.0)]]
    """
    neighbours: dict[Edge, list[Edge]] = {}
    for i in range(len(x) - 1):
        for j in range(len(y) - 1):
            for one, other in _crossings(z, i, j, level):
                neighbours.setdefault(one, []).append(other)
                neighbours.setdefault(other, []).append(one)
    lines = []
    # Open lines first, from one of their ends; what is left then closes on itself.
    starts = sorted(edge for edge, others in neighbours.items() if len(others) == 1)
    for start in [*starts, *sorted(neighbours)]:
        if neighbours.get(start):
            lines.append([_place(edge, x, y, z, level) for edge in _walk(start, neighbours)])
    return lines


def _crossings(z: FloatArray, i: int, j: int, level: float) -> list[tuple[Edge, Edge]]:
    """Give the pairs of edges that a line joins inside a cell; an edge is (direction, i, j)."""
    corners = (z[i, j], z[i + 1, j], z[i + 1, j + 1], z[i, j + 1])
    if not all(math.isfinite(corner) for corner in corners):
        return []
    below, right, above, left = (0, i, j), (1, i + 1, j), (0, i, j + 1), (1, i, j)
    over = [bool(corner >= level) for corner in corners]
    crossed = [
        edge
        for edge, one, other in (
            (below, over[0], over[1]),
            (right, over[1], over[2]),
            (above, over[3], over[2]),
            (left, over[0], over[3]),
        )
        if one != other
    ]
    if len(crossed) == 2:
        return [(crossed[0], crossed[1])]
    if len(crossed) == 4:
        joined = (sum(corners) / 4.0 >= level) == over[0]
        return [(below, right), (above, left)] if joined else [(below, left), (right, above)]
    return []


def _walk(start: Edge, neighbours: dict[Edge, list[Edge]]) -> list[Edge]:
    """Follow a line to its end or back to its start, using it up."""
    line = [start]
    here = start
    while neighbours[here]:
        following = neighbours[here].pop()
        neighbours[following].remove(here)
        line.append(following)
        here = following
    return line


def _place(edge: Edge, x: FloatArray, y: FloatArray, z: FloatArray, level: float) -> Point:
    """Interpolate along an edge."""
    direction, i, j = edge
    k, m = (i + 1, j) if direction == 0 else (i, j + 1)
    share = (level - z[i, j]) / (z[k, m] - z[i, j])
    return (
        float(x[i] + share * (x[k] - x[i])),
        float(y[j] + share * (y[m] - y[j])),
    )
