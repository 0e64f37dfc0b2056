"""
The series line solved by general-purpose libraries and by C.

A peer is a function from flows and a liquid to losses; what may be set up once (a network opened,
a library compiled) is set up before and not timed.
"""

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks.c_programs import build, doubles
from benchmarks.equations import blended_factor, orifice_coefficient
from benchmarks.liquids import Liquid
from benchmarks.tubes import Tube, crack_of, epanet_lines
from feedproof.case.parts import CheckValve, Element, Fitting, LiftPump, Orifice, Part, Pipe
from feedproof.feedline.plan import lower_part, merge_rows, pipe_row
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]
Solver = Callable[[FloatArray, Liquid], FloatArray]
Factor = Callable[[float, float], float]

# EPANET's own: feet, 32.2 ft/s2, viscosity relative to 1.1e-5 ft2/s.
EPANET_GRAVITY_M_PER_S2 = 32.2 * 0.3048
EPANET_VISCOSITY_M2_PER_S = 1.1e-5 * 0.3048**2


def by_hand(parts: Sequence[Part]) -> Solver:
    """
    Part by part with `fluids` as its user would: its friction factor with its own transition.

    Parameters
    ----------
    parts : sequence of Part
        Pipes, fittings, elements, check valves, plates, stopped lift pumps.

    Returns
    -------
    callable
        The peer.
    """
    from fluids.friction import friction_factor

    return _by_hand(parts, lambda re, rough: friction_factor(Re=re, eD=rough))


def by_hand_same_rule(parts: Sequence[Part]) -> Solver:
    """
    Do the same with this project's friction rule, re-derived with the Colebrook root of `fluids`.

    Parameters
    ----------
    parts : sequence of Part
        As for `by_hand`.

    Returns
    -------
    callable
        The peer whose answers must be ours.
    """
    return _by_hand(parts, blended_factor)


def _by_hand(parts: Sequence[Part], factor: Factor) -> Solver:
    """Add up the parts one by one, in one flat loop for each form of loss."""
    pipes = [(p.bore_m, p.length_m, p.roughness_m) for p in parts if isinstance(p, Pipe)]
    fittings = [
        (p.bore_m, p.count, p.laminar_coefficient, p.turbulent_coefficient)
        for p in parts
        if isinstance(p, Fitting)
    ]
    others = [_sums(p) for p in parts if not isinstance(p, Pipe | Fitting)]

    def solve(flows: FloatArray, liquid: Liquid) -> FloatArray:
        found = np.empty(flows.size)
        density, viscosity = liquid.density_kg_per_m3, liquid.viscosity_m2_per_s
        dynamic = liquid.dynamic_viscosity_pa_s
        for i, flow in enumerate(flows.tolist()):
            total = 0.0
            for bore, length, roughness in pipes:
                velocity = 4.0 * flow / (math.pi * bore * bore)
                friction = factor(velocity * bore / viscosity, roughness / bore)
                total += friction * length / bore * density * velocity * velocity / 2.0
            for bore, count, laminar, turbulent in fittings:
                velocity = 4.0 * flow / (math.pi * bore * bore)
                k = count * (laminar * viscosity / (velocity * bore) + turbulent)
                total += k * density * velocity * velocity / 2.0
            for crack, linear, square in others:
                total += crack + dynamic * linear * flow + density * square * flow * flow
            found[i] = total
        return found

    return solve


def _sums(part: Part) -> tuple[float, float, float]:
    """Give cracking pressure, linear and quadratic resistance of a part, clean and without wax."""
    match part:
        case Element():
            media = part.media_resistance_per_m / part.face_area_m2
            return 0.0, media + part.housing_viscous_per_m3, part.housing_inertial_per_m4
        case CheckValve():
            return part.cracking_pressure_pa, 0.0, part.inertial_per_m4
        case LiftPump(running=False):
            return 0.0, 0.0, part.stopped_inertial_per_m4
        case Orifice():
            area_m2 = math.pi * part.pipe_bore_m**2 / 4.0
            return 0.0, 0.0, orifice_coefficient(part) / (2.0 * area_m2**2)
    raise TypeError(f"{part.id}: {type(part).__name__} has no equation here")


def epanet(name: str, row: Sequence[Tube], liquids: Sequence[Liquid], scratch: Path) -> Solver:
    """
    Open EPANET once for each liquid and keep it open; a point is a new demand and a solution.

    Parameters
    ----------
    name : str
        Begins the names of its files.
    row : sequence of Tube
        The line.
    liquids : sequence of Liquid
        EPANET takes a viscosity when it opens its input, so there is one open project for each.
    scratch : Path
        Folder for its files.

    Returns
    -------
    callable
        The peer.
    """
    from wntr.epanet.toolkit import ENepanet
    from wntr.epanet.util import EN

    projects = {}
    for number, liquid in enumerate(liquids):
        source = scratch / f"{name}{number}.inp"
        source.write_text(_epanet_input(row, liquid), encoding="ascii")
        engine = ENepanet(version=2.2)
        engine.ENopen(str(source), str(source.with_suffix(".rpt")), "")
        engine.ENopenH()
        projects[liquid] = engine, engine.ENgetnodeindex("inlet")
    crack = crack_of(row)

    def solve(flows: FloatArray, liquid: Liquid) -> FloatArray:
        engine, last = projects[liquid]
        weight = liquid.density_kg_per_m3 * EPANET_GRAVITY_M_PER_S2
        found = np.empty(flows.size)
        for i, flow in enumerate(flows.tolist()):
            engine.ENsetnodevalue(last, EN.BASEDEMAND, 1e3 * flow)
            engine.ENinitH(0)
            engine.ENrunH()
            found[i] = crack - engine.ENgetnodevalue(last, EN.HEAD) * weight
        return found

    return solve


def _epanet_input(row: Sequence[Tube], liquid: Liquid) -> str:
    """Write the chain as an EPANET input in L/s, metres and millimetres."""
    nodes, pipes = epanet_lines("x", row, ("tank", "inlet"))
    parts = {
        # Heads near zero keep their digits in EPANET's single-precision answers.
        "JUNCTIONS": [*(f"{node} -100 0" for node in nodes), "inlet -100 1"],
        "RESERVOIRS": ["tank 0"],
        "PIPES": pipes,
    }
    return epanet_text(parts, liquid)


def epanet_text(parts: dict[str, list[str]], liquid: Liquid) -> str:
    """
    Write an EPANET input of one steady state, flows in L/s.

    Parameters
    ----------
    parts : dict of str to list of str
        Lines by section.
    liquid : Liquid
        For its viscosity.

    Returns
    -------
    str
        The input.
    """
    options = {
        "OPTIONS": [
            "Units LPS",
            "Headloss D-W",
            f"Viscosity {liquid.viscosity_m2_per_s / EPANET_VISCOSITY_M2_PER_S!r}",
            "Accuracy 0.0000001",
            "Trials 200",
        ],
        "TIMES": ["Duration 0"],
    }
    sections = {**parts, **options}.items()
    return "\n".join(f"[{name}]\n" + "\n".join(rows) for name, rows in sections) + "\n[END]\n"


def pandapipes(row: Sequence[Tube], liquids: Sequence[Liquid]) -> Solver:
    """
    Build a pandapipes net once for each liquid; a point is a new sink and a `pipeflow`.

    Parameters
    ----------
    row : sequence of Tube
        The line.
    liquids : sequence of Liquid
        One net each.

    Returns
    -------
    callable
        The peer, with the friction model `nikuradse`.
    """
    import pandapipes as pp

    nets = {}
    for liquid in liquids:
        net = pp.create_empty_network(fluid=pandapipes_fluid(liquid))
        first, last = (pp.create_junction(net, 5.0, 293.15) for _ in range(2))
        pp.create_ext_grid(net, first, p_bar=5.0, t_k=293.15)
        pandapipes_tubes(net, row, first, last)
        pp.create_sink(net, last, mdot_kg_per_s=0.01)
        nets[liquid] = net, first, last
    crack = crack_of(row)

    def solve(flows: FloatArray, liquid: Liquid) -> FloatArray:
        net, first, last = nets[liquid]
        found = np.empty(flows.size)
        for i, flow in enumerate(flows.tolist()):
            net.sink.loc[0, "mdot_kg_per_s"] = flow * liquid.density_kg_per_m3
            pp.pipeflow(net, tol_p=1e-10, tol_m=1e-10, tol_res=1e-9, max_iter_hyd=200)
            pressure = net.res_junction.p_bar
            found[i] = 1e5 * (pressure[first] - pressure[last]) + crack
        return found

    return solve


def pandapipes_tubes(net: Any, row: Sequence[Tube], first: int, last: int) -> None:
    """
    Put tubes in series between two junctions.

    Parameters
    ----------
    net : pandapipesNet
        Takes them.
    row : sequence of Tube
        The tubes; their cracking pressures are left out.
    first, last : int
        The junctions.
    """
    import pandapipes as pp

    middle = [pp.create_junction(net, 5.0, 293.15) for _ in row[1:]]
    places = [first, *middle, last]
    for i, (bore, length, rough, k, _) in enumerate(row):
        pp.create_pipe_from_parameters(
            net,
            places[i],
            places[i + 1],
            length_km=length / 1e3,
            inner_diameter_mm=1e3 * bore,
            k_mm=1e3 * rough,
            loss_coefficient=k,
        )


def pandapipes_fluid(liquid: Liquid) -> object:
    """
    Give a liquid as pandapipes takes it.

    Parameters
    ----------
    liquid : Liquid
        The liquid.

    Returns
    -------
    Fluid
        Of constant properties.
    """
    import pandapipes as pp

    return pp.create_constant_fluid(
        name=liquid.kind,
        fluid_type="liquid",
        density=liquid.density_kg_per_m3,
        viscosity=liquid.dynamic_viscosity_pa_s,
        heat_capacity=2000.0,
        molar_mass=200.0,
        compressibility=0.0,
        der_compressibility=0.0,
    )


def c_program(parts: Sequence[Part], scratch: Path, *more: str, merged: bool) -> Solver:
    """
    Compile the C program and give it the line, equal bores merged or part by part.

    Parameters
    ----------
    parts : sequence of Part
        The line.
    scratch : Path
        Folder for the library.
    *more : str
        Options of the compiler beside -O3.
    merged : bool
        Whether pipes of one bore are one pipe.

    Returns
    -------
    callable
        The peer.
    """
    library = build("series", scratch, *more)
    rows = tuple(lower_part(part) for part in parts)
    rule = int(FrictionRule.BLEND_COLEBROOK)

    def end(bore: float, roughness: float) -> float:
        return pipe_row(bore, 1.0, roughness)[3 + rule]

    line = merge_rows(rows)
    sums = np.array(line[:4])
    pipes = np.ascontiguousarray(line.pipes[:, [0, 1, 2, 3 + rule]])
    each = np.array([(*row, end(row.bore_m, row.roughness_m)) for row in rows])
    # A PartRow ends with bore, length, roughness; so does a row of the C program.
    each = np.ascontiguousarray(each)

    def solve(flows: FloatArray, liquid: Liquid) -> FloatArray:
        found = np.empty(flows.size)
        fluid = np.array(liquid.plan()[:3])
        if merged:
            library.merged_losses(
                flows.size,
                doubles(flows),
                doubles(sums),
                len(pipes),
                doubles(pipes),
                doubles(fluid),
                doubles(found),
            )
        else:
            library.part_losses(
                flows.size, doubles(flows), len(each), doubles(each), doubles(fluid), doubles(found)
            )
        return found

    return solve
