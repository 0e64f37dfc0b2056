"""
Any network has its state: random trees and loops solve, balance, and agree with another solver.

The balance is added up again outside the solver; scipy.optimize.root solves the same equations,
written a second time here, from scratch.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import root

from feedproof.case.line import Line
from feedproof.case.parts import CheckValve, Element, Fitting, LiftPump, Orifice, Part, Pipe
from feedproof.feedline.circuit import RULES
from feedproof.feedline.line_loss import part_loss
from feedproof.feedline.network import solve_drawn, solve_fed
from feedproof.feedline.network_balance import Supply
from feedproof.feedline.network_plan import Network, lower_network
from feedproof.feedline.network_state import NetworkState
from feedproof.feedline.plan import lower_part
from tests.feedline import reference
from tests.feedline.network_cases import assert_same, fluid, mass_residual, solve

TANK_ABS_PA = 101325.0
BORES = st.floats(4e-3, 1.5e-2)
FLOWS = st.one_of(st.just(0.0), st.floats(1e-9, 3e-5), st.floats(-3e-5, -1e-9))
PASSIVE = st.one_of(
    st.builds(
        Pipe,
        id=st.just("pipe"),
        length_m=st.floats(0.05, 8.0),
        bore_m=BORES,
        roughness_m=st.sampled_from([0.0, 1.5e-6, 5e-5]),
    ),
    st.builds(
        Fitting,
        id=st.just("fitting"),
        count=st.integers(1, 6),
        bore_m=BORES,
        laminar_coefficient=st.floats(0.0, 1500.0),
        turbulent_coefficient=st.floats(0.1, 6.0),
    ),
    st.builds(
        Element,
        id=st.just("element"),
        role=st.just("secondary"),
        media_resistance_per_m=st.floats(1e7, 1e10),
        face_area_m2=st.floats(0.05, 1.0),
        housing_inertial_per_m4=st.floats(0.0, 1e10),
    ),
    st.builds(
        Orifice,
        id=st.just("orifice"),
        bore_m=st.floats(1.5e-3, 5e-3),
        pipe_bore_m=st.floats(6e-3, 1.2e-2),
        discharge_coefficient=st.floats(0.58, 0.7),
    ),
)
STOPPED = st.builds(
    LiftPump,
    id=st.just("stopped"),
    shut_off_pressure_pa=st.just(3e4),
    free_flow_m3_per_s=st.just(6e-5),
    curve_exponent=st.just(2.0),
    stopped_inertial_per_m4=st.floats(1e8, 1e10),
    running=st.just(False),
)
VALVES = st.builds(
    CheckValve,
    id=st.just("check"),
    cracking_pressure_pa=st.floats(0.0, 2e4),
    inertial_per_m4=st.floats(1e7, 1e9),
)
LIFTS = st.builds(
    LiftPump,
    id=st.just("lift"),
    shut_off_pressure_pa=st.floats(1e3, 3e5),
    free_flow_m3_per_s=st.floats(1e-5, 1e-4),
    curve_exponent=st.floats(1.0, 3.0),
    stopped_inertial_per_m4=st.just(6e9),
)


def _placed(part: Part, number: int, first: int, second: int) -> Part:
    """Put a part between two numbered nodes; node 0 is the tank, node 1 the pump inlet."""
    kind = type(part)
    fields = {name: getattr(part, name) for name in part.__dataclass_fields__}
    names = {0: "tank", 1: "inlet"}
    fields["id"] = f"{part.id}_{number}"
    fields["from_node"] = names.get(first, f"n{first}")
    fields["to_node"] = names.get(second, f"n{second}")
    return kind(**fields)


@st.composite
def networks(
    draw: st.DrawFn, kinds: st.SearchStrategy[Part], most_nodes: int = 12
) -> tuple[Network, dict[str, float]]:
    """Make a tree of passive parts over all nodes, then links of any kind that close loops."""
    count = draw(st.integers(2, most_nodes))
    ends = [(draw(st.integers(0, node - 1)), node) for node in range(1, count)]
    parts: list[Part] = [draw(st.one_of(PASSIVE, STOPPED)) for _ in ends]
    for _ in range(draw(st.integers(0, count))):
        first = draw(st.integers(0, count - 1))
        second = draw(st.integers(0, count - 2))
        ends.append((first, second + (second >= first)))
        parts.append(draw(kinds))
    placed = tuple(_placed(part, i, *ends[i]) for i, part in enumerate(parts))
    drawn = {("inlet" if node == 1 else f"n{node}"): draw(FLOWS) for node in range(1, count)}
    return lower_network(Line(parts=placed), drawn=drawn), drawn


TEMPERATURES = st.sampled_from([-10.0, 20.0, 40.0, 70.0])


@given(
    case=networks(st.one_of(PASSIVE, STOPPED)), temperature_c=TEMPERATURES, rule=st.integers(0, 4)
)
@settings(max_examples=300, deadline=None)
def test_trees_and_loops_of_positive_resistances_solve_and_balance(
    case: tuple[Network, dict[str, float]], temperature_c: float, rule: int
) -> None:
    network, drawn = case
    state = solve_drawn(
        network, drawn, fluid(temperature_c), tank_pressure_abs_pa=TANK_ABS_PA, rule=rule
    )

    assert state.findings == ()
    if any(drawn.values()):
        assert mass_residual(network, state, drawn) < 1e-10
    _assert_energy(network, state, temperature_c, rule)


def _assert_energy(network: Network, state: NetworkState, temperature_c: float, rule: int) -> None:
    """Compare the drop over every link with the chain's own loss of its part."""
    highest = max(map(abs, state.pressure_abs_pa.values()))
    for link in network.links:
        (part,) = link.parts
        flow = state.flow_m3_per_s[part.id]
        drop = state.pressure_abs_pa[link.first] - state.pressure_abs_pa[link.second]
        loss = math.copysign(
            part_loss(abs(flow), lower_part(part), fluid(temperature_c), rule), flow
        )
        # Near rest an inertial loss is straightened: up to c q0^2 of 1e-5 Pa.
        slack = 1e-10 * highest + (1e-4 if abs(flow) < 1e-7 else 0.0)
        assert drop == pytest.approx(loss, rel=1e-8, abs=slack)


@given(
    case=networks(st.one_of(PASSIVE, VALVES, LIFTS)),
    temperature_c=TEMPERATURES,
)
@settings(max_examples=300, deadline=None)
def test_loops_with_valves_and_lift_pumps_solve_and_balance(
    case: tuple[Network, dict[str, float]], temperature_c: float
) -> None:
    network, drawn = case
    state = solve_drawn(network, drawn, fluid(temperature_c), tank_pressure_abs_pa=TANK_ABS_PA)

    assert state.findings == ()
    if any(drawn.values()):
        assert mass_residual(network, state, drawn) < 1e-10
    greatest = max(map(abs, state.flow_m3_per_s.values()))
    for link in network.links:
        flow = state.flow_m3_per_s[link.parts[0].id]
        if set(state.shut_valves) & {part.id for part in link.parts}:
            assert abs(flow) <= 1e-6 * max(greatest, 1e-6)
        elif isinstance(link.parts[0], CheckValve):
            assert flow > 0.0


@given(
    case=networks(st.one_of(PASSIVE, VALVES, LIFTS), most_nodes=8),
    temperature_c=TEMPERATURES,
)
@settings(max_examples=200, deadline=None)
def test_any_network_with_a_pump_at_its_inlet_solves_and_balances(
    case: tuple[Network, dict[str, float]], temperature_c: float
) -> None:
    network, _ = case
    state = solve(network, temperature_c)

    assert state.findings == ()
    assert state.feed is not None
    assert all(math.isfinite(value) for value in state.feed)
    assert mass_residual(network, state, {"inlet": state.feed.feed_m3_per_s}) < 1e-10


@given(
    kits=st.sampled_from([(), ("K1",), ("K2",), ("K1", "K2"), ("K3",), ("K2-small",)]),
    pump=st.sampled_from(["new", "worn", "internal_recirculation"]),
    rule=st.sampled_from(list(RULES)),
    bore_m=st.sampled_from([None, 5e-3, 6e-3]),
    temperature_c=st.floats(-10.0, 75.0),
    ambient_pa=st.floats(60e3, 102e3),
    level=st.floats(-4.0, 1.0),
    speed=st.floats(3.0, 57.0),
    injected=st.floats(2e-7, 9e-6),
)
@settings(max_examples=200, deadline=None)
def test_any_chain_fed_or_starved_is_the_same_as_a_network(
    kits: tuple[str, ...],
    pump: str,
    rule: str,
    bore_m: float | None,
    temperature_c: float,
    ambient_pa: float,
    level: float,
    speed: float,
    injected: float,
) -> None:
    """A level far below zero stands for a lift of metres, and so for a starved pump."""
    at = reference.conditions(temperature_c, ambient_pa=ambient_pa, fuel_level_fraction=level)
    feed = reference.circuit(*kits, pump=pump, rule=rule, bore_m=bore_m, at=at)
    chain = feed.at(speed, injected)
    asked = Supply(
        feed.static_pa,
        ambient_pa,
        feed.saturation_abs_pa,
        speed * feed.vehicle.pump.speed_ratio,
        injected,
        feed.backleak_m3_per_s(speed),
        0.0,
        1,
    )
    network = lower_network(feed.line, conditions=at)
    state = solve_fed(network, feed.pump, feed.fluid, asked, rule=feed.rule)

    assert state.exists
    assert_same(chain, state.feed)


def _looped_parts() -> tuple[Part, ...]:
    """Make a circuit of 12 nodes and 17 links of every passive kind, invented."""
    ends = [(i, i + 1) for i in range(11)] + [(0, 4), (2, 7), (3, 11), (9, 1), (5, 10), (8, 6)]
    kinds: list[Part] = [
        Pipe(id="pipe", length_m=1.3, bore_m=0.008, roughness_m=1.5e-6),
        Fitting(
            id="fitting",
            count=2,
            bore_m=0.007,
            laminar_coefficient=500.0,
            turbulent_coefficient=4.0,
        ),
        Element(
            id="element",
            role="factory",
            media_resistance_per_m=3.2e9,
            face_area_m2=0.42,
            housing_inertial_per_m4=4e8,
        ),
        Pipe(id="hose", length_m=0.6, bore_m=0.006),
    ]
    return tuple(_placed(kinds[k % 4], k, *each) for k, each in enumerate(ends))


@pytest.mark.parametrize("temperature_c", [-5.0, 40.0, 70.0])
def test_a_looped_circuit_of_twelve_nodes_agrees_with_scipys_root(temperature_c: float) -> None:
    parts = _looped_parts()
    nodes = ["tank", "inlet", *(f"n{i}" for i in range(2, 12))]
    drawn = {node: 2e-6 * (1 + i % 3) for i, node in enumerate(nodes[1:])}
    rows = [lower_part(part) for part in parts]
    first = [nodes.index(part.from_node or "") for part in parts]
    second = [nodes.index(part.to_node or "") for part in parts]
    asked = fluid(temperature_c)

    def residual(unknown: np.ndarray) -> np.ndarray:
        """Energy of each link in kPa and mass of each node in mL/s, by Kirchhoff."""
        flows = unknown[: len(parts)] * 1e-6
        pressures = np.concatenate([[0.0], unknown[len(parts) :] * 1e3])
        losses = [
            math.copysign(part_loss(abs(flow), row, asked, 0), flow)
            for flow, row in zip(flows, rows, strict=True)
        ]
        energy = np.array(losses) - pressures[first] + pressures[second]
        mass = np.zeros(12)
        np.add.at(mass, second, flows)
        np.add.at(mass, first, -flows)
        mass[1:] -= np.array(list(drawn.values()))
        return np.concatenate([energy / 1e3, mass[1:] * 1e6])

    start = np.concatenate([np.full(len(parts), 10.0), np.linspace(-1.0, -10.0, 11)])
    found = root(residual, start, method="hybr", tol=1e-14)
    state = solve_drawn(
        lower_network(Line(parts=parts), drawn=drawn),
        drawn,
        asked,
        tank_pressure_abs_pa=TANK_ABS_PA,
    )

    assert np.max(np.abs(residual(found.x))) < 1e-9
    assert [state.flow_m3_per_s[part.id] * 1e6 for part in parts] == pytest.approx(
        found.x[: len(parts)], rel=1e-8, abs=1e-8
    )
    assert [(state.pressure_abs_pa[n] - TANK_ABS_PA) / 1e3 for n in nodes[1:]] == pytest.approx(
        found.x[len(parts) :], rel=1e-8
    )
