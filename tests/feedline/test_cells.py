"""
A marched chain: soft hoses, leaks, gas that takes its time, a line that warms.

Outside checks: closed forms of laminar flow, SciPy's ODE solver, Henry and Boyle.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from feedproof.case.conditions import Conditions
from feedproof.case.line import Line
from feedproof.case.parts import AirHole, Element, Part, Pipe
from feedproof.case.vehicle import Vehicle
from feedproof.feedline.chain_circuit import ChainCircuit
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.line_loss import line_loss, marched_end
from feedproof.feedline.pump_state import FeedState
from feedproof.feedline.staircase import staircase
from feedproof.physics.hose import narrowed_bore
from tests.feedline.reference import at_138, conditions, fuel_of, vehicle

RATED = 3407.0 / 60.0
INJECTED = 9.2e-6


def chain(*parts: Part, at: Conditions | None = None, **pump: float) -> ChainCircuit:
    """Make the circuit of a chain on the reference vehicle."""
    body = vehicle()
    body = replace(body, pump=replace(body.pump, **pump))
    return lowered(body, Line(parts=parts), at or conditions())


def lowered(body: Vehicle, line: Line, at: Conditions) -> ChainCircuit:
    """Lower a line that is a chain."""
    made = build_circuit(body, line, fuel_of(at.fuel), at, "blend_colebrook")
    assert isinstance(made, ChainCircuit)
    return made


def hose(**soft: float) -> Pipe:
    """Make a hose."""
    return Pipe(id="hose", length_m=1.5, bore_m=0.008, **soft)


def test_a_march_without_any_effect_is_the_sum() -> None:
    body = vehicle()
    summed = lowered(body, body.line, conditions(20.0))
    parts = (*body.line.parts, AirHole(id="hole", hole_diameter_m=0.0))
    marched = lowered(body, Line(parts=parts), conditions(20.0))

    assert not summed.cells_of_part
    assert marched.cells_of_part
    assert at_138(marched) == pytest.approx(at_138(summed), rel=1e-9)


def test_a_soft_hose_is_firm_below_its_depression_and_narrow_beyond_it() -> None:
    firm = chain(hose())
    soft = chain(hose(collapse_depression_pa=60e3))
    narrow = chain(
        hose(collapse_depression_pa=0.0, collapse_span_pa=1.0, collapsed_bore_fraction=0.6)
    )
    small = chain(replace(hose(), bore_m=0.6 * 0.008))

    assert soft.at(RATED, INJECTED) == pytest.approx(firm.at(RATED, INJECTED), rel=1e-9)
    assert narrow.at(RATED, INJECTED) == pytest.approx(small.at(RATED, INJECTED), rel=1e-9)


@given(depression=st.floats(0.0, 9e4), start=st.floats(0.0, 5e4), span=st.floats(0.0, 3e4))
def test_the_bore_only_ever_falls_and_never_below_what_is_left(depression, start, span) -> None:
    bore = narrowed_bore(0.008, depression, start, span, 0.5)

    assert 0.004 <= bore <= 0.008
    assert narrowed_bore(0.008, depression + 1e3, start, span, 0.5) <= bore


def test_a_collapsing_hose_makes_a_knee_in_the_sweep() -> None:
    at = conditions(0.0)
    speeds = np.linspace(20.0, 60.0, 81)
    wanted = np.full(speeds.size, INJECTED)
    soft = hose(collapse_depression_pa=6e3, collapse_span_pa=3e3, collapsed_bore_fraction=0.5)
    knee = np.diff(chain(soft, at=at).at_many(speeds, wanted)[:, 1])
    even = np.diff(chain(hose(), at=at).at_many(speeds, wanted)[:, 1])

    assert np.all(knee > 0.0)
    assert even.max() < 1.2 * even.min()
    assert knee.max() > 3.0 * knee.min()


def test_finer_cells_change_little_of_the_hose(monkeypatch: pytest.MonkeyPatch) -> None:
    soft = hose(collapse_depression_pa=4e3, collapse_span_pa=4e3, collapsed_bore_fraction=0.6)
    before = chain(soft).at(RATED, INJECTED).depression_pa
    monkeypatch.setattr("feedproof.feedline.cells.SOFT_CELLS", 32)
    after = chain(soft).at(RATED, INJECTED).depression_pa
    own = chain(soft).steps(chain(soft).at(RATED, INJECTED))[0].loss_pa

    assert before != after
    assert abs(after - before) < 0.03 * own


def test_air_drawn_by_a_small_hole_is_that_of_the_worked_figures() -> None:
    """A 0.1 mm hole at 17 kPa lets in 2.9 L/h of air (computed for the reference vehicle)."""
    body = vehicle()
    leak = AirHole(id="leak", hole_diameter_m=1e-4)
    at = conditions(40.0)
    made = lowered(body, Line(parts=(hose(), leak)), at)
    around = made.around._replace(static_pa=17e3, air_temperature_k=288.15)
    depression, gas = marched_end(133e-3 / 3600, made.plan, around, made.pump, made.fluid, 0)
    none, released = marched_end(
        133e-3 / 3600,
        lowered(body, Line(parts=(hose(),)), at).plan._replace(cells=made.plan.cells[:4]),
        around,
        made.pump,
        made.fluid,
        0,
    )

    assert depression == pytest.approx(none)
    air = (gas - released) / around.ambient_abs_pa * 133.0
    assert air == pytest.approx(2.9 * math.sqrt(depression / 17e3), rel=0.03)


@pytest.mark.parametrize("diameter_mm", [0.05, 0.1, 0.2, 0.3, 0.5, 3.0])
def test_a_leak_takes_feed_and_return_and_lowers_the_depression(diameter_mm: float) -> None:
    sound = chain(hose()).at(RATED, INJECTED)
    leaky = chain(hose(), AirHole(id="leak", hole_diameter_m=diameter_mm * 1e-3)).at(
        RATED, INJECTED
    )

    assert all(math.isfinite(value) for value in leaky)
    assert leaky.feed_m3_per_s < sound.feed_m3_per_s
    assert leaky.depression_pa < sound.depression_pa
    assert leaky.return_m3_per_s < sound.return_m3_per_s
    assert leaky.free_gas_fraction > sound.free_gas_fraction


def test_no_air_is_drawn_where_the_line_stands_above_ambient() -> None:
    at = conditions(fuel_level_fraction=1.0)
    body = vehicle()
    high = replace(body.tank, inlet_above_full_m=-3.0, inlet_above_empty_m=-2.0)
    body = replace(body, tank=high)
    leak = AirHole(id="leak", hole_diameter_m=5e-4)

    assert lowered(body, Line(parts=(leak, hose())), at).at(RATED, INJECTED) == pytest.approx(
        lowered(body, Line(parts=(hose(),)), at).at(RATED, INJECTED), rel=1e-9
    )


def test_gas_release_is_the_ordinary_differential_equation() -> None:
    """SciPy integrates dg/dt = (L (ps - p) - g)/tau along one pipe; it agrees to 1 in 1000."""
    tau, flow = 2.0, 133e-3 / 3600
    pipe = Pipe(id="pipe", length_m=6.0, bore_m=0.010)
    made = chain(pipe, gas_release_time_s=tau)
    depression, gas = marched_end(flow, made.plan, made.around, made.pump, made.fluid, 0)
    volume = math.pi / 4 * pipe.bore_m**2 * pipe.length_m
    loss = depression - made.around.static_pa

    def rate(v: float, g: np.ndarray) -> np.ndarray:
        pressure = made.around.ambient_abs_pa - made.around.static_pa - loss * v / volume
        full = made.fluid.ostwald_air * max(made.around.saturation_abs_pa - pressure, 0.0)
        return (full - g) / tau / (flow * (1.0 + g / pressure))

    exact = solve_ivp(rate, (0.0, volume), [0.0], rtol=1e-9, atol=1e-9).y[0, -1]

    assert gas == pytest.approx(exact, rel=1e-3)


def test_slow_fuel_has_more_time_to_give_up_its_air() -> None:
    parts = (
        hose(),
        Element(
            id="bowl",
            role="factory",
            media_resistance_per_m=1e9,
            face_area_m2=0.4,
            housing_inertial_per_m4=4e8,
            volume_m3=4e-4,
        ),
        hose_after(),
    )
    shares = []
    for speed in (15.0, 30.0, 60.0):
        made = chain(*parts, gas_release_time_s=8.0)
        state = made.at(speed, 3e-6)
        gas = state.free_gas_fraction / (1 - state.free_gas_fraction) * state.pressure_abs_pa
        full = made.fluid.ostwald_air * (made.saturation_abs_pa - state.pressure_abs_pa)
        shares.append(gas / full)

    assert 1.0 > shares[0] > shares[1] > shares[2] > 0.0


def hose_after() -> Pipe:
    """Make a second hose."""
    return Pipe(id="after", length_m=0.5, bore_m=0.008)


@pytest.mark.parametrize(("tau", "share"), [(1e-6, 1.0), (1e9, 0.0)])
def test_release_at_once_is_equilibrium_and_never_is_none(tau: float, share: float) -> None:
    slow = chain(hose(), gas_release_time_s=tau).at(RATED, INJECTED)
    fixed = chain(hose(), gas_release_fraction=share).at(RATED, INJECTED)

    assert slow == pytest.approx(fixed, rel=1e-6, abs=1e-9)


def test_a_line_that_warms_costs_what_its_two_halves_cost() -> None:
    """Hagen-Poiseuille with the viscosity in the middle of each half, and mass kept."""
    body = vehicle()
    halves = tuple(Pipe(id=name, length_m=4.0, bore_m=0.008) for name in ("a", "b"))
    at = conditions(40.0, tank_fuel_temperature_k=273.15)
    made = lowered(body, Line(parts=halves), at)
    flow = 2e-5
    depression, _ = marched_end(flow, made.plan, made.around, made.pump, made.fluid, 0)
    expected = 0.0
    for temperature_c in (10.0, 30.0):
        one = lowered(body, Line(parts=halves[:1]), conditions(temperature_c))
        local = flow * made.fluid.density_kg_per_m3 / one.fluid.density_kg_per_m3
        expected += 128 * one.fluid.dynamic_viscosity_pa_s * 4.0 * local / (math.pi * 0.008**4)

    assert depression - made.static_pa == pytest.approx(expected, rel=1e-9)


def test_the_same_temperature_at_both_ends_is_the_summed_chain() -> None:
    body = vehicle()
    same = conditions(20.0, tank_fuel_temperature_k=293.15)

    assert not lowered(body, body.line, same).cells_of_part


def test_the_staircase_of_a_marched_line_ends_at_the_pump() -> None:
    body = vehicle()
    soft = tuple(
        replace(part, collapse_depression_pa=5e3, collapse_span_pa=5e3)
        if isinstance(part, Pipe) and part.id == "rubber_hoses"
        else part
        for part in body.line.parts
    )
    assert soft != body.line.parts, [part.id for part in body.line.parts]
    made = lowered(body, Line(parts=soft), conditions(20.0, tank_fuel_temperature_k=283.15))
    state = at_138(made)
    laid = staircase(made, state, RATED, "baseline", {})

    assert laid.steps[-1].depression_after_pa == pytest.approx(state.depression_pa, rel=1e-8)


@settings(max_examples=60, deadline=None)
@given(
    temperature=st.floats(-20.0, 70.0),
    tank=st.floats(-30.0, 70.0),
    start=st.floats(0.0, 6e4),
    span=st.floats(0.0, 5e4),
    left=st.floats(0.05, 1.0),
    hole=st.floats(0.0, 5e-3),
    tau=st.one_of(st.none(), st.floats(0.0, 100.0)),
    speed=st.floats(1.0, 65.0),
)
def test_a_wild_march_is_a_state_and_balances(
    temperature, tank, start, span, left, hole, tau, speed
) -> None:
    made = chain(
        hose(collapse_depression_pa=start, collapse_span_pa=span, collapsed_bore_fraction=left),
        AirHole(id="leak", hole_diameter_m=hole),
        hose_after(),
        at=conditions(temperature, tank_fuel_temperature_k=tank + 273.15),
        gas_release_time_s=tau,
    )
    state: FeedState = made.at(speed, INJECTED)

    assert not any(math.isnan(value) for value in state)
    assert state.feed_m3_per_s == pytest.approx(
        state.injected_m3_per_s + state.return_m3_per_s, rel=1e-12
    )


def test_the_vapour_margin_is_pressure_less_vapour_less_port() -> None:
    made = chain(hose())
    state = made.at(RATED, INJECTED)
    pump_speed = RATED * made.vehicle.pump.speed_ratio
    port = made.pump.port_loss_pa * (pump_speed / made.pump.port_loss_speed_rev_per_s) ** 2

    assert made.vapour_margin_pa(state, RATED) == pytest.approx(
        state.pressure_abs_pa - made.fluid.vapour_pressure_abs_pa - port
    )


def test_a_cap_valve_holds_the_tank_below_ambient() -> None:
    body = vehicle()
    capped = replace(body, tank=replace(body.tank, cap_valve_pa=3e3))
    open_tank = at_138(lowered(body, body.line, conditions(tank_depression_pa=3e3)))

    assert at_138(lowered(capped, body.line, conditions())) == pytest.approx(open_tank, rel=1e-12)


def test_a_return_line_presses_back() -> None:
    body = vehicle()
    back = Pipe(id="back", length_m=5.0, bore_m=0.006)
    made = lowered(replace(body, return_line=Line(parts=(back,))), body.line, conditions())
    state = at_138(made)
    alone = lowered(body, Line(parts=(back,)), conditions())

    assert made.back_pressure_pa(state) == pytest.approx(
        line_loss(state.return_m3_per_s, alone.plan, made.fluid, made.rule)
    )
    assert lowered(body, body.line, conditions()).back_pressure_pa(state) == 0.0
