"""Invented networks for tests: a tank, lift pump, parallel filters, bypass, return."""

from dataclasses import replace

import pytest

from feedproof.case.line import Line, Recirculation
from feedproof.case.parts import CheckValve, Element, Fitting, LiftPump, Orifice, Part, Pipe
from feedproof.feedline.network import solve_fed
from feedproof.feedline.network_balance import Supply
from feedproof.feedline.network_plan import Network, lower_network
from feedproof.feedline.network_state import NetworkState
from feedproof.feedline.plan import FluidPlan, lower_fluid, lower_pump
from feedproof.feedline.pump_state import FeedState
from tests.feedline import reference

RULE = 0
SPEED_REV_PER_S = 28.0
INJECTED_M3_PER_S = 9e-6
BACKLEAK_M3_PER_S = 2e-6

ELEMENT = Element(
    id="filter_a",
    role="factory",
    media_resistance_per_m=3.2e9,
    face_area_m2=0.42,
    housing_inertial_per_m4=4e8,
    from_node="split",
    to_node="join",
)
RECIRCULATION = Recirculation(
    to_node="head",
    cold_fraction=0.8,
    warm_fraction=0.05,
    cold_temperature_k=283.15,
    warm_temperature_k=323.15,
)


def fluid(temperature_c: float = 40.0) -> FluidPlan:
    """Give the summer fuel at a temperature."""
    return lower_fluid(reference.fuel_of("summer"), temperature_c + 273.15)


def pipe(name: str, first: str | None, second: str | None, length_m: float = 1.0) -> Pipe:
    """Make a hose between two nodes."""
    return Pipe(id=name, length_m=length_m, bore_m=0.008, from_node=first, to_node=second)


def lift_pump(*, running: bool = True) -> LiftPump:
    """Make a lift pump between the strainer and the rails of the frame."""
    return LiftPump(
        id="lift_pump",
        shut_off_pressure_pa=30e3,
        free_flow_m3_per_s=60e-6,
        curve_exponent=2.0,
        stopped_inertial_per_m4=6e9,
        running=running,
        from_node="pump_in",
        to_node="pump_out",
    )


def check(
    name: str, first: str | None, second: str | None, cracking_pressure_pa: float = 2e3
) -> CheckValve:
    """Make a check valve between two nodes."""
    return CheckValve(
        id=name,
        cracking_pressure_pa=cracking_pressure_pa,
        inertial_per_m4=4e8,
        from_node=first,
        to_node=second,
    )


def feed_line(*, running: bool = True, bypass_cracking_pa: float = 20e3) -> Line:
    """Make a line with a lift pump, two filters side by side and a bypass around them."""
    strainer = replace(ELEMENT, id="strainer", from_node=None, to_node="pump_in")
    parts: tuple[Part, ...] = (
        replace(strainer, media_resistance_per_m=1e8, face_area_m2=0.01),
        lift_pump(running=running),
        pipe("frame_line", "pump_out", "head", 2.0),
        pipe("hose_in", "head", "split", 0.5),
        ELEMENT,
        replace(ELEMENT, id="filter_b"),
        check("bypass", "split", "join", bypass_cracking_pa),
        Fitting(
            id="banjos",
            count=2,
            bore_m=0.007,
            laminar_coefficient=500.0,
            turbulent_coefficient=4.0,
            from_node="join",
            to_node="engine",
        ),
        pipe("hose_out", "engine", "inlet", 0.8),
    )
    return Line(parts=parts)


def return_line() -> Line:
    """Make a return line with a back-pressure valve and a cooler."""
    parts: tuple[Part, ...] = (
        pipe("return_hose", None, "cooler", 1.0),
        pipe("cooler_tube", "cooler", "holding", 2.0),
        check("holding_valve", "holding", "tank", 5e3),
    )
    return Line(parts=parts)


def whole(*, running: bool = True, bypass_cracking_pa: float = 20e3) -> Network:
    """Lower the whole circuit of feed and return, 10 nodes and 12 links."""
    return lower_network(
        feed_line(running=running, bypass_cracking_pa=bypass_cracking_pa),
        return_line(),
        recirculation=RECIRCULATION,
    )


def supply(recirculated_fraction: float = 0.0, static_pa: float = 3.2e3) -> Supply:
    """Give sea level, a lift of about 0.4 m and full load."""
    return Supply(
        static_pa,
        101325.0,
        101325.0,
        SPEED_REV_PER_S,
        INJECTED_M3_PER_S,
        BACKLEAK_M3_PER_S,
        recirculated_fraction,
        1,
    )


def solve(
    network: Network,
    temperature_c: float = 40.0,
    recirculated_fraction: float = 0.0,
    rule: int = RULE,
) -> NetworkState:
    """Solve a network with the reference vehicle's new pump."""
    return solve_fed(
        network,
        lower_pump(reference.pump_of("new")),
        fluid(temperature_c),
        supply(recirculated_fraction),
        rule=rule,
    )


def mass_residual(network: Network, state: NetworkState, drawn: dict[str, float]) -> float:
    """Add up flows at every node but the tank, apart from the solver; over the greatest flow."""
    into = {node: -drawn.get(node, 0.0) for node in network.nodes}
    for link in network.links:
        flow = state.flow_m3_per_s[link.parts[0].id]
        into[link.first] -= flow
        into[link.second] += flow
    greatest = max(map(abs, [*state.flow_m3_per_s.values(), *drawn.values()]))
    return max(abs(flow) for node, flow in into.items() if node != "tank") / greatest


def orifice(name: str, first: str, second: str, bore_m: float = 3e-3) -> Orifice:
    """Make an orifice between two nodes."""
    return Orifice(
        id=name,
        bore_m=bore_m,
        pipe_bore_m=0.008,
        discharge_coefficient=0.61,
        from_node=first,
        to_node=second,
    )


def assert_same(one: FeedState | None, other: FeedState | None) -> None:
    """Compare two states to 1e-10: of a pressure, of the feed, of a ratio's full scale of 1."""
    assert one is not None
    assert other is not None
    for name, value in one._asdict().items():
        scale = one.feed_m3_per_s if name.endswith("_m3_per_s") else 1.0
        assert getattr(other, name) == pytest.approx(value, rel=1e-10, abs=1e-10 * scale), name
