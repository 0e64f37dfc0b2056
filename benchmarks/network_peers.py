"""
The network solved by general-purpose programs and by C.

EPANET and pandapipes have no pump that draws by the pressure at its inlet, so they are given the
draws that this package found and solve the circuit that is left, without its cracking pressures;
SciPy's root and C solve all.
"""

import math
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from benchmarks.c_programs import build, doubles, ints
from benchmarks.equations import Ask, chain_loss, pump_draw
from benchmarks.liquids import Liquid
from benchmarks.series_peers import (
    EPANET_GRAVITY_M_PER_S2,
    epanet_text,
    pandapipes_fluid,
    pandapipes_tubes,
)
from benchmarks.tubes import Tube, epanet_lines
from feedproof.case.parts import LiftPump, Part
from feedproof.feedline.network_balance import Supply
from feedproof.feedline.network_nodes import Link
from feedproof.feedline.network_plan import LINK, Network
from feedproof.feedline.plan import PumpPlan
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]
Drawn = Callable[[FloatArray, FloatArray], FloatArray]
"""From flow drawn and flow led back and returned to the pressure at the inlet against the tank."""

C_FIELDS = LINK.names[LINK.names.index("crack_pa") : LINK.names.index("offset_pa")]
"""Of a link, from its cracking pressure to the exponent of its lift pump."""

ToTubes = Callable[[Sequence[Part]], list[Tube]]


def _lift(link: Link) -> LiftPump | None:
    """Give a link's running lift pump, which must be its only part."""
    pump = link.parts[0]
    return pump if isinstance(pump, LiftPump) and pump.running else None


def epanet(
    network: Network, liquid: Liquid, target: str, scratch: Path, to_tubes: ToTubes
) -> Drawn:
    """
    Open EPANET once and keep it open; a point is three new demands and a solution.

    Parameters
    ----------
    network : Network
        The circuit.
    liquid : Liquid
        In it.
    target : str
        Node that the return is led back to.
    scratch : Path
        Folder for its files.
    to_tubes : callable
        `tubes` or `merged_tubes`.

    Returns
    -------
    callable
        The peer.
    """
    from wntr.epanet.toolkit import ENepanet
    from wntr.epanet.util import EN

    weight = liquid.density_kg_per_m3 * EPANET_GRAVITY_M_PER_S2
    source = scratch / f"{to_tubes.__name__}-{liquid.kind}.inp"
    source.write_text(_epanet_input(network, weight, liquid, to_tubes), encoding="ascii")
    engine = ENepanet(version=2.2)
    engine.ENopen(str(source), str(source.with_suffix(".rpt")), "")
    inlet, back, rest = (engine.ENgetnodeindex(node) for node in ("inlet", target, "return"))
    engine.ENopenH()

    def solve(drawn: FloatArray, returned: FloatArray) -> FloatArray:
        found = np.empty(drawn.size)
        rows = zip(drawn.tolist(), returned.tolist(), strict=True)
        for i, (flow, (led_back, to_tank)) in enumerate(rows):
            engine.ENsetnodevalue(inlet, EN.BASEDEMAND, 1e3 * flow)
            engine.ENsetnodevalue(back, EN.BASEDEMAND, -1e3 * led_back)
            engine.ENsetnodevalue(rest, EN.BASEDEMAND, -1e3 * to_tank)
            engine.ENinitH(0)
            engine.ENrunH()
            found[i] = engine.ENgetnodevalue(inlet, EN.HEAD) * weight
        return found

    return solve


def _epanet_input(network: Network, weight: float, liquid: Liquid, to_tubes: ToTubes) -> str:
    """Write the circuit as an EPANET input."""
    nodes = list(network.nodes[1:])
    pipes: list[str] = []
    pumps, curves = [], []
    for number, link in enumerate(network.links):
        lift = _lift(link)
        if lift is not None:
            # One point makes h = 4/3 h1 - h1/3 (q/q1)^2: a lift pump's curve of exponent 2.
            pumps.append(f"L{number} {link.first} {link.second} HEAD C{number}")
            head = 0.75 * lift.shut_off_pressure_pa / weight
            curves.append(f"C{number} {0.5e3 * lift.free_flow_m3_per_s!r} {head!r}")
            continue
        between, some = epanet_lines(f"x{number}_", to_tubes(link.parts), link.ends)
        nodes += between
        pipes += some
    parts = {
        "JUNCTIONS": [f"{node} -100 0" for node in nodes],
        "RESERVOIRS": ["tank 0"],
        "PIPES": pipes,
        "PUMPS": pumps,
        "CURVES": curves,
    }
    return epanet_text(parts, liquid)


def pandapipes(network: Network, liquid: Liquid, target: str, to_tubes: ToTubes) -> Drawn:
    """
    Build a pandapipes net once; a point is a new sink, two new sources and a `pipeflow`.

    Parameters
    ----------
    network, liquid, target, to_tubes
        As for `epanet`.

    Returns
    -------
    callable
        The peer, with the friction model `nikuradse`.
    """
    import pandapipes as pp

    net = pp.create_empty_network(fluid=pandapipes_fluid(liquid))
    place = {node: pp.create_junction(net, 5.0, 293.15, name=node) for node in network.nodes}
    pp.create_ext_grid(net, place["tank"], p_bar=5.0, t_k=293.15)
    for number, link in enumerate(network.links):
        lift = _lift(link)
        if lift is not None:
            shares = (0.0, 0.5, 1.0)
            pp.create_pump_from_parameters(
                net,
                place[link.first],
                place[link.second],
                f"lift{number}",
                pressure_list=[lift.shut_off_pressure_pa * (1 - s * s) / 1e5 for s in shares],
                flowrate_list=[lift.free_flow_m3_per_s * s * 3600.0 for s in shares],
                reg_polynomial_degree=2,
            )
            continue
        pandapipes_tubes(net, to_tubes(link.parts), *(place[end] for end in link.ends))
    pp.create_sink(net, place["inlet"], mdot_kg_per_s=0.01)
    pp.create_source(net, place[target], mdot_kg_per_s=0.001)
    pp.create_source(net, place["return"], mdot_kg_per_s=0.001)

    def solve(drawn: FloatArray, returned: FloatArray) -> FloatArray:
        found = np.empty(drawn.size)
        for i, flow in enumerate(drawn):
            net.sink.loc[0, "mdot_kg_per_s"] = flow * liquid.density_kg_per_m3
            net.source["mdot_kg_per_s"] = returned[i] * liquid.density_kg_per_m3
            pp.pipeflow(net, tol_p=1e-10, tol_m=1e-10, tol_res=1e-9, max_iter_hyd=200)
            found[i] = 1e5 * (net.res_junction.p_bar[place["inlet"]] - 5.0)
        return found

    return solve


def scipy_root(
    network: Network, pump: PumpPlan, liquid: Liquid, supply: Supply, target: str
) -> Callable[[FloatArray, FloatArray, FloatArray], FloatArray]:
    """
    Solve the same equations with SciPy's `root`, written out by hand.

    Parameters
    ----------
    network, pump, liquid, supply, target
        The circuit, its pump, and what it is asked under.

    Returns
    -------
    callable
        From speeds, injection and back-leak to pressures at the inlet against the tank.
    """
    from scipy.optimize import root

    fluid = liquid.plan()
    place = {node: index for index, node in enumerate(network.nodes)}
    ends = [(place[link.first], place[link.second]) for link in network.links]
    losses = [None if _lift(link) else chain_loss(link.parts, {}) for link in network.links]
    lifts = [_lift(link) for link in network.links]
    inlet, back, rest = place["inlet"], place[target], place["return"]
    unknown = len(network.nodes) - 1
    share = supply.recirculated_fraction

    def loss_of(link: int, flow: float) -> float:
        lift, loss = lifts[link], losses[link]
        if lift is not None:
            ratio = abs(flow) / lift.free_flow_m3_per_s
            return lift.shut_off_pressure_pa * (math.copysign(ratio**2, flow) - 1.0)
        assert loss is not None
        return math.copysign(loss(abs(flow), fluid), flow)

    def residuals(x: FloatArray, ask: Ask) -> list[float]:
        values = x.tolist()
        pressure = [0.0, *(1e4 * each for each in values[:unknown])]
        flows = [1e-5 * each for each in values[unknown:]]
        mass = [0.0] * len(pressure)
        found = []
        for link, (flow, (first, second)) in enumerate(zip(flows, ends, strict=True)):
            mass[first] -= flow
            mass[second] += flow
            found.append((loss_of(link, flow) - pressure[first] + pressure[second]) / 1e4)
        drawn, returned, _, _ = pump_draw(ask.static_pa - pressure[inlet], pump, fluid, ask)
        mass[inlet] -= drawn
        mass[back] += share * returned
        mass[rest] += (1.0 - share) * returned
        return found + [each / 1e-5 for each in mass[1:]]

    start = np.concatenate([np.zeros(unknown), np.ones(len(ends))])

    def solve(speeds: FloatArray, injected: FloatArray, backleak: FloatArray) -> FloatArray:
        pressures = np.empty(speeds.size)
        rows = zip(speeds.tolist(), injected.tolist(), backleak.tolist(), strict=True)
        for i, (speed, wanted, leak) in enumerate(rows):
            ask = Ask(
                static_pa=supply.static_pa,
                ambient_abs_pa=supply.ambient_abs_pa,
                saturation_abs_pa=supply.saturation_abs_pa,
                speed_rev_per_s=speed,
                injected_m3_per_s=wanted,
                backleak_m3_per_s=leak,
            )
            solution = root(residuals, start, args=(ask,), tol=1e-12)
            # It may say that it made no more progress when it stands at the root.
            if max(map(abs, residuals(solution.x, ask))) > 1e-7:
                raise RuntimeError(f"SciPy root: {solution.message}")
            pressures[i] = 1e4 * solution.x[inlet - 1]
        return pressures

    return solve


def c_program(
    network: Network, pump: PumpPlan, liquid: Liquid, supply: Supply, scratch: Path
) -> Callable[[FloatArray, FloatArray, FloatArray], FloatArray]:
    """
    Compile the C twin of this package's solver.

    Parameters
    ----------
    network, pump, liquid, supply
        As for `scipy_root`.
    scratch : Path
        Folder for the library.

    Returns
    -------
    callable
        From speeds, injection and back-leak to states, shape (n, 10).
    """
    library = build("network", scratch)
    plan = network.plan
    links = plan.links
    if np.any(links.offset_pa):
        raise ValueError("a link with a loss that the C program does not know")
    rows = np.stack([links[name] for name in C_FIELDS], axis=1)
    end = 3 + int(FrictionRule.BLEND_COLEBROOK)
    pipes = np.ascontiguousarray(plan.pipes[:, [0, 1, 2, end]])
    places = (plan.inlet, plan.return_node, plan.recirculation_node)
    shape = np.array([plan.nodes, len(network.links), *places], dtype=np.int64)
    fluids = np.array([liquid.plan(), liquid.plan()])
    pump_row = np.array(pump, dtype=np.float64)
    asked = np.array([*supply[:3], supply.recirculated_fraction, supply.gas_pa])
    first_pipe = np.append(links.first_pipe, links.end_pipe[-1])
    ends = (links.first_node, links.second_node, links.one_way, links.fluid_row, first_pipe)
    integers = [np.ascontiguousarray(each) for each in (shape, *ends)]

    def solve(speeds: FloatArray, injected: FloatArray, backleak: FloatArray) -> FloatArray:
        states = np.empty((speeds.size, 10))
        library.solve_many(
            speeds.size,
            *map(doubles, (speeds, injected, backleak)),
            *map(ints, integers),
            *map(doubles, (rows, pipes, fluids, pump_row, asked, states)),
        )
        return states

    return solve
