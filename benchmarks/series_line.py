"""
A series line of many parts at many flows and temperatures: this package beside its peers.

The line is of all kinds of parts, see `benchmarks.lines`.  Flow is another one at every point, from
idle to the most that such a pump draws; answers are compared before anything is timed.
"""

import math
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from benchmarks import series_peers
from benchmarks.c_programs import compiler, compiler_version
from benchmarks.equations import LAMINAR_END, TURBULENT_START
from benchmarks.lines import CHAIN
from benchmarks.liquids import DIESEL, WATER, Liquid
from benchmarks.measure import Report, Side, first_call, time_side_by_side, timing_table
from benchmarks.tubes import merged_tubes, tubes
from feedproof.feedline.line_loss import line_losses
from feedproof.feedline.plan import LinePlan, lower_rows, merge_rows
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]

RULE = int(FrictionRule.BLEND_COLEBROOK)
LITRE_PER_HOUR = 1e-3 / 3600.0
# Idle to full speed of a 3 L engine whose pump returns its surplus, chosen before any time was
# taken: what regimes they lie in is told beside the times.
FLOWS_M3_PER_S = (30.0 * LITRE_PER_HOUR, 150.0 * LITRE_PER_HOUR)
POINTS = {"ours": 200_000, "fluids": 4_000, "EPANET": 4_000, "pandapipes": 40}
GOALS = {"EPANET": 300.0, "fluids": 150.0, "C, merged": 0.95, "C, part by part": 2.0}
OURS = ("this package", "this package, lowered before")

CAUSES = (
    "Causes of the differences. Below Re 2000 this package, `fluids` and EPANET take 64/Re;"
    " between, `fluids` jumps to its turbulent formula at 2040, EPANET takes a cubic from 2000 to"
    " 4000, this package a straight line to Colebrook at 4000. Above, EPANET takes Swamee-Jain and"
    " the others Colebrook. EPANET computes with 32.2 ft/s2, by which its heads are turned into"
    " pressures here; its constant of minor losses, 0.02517 for 8/(pi2 32.2), and its 28.317 L to"
    " the cubic foot are rounded, which takes 0.013 % off them and is all that differs below 2000."
    " The friction model `nikuradse` of pandapipes adds the factor of a fully rough wall to 64/Re"
    " at every Reynolds number; its Colebrook option has no laminar branch, which a line with"
    " elements needs. `fluids, same rule` is this project's rule re-derived with the Colebrook root"
    " of `fluids`; that row and the C rows must agree to 1e-9, or the benchmark stops.",
    "EPANET and pandapipes know pipes with constant losses: an element or a fitting's laminar end"
    " is to them a wide pipe in laminar flow, a cracking pressure a constant added afterwards."
    " `EPANET, merged` is the same line after somebody has added up by hand what can be added up,"
    " as this package does by itself. The ratios of C, which is given sums that are ready, are to"
    " our row `lowered before`; all others are to our row with lowering.",
)


def plan() -> LinePlan:
    """
    Lower the line as any line of this package is.

    Returns
    -------
    LinePlan
        Its sums.
    """
    return merge_rows(lower_rows(CHAIN, {}))


def by_package(flows: FloatArray, liquid: Liquid) -> FloatArray:
    """
    Solve with this package, lowering included.

    Parameters
    ----------
    flows : array
        Flows. [m3/s]
    liquid : Liquid
        The liquid.

    Returns
    -------
    array
        Losses. [Pa]
    """
    return line_losses(flows, plan(), liquid.plan(), RULE)


def one_point() -> None:
    """Solve one point: what a fresh process pays for."""
    by_package(np.array([1e-5]), WATER[0])


def lowered_before() -> series_peers.Solver:
    """
    Give this package as the C program is used: the line's sums are made before.

    Returns
    -------
    callable
        Our side without lowering.
    """
    line = plan()
    return lambda flows, liquid: line_losses(flows, line, liquid.plan(), RULE)


def peers(liquids: Sequence[Liquid], scratch: Path) -> dict[str, series_peers.Solver]:
    """
    Set all peers up.

    Parameters
    ----------
    liquids : sequence of Liquid
        What they will be asked about.
    scratch : Path
        For their files.

    Returns
    -------
    dict of str to callable
        By name; the C programs only where there is a compiler.
    """
    parts = CHAIN.parts
    each, few = tubes(parts), merged_tubes(parts)
    found = {
        "fluids, same rule": series_peers.by_hand_same_rule(parts),
        "fluids": series_peers.by_hand(parts),
        "EPANET": series_peers.epanet("line", each, liquids, scratch),
        "EPANET, merged": series_peers.epanet("merged", few, liquids, scratch),
        "pandapipes": series_peers.pandapipes(each, liquids),
    }
    if compiler():
        native = "-march=native"
        found |= {
            "C, merged": series_peers.c_program(parts, scratch, merged=True),
            "C, part by part": series_peers.c_program(parts, scratch, merged=False),
            "C native, merged": series_peers.c_program(parts, scratch, native, merged=True),
        }
    return found


def reynolds_8mm(flows: FloatArray, liquid: Liquid) -> FloatArray:
    """
    Give the Reynolds number in the narrower of the two bores.

    Parameters
    ----------
    flows : array
        Flows. [m3/s]
    liquid : Liquid
        The liquid.

    Returns
    -------
    array
        Reynolds numbers. [-]
    """
    return 4.0 * flows / (math.pi * 0.008 * liquid.viscosity_m2_per_s)


def _compare(report: Report, liquid: Liquid, solvers: dict[str, series_peers.Solver]) -> None:
    """Print the answers' differences along the Reynolds number."""
    reynolds = np.array([300.0, 1000.0, 1900.0, 2500.0, 3500.0, 6000.0, 12000.0])
    flows = reynolds * math.pi * 0.008 * liquid.viscosity_m2_per_s / 4.0
    ours = by_package(flows, liquid)
    answers = {name: solve(flows, liquid) for name, solve in solvers.items()}
    for name in ("fluids, same rule", *(name for name in answers if name.startswith("C"))):
        if not np.allclose(answers[name], ours, rtol=1e-9, atol=0.0):
            raise RuntimeError(f"{name} has the same formulas and other answers: {answers[name]}")
    report.paragraph(
        f"Answers, {liquid.kind} at {liquid.temperature_c:g} °C: loss of this package, and by how"
        " many percent each peer's is greater"
    )
    rows = [
        (
            f"{reynolds[i]:.0f}",
            f"{ours[i] / 1e3:.4f}",
            *(f"{100.0 * (found[i] / ours[i] - 1.0):.2g}" for found in answers.values()),
        )
        for i in range(reynolds.size)
    ]
    report.table(("Re at 8 mm", "kPa", *answers), rows)


def _regimes(report: Report, flows: FloatArray, liquids: Sequence[Liquid]) -> None:
    """Say which regimes the timed points lie in, bore by bore."""
    rows = []
    for liquid in liquids:
        cells = []
        for bore_m in (0.008, 0.010):
            numbers = reynolds_8mm(flows, liquid) * 0.008 / bore_m
            laminar = np.mean(numbers <= LAMINAR_END)
            turbulent = np.mean(numbers >= TURBULENT_START)
            cells += [f"{100 * each:.0f}" for each in (laminar, 1.0 - laminar - turbulent)]
            cells.append(f"{100 * turbulent:.0f}")
        rows.append((f"{liquid.kind} {liquid.temperature_c:g} °C", *cells))
    names = ("laminar", "between", "turbulent")
    head = ("percent of points", *(f"{bore} mm {name}" for bore in (8, 10) for name in names))
    report.table(head, rows)


def _side(name: str, solve: series_peers.Solver, liquids: Sequence[Liquid]) -> Side:
    """Give a side that solves its points, an equal number at each temperature."""
    is_c = name.startswith("C")
    kind = "ours" if is_c or name in OURS else name.split(",")[0]
    count = POINTS[kind] // len(liquids)
    flows = np.random.default_rng(1).uniform(*FLOWS_M3_PER_S, (len(liquids), count))

    def run() -> float:
        return float(sum(solve(flows[i], each).sum() for i, each in enumerate(liquids)))

    beside = 1 if is_c else 0
    return Side(name=name, run=run, points=flows.size, goal=GOALS.get(name, 0.0), beside=beside)


def main(report: Report) -> None:
    """
    Compare answers, then time side by side.

    Parameters
    ----------
    report : Report
        Where to.
    """
    report.title("Series line")
    least, most = (each / LITRE_PER_HOUR for each in FLOWS_M3_PER_S)
    report.say(
        f"{len(CHAIN.parts)} parts, {len(plan().pipes)} distinct bores; flow {least:.0f} to"
        f" {most:.0f} L/h, another one at every point, five temperatures (at each of them the"
        " line is lowered again).",
        f"{compiler_version()}.",
    )
    first_call(report, "benchmarks.series_line", "one_point")
    with tempfile.TemporaryDirectory() as scratch:
        for liquids in (WATER, DIESEL):
            folder = Path(scratch) / liquids[0].kind
            folder.mkdir()
            solvers = peers(liquids, folder)
            _compare(report, liquids[2], solvers)
            report.paragraph(f"Where the timed points lie, {liquids[0].kind}")
            flows = np.random.default_rng(1).uniform(*FLOWS_M3_PER_S, 20_000)
            _regimes(report, flows, liquids)
            ours = dict(zip(OURS, (by_package, lowered_before()), strict=True))
            sides = [_side(name, solve, liquids) for name, solve in (ours | solvers).items()]
            report.paragraph(f"Time, {liquids[0].kind}, least and greatest of the repeats")
            timing_table(report, time_side_by_side(sides))
    for text in CAUSES:
        report.paragraph(text)
