"""
Promise: a cold start that is not fed is an answer, and what it says is what the line gives.

Sources: the circuit asked directly; the flow balance; dp/dt = K Q/V.  Start quantities are common
practice, the high-pressure pump's intake is from memory.
"""

import math
from dataclasses import replace

import pytest

from feedproof.case.line import Line
from feedproof.case.parts import CheckValve
from feedproof.feedline.cold_data import ColdData
from feedproof.feedline.cranking import cold_start
from tests.feedline import reference
from tests.feedline.cold_cases import cold, vehicle
from tests.feedline.invariant_cases import PUMPS

L_PER_H = reference.L_PER_H
CRANKING = 200.0 / 60.0


@pytest.mark.parametrize("kits", [(), ("K1", "K2")])
@pytest.mark.parametrize("pump", PUMPS)
def test_every_reference_pump_is_fed_at_200_rpm_and_10_degrees_of_frost(
    pump: str, kits: tuple[str, ...]
) -> None:
    found = cold_start(cold(vehicle(pump), -10.0, *kits))
    feed = reference.circuit(
        *kits,
        pump=pump,
        rule="blend_colebrook",
        at=reference.conditions(-10.0, fuel="winter", fuel_level_fraction=0.5),
    )
    state = feed.at(CRANKING, found.cranking.wanted_m3_per_s)

    assert found.cranking.engine_speed_rev_per_s == pytest.approx(CRANKING)
    # 80 mm3 per litre swept and injection: 60 mm3 in each of four cylinders, 1.44 L/h at 200 rpm.
    assert found.cranking.wanted_m3_per_s == pytest.approx(4 * 60e-9 * CRANKING / 2, rel=1e-12)
    for name in ("feed_m3_per_s", "depression_pa", "pressure_abs_pa", "feed_pressure_ratio"):
        assert getattr(found.cranking, name) == pytest.approx(getattr(state, name), rel=1e-12)
    assert found.cranking.is_fed
    assert found.idle.is_fed
    assert found.cranking.room_pa == pytest.approx(state.pressure_abs_pa - 50500.0, rel=1e-12)
    # Back-leak and start quantity are covered by what is drawn.
    covered = found.cranking.backleak_m3_per_s + found.cranking.wanted_m3_per_s
    assert state.feed_m3_per_s >= covered * (1.0 - 1e-9)
    assert "Cranking is fed" in found.text
    # Even the worn pump gives the rail all that the high-pressure pump takes: 0.7 s.
    assert found.build_up_s == pytest.approx(0.698, abs=2e-3)


def test_the_rail_builds_up_with_the_intake_less_the_back_leak() -> None:
    found = cold_start(cold(vehicle(), -10.0))
    intake = 0.4e-6 * CRANKING * 0.5
    leaked = 9.5 * L_PER_H * 200.0 / 3400.0

    assert found.cranking.backleak_m3_per_s == pytest.approx(leaked, rel=1e-12)
    assert found.rail_flow_m3_per_s == pytest.approx(intake - leaked, rel=1e-9)
    assert found.build_up_s == pytest.approx(20e6 * 25e-6 / 1.4e9 / (intake - leaked), rel=1e-9)
    assert found.fill_s == pytest.approx(25e-6 / (intake - leaked), rel=1e-9)


def test_a_worn_pump_in_stiff_fuel_starves_the_idle_and_says_how_fast_the_rail_falls() -> None:
    found = cold_start(cold(vehicle("worn"), -25.0, fuel="summer"))
    idle = found.idle

    assert idle.has_state
    assert math.isfinite(idle.depression_pa)
    assert not idle.is_fed
    assert idle.rail.shortfall_m3_per_s == pytest.approx(
        idle.wanted_m3_per_s - max(idle.feed_m3_per_s - idle.backleak_m3_per_s, 0.0),
        rel=1e-6,
    )
    assert idle.rail.fall_rate_pa_per_s == pytest.approx(
        1.4e9 / 25e-6 * idle.rail.shortfall_m3_per_s, rel=1e-9
    )
    assert "Idle is starved" in found.text
    assert "11 MPa after" in found.text


def test_a_cranking_that_is_starved_is_a_result() -> None:
    # Worn injectors: at cranking speed they leak all that the pump takes in.
    body = vehicle("worn")
    leaking = replace(body, pump=replace(body.pump, backleak_rated_m3_per_s=250 * L_PER_H))
    found = cold_start(cold(leaking, -10.0))

    assert not found.cranking.is_fed
    assert found.cranking.rail.delivered_m3_per_s < found.cranking.wanted_m3_per_s
    assert found.cranking.has_state
    assert found.cranking.feed_pressure_ratio == 0.0
    assert found.rail_flow_m3_per_s == 0.0
    assert found.build_up_s == math.inf
    assert found.fill_s == math.inf
    assert "Cranking is starved" in found.text
    assert any("never reaches its starting pressure" in str(each) for each in found.findings)


def test_a_slow_rail_is_told_to_the_starter() -> None:
    data = ColdData(high_pressure_m3_per_rev=0.1e-6)
    found = cold_start(cold(vehicle(), -10.0, data=data))

    # 0.1 cm3 a revolution is 0.60 L/h, of which 0.56 leak back.
    assert found.build_up_s > 10.0
    assert any("starter" in str(each) for each in found.findings)


def test_an_inlet_below_the_limit_is_said() -> None:
    found = cold_start(cold(vehicle(), -25.0, fuel="summer"))

    assert found.cranking.is_fed
    assert found.cranking.room_pa is not None
    assert found.cranking.room_pa < 0.0
    assert f"{-found.cranking.room_pa / 1e3:.1f} kPa below the maker's limit" in found.text


def test_without_a_limit_there_is_no_room() -> None:
    body = vehicle()
    unknown = replace(body, pump=replace(body.pump, maker_limit_abs_pa=None))
    assert cold_start(cold(unknown, -10.0)).cranking.room_pa is None


def test_a_line_without_a_state_is_an_answer() -> None:
    body = vehicle(thermostat=True)
    valve = CheckValve(
        id="wrong_way",
        cracking_pressure_pa=1e3,
        inertial_per_m4=4e8,
        from_node="inlet",
        to_node="last",
    )
    parts = (*body.line.parts[:-1], replace(body.line.parts[-1], to_node="last"), valve)
    found = cold_start(replace(cold(body, -5.0), line=Line(parts=parts)))

    assert not found.cranking.has_state
    assert math.isnan(found.cranking.depression_pa)
    assert not found.cranking.is_fed
    assert found.cranking.room_pa is None
    assert found.build_up_s == math.inf
    assert "no steady state" in found.text
    assert any(each.place == "wrong_way" for each in found.findings)
