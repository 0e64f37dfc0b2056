"""
The circuits of the benchmarks: an invented feed line of many parts, as a chain and as a network.

Both are the same vehicle: tube, steel line and hoses of 8 mm, two kits on hoses of 10 mm, a
factory filter, connectors, bends and banjos with a laminar end each, a primer's check valve, a
stopped or running lift pump, a plate.  Cold or loaded, its elements lose more than its pipes.
"""

from dataclasses import replace

from feedproof.case.line import Line
from feedproof.case.parts import (
    CheckValve,
    Cooler,
    Element,
    Fitting,
    LiftPump,
    Orifice,
    Part,
    Pipe,
)

ROUGHNESS_M = 1.5e-6
LINE_BORE_M, KIT_BORE_M = 0.008, 0.010
TARGET = "head"
"""Node that the network's return is led back to."""


def _pipe(name: str, length_m: float, bore_m: float = LINE_BORE_M) -> Pipe:
    """Make a pipe."""
    return Pipe(id=name, length_m=length_m, bore_m=bore_m, roughness_m=ROUGHNESS_M)


def _fitting(name: str, count: int, bore_m: float, laminar: float, turbulent: float) -> Fitting:
    """Make fittings alike."""
    return Fitting(
        id=name,
        count=count,
        bore_m=bore_m,
        laminar_coefficient=laminar,
        turbulent_coefficient=turbulent,
    )


def _element(name: str, media_per_m: float, face_m2: float, housing_per_m4: float) -> Element:
    """Make an element."""
    return Element(
        id=name,
        role="element",
        media_resistance_per_m=media_per_m,
        face_area_m2=face_m2,
        housing_inertial_per_m4=housing_per_m4,
    )


LIFT_PUMP = LiftPump(
    id="lift_pump",
    shut_off_pressure_pa=30e3,
    free_flow_m3_per_s=60e-6,
    curve_exponent=2.0,
    stopped_inertial_per_m4=9e8,
    running=False,
)
STRAINER = _element("strainer", 7.0e7, 0.007, 1.0e8)
PICK_UP = _pipe("pick_up_tube", 0.5)
STEEL_LINE = (
    _pipe("steel_line", 3.2),
    _fitting("bends", 5, 0.008, 800.0, 0.25),
    _fitting("connectors", 4, 0.007, 160.0, 0.9),
    _pipe("hose_rear", 0.6),
)
PRIMER = CheckValve(id="primer_checks", cracking_pressure_pa=1.1e3, inertial_per_m4=2.8e8)
PRIMARY = (
    _pipe("primary_hose", 1.0, KIT_BORE_M),
    _fitting("primary_connectors", 4, 0.0085, 160.0, 1.2),
    _element("primary_element", 9.0e7, 0.13, 4.2e8),
)
FACTORY = (
    _fitting("filter_banjos", 2, 0.0065, 400.0, 2.9),
    _element("factory_element", 2.4e9, 0.24, 8.5e8),
)
SECONDARY = (
    _pipe("secondary_hose", 0.9, KIT_BORE_M),
    _fitting("secondary_connectors", 4, 0.0085, 160.0, 1.2),
    _element("secondary_element", 3.0e9, 0.40, 4.4e8),
)
TO_PUMP = (
    _pipe("hose_front", 0.6),
    Orifice(id="plate", bore_m=0.0055, pipe_bore_m=0.008, discharge_coefficient=0.61),
    _fitting("pump_banjos", 2, 0.0065, 400.0, 2.9),
)

CHAIN = Line(
    parts=(
        STRAINER,
        PICK_UP,
        LIFT_PUMP,
        *STEEL_LINE,
        PRIMER,
        *PRIMARY,
        *FACTORY,
        *SECONDARY,
        *TO_PUMP,
    )
)


def _between(first: str, parts: tuple[Part, ...], second: str) -> tuple[Part, ...]:
    """Put parts in series between two nodes."""
    if len(parts) == 1:
        return (replace(parts[0], from_node=first, to_node=second),)
    head, *middle, last = parts
    return (replace(head, from_node=first), *middle, replace(last, to_node=second))


def feed_and_return() -> tuple[Line, Line]:
    """
    Give the network: the chain with its lift pump running and a second element side by side.

    Returns
    -------
    tuple of Line
        Feed line; return line with a cooler.
    """
    second = (
        _pipe("hose_b", 0.5, KIT_BORE_M),
        _fitting("connectors_b", 2, 0.0085, 160.0, 1.2),
        _element("factory_element_b", 2.9e9, 0.24, 8.5e8),
    )
    feed = (
        *_between("tank", (STRAINER, PICK_UP), "lift_in"),
        *_between("lift_in", (replace(LIFT_PUMP, running=True),), "lift_out"),
        *_between("lift_out", (*STEEL_LINE, PRIMER), TARGET),
        *_between(TARGET, PRIMARY, "split"),
        *_between("split", FACTORY, "join"),
        *_between("split", second, "join"),
        *_between("join", (*SECONDARY, *TO_PUMP), "inlet"),
    )
    cooler = Cooler(id="cooler", viscous_per_m3=4e9, inertial_per_m4=2e8)
    back = _between("return", (_pipe("return_hose", 3.0), cooler), "tank")
    return Line(parts=feed), Line(parts=back)
