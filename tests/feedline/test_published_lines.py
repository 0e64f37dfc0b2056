"""
The rows that the solver uses, against published line losses.

Rows A029, A030 and A033 to A035 of the project's collection of check values: Darcy-Weisbach with
64/Re and Colebrook by the fluids library 1.3.1 (seen); none lies between Re 2000 and 4000, where
rules differ.
"""

import math

import pytest

from feedproof.case.line import Line
from feedproof.case.parts import Fitting, Pipe
from feedproof.feedline.line_loss import line_loss, part_loss
from feedproof.feedline.plan import FluidPlan, lower_rows, merge_rows

L_PER_H = 1e-3 / 3600.0
ROWS = [
    ("A029", 0.008, 2.0, 120.0, 835.0, 3e-6, 0.0, 0.0, 1661.179719),
    ("A030", 0.008, 2.0, 120.0, 850.0, 10e-6, 0.0, 3.0, 6197.434222),
    ("A033", 0.0065, 1.0, 400.0, 820.0, 2e-6, 1.5e-6, 0.0, 21620.61183),
    ("A034", 0.008, 5.0, 600.0, 820.0, 1.2e-6, 1.5e-6, 0.0, 72367.55653),
    ("A035", 0.006, 0.5, 60.0, 880.0, 60e-6, 0.0, 0.0, 13832.72592),
]


@pytest.mark.parametrize("row", ROWS, ids=[row[0] for row in ROWS])
def test_part_and_merged_line_meet_the_published_loss(row) -> None:
    _, bore, length, flow, density, viscosity, roughness, k, expected = row
    parts = [Pipe(id="pipe", length_m=length, bore_m=bore, roughness_m=roughness)]
    if k:
        parts.append(
            Fitting(id="k", count=1, bore_m=bore, laminar_coefficient=0.0, turbulent_coefficient=k)
        )
    rows = lower_rows(Line(parts=tuple(parts)), {})
    fluid = FluidPlan(density, viscosity * density, 1.0, 0.0, 0.13)
    by_part = sum(part_loss(flow * L_PER_H, each, fluid, 0) for each in rows)

    assert by_part == pytest.approx(expected, rel=1e-5)
    assert line_loss(flow * L_PER_H, merge_rows(rows), fluid, 0) == pytest.approx(
        expected, rel=1e-5
    )


def test_the_twos_of_hooper_reach_the_solver() -> None:
    """A056: K1/Re + K on a 2 inch bore without the size term, written out: 1500/1e4 + 4."""
    bore = 0.0508
    viscosity = 1e-6
    flow = 1e4 * viscosity * math.pi * bore / 4.0
    part = Fitting(
        id="valve", count=1, bore_m=bore, laminar_coefficient=1500.0, turbulent_coefficient=4.0
    )
    fluid = FluidPlan(1000.0, viscosity * 1000.0, 1.0, 0.0, 0.13)
    (row,) = lower_rows(Line(parts=(part,)), {})
    velocity = 4.0 * flow / (math.pi * bore**2)

    assert part_loss(flow, row, fluid, 0) == pytest.approx(
        (1500.0 / 1e4 + 4.0) * 1000.0 * velocity**2 / 2.0, rel=1e-12
    )
