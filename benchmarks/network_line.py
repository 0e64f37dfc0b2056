"""
A feed line with lift pump, two elements side by side and recirculation: this package and its peers.

The circuit is invented.  Speed, injection and back-leak are others at every point; each side
starts every point as it always does (ours, C and SciPy from rest, EPANET from its last solution).
Lowering is part of our time.
"""

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from benchmarks import network_peers
from benchmarks.c_programs import compiler, compiler_version
from benchmarks.lines import PRIMER, TARGET, feed_and_return
from benchmarks.liquids import DIESEL, WATER, Liquid
from benchmarks.measure import Report, Side, first_call, time_side_by_side, timing_table
from benchmarks.tubes import merged_tubes, tubes
from feedproof.case.line import Recirculation
from feedproof.feedline.network import solve_speeds
from feedproof.feedline.network_balance import Supply
from feedproof.feedline.network_plan import Network, lower_network
from feedproof.feedline.plan import PumpPlan
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]

RULE = int(FrictionRule.BLEND_COLEBROOK)
LED_BACK = 0.5
LITRE_PER_HOUR = 1e-3 / 3600.0
POINTS = {"this package": 20_000, "C": 20_000, "EPANET": 4_000, "SciPy root": 60, "pandapipes": 30}
EPANET_GOAL, ROOT_GOAL, C_GOAL = 5.0, 500.0, 0.5
# A pump that overflows to its return: a share of the gas released, a soft filling law (invented).
PUMP = PumpPlan(
    topology=0,
    displacement_m3_per_rev=1.4e-6,
    filling_fraction=0.95,
    slip_m3_per_s=3.0 * LITRE_PER_HOUR,
    slip_viscosity_pa_s=2.4e-3,
    half_pressure_abs_pa=16e3,
    softness_pa=3.5e3,
    port_loss_pa=900.0,
    port_loss_speed_rev_per_s=28.0,
    release_fraction=0.35,
    release_time_s=-1.0,
    lubrication_m3_per_s=16.0 * LITRE_PER_HOUR,
)
SUPPLY = Supply(3.2e3, 101325.0, 101325.0, 0.0, 0.0, 0.0, LED_BACK, 1)


def network() -> Network:
    """
    Lower the circuit as any circuit of this package is.

    Returns
    -------
    Network
        Eight nodes and eight links.
    """
    feed, back = feed_and_return()
    recirculation = Recirculation(
        to_node=TARGET,
        cold_fraction=LED_BACK,
        warm_fraction=LED_BACK,
        cold_temperature_k=283.15,
        warm_temperature_k=323.15,
    )
    return lower_network(feed, back, recirculation=recirculation)


@dataclass(frozen=True, slots=True, kw_only=True)
class Demands:
    """
    What is asked, another thing at every point.

    Parameters
    ----------
    speeds, injected, backleak : array
        Of the pump [rev/s]; of the engine. [m3/s]
    """

    speeds: FloatArray
    injected: FloatArray
    backleak: FloatArray

    def first(self, count: int) -> "Demands":
        """Give the first few points."""
        return Demands(
            speeds=self.speeds[:count],
            injected=self.injected[:count],
            backleak=self.backleak[:count],
        )


def demands(count: int, seed: int = 1) -> Demands:
    """
    Draw demands at random: idle to full speed, no load to full load.

    Parameters
    ----------
    count : int
        How many.
    seed : int
        Of the draw.

    Returns
    -------
    Demands
        Speeds of the pump from 8 to 32 rev/s.
    """
    rng = np.random.default_rng(seed)
    speeds = rng.uniform(8.0, 32.0, count)
    return Demands(
        speeds=speeds,
        injected=rng.uniform(0.05, 1.0, count) * speeds * 3.0e-7,
        backleak=speeds * rng.uniform(0.8, 1.2, count) * 9.0e-8,
    )


def by_package(asked: Demands, liquid: Liquid, pump: PumpPlan = PUMP) -> FloatArray:
    """
    Solve with this package, lowering included.

    Parameters
    ----------
    asked : Demands
        Points.
    liquid : Liquid
        In all of the circuit.
    pump : PumpPlan
        At its inlet.

    Returns
    -------
    array, shape (n, 10)
        States, then steps.
    """
    return solve_speeds(
        network(),
        pump,
        liquid.plan(),
        SUPPLY,
        asked.speeds,
        asked.injected,
        asked.backleak,
        rule=RULE,
    )


def one_point() -> None:
    """Solve one point: what a fresh process pays for."""
    by_package(demands(1), WATER[2])


def returned(states: FloatArray) -> FloatArray:
    """
    Split the return of states into what is led back and what flows to the tank.

    Parameters
    ----------
    states : array, shape (n, 10)
        From `by_package`.

    Returns
    -------
    array, shape (n, 2)
        Flows. [m3/s]
    """
    return np.ascontiguousarray(np.outer(states[:, 4], (LED_BACK, 1.0 - LED_BACK)))


def _peers(
    liquid: Liquid, asked: Demands, states: FloatArray, scratch: Path
) -> dict[str, Callable[[int], FloatArray]]:
    """Set the peers up: from a number of points to depressions at the pump inlet."""
    net = network()
    root = network_peers.scipy_root(net, PUMP, liquid, SUPPLY, TARGET)
    epanet = network_peers.epanet(net, liquid, TARGET, scratch, tubes)
    merged = network_peers.epanet(net, liquid, TARGET, scratch, merged_tubes)
    pandapipes = network_peers.pandapipes(net, liquid, TARGET, tubes)
    drawn, back = np.ascontiguousarray(states[:, 0]), returned(states)

    def at(count: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        few = asked.first(count)
        return few.speeds, few.injected, few.backleak

    # All that the pump draws passes the primer's check valve, so its constant is simply added.
    rest = SUPPLY.static_pa + PRIMER.cracking_pressure_pa

    def given(peer: network_peers.Drawn) -> Callable[[int], FloatArray]:
        return lambda count: rest - peer(drawn[:count], back[:count])

    found: dict[str, Callable[[int], FloatArray]] = {
        "EPANET": given(epanet),
        "EPANET, merged": given(merged),
        "SciPy root": lambda count: SUPPLY.static_pa - root(*at(count)),
        "pandapipes": given(pandapipes),
    }
    if compiler():
        twin = network_peers.c_program(net, PUMP, liquid, SUPPLY, scratch)
        found["C"] = lambda count: twin(*at(count))[:, 1]
    return found


def _compare(
    report: Report,
    liquid: Liquid,
    states: FloatArray,
    peers: dict[str, Callable[[int], FloatArray]],
) -> None:
    """Print differences along the flow, and stop where sides with the same equations differ."""
    count = min(_points(name) for name in peers)
    answers = {name: solve(count) for name, solve in peers.items()}
    ours = states[:count, 1]
    for name in ("SciPy root", "C"):
        if name in answers and not np.allclose(answers[name], ours, rtol=1e-6, atol=1e-3):
            raise RuntimeError(f"{name} has the same equations and other answers")
    order = np.argsort(states[:count, 0])[:: max(count // 6, 1)]
    report.paragraph(
        f"Answers, {liquid.kind} at {liquid.temperature_c:g} °C: depression at the pump inlet of"
        " this package, and what each peer's is more [Pa]"
    )
    rows = [
        (
            f"{states[i, 0] / LITRE_PER_HOUR:.1f}",
            f"{4.0 * states[i, 0] / (np.pi * 0.008 * liquid.viscosity_m2_per_s):.0f}",
            f"{ours[i]:.2f}",
            *(f"{found[i] - ours[i]:.2g}" for found in answers.values()),
        )
        for i in order
    ]
    report.table(("drawn L/h", "Re at 8 mm", "Pa", *answers), rows)
    steps = states[:, 9]
    report.say("", f"Our steps: {steps.min():.0f} to {steps.max():.0f}, mean {steps.mean():.2f}.")
    if steps.min() <= 0.0:
        raise RuntimeError("a point was not solved")


def main(report: Report) -> None:
    """
    Compare answers, then time side by side.

    Parameters
    ----------
    report : Report
        Where to.
    """
    report.title("Network")
    net = network()
    parts = sum(len(link.parts) for link in net.links)
    report.say(
        f"{parts} parts, {len(net.nodes)} named nodes and {len(net.links)} links between them: lift"
        " pump, primer, primary, two factory elements side by side, secondary, return with cooler,"
        " of which a half is led back into the line; speed, injection and back-leak are others at"
        " every point. Lowering is included in our time.",
        f"{compiler_version()}.",
    )
    asked = demands(POINTS["this package"])
    first_call(report, "benchmarks.network_line", "one_point")
    goals = {"EPANET": EPANET_GOAL, "SciPy root": ROOT_GOAL, "C": C_GOAL}
    with tempfile.TemporaryDirectory() as scratch:
        for liquid in (WATER[2], DIESEL[2]):
            states = by_package(asked, liquid)
            peers = _peers(liquid, asked, states, Path(scratch))
            _compare(report, liquid, states, peers)
            sides = [_side("this package", lambda n, q=liquid: by_package(asked.first(n), q)[:, 1])]
            sides += [_side(name, solve, goals.get(name, 0.0)) for name, solve in peers.items()]
            report.paragraph(f"Time, {liquid.kind}, least and greatest of the repeats")
            timing_table(report, time_side_by_side(sides))
    report.paragraph(
        "What differs. EPANET and pandapipes have no pump that draws by the pressure at its inlet,"
        " nor a return that follows from it: they are given the three flows that this package"
        " found, so they have less to solve; elements and cracking pressures as in the series line."
        " EPANET starts from its last solution; between Re 2000 and 4000 it takes a cubic, above"
        " Swamee-Jain; below, its rounded constants are left. The friction model `nikuradse` of"
        " pandapipes adds the factor of a fully rough wall to 64/Re at every Reynolds number."
        " `EPANET, merged`: added up by hand between the nodes, as this package does by itself."
        " SciPy's `root` solves the same equations for the pressures at the nodes and the flows of"
        " the links, written out by hand part by part with the Colebrook root of `fluids`; C is the"
        " same Newton. Both must agree to 1e-6 or the benchmark stops."
    )


def _points(name: str) -> int:
    """Give how many points a side solves."""
    return POINTS[name.split(",")[0]]


def _side(name: str, solve: Callable[[int], FloatArray], goal: float = 0.0) -> Side:
    """Give a side with its number of points."""
    count = _points(name)
    return Side(name=name, run=lambda: float(solve(count).sum()), points=count, goal=goal)
