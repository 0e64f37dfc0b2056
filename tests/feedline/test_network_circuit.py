"""
A vehicle whose feed line is a network is asked like any other: one description, one circuit.

Outside checks: the same line as a chain, Kirchhoff's laws, the fluids library for tees.
"""

import math
from dataclasses import replace

import fluids.fittings as crane
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.case.conditions import Conditions
from feedproof.case.line import Insertion, Kit, Line, Tee
from feedproof.case.parts import AirHole, CheckValve, Element, Part, Pipe
from feedproof.case.vehicle import Vehicle
from feedproof.core.errors import InputError
from feedproof.feedline.chain_circuit import ChainCircuit
from feedproof.feedline.circuit import FeedCircuit, build_circuit
from feedproof.feedline.network_circuit import NetworkCircuit
from feedproof.feedline.network_tees import outward_coefficients
from feedproof.feedline.pull import predict_pull
from feedproof.feedline.pump_state import FeedState
from feedproof.feedline.staircase import staircase
from tests.feedline.network_cases import RECIRCULATION, feed_line, mass_residual, pipe, return_line
from tests.feedline.reference import PULL, at_138, conditions, fuel_of, kit, vehicle

RATED = 3407.0 / 60.0
INJECTED = 9.2e-6


def branched(**changes: object) -> Vehicle:
    """Make the reference vehicle with lift pump, two filters, bypass, led-back and return line."""
    return replace(
        vehicle(),
        line=feed_line(),
        return_line=return_line(),
        recirculation=RECIRCULATION,
        **changes,
    )


def made(body: Vehicle, line: Line | None = None, at: Conditions | None = None) -> FeedCircuit:
    """Lower a vehicle."""
    at = at or conditions()
    return build_circuit(body, line or body.line, fuel_of(at.fuel), at, "blend_colebrook")


def network(
    body: Vehicle, line: Line | None = None, at: Conditions | None = None
) -> NetworkCircuit:
    """Lower a vehicle that is a network."""
    circuit = made(body, line, at)
    assert isinstance(circuit, NetworkCircuit)
    return circuit


def with_nodes(line: Line, *ids: str) -> Line:
    """Name the node after some parts, which changes nothing but the way it is solved."""
    return Line(
        parts=tuple(
            replace(part, to_node=f"after_{part.id}") if part.id in ids else part
            for part in line.parts
        )
    )


@pytest.mark.parametrize("temperature_c", [-5.0, 20.0, 70.0])
@pytest.mark.parametrize("kits", [(), ("K1", "K2"), ("K3",)])
def test_naming_nodes_of_a_chain_changes_nothing(temperature_c: float, kits) -> None:
    body = vehicle()
    line = body.line.with_kits([kit(name) for name in kits])
    at = conditions(temperature_c)
    one = made(body, line, at)
    other = network(body, with_nodes(line, "strainer", "steel_line"), at)

    assert isinstance(one, ChainCircuit)
    assert at_138(other) == pytest.approx(at_138(one), rel=1e-8)


@pytest.mark.parametrize(
    "changed",
    [
        {"collapse_depression_pa": 6e3, "collapse_span_pa": 6e3, "collapsed_bore_fraction": 0.5},
        {"collapse_depression_pa": 3e3, "collapse_span_pa": 1e3, "collapsed_bore_fraction": 0.3},
    ],
)
@pytest.mark.parametrize("tau", [None, 3.0])
def test_soft_hoses_leaks_and_slow_gas_are_the_same_in_a_network(changed, tau) -> None:
    body = vehicle()
    body = replace(body, pump=replace(body.pump, gas_release_time_s=tau))
    parts: list[Part] = []
    for part in body.line.parts:
        parts.append(replace(part, **changed) if part.id == "rubber_hoses" else part)
        if part.id == "oe_filter":
            parts.append(AirHole(id="leak", hole_diameter_m=2e-4))
    line = Line(parts=tuple(parts))
    one = made(body, line, conditions(20.0))
    other = network(body, with_nodes(line, "rubber_hoses", "steel_line"), conditions(20.0))

    assert at_138(other) == pytest.approx(at_138(one), rel=1e-6)
    steps = other.steps(at_138(other))
    for mine, theirs in zip(steps, one.steps(at_138(one)), strict=True):
        assert mine.loss_pa == pytest.approx(theirs.loss_pa, rel=1e-5, abs=0.1)


def test_a_line_that_warms_is_the_same_in_a_network_link_by_link() -> None:
    body = vehicle()
    pipes = tuple(Pipe(id=name, length_m=4.0, bore_m=0.008) for name in ("a", "b"))
    at = conditions(40.0, tank_fuel_temperature_k=273.15)
    one = made(body, Line(parts=pipes), at).at(RATED, INJECTED)
    other = network(body, with_nodes(Line(parts=pipes), "a"), at).at(RATED, INJECTED)

    # The chain keeps mass while fuel expands, the network volume: 0.8 % per 10 K of this.
    assert other.depression_pa == pytest.approx(one.depression_pa, rel=0.02)


def test_every_state_of_a_whole_vehicle_balances() -> None:
    for temperature_c in (-10.0, 10.0, 40.0, 70.0):
        circuit = network(branched(), at=conditions(temperature_c))
        for speed in (10.0, 30.0, RATED):
            found = circuit.network_at(speed, INJECTED)
            feed = found.feed
            back = circuit.recirculated_fraction * feed.return_m3_per_s
            drawn = {
                "inlet": feed.feed_m3_per_s,
                "head": -back,
                "return": back - feed.return_m3_per_s,
            }
            assert mass_residual(circuit.network, found, drawn) < 1e-10


def test_the_many_are_the_single_ones() -> None:
    circuit = network(branched())
    speeds = np.linspace(20.0, 57.0, 7)
    many = circuit.at_many(speeds, np.full(7, INJECTED))

    for speed, row in zip(speeds, many, strict=True):
        assert circuit.at(float(speed), INJECTED) == pytest.approx(tuple(row), rel=1e-9)


@pytest.mark.parametrize("tau", [None, 3.0])
def test_the_many_are_the_single_ones_whatever_hangs_on_the_state(tau) -> None:
    tees = tuple(Tee(node=node, bore_m=0.006, branch="side") for node in ("split", "join"))
    body = side_by_side(tees=tees)
    soft = {"collapse_depression_pa": 3e3, "collapse_span_pa": 3e3, "collapsed_bore_fraction": 0.6}
    parts = [replace(part, **soft) if part.id == "end" else part for part in body.line.parts]
    parts[-1] = replace(parts[-1], to_node="near")
    parts.append(AirHole(id="leak", hole_diameter_m=2e-4, from_node="near", to_node="inlet"))
    line = Line(parts=tuple(parts))
    pump = replace(body.pump, gas_release_time_s=tau)
    circuit = network(replace(body, line=line, pump=pump))
    speeds = np.linspace(20.0, 57.0, 7)
    many = circuit.at_many(speeds, np.full(7, INJECTED))

    assert np.all(many[:, FeedState._fields.index("free_gas_fraction")] > 0.0)
    for speed, row in zip(speeds, many, strict=True):
        assert circuit.at(float(speed), INJECTED) == pytest.approx(tuple(row), rel=1e-12)
    # Each of the three has its say: without one of them another state is found.
    firm = Line(parts=tuple(replace(p, collapse_depression_pa=math.inf) if p.id == "end" else p
                            for p in line.parts))  # fmt: skip
    for other in (
        network(replace(body, line=line, pump=pump, tees=())),
        network(replace(body, line=firm, pump=pump)),
        network(replace(body, pump=pump)),
    ):
        assert abs(other.at_many(speeds, np.full(7, INJECTED))[-1, 1] / many[-1, 1] - 1.0) > 1e-3


def test_a_drawn_point_is_the_fed_point() -> None:
    circuit = network(branched())
    fed = circuit.network_at(RATED, INJECTED)
    drawn = circuit.drawn(fed.feed)

    for node, pressure in fed.pressure_abs_pa.items():
        assert drawn.pressure_abs_pa[node] == pytest.approx(pressure, abs=1e-3), node


def test_the_staircase_follows_most_fuel_and_a_lift_pump_steps_up() -> None:
    circuit = network(branched())
    state = circuit.at(RATED, INJECTED)
    laid = staircase(circuit, state, RATED, "baseline", {})
    steps = {step.part_id: step for step in laid.steps}

    assert laid.steps[-1].depression_after_pa == pytest.approx(state.depression_pa, abs=1e-3)
    assert steps["lift_pump"].loss_pa < 0.0
    assert ("filter_a" in steps) != ("filter_b" in steps)
    # Two equal filters share what passes the pump, here with the led-back return on top of it.
    either = steps.get("filter_a") or steps["filter_b"]
    assert either.flow_fraction == pytest.approx(0.5, rel=1e-9)


def test_a_pull_of_a_network_is_predicted() -> None:
    pull = predict_pull(network(branched()), PULL, "baseline")

    assert np.all(np.isfinite(pull.depression_pa))
    assert pull.feed_m3_per_s == pytest.approx(pull.injected_m3_per_s + pull.return_m3_per_s)


def test_a_check_valve_the_wrong_way_round_is_named() -> None:
    body = branched()
    parts = list(body.line.parts)
    valve = CheckValve(id="valve", cracking_pressure_pa=1e3, inertial_per_m4=4e8)
    turned = replace(valve, from_node="inlet", to_node="engine")
    parts[-1] = turned
    circuit = network(body, Line(parts=(*parts,)))

    with pytest.raises(InputError, match="valve"):
        circuit.at(RATED, INJECTED)
    with pytest.raises(InputError, match="valve"):
        circuit.at_many(np.array([RATED]), np.array([INJECTED]))


def test_a_stopped_lift_pump_costs_what_a_running_one_gives() -> None:
    body = branched()
    running = network(body).at(RATED, INJECTED)
    stopped = network(body, feed_line(running=False)).at(RATED, INJECTED)

    assert running.pressure_abs_pa > stopped.pressure_abs_pa
    assert running.pressure_abs_pa > 101325.0 > stopped.pressure_abs_pa


def test_a_kit_stands_in_the_branch_of_its_place() -> None:
    extra = Element(
        id="extra",
        role="secondary",
        media_resistance_per_m=3e9,
        face_area_m2=0.3,
        housing_inertial_per_m4=4e8,
    )
    added = {}
    for side, place in (("after", "filter_a"), ("before", "filter_a"), ("after", "hose_out")):
        some = Kit(
            id="kit", title="", insertions=(Insertion(place=place, side=side, parts=(extra,)),)
        )
        line = feed_line().with_kit(some)
        circuit = network(branched(), line)
        found = circuit.network_at(RATED, INJECTED)
        added[side, place] = found
        link = next(each for each in circuit.network.links if extra in _bare(each.parts))
        assert place in [part.id for part in link.parts]
    for side in ("after", "before"):
        found = added[side, "filter_a"]
        assert found.flow_m3_per_s["extra"] == pytest.approx(found.flow_m3_per_s["filter_a"])
        assert found.flow_m3_per_s["extra"] < found.flow_m3_per_s["filter_b"]
    whole = added["after", "hose_out"]
    assert whole.flow_m3_per_s["extra"] == pytest.approx(whole.feed.feed_m3_per_s)


def test_the_staircase_passes_the_kit_in_the_branch_of_less_fuel() -> None:
    extra = Element(
        id="extra",
        role="secondary",
        media_resistance_per_m=9e9,
        face_area_m2=0.3,
        housing_inertial_per_m4=4e8,
    )
    kit = Kit(
        id="kit", title="", insertions=(Insertion(place="filter_a", side="after", parts=(extra,)),)
    )
    circuit = network(branched(), feed_line().with_kit(kit))
    state = circuit.at(RATED, INJECTED)

    most = circuit.steps(state)
    through = circuit.steps(state, {"extra"})
    assert "filter_b" in [step.part.id for step in most]
    assert "extra" not in [step.part.id for step in most]
    laid = [step.part.id for step in through]
    assert "extra" in laid
    assert "filter_b" not in laid
    # Pressure hangs on the node alone, so that every way from the tank adds up alike.
    for way in (most, through):
        risen = math.fsum(step.loss_pa for step in way)
        assert risen == pytest.approx(state.depression_pa - circuit.static_pa, rel=1e-9)
    shown = staircase(circuit, state, RATED, "kit", {"extra": "kit"})
    assert "extra" in [step.part_id for step in shown.steps]


def test_a_tee_keeps_its_side_leg_when_a_kit_stands_between_both() -> None:
    body = side_by_side(tees=(Tee(node="split", bore_m=0.006, branch="side"),))
    extra = pipe("extra", None, None, 0.3)
    kit = Kit(
        id="kit", title="", insertions=(Insertion(place="side", side="before", parts=(extra,)),)
    )
    circuit = network(body, body.line.with_kit(kit))

    placed = circuit.tees[0]
    leg = circuit.network.links[placed.branch]
    assert [part.id for part in leg.parts] == ["extra", "side"]


def _bare(parts: tuple[Part, ...]) -> list[Part]:
    """Give parts without their nodes."""
    return [replace(part, from_node=None, to_node=None) for part in parts]


def side_by_side(*, tees: tuple[Tee, ...]) -> Vehicle:
    """Make two equal hoses between two tees; one hose leaves the first tee to the side."""
    line = Line(
        parts=(
            pipe("stem", None, "split", 0.5),
            pipe("straight", "split", "join", 3.0),
            pipe("side", "split", "join", 3.0),
            pipe("end", "join", "inlet", 0.5),
        )
    )
    return replace(vehicle(), line=line, tees=tees)


def test_tees_lose_what_their_split_says_and_take_from_their_side_leg() -> None:
    tees = tuple(Tee(node=node, bore_m=0.006, branch="side") for node in ("split", "join"))
    plain = network(side_by_side(tees=())).network_at(RATED, INJECTED)
    circuit = network(side_by_side(tees=tees))
    found = circuit.network_at(RATED, INJECTED)
    side, straight = (found.flow_m3_per_s[name] for name in ("side", "straight"))

    assert plain.flow_m3_per_s["side"] == pytest.approx(plain.flow_m3_per_s["straight"], rel=1e-9)
    assert side < straight
    assert side + straight == pytest.approx(found.feed.feed_m3_per_s, rel=1e-10)
    # Both ways between the same two nodes lose the same: hose and two coefficients each (fluids).
    share = {"D_run": 0.006, "D_branch": 0.006, "Q_run": straight, "Q_branch": side}
    head = circuit.fluid.density_kg_per_m3 / 2 * ((side + straight) / (math.pi / 4 * 0.006**2)) ** 2
    run = crane.K_run_diverging_Crane(**share) + crane.K_run_converging_Crane(**share)
    off = crane.K_branch_diverging_Crane(**share) + crane.K_branch_converging_Crane(**share)
    across = found.pressure_abs_pa["split"] - found.pressure_abs_pa["join"]
    hose = 128 * circuit.fluid.dynamic_viscosity_pa_s * 3.0 / (math.pi * 0.008**4)
    assert across == pytest.approx(hose * straight + run * head, rel=1e-6)
    assert across == pytest.approx(hose * side + off * head, rel=1e-6)


def test_tees_that_cannot_stand_are_all_said_at_once() -> None:
    tees = (
        Tee(node="inlet", bore_m=0.006, branch="end"),
        Tee(node="join", bore_m=0.006, branch="stem"),
        Tee(node="split", bore_m=0.006, branch="side"),
        Tee(node="split", bore_m=0.006, branch="straight"),
    )
    with pytest.raises(InputError) as caught:
        network(side_by_side(tees=tees))

    text = str(caught.value)
    for word in ("inlet", "holds a part 'stem'", "2 tees"):
        assert word in text


def test_return_led_back_warms_only_what_lies_behind_its_node() -> None:
    at = conditions(40.0, tank_fuel_temperature_k=263.15, return_fuel_temperature_k=333.15)
    circuit = network(branched(), at=at)
    by_part = {
        part.id: fluid.dynamic_viscosity_pa_s
        for link, fluid in zip(circuit.network.links, circuit.link_fluids, strict=True)
        for part in link.parts
    }

    assert by_part["frame_line"] > 3.0 * by_part["hose_in"]
    assert by_part["hose_out"] == by_part["hose_in"] == circuit.fluid.dynamic_viscosity_pa_s
    assert by_part["return_hose"] < by_part["hose_in"]


def test_back_pressure_of_a_network_is_that_of_its_return_node() -> None:
    circuit = network(branched())
    found = circuit.network_at(RATED, INJECTED)
    expected = found.pressure_abs_pa["return"] - found.pressure_abs_pa["tank"]

    assert expected > 5e3
    assert circuit.back_pressure_pa(found.feed) == pytest.approx(expected, abs=1e-3)


@given(
    crack_pa=st.floats(0.0, 12e3),
    temperature_c=st.floats(-10.0, 70.0),
    speed=st.floats(5.0, 57.0),
    bore_m=st.floats(0.005, 0.009),
)
@settings(max_examples=60, deadline=None)
def test_a_bypass_valve_on_the_side_leg_of_tees_always_settles(
    crack_pa: float, temperature_c: float, speed: float, bore_m: float
) -> None:
    """A valve about to open on a side leg made the split run to and fro before it was joined up."""
    tees = tuple(Tee(node=node, bore_m=bore_m, branch="bypass") for node in ("split", "join"))
    parts = tuple(part for part in feed_line().parts if part.id != "filter_b")
    line = Line(
        parts=tuple(
            replace(part, cracking_pressure_pa=crack_pa) if part.id == "bypass" else part
            for part in parts
        )
    )
    circuit = network(branched(tees=tees), line, conditions(temperature_c))
    found = circuit.network_at(speed, INJECTED)
    flows = found.flow_m3_per_s

    assert flows["filter_a"] + flows["bypass"] == pytest.approx(flows["hose_in"], rel=1e-9)
    assert all(math.isfinite(value) for value in found.feed)
    # Many points are settled in one call; what that leaves unsettled is settled point by point.
    many = circuit.at_many(np.array([speed, speed]), np.full(2, INJECTED))
    assert many[1] == pytest.approx(tuple(found.feed), rel=1e-12, abs=1e-12)


def test_a_still_side_leg_stands_at_the_static_pressure_of_the_stream() -> None:
    """One velocity head below the total pressure, whichever way the leg might open."""
    tees = (Tee(node="split", bore_m=0.006, branch="bypass"),)
    parts = tuple(part for part in feed_line().parts if part.id != "filter_b")
    circuit = network(branched(tees=tees), Line(parts=parts))
    found = circuit.network_at(RATED, INJECTED)
    placed = circuit.tees[0]
    runs = [leg for leg in placed.legs if leg != placed.branch]
    links = [circuit.network.links[leg] for leg in (*runs, placed.branch)]
    inward = [
        (-1.0 if link.first == "split" else 1.0) * found.flow_m3_per_s[link.parts[0].id]
        for link in links
    ]
    *run, coefficient = outward_coefficients(*inward)

    assert found.shut_valves == ("bypass",)
    assert coefficient == pytest.approx(1.0, abs=1e-6)
    assert run == pytest.approx([0.0, 0.0], abs=1e-6)


@given(
    temperature_c=st.floats(-30.0, 10.0),
    speed=st.floats(15.0, 57.0),
    led_back=st.booleans(),
)
@settings(max_examples=150, deadline=None)
def test_cold_waxing_networks_have_a_state_that_balances(
    temperature_c: float, speed: float, led_back: bool
) -> None:
    body = branched() if led_back else replace(branched(), recirculation=None)
    primer = CheckValve(id="primer", cracking_pressure_pa=1.2e3, inertial_per_m4=3e8)
    parts = tuple(
        each
        for part in feed_line(running=False).parts
        for each in ((primer, part) if part.id == "hose_out" else (part,))
    )
    parts = tuple(
        replace(part, from_node=None) if part.id == "hose_out" else part for part in parts
    )
    found = network(body, Line(parts=parts), conditions(temperature_c)).network_at(speed, INJECTED)

    assert found.imbalance_fraction < 1e-10
    assert all(math.isfinite(value) for value in found.feed)


def test_losses_of_a_way_add_up_from_the_parts_alone() -> None:
    """No part is charged with what solver and parts disagree on: there is nothing to charge."""
    at = conditions(20.0, tank_fuel_temperature_k=263.15, return_fuel_temperature_k=333.15)
    tees = tuple(Tee(node=node, bore_m=0.006, branch="bypass") for node in ("split", "join"))
    parts = tuple(part for part in feed_line().parts if part.id != "filter_b")
    circuit = network(branched(tees=tees), Line(parts=parts), at)
    state = circuit.at(RATED, INJECTED)
    total = circuit.static_pa + sum(step.loss_pa for step in circuit.steps(state))

    assert total == pytest.approx(state.depression_pa, abs=0.01)
