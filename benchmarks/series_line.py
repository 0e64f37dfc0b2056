"""
A series line of pipes and constant losses: this package beside fluids, EPANET and pandapipes.

All solve the same chain at the same flows; answers are compared first, regime by regime, with the
cause of each difference.  EPANET is kept open and only its demand is changed, which is its fastest
use; pandapipes is called as its users call it.  Times are of one run on one machine: read the
ratios, not the times.
"""

import logging
import math
import tempfile
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.feedline.plan import FluidPlan, LinePlan
from feedproof.feedline.line_loss import line_loss
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]
GRAVITY_M_PER_S2 = 9.80665


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid:
    """A liquid at one temperature: [kg/m3], [m2/s]."""

    name: str
    density_kg_per_m3: float
    viscosity_m2_per_s: float


WATER_LIKE = Liquid(name="water-like", density_kg_per_m3=998.2, viscosity_m2_per_s=1.0e-6)
DIESEL_LIKE = Liquid(name="diesel-like", density_kg_per_m3=820.0, viscosity_m2_per_s=2.95e-6)
# Bore [m], length [m], constant loss coefficient [-]: tube, steel line, hoses, kit hoses.
PIPES = ((0.008, 0.45, 0.0), (0.008, 3.4, 3.6), (0.008, 1.2, 6.0), (0.010, 1.9, 4.8))
ROUGHNESS_M = 1.5e-6


def plan() -> LinePlan:
    """Give the chain in this package's sums, pipes of one bore merged."""
    bores = sorted({bore for bore, _, _ in PIPES})
    inertial = sum(k / (2.0 * (math.pi * bore**2 / 4.0) ** 2) for bore, _, k in PIPES)
    return LinePlan(
        0.0,
        0.0,
        0.0,
        inertial,
        np.array(bores),
        np.array([sum(length for b, length, _ in PIPES if b == bore) for bore in bores]),
        np.array([ROUGHNESS_M] * len(bores)),
    )


def fluid_plan(liquid: Liquid) -> FluidPlan:
    """Give a liquid as the solver takes it."""
    viscosity = liquid.viscosity_m2_per_s * liquid.density_kg_per_m3
    return FluidPlan(liquid.density_kg_per_m3, viscosity, 1.0, 0.0, 0.13)


@formula
def many_losses(flows: FloatArray, line: LinePlan, fluid: FluidPlan, rule: int) -> FloatArray:
    """Give the chain's loss at many flows."""
    losses = np.empty(flows.shape[0])
    for i in range(flows.shape[0]):
        losses[i] = line_loss(flows[i], line, fluid, rule)
    return losses


def by_package(flows: FloatArray, liquid: Liquid) -> FloatArray:
    """Solve with this package."""
    rule = int(FrictionRule.BLEND_COLEBROOK)
    return many_losses(flows, plan(), fluid_plan(liquid), rule)


def by_fluids(flows: FloatArray, liquid: Liquid) -> FloatArray:
    """Solve part by part with the fluids library, as a user would by hand."""
    from fluids.friction import friction_factor

    losses = np.empty(flows.size)
    for i, flow in enumerate(flows):
        total = 0.0
        for bore, length, k in PIPES:
            velocity = 4.0 * flow / (math.pi * bore**2)
            reynolds = velocity * bore / liquid.viscosity_m2_per_s
            factor = friction_factor(Re=reynolds, eD=ROUGHNESS_M / bore)
            head = liquid.density_kg_per_m3 * velocity**2 / 2.0
            total += (factor * length / bore + k) * head
        losses[i] = total
    return losses


def epanet_input(liquid: Liquid) -> str:
    """Write the chain as an EPANET input; its viscosity is relative to 1.1e-5 ft2/s."""
    relative = liquid.viscosity_m2_per_s / (1.1e-5 * 0.3048**2)
    pipes = "\n".join(
        f"P{i} N{i} N{i + 1} {length} {1e3 * bore} {1e3 * ROUGHNESS_M} {k} Open"
        for i, (bore, length, k) in enumerate(PIPES)
    )
    nodes = "\n".join(f"N{i} 0 {1 if i == len(PIPES) else 0}" for i in range(1, len(PIPES) + 1))
    return f"""[JUNCTIONS]
{nodes}
[RESERVOIRS]
N0 100
[PIPES]
{pipes}
[OPTIONS]
Units LPS
Headloss D-W
Viscosity {relative}
Accuracy 0.0000001
Trials 200
[TIMES]
Duration 0
[END]
"""


def epanet_solver(liquid: Liquid, folder: Path) -> Callable[[FloatArray], FloatArray]:
    """Open EPANET once; the function given changes the demand and solves."""
    from wntr.epanet.toolkit import ENepanet
    from wntr.epanet.util import EN

    source = folder / f"{liquid.name}.inp"
    source.write_text(epanet_input(liquid), encoding="ascii")
    engine = ENepanet(version=2.2)
    engine.ENopen(str(source), str(source.with_suffix(".rpt")), "")
    last = engine.ENgetnodeindex(f"N{len(PIPES)}")
    engine.ENopenH()

    def solve(flows: FloatArray) -> FloatArray:
        losses = np.empty(flows.size)
        for i, flow in enumerate(flows):
            engine.ENsetnodevalue(last, EN.BASEDEMAND, 1e3 * float(flow))
            engine.ENinitH(0)
            engine.ENrunH()
            head = engine.ENgetnodevalue(last, EN.HEAD)
            losses[i] = (100.0 - head) * liquid.density_kg_per_m3 * GRAVITY_M_PER_S2
        return losses

    return solve


def pandapipes_solver(liquid: Liquid) -> Callable[[FloatArray], FloatArray]:
    """Build the net once; the function given changes the sink and solves."""
    import pandapipes as pp

    viscosity = liquid.viscosity_m2_per_s * liquid.density_kg_per_m3
    fluid = pp.create_constant_fluid(
        name=liquid.name,
        fluid_type="liquid",
        density=liquid.density_kg_per_m3,
        viscosity=viscosity,
        heat_capacity=2000.0,
        molar_mass=200.0,
        compressibility=0.0,
        der_compressibility=0.0,
    )
    net = pp.create_empty_network(fluid=fluid)
    nodes = [pp.create_junction(net, pn_bar=5.0, tfluid_k=293.15) for _ in range(len(PIPES) + 1)]
    pp.create_ext_grid(net, junction=nodes[0], p_bar=5.0, t_k=293.15)
    for i, (bore, length, k) in enumerate(PIPES):
        pp.create_pipe_from_parameters(
            net,
            nodes[i],
            nodes[i + 1],
            length_km=length / 1e3,
            inner_diameter_mm=1e3 * bore,
            k_mm=1e3 * ROUGHNESS_M,
            loss_coefficient=k,
        )
    pp.create_sink(net, junction=nodes[-1], mdot_kg_per_s=0.01)

    def solve(flows: FloatArray) -> FloatArray:
        losses = np.empty(flows.size)
        for i, flow in enumerate(flows):
            net.sink.loc[0, "mdot_kg_per_s"] = flow * liquid.density_kg_per_m3
            pp.pipeflow(net, friction_model="colebrook", tol_p=1e-9, tol_m=1e-9, iter=100)
            drop_bar = net.res_junction.p_bar.iloc[0] - net.res_junction.p_bar.iloc[-1]
            losses[i] = 1e5 * drop_bar
        return losses

    return solve


def timed(solve: Callable[[FloatArray], FloatArray], flows: FloatArray) -> tuple[float, float]:
    """Give microseconds a point, least of three runs, and a checksum of the answers."""
    solve(flows[:2])
    best = math.inf
    for _ in range(3):
        started = time.perf_counter()
        answers = solve(flows)
        best = min(best, time.perf_counter() - started)
    return 1e6 * best / flows.size, float(np.sum(answers))


def compare(liquid: Liquid, solvers: dict[str, Callable[[FloatArray], FloatArray]]) -> None:
    """Print the answers' differences by regime, with their cause."""
    reynolds_8mm = np.array([200.0, 1000.0, 1900.0, 2500.0, 3200.0, 6000.0, 12000.0, 30000.0])
    flows = reynolds_8mm * math.pi * 0.008 * liquid.viscosity_m2_per_s / 4.0
    ours = by_package(flows, liquid)
    print(f"\nAnswers, {liquid.name}: loss in kPa of this package, then difference in percent")
    print(f"{'Re at 8 mm':>12} {'kPa':>9}" + "".join(f"{name:>12}" for name in solvers))
    answers = {name: solve(flows) for name, solve in solvers.items()}
    for i, reynolds in enumerate(reynolds_8mm):
        row = "".join(f"{100.0 * (found[i] / ours[i] - 1.0):>12.3f}" for found in answers.values())
        print(f"{reynolds:>12.0f} {ours[i] / 1e3:>9.3f}{row}")


def main() -> int:
    """Compare answers, then time side by side."""
    warnings.filterwarnings("ignore")
    logging.disable(logging.WARNING)
    rows: list[tuple[str, str, float]] = []
    rng = np.random.default_rng(1)
    with tempfile.TemporaryDirectory() as scratch:
        for liquid in (WATER_LIKE, DIESEL_LIKE):
            epanet = epanet_solver(liquid, Path(scratch))
            pandapipes = pandapipes_solver(liquid)
            peers = {
                "fluids": lambda flows, liquid=liquid: by_fluids(flows, liquid),
                "EPANET": epanet,
                "pandapipes": pandapipes,
            }
            compare(liquid, peers)
            flows = rng.uniform(1e-5, 5e-5, 200_000)
            counts = {"fluids": 20_000, "EPANET": 20_000, "pandapipes": 60}
            ours, _ = timed(lambda flows, liquid=liquid: by_package(flows, liquid), flows)
            rows.append((liquid.name, "this package", ours))
            for name, solve in peers.items():
                each, _ = timed(solve, flows[: counts[name]])
                rows.append((liquid.name, name, each))
    print(
        "\nCauses. Below Re 2000 this package, fluids and EPANET take 64/Re; the Colebrook option"
        "\nof pandapipes has no laminar branch, which is the whole of its difference there."
        "\nBetween: fluids jumps to its turbulent formula at 2040, EPANET takes a cubic from 2000"
        "\nto 4000, this package a straight line to Colebrook at 4000. Above: EPANET takes"
        "\nSwamee-Jain. EPANET works in feet with a gravity of 32.2 ft/s2, worth 0.08 percent."
    )
    print("\nTime a point, least of three runs")
    reference: dict[str, float] = {}
    for name, what, each in rows:
        reference.setdefault(name, each)
        print(f"{name:>12} {what:>14} {each:>12.3f} us {each / reference[name]:>12.1f} x")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
