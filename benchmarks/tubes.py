"""
Parts of a line as pipes with constant losses, the only thing that every network program knows.

A loss that is linear in the flow (media, the laminar end of a fitting) is the Hagen-Poiseuille
loss of a pipe so wide that its flow stays laminar at every point; a loss that is quadratic is a
constant loss coefficient of that pipe.  A cracking pressure is a constant that is added to the
answer: EPANET's valve that breaks so much pressure solves the same in up to 200 trials, not two.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from feedproof.case.parts import Part
from feedproof.feedline.plan import lower_part, merge_rows

WIDE_BORE_M = 0.1
"""Re there is 0.08 of that in 8 mm: laminar up to 25 000 in the line."""

SHORT_M = 1e-6
"""Length of a wide pipe without a linear loss, since no program takes a pipe of none."""

SMOOTH_M = 1e-9
"""Roughness of a wide pipe, in which friction is laminar."""


class Tube(NamedTuple):
    """Bore, length, roughness [m], loss coefficient on the bore [-], cracking pressure [Pa]."""

    bore_m: float
    length_m: float
    roughness_m: float
    coefficient: float
    crack_pa: float


def tubes(parts: Sequence[Part]) -> list[Tube]:
    """
    Give each part as one tube.

    Parameters
    ----------
    parts : sequence of Part
        Of a line, none of them a running lift pump; no wax on their media.

    Returns
    -------
    list of Tube
        As many as parts.
    """
    found = []
    for part in parts:
        row = lower_part(part)
        if row.length_m > 0.0:
            found.append(Tube(row.bore_m, row.length_m, row.roughness_m, 0.0, 0.0))
        else:
            linear = row.viscous_per_m3 + row.media_per_m3
            found.append(_wide(linear, row.inertial_per_m4, row.crack_pa))
    return found


def merged_tubes(parts: Sequence[Part]) -> list[Tube]:
    """
    Give parts in series as few tubes: one for each bore, one for all the rest.

    Parameters
    ----------
    parts : sequence of Part
        As for `tubes`.

    Returns
    -------
    list of Tube
        What somebody would enter who adds up by hand first.
    """
    line = merge_rows(tuple(lower_part(part) for part in parts))
    found = [Tube(*(float(each) for each in pipe[:3]), 0.0, 0.0) for pipe in line.pipes]
    linear = line.viscous_per_m3 + line.media_per_m3
    if linear > 0.0 or line.inertial_per_m4 > 0.0 or line.crack_pa > 0.0:
        found.append(_wide(linear, line.inertial_per_m4, line.crack_pa))
    return found


def _wide(linear_per_m3: float, inertial_per_m4: float, crack_pa: float) -> Tube:
    """Give a wide pipe of a linear and a quadratic loss."""
    length = linear_per_m3 * math.pi * WIDE_BORE_M**4 / 128.0
    coefficient = 2.0 * inertial_per_m4 * (math.pi * WIDE_BORE_M**2 / 4.0) ** 2
    return Tube(WIDE_BORE_M, max(length, SHORT_M), SMOOTH_M, coefficient, crack_pa)


def crack_of(row: Sequence[Tube]) -> float:
    """
    Give what is to be added to the answer of a program.

    Parameters
    ----------
    row : sequence of Tube
        In series.

    Returns
    -------
    float
        The sum of the cracking pressures. [Pa]
    """
    return sum(tube.crack_pa for tube in row)


def epanet_lines(
    name: str, row: Sequence[Tube], ends: tuple[str, str]
) -> tuple[list[str], list[str]]:
    """
    Write tubes in series for EPANET, in metres and millimetres.

    Parameters
    ----------
    name : str
        Begins the name of each of them.
    row : sequence of Tube
        The tubes.
    ends : tuple of str
        Nodes at both ends.

    Returns
    -------
    nodes, pipes : list of str
        Names of the nodes between; lines of the pipes.
    """
    middle = [f"{name}_{i}" for i in range(1, len(row))]
    places = [ends[0], *middle, ends[1]]
    pipes = [
        f"{name}{i} {places[i]} {places[i + 1]} {tube.length_m!r} {1e3 * tube.bore_m!r}"
        f" {1e3 * tube.roughness_m!r} {tube.coefficient!r} Open"
        for i, tube in enumerate(row)
    ]
    return middle, pipes
