"""
Feed lines with branches: a chain is a chain, branches follow closed forms, valves say their name.

Checks stand on closed forms (parallel paths, Kirchhoff's laws on a linear circuit solved by
numpy.linalg) and on the chain's own solver; every state is balanced again outside the solver.
"""

import json
import os
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.line import Line, Recirculation
from feedproof.case.parts import CheckValve, Element, Fitting, Part, Pipe
from feedproof.core.errors import InputError
from feedproof.feedline.line_loss import part_loss
from feedproof.feedline.network import solve_drawn, solve_fed, solve_speeds
from feedproof.feedline.network_balance import Supply
from feedproof.feedline.network_links import LEAK_PA_S_PER_M3, link_state
from feedproof.feedline.network_nodes import needs_network
from feedproof.feedline.network_plan import lower_network
from feedproof.feedline.plan import lower_part, lower_pump
from tests.feedline import reference
from tests.feedline.network_cases import (
    ELEMENT,
    RECIRCULATION,
    assert_same,
    check,
    feed_line,
    fluid,
    lift_pump,
    mass_residual,
    orifice,
    pipe,
    return_line,
    solve,
    supply,
    whole,
)
from tests.house.tree import ROOT

SEA_LEVEL = 101325.0


@pytest.mark.parametrize("rule", ["blend_blasius", "blend_colebrook", "churchill"])
@pytest.mark.parametrize("pump", ["new", "worn", "internal_recirculation"])
@pytest.mark.parametrize("temperature_c", [-5.0, 40.0, 70.0])
def test_a_chain_solved_as_a_network_is_the_chain(
    rule: str, pump: str, temperature_c: float
) -> None:
    feed = reference.circuit(
        "K1", "K2", pump=pump, rule=rule, at=reference.conditions(temperature_c)
    )
    for speed, injected in [(200 / 60, 4e-7), (800 / 60, 3e-7), (28.0, 5e-6), (57.0, 9e-6)]:
        chain = feed.at(speed, injected)
        state = solve_fed(
            lower_network(feed.line, conditions=feed.conditions),
            feed.pump,
            feed.fluid,
            Supply(
                feed.static_pa,
                feed.conditions.ambient_pressure_abs_pa,
                feed.saturation_abs_pa,
                speed * feed.vehicle.pump.speed_ratio,
                injected,
                feed.backleak_m3_per_s(speed),
                0.0,
                1,
            ),
            rule=feed.rule,
        )

        assert state.exists
        assert_same(chain, state.feed)


def test_a_chain_cut_at_named_nodes_is_the_same_chain() -> None:
    feed = reference.circuit("K1", "K2")
    cut = Line(
        parts=tuple(
            replace(part, from_node=f"n{i}" if i else "tank")
            for i, part in enumerate(feed.line.parts)
        )
    )
    pump = lower_pump(reference.pump_of("new"))
    one = solve_fed(lower_network(feed.line), pump, feed.fluid, supply())
    other = solve_fed(lower_network(cut), pump, feed.fluid, supply())

    assert len(other.pressure_abs_pa) == len(feed.line.parts) + 1
    assert one.feed is not None
    assert other.feed is not None
    assert tuple(other.feed) == pytest.approx(tuple(one.feed), rel=1e-11)


def test_pressures_along_a_chain_fall_by_each_parts_loss() -> None:
    feed = reference.circuit("K1")
    parts = feed.line.parts
    cut = Line(parts=tuple(replace(part, to_node=f"n{i}") for i, part in enumerate(parts[:-1])))
    cut = Line(parts=(*cut.parts, parts[-1]))
    state = solve_fed(lower_network(cut), lower_pump(reference.pump_of("new")), fluid(), supply())
    pressures = [*list(state.pressure_abs_pa.values())]
    order = ["tank", *(f"n{i}" for i in range(len(parts) - 1)), "inlet"]
    pressures = [state.pressure_abs_pa[node] for node in order]

    for part, before, after in zip(parts, pressures[:-1], pressures[1:], strict=True):
        loss = part_loss(state.flow_m3_per_s[part.id], lower_part(part), fluid(), 0)
        assert before - after == pytest.approx(loss, abs=1e-6)


def test_two_equal_elements_side_by_side_share_the_flow_and_lose_what_one_does_at_half_of_it() -> (
    None
):
    line = Line(
        parts=(replace(ELEMENT, from_node="tank"), replace(ELEMENT, id="b", from_node="tank"))
    )
    network = lower_network(line, drawn=["join"])
    state = solve_drawn(network, {"join": 4e-5}, fluid(), tank_pressure_abs_pa=SEA_LEVEL)

    assert state.flow_m3_per_s == pytest.approx({"filter_a": 2e-5, "b": 2e-5}, rel=1e-12)
    mu, rho = fluid().dynamic_viscosity_pa_s, fluid().density_kg_per_m3
    loss = mu * 3.2e9 / 0.42 * 2e-5 + rho * 4e8 * 2e-5**2
    assert SEA_LEVEL - state.pressure_abs_pa["join"] == pytest.approx(loss, rel=1e-10)


def test_two_unequal_orifices_side_by_side_share_the_flow_by_their_resistance() -> None:
    """Inertial paths: flows go as one over the root of the resistance."""
    parts = (orifice("wide", "tank", "join", 4e-3), orifice("narrow", "tank", "join", 2e-3))
    state = solve_drawn(
        lower_network(Line(parts=parts), drawn=["join"]),
        {"join": 4e-5},
        fluid(),
        tank_pressure_abs_pa=SEA_LEVEL,
    )
    wide, narrow = (lower_part(part).inertial_per_m4 for part in parts)
    share = 1.0 / (1.0 + np.sqrt(wide / narrow))

    assert state.flow_m3_per_s["wide"] == pytest.approx(4e-5 * share, rel=1e-9)


def test_a_loop_of_laminar_pipes_follows_kirchhoffs_linear_laws() -> None:
    rng = np.random.default_rng(5)
    names = ["tank", *(f"n{i}" for i in range(1, 12))]
    ends = [(i, i + 1) for i in range(11)] + [(0, 4), (2, 7), (3, 11), (9, 1), (5, 10), (8, 6)]
    lengths = rng.uniform(0.3, 3.0, len(ends))
    parts = tuple(
        pipe(f"p{k}", names[a], names[b], float(lengths[k])) for k, (a, b) in enumerate(ends)
    )
    draws = rng.uniform(-1e-6, 3e-6, 12)
    network = lower_network(Line(parts=parts), drawn=names[1:])
    state = solve_drawn(
        network,
        {name: float(draw) for name, draw in zip(names[1:], draws[1:], strict=True)},
        fluid(0.0),
        tank_pressure_abs_pa=SEA_LEVEL,
    )
    conductance = np.pi * 0.008**4 / (128.0 * fluid(0.0).dynamic_viscosity_pa_s * lengths)
    incidence = np.zeros((len(ends), 12))
    for k, (a, b) in enumerate(ends):
        incidence[k, a], incidence[k, b] = 1.0, -1.0
    matrix = incidence.T @ np.diag(conductance) @ incidence
    pressures = np.zeros(12)
    pressures[1:] = np.linalg.solve(matrix[1:, 1:], -draws[1:])
    flows = conductance * (incidence @ pressures)

    assert [state.flow_m3_per_s[part.id] for part in parts] == pytest.approx(flows, rel=1e-9)
    assert [state.pressure_abs_pa[n] - SEA_LEVEL for n in names] == pytest.approx(
        pressures, rel=1e-9, abs=1e-7
    )


@pytest.mark.parametrize("led_back", [0.0, 0.3, 0.9, 1.0])
@pytest.mark.parametrize("running", [True, False])
@pytest.mark.parametrize("temperature_c", [-10.0, 40.0, 70.0])
def test_a_whole_circuit_balances_at_every_node(
    led_back: float, running: bool, temperature_c: float
) -> None:
    network = whole(running=running)
    state = solve(network, temperature_c, led_back)

    assert state.exists
    assert state.feed is not None
    returned = state.feed.return_m3_per_s
    drawn = {
        "inlet": state.feed.feed_m3_per_s,
        "return": -(1.0 - led_back) * returned,
        "head": -led_back * returned,
    }
    assert mass_residual(network, state, drawn) < 1e-10
    assert state.imbalance_fraction < 1e-10
    # What leaves the tank less what comes back is what the engine burns.
    left = state.flow_m3_per_s["strainer"] - state.flow_m3_per_s["holding_valve"]
    assert left == pytest.approx(state.feed.injected_m3_per_s, rel=1e-10)


def test_a_running_lift_pump_adds_what_its_curve_says() -> None:
    state = solve(whole())
    flow = state.flow_m3_per_s["lift_pump"]
    added = state.pressure_abs_pa["pump_out"] - state.pressure_abs_pa["pump_in"]

    assert added == pytest.approx(30e3 * (1.0 - (flow / 60e-6) ** 2), rel=1e-9)


@pytest.mark.parametrize("exponent", [1.0, 1.7, 2.0, 3.0])
def test_a_lift_pump_between_two_tees_meets_its_curve_for_any_exponent(exponent: float) -> None:
    pump = replace(lift_pump(), curve_exponent=exponent, from_node="tank", to_node="out")
    state = solve_drawn(
        lower_network(Line(parts=(pump,)), drawn=["out"]),
        {"out": 2e-5},
        fluid(),
        tank_pressure_abs_pa=SEA_LEVEL,
    )

    added = state.pressure_abs_pa["out"] - SEA_LEVEL
    assert added == pytest.approx(30e3 * (1.0 - (2e-5 / 60e-6) ** exponent), rel=1e-10)


def test_a_stopped_lift_pump_is_its_passive_resistance() -> None:
    state = solve(whole(running=False))
    flow = state.flow_m3_per_s["lift_pump"]
    lost = state.pressure_abs_pa["pump_in"] - state.pressure_abs_pa["pump_out"]

    assert lost == pytest.approx(fluid().density_kg_per_m3 * 6e9 * flow**2, rel=1e-9)
    assert state.feed is not None
    running = solve(whole()).feed
    assert running is not None
    assert state.feed.pressure_abs_pa < running.pressure_abs_pa


def test_a_stopped_lift_pump_stands_in_a_chain_and_a_running_one_is_refused_there() -> None:
    stopped = replace(lift_pump(running=False), from_node=None, to_node=None)

    assert lower_part(stopped).inertial_per_m4 == 6e9
    assert not needs_network(Line(parts=(stopped,)))
    with pytest.raises(InputError, match="lift_pump"):
        lower_part(replace(stopped, running=True))
    assert needs_network(Line(parts=(replace(stopped, running=True),)))


def test_a_reversed_check_valve_in_the_feed_line_is_named() -> None:
    parts = (pipe("hose", "tank", "a"), check("wrong_way", "inlet", "a"))
    state = solve_fed(
        lower_network(Line(parts=parts)), lower_pump(reference.pump_of("new")), fluid(), supply()
    )

    assert not state.exists
    assert [finding.place for finding in state.findings] == ["wrong_way"]
    assert "no fuel passes" in state.findings[0].message
    assert state.shut_valves == ("wrong_way",)


def test_a_reversed_check_valve_in_the_return_line_is_named() -> None:
    back = Line(parts=(pipe("return_hose", None, "a"), check("wrong_way", "tank", "a")))
    state = solve_fed(
        lower_network(feed_line(), back),
        lower_pump(reference.pump_of("new")),
        fluid(),
        supply(),
    )

    assert [finding.place for finding in state.findings] == ["wrong_way"]


def test_a_shut_valve_leaks_less_than_a_millionth_of_the_feed() -> None:
    parts = (*feed_line(running=False).parts, check("backflow", "join", "tank", 0.0))
    state = solve(lower_network(Line(parts=parts)), temperature_c=0.0)

    assert state.exists
    assert state.feed is not None
    pushed = state.pressure_abs_pa["tank"] - state.pressure_abs_pa["join"]
    assert "backflow" in state.shut_valves
    assert pushed > 1e3
    assert 0.0 < -state.flow_m3_per_s["backflow"] < 1e-6 * state.feed.feed_m3_per_s


def test_a_bypass_opens_at_its_cracking_pressure() -> None:
    """The pressure across the filters rises with cold until the bypass holds it."""
    shut, opened = solve(whole(), 40.0), solve(whole(bypass_cracking_pa=1e3), 0.0)
    across = {
        name: state.pressure_abs_pa["split"] - state.pressure_abs_pa["join"]
        for name, state in (("shut", shut), ("opened", opened))
    }

    assert "bypass" in shut.shut_valves
    assert across["shut"] < 20e3
    assert "bypass" in opened.open_valves
    assert opened.flow_m3_per_s["bypass"] > 1e-7
    flow = opened.flow_m3_per_s["bypass"]
    inertial = fluid(0.0).density_kg_per_m3 * 4e8 * flow**2
    assert across["opened"] == pytest.approx(1e3 + inertial, rel=1e-9)


def test_just_below_and_just_above_its_cracking_pressure_a_bypass_is_shut_and_open() -> None:
    never = solve(whole(bypass_cracking_pa=1e6))
    across = never.pressure_abs_pa["split"] - never.pressure_abs_pa["join"]

    above = solve(whole(bypass_cracking_pa=across * 1.0001))
    below = solve(whole(bypass_cracking_pa=across * 0.9999))

    assert "bypass" in above.shut_valves
    assert "bypass" in below.open_valves
    assert 0.0 < below.flow_m3_per_s["bypass"] < 1e-3 * never.flow_m3_per_s["strainer"]


@pytest.mark.parametrize("crack_pa", [0.0, 2e3])
def test_a_one_way_link_is_monotone_along_its_curve(crack_pa: float) -> None:
    network = lower_network(Line(parts=(check("c", "tank", "a", crack_pa),)), drawn=["a"])
    places = np.linspace(-5.0, 5.0, 2001)
    plan = network.plan
    row = plan.links[0]
    states = np.array([link_state(float(place), row, fluid()) for place in places])

    assert np.all(np.diff(states[:, 0]) >= 0.0)
    assert np.all(np.diff(states[:, 2]) > 0.0)
    assert np.all(states[:, [1, 3]] > 0.0)
    shut = states[places < 0.0]
    assert shut[:, 2] == pytest.approx(shut[:, 0] / LEAK_PA_S_PER_M3, abs=1e-18)


def test_a_holding_valve_in_the_return_holds_the_back_pressure() -> None:
    state = solve(whole())
    flow = state.flow_m3_per_s["holding_valve"]
    held = state.pressure_abs_pa["holding"] - state.pressure_abs_pa["tank"]

    assert held == pytest.approx(5e3 + fluid().density_kg_per_m3 * 4e8 * flow**2, rel=1e-9)
    assert state.pressure_abs_pa["return"] > state.pressure_abs_pa["holding"]


def test_a_warmer_return_line_holds_less_back_pressure() -> None:
    arguments = (whole(), lower_pump(reference.pump_of("new")), fluid(0.0), supply())
    cold = solve_fed(*arguments)
    warm = solve_fed(*arguments, return_fluid=fluid(60.0))

    assert warm.pressure_abs_pa["return"] < cold.pressure_abs_pa["return"] - 500.0
    assert warm.pressure_abs_pa["inlet"] == pytest.approx(cold.pressure_abs_pa["inlet"], rel=1e-12)


def test_led_back_return_spares_the_line_ahead_of_its_node() -> None:
    none, most = solve(whole(), 0.0, 0.0), solve(whole(), 0.0, 0.8)

    assert none.feed is not None
    assert most.feed is not None
    assert most.flow_m3_per_s["strainer"] < none.flow_m3_per_s["strainer"]
    assert most.flow_m3_per_s["hose_out"] > most.flow_m3_per_s["strainer"]
    assert most.feed.depression_pa < none.feed.depression_pa


@pytest.mark.parametrize(
    ("temperature_c", "share"),
    [(-20.0, 0.8), (10.0, 0.8), (30.0, 0.425), (50.0, 0.05), (80.0, 0.05)],
)
def test_the_thermostat_moves_linearly_between_its_temperatures(
    temperature_c: float, share: float
) -> None:
    assert RECIRCULATION.fraction_at(temperature_c + 273.15) == pytest.approx(share)


def test_height_of_a_node_changes_its_pressure_and_no_flow() -> None:
    arguments = (whole(), lower_pump(reference.pump_of("new")), fluid(), supply())
    level = solve_fed(*arguments)
    raised = solve_fed(*arguments, above_inlet_m={"head": 0.5})

    head = fluid().density_kg_per_m3 * 9.80665 * 0.5
    assert level.pressure_abs_pa["head"] - raised.pressure_abs_pa["head"] == pytest.approx(head)
    assert raised.flow_m3_per_s == level.flow_m3_per_s


def test_flow_through_a_part_named_the_other_way_round_has_the_other_sign() -> None:
    line = feed_line()
    turned = Line(
        parts=tuple(
            replace(part, from_node=part.to_node, to_node=part.from_node)
            if part.id == "filter_a"
            else part
            for part in line.parts
        )
    )
    one, other = solve(lower_network(line)), solve(lower_network(turned))

    assert other.flow_m3_per_s["filter_a"] == pytest.approx(-one.flow_m3_per_s["filter_a"])
    assert other.feed == pytest.approx(one.feed)


def test_many_speeds_in_one_call_equal_each_speed_alone() -> None:
    pump = lower_pump(reference.pump_of("new"))
    speeds = np.array([12.0, 20.0, 28.0])
    injected, backleak = speeds * 3e-7, speeds * 7e-8
    states = solve_speeds(whole(), pump, fluid(), supply(0.3), speeds, injected, backleak)

    for row, speed, burnt, leaked in zip(states, speeds, injected, backleak, strict=True):
        asked = supply(0.3)._replace(
            pump_speed_rev_per_s=speed, injected_m3_per_s=burnt, backleak_m3_per_s=leaked
        )
        one = solve_fed(whole(), pump, fluid(), asked)
        assert one.feed is not None
        assert tuple(row[:9]) == tuple(one.feed)
        assert row[9] == one.steps


def _messages(*parts: Part, recirculation: Recirculation | None = None) -> dict[str, str]:
    """Give what lowering says about parts, by place."""
    with pytest.raises(InputError) as caught:
        lower_network(Line(parts=parts), recirculation=recirculation)
    return {finding.place: finding.message for finding in caught.value.findings}


def test_all_mistakes_of_a_network_are_said_at_once() -> None:
    said = _messages(
        pipe("a", None, "x"),
        pipe("twin", "x", "inlet"),
        pipe("twin", "x", "inlet"),
        pipe("stub", "x", "nowhere"),
        pipe("island", "y", "z"),
        pipe("ring", "x", "x"),
        replace(lift_pump(), shut_off_pressure_pa=0.0, from_node="x", to_node="inlet"),
        recirculation=replace(RECIRCULATION, cold_fraction=1.2),
    )

    assert "2 parts have this id" in said["twin"]
    assert "dead end" in said["stub"]
    assert "no part joins to the tank" in said["island"]
    assert "begins and ends" in said["ring"]
    assert "shut-off pressure 0 Pa" in said["lift_pump"]
    assert "allowed are 0 to 1" in said["recirculation"]
    assert "is to draw fuel" in said["head"]


def test_a_line_that_never_reaches_the_pump_is_refused() -> None:
    assert (
        "nothing feeds the pump"
        in _messages(pipe("a", "tank", "b"), pipe("c", "b", "tank"))["line"]
    )


def test_more_nodes_than_the_solver_takes_are_refused() -> None:
    chain = [pipe(f"p{i}", f"n{i}", f"n{i + 1}") for i in range(45)]
    said = _messages(replace(chain[0], from_node="tank"), *chain[1:], pipe("end", "n45", "inlet"))

    assert "at most 40" in said["line"]


def test_parts_between_unnamed_nodes_are_one_link() -> None:
    parts: tuple[Part, ...] = (
        Pipe(id="a", length_m=1.0, bore_m=0.008),
        Pipe(id="b", length_m=2.0, bore_m=0.008),
        CheckValve(id="c", cracking_pressure_pa=1e3, inertial_per_m4=1e8, to_node="t"),
        Pipe(id="d", length_m=1.0, bore_m=0.006),
    )
    network = lower_network(Line(parts=parts))

    assert [[part.id for part in link.parts] for link in network.links] == [["a", "b", "c"], ["d"]]
    assert network.nodes == ("tank", "t", "inlet")
    assert list(network.plan.pipes[:, 1]) == [3.0, 1.0]


PLAIN = """
import json
from feedproof.core.compiled import engine
from tests.feedline.network_cases import solve, whole
state = solve(whole(bypass_cracking_pa=1e3), 0.0, 0.4)
print(json.dumps([engine(), state.steps, list(state.feed), state.flow_m3_per_s]))
"""


def test_the_plain_formulas_give_the_compiled_answer() -> None:
    ran = subprocess.run(
        [sys.executable, "-c", PLAIN],
        cwd=ROOT,
        env={
            **os.environ,
            "FEEDPROOF_PLAIN": "1",
            "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}",
        },
        capture_output=True,
        text=True,
        check=True,
    )
    engine, steps, feed, flows = json.loads(ran.stdout)
    state = solve(whole(bypass_cracking_pa=1e3), 0.0, 0.4)

    assert engine == "plain"
    assert steps == state.steps
    assert state.feed is not None
    assert feed == pytest.approx(tuple(state.feed), rel=1e-12)
    assert flows == pytest.approx(state.flow_m3_per_s, rel=1e-11)


def test_a_returning_pump_needs_no_return_line() -> None:
    """Without a described return line the return reaches the tank without loss."""
    alone = solve(lower_network(feed_line()))
    with_line = solve(lower_network(feed_line(), return_line()))

    assert alone.feed == pytest.approx(with_line.feed, rel=1e-12)
    assert "return" not in alone.pressure_abs_pa


def test_return_that_has_no_way_back_is_not_lost_in_silence() -> None:
    without = lower_network(feed_line(), return_line())

    with pytest.raises(InputError, match="no node for it"):
        solve(without, recirculated_fraction=0.3)
    with pytest.raises(InputError, match="not 0 to 1"):
        solve(whole(), recirculated_fraction=1.2)


def test_valves_among_which_whole_steps_run_in_a_circle_still_find_their_state() -> None:
    """A random circuit, reduced: without steps that end at a valve's corner it is not solved."""

    def lift(name: str, first: str, second: str, pressure_pa: float, flow: float, n: float) -> Part:
        return replace(
            lift_pump(),
            id=name,
            shut_off_pressure_pa=pressure_pa,
            free_flow_m3_per_s=flow,
            curve_exponent=n,
            from_node=first,
            to_node=second,
        )

    def fitting(name: str, first: str, second: str, bore_m: float, k1: float, k: float) -> Part:
        return Fitting(
            id=name,
            count=1,
            bore_m=bore_m,
            laminar_coefficient=k1,
            turbulent_coefficient=k,
            from_node=first,
            to_node=second,
        )

    element = Element(
        id="element",
        role="secondary",
        media_resistance_per_m=4.89e7,
        face_area_m2=0.0641,
        housing_inertial_per_m4=5.28e6,
        from_node="inlet",
        to_node="f",
    )
    stopped = replace(
        lift_pump(running=False), id="s", stopped_inertial_per_m4=2.71e9, from_node="f", to_node="g"
    )
    valves = [("v", "e", "g", 135.0, 1.22e7), ("w", "e", "f", 113.0, 1.79e8)]
    valves += [("x", "b", "e", 0.0, 7.99e8)]
    parts: tuple[Part, ...] = (
        fitting("a", "tank", "inlet", 0.011, 0.0, 0.97),
        fitting("b", "inlet", "b", 0.0146, 2000.0, 3.58),
        orifice("c", "tank", "e", 3.2e-3),
        element,
        stopped,
        lift("l", "c", "f", 2260.0, 2.26e-5, 2.73),
        lift("m", "inlet", "c", 4730.0, 1.38e-5, 2.08),
        *(
            replace(check(name, first, second, crack), inertial_per_m4=inertial)
            for name, first, second, crack, inertial in valves
        ),
    )
    network = lower_network(Line(parts=parts), drawn=["g"])
    state = solve(network, 70.0)

    assert state.findings == ()
    assert state.feed is not None
    assert mass_residual(network, state, {"inlet": state.feed.feed_m3_per_s}) < 1e-10
