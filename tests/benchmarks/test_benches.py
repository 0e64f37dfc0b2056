"""
The benchmarks' own sides agree, so that what they time is the same work.

Source of every check: the equations written out by hand in `benchmarks/`, with the turbulent
friction factor of the `fluids` library and the root finders of SciPy.
"""

import numpy as np
import pytest

from benchmarks import (
    envelope_grid,
    network_line,
    network_peers,
    series_line,
    series_peers,
    service_life,
    what_if,
)
from benchmarks.c_programs import compiler
from benchmarks.lines import CHAIN, TARGET
from benchmarks.liquids import DIESEL, WATER
from benchmarks.measure import Report, Side, time_side_by_side, timing_table
from benchmarks.tubes import crack_of, merged_tubes, tubes

LIQUIDS = (WATER[0], WATER[4], DIESEL[0], DIESEL[4])
# Laminar, between and turbulent in both liquids and bores.
FLOWS = np.linspace(0.6e-5, 9e-5, 12)
# As benchmarked; recirculating inside and half starved, so that its filling law matters.
PUMPS = {
    "timed": network_line.PUMP,
    "starved": network_line.PUMP._replace(topology=1, half_pressure_abs_pa=125e3),
}
needs_compiler = pytest.mark.skipif(compiler() is None, reason="no gcc")


@pytest.mark.parametrize("liquid", LIQUIDS, ids=lambda each: f"{each.kind} {each.temperature_c}")
def test_the_series_line_agrees_with_fluids_by_hand(liquid) -> None:
    by_hand = series_peers.by_hand_same_rule(CHAIN.parts)

    assert series_line.by_package(FLOWS, liquid) == pytest.approx(by_hand(FLOWS, liquid), rel=1e-10)


@pytest.mark.parametrize("form", [tubes, merged_tubes])
def test_parts_as_wide_laminar_pipes_lose_what_the_parts_lose(form) -> None:
    liquid, flow = DIESEL[0], 3e-5
    row = form(CHAIN.parts)
    velocities = [flow / (np.pi * tube.bore_m**2 / 4.0) for tube in row]
    # Hagen-Poiseuille, 64/Re: all is laminar in this cold liquid.
    lost = sum(
        64.0 * liquid.viscosity_m2_per_s / (v * tube.bore_m) * tube.length_m / tube.bore_m * v**2
        + tube.coefficient * v**2
        for v, tube in zip(velocities, row, strict=True)
    )
    lost = lost * liquid.density_kg_per_m3 / 2.0 + crack_of(row)

    # The short length of a tube without linear loss is all that may differ.
    by_hand = series_peers.by_hand_same_rule(CHAIN.parts)(np.array([flow]), liquid)[0]
    assert lost == pytest.approx(by_hand, rel=1e-9)


@pytest.mark.parametrize("pump", PUMPS.values(), ids=PUMPS)
@pytest.mark.parametrize("liquid", [WATER[2], DIESEL[2]], ids=["water", "diesel"])
def test_the_network_agrees_with_scipys_root(liquid, pump) -> None:
    asked = network_line.demands(6, seed=3)
    net = network_line.network()
    root = network_peers.scipy_root(net, pump, liquid, network_line.SUPPLY, TARGET)
    inlet = root(asked.speeds, asked.injected, asked.backleak)
    states = network_line.by_package(asked, liquid, pump)

    assert np.any(states[:, 5] < 1.0) == (pump is not network_line.PUMP)
    assert states[:, 1] == pytest.approx(network_line.SUPPLY.static_pa - inlet, rel=1e-7, abs=1e-3)


def test_the_envelope_agrees_with_fluids_and_brentq() -> None:
    indices, sample = envelope_grid.points(60, seed=5)
    envelopes = [envelope_grid.by_package(names) for names in envelope_grid.KITS]

    assert max(envelope_grid.greatest_difference(indices, sample, envelopes)) < 1e-8


@needs_compiler
@pytest.mark.parametrize("merged", [True, False])
def test_the_c_line_agrees(tmp_path, merged) -> None:
    solve = series_peers.c_program(CHAIN.parts, tmp_path, merged=merged)
    for liquid in LIQUIDS:
        ours = series_line.by_package(FLOWS, liquid)
        assert solve(FLOWS, liquid) == pytest.approx(ours, rel=1e-12)


@needs_compiler
@pytest.mark.parametrize("pump", PUMPS.values(), ids=PUMPS)
def test_the_c_network_takes_the_same_steps_to_the_same_states(tmp_path, pump) -> None:
    asked = network_line.demands(40, seed=4)
    liquid = DIESEL[2]
    net = network_line.network()
    twin = network_peers.c_program(net, pump, liquid, network_line.SUPPLY, tmp_path)
    ours = network_line.by_package(asked, liquid, pump)
    theirs = twin(asked.speeds, asked.injected, asked.backleak)

    # Speed of the step may round otherwise, so that the last step is one more or less.
    assert np.max(np.abs(theirs[:, 9] - ours[:, 9])) <= 1
    assert theirs[:, :9] == pytest.approx(ours[:, :9], rel=1e-9)


def test_a_side_whose_answers_change_stops_the_clock() -> None:
    answers = iter([1.0, 1.0, 1.1])
    side = Side(name="fickle", run=lambda: next(answers), points=1)

    with pytest.raises(RuntimeError, match="fickle"):
        time_side_by_side([side], repeats=2)


def test_a_missed_goal_is_told() -> None:
    report = Report()
    ours = Side(name="ours", run=lambda: float(np.arange(200_000).sum()), points=1)
    slow = Side(name="quick peer", run=lambda: 1.0, points=1, goal=100.0)
    timing_table(report, time_side_by_side([ours, slow], repeats=1))

    assert "MISSED" in report.lines[-1]


def test_service_life_agrees_with_the_integrator_and_with_the_closed_form_in_numpy() -> None:
    some = service_life.vehicles(3, seed=5)
    held = service_life.by_package(some).captured_kg

    assert (
        service_life.greatest_error(held[:1], service_life.by_scipy(service_life.first(some, 1)))
        < service_life.GOAL_ERROR
    )
    assert service_life.greatest_error(held, service_life.by_numpy(some)) < 1e-12


def test_what_if_answers_what_predict_does_and_draws_it() -> None:
    prepared = what_if.prepared_case(what_if.api.PACKAGED_DEMO)
    asked = what_if.questions(3, ranges=True)

    assert max(what_if.greatest_difference(prepared, each) for each in asked) < 1e-12
    assert len({repr(each) for each in asked}) == 3
    curves = what_if.curves_of(prepared.answer(asked[0]))
    # The peer draws the same three curves.
    assert what_if.by_converter(curves).count("mark-line role-mark") == 3
