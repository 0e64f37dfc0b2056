"""
Promise: a soaked vehicle warms as its heat balance says, and the moment it names is the right one.

Sources: the first law; SciPy's integrator over the same two stirred volumes; a linear balance by
hand; the circuit asked directly.  Heat capacities, walls and drive are invented (`ColdData`).
"""

import math
from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from feedproof.case.line import Line
from feedproof.case.parts import CheckValve, Cooler
from feedproof.core.errors import InputError
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.cold_data import GIVEN, ColdData, assumptions, tank_wall_m2
from feedproof.feedline.cold_line import cold_line
from feedproof.feedline.profile import wall_area_m2
from feedproof.feedline.rail import RailData
from feedproof.feedline.warming import ColdVehicle, warm_up
from feedproof.feedline.warming_result import WarmUp
from tests.feedline import reference
from tests.feedline.cold_cases import PULL_SPEEDS_REV_PER_S, cold, driven, vehicle

CASES = {
    "a chain": (False, -15.0, -15.0, ()),
    "a chain with two kits in milder air": (False, -15.0, -5.0, ("K1", "K2")),
    "a warm tank in cold air": (False, 15.0, -10.0, ()),
    "a thermostat": (True, -15.0, -15.0, ("K1", "K2")),
}


def asked(name: str, **others: object) -> ColdVehicle:
    """Soak one of the cases."""
    thermostat, soak, ambient, kits = CASES[name]
    return cold(vehicle(thermostat=thermostat), soak, *kits, ambient_c=ambient, **others)


# Heat.
def stored_j(found: WarmUp, place: int) -> float:
    """Give the heat in tank and filter above the air's temperature."""
    tank = found.fuel_kg[place] * found.specific_heat_j_per_kg_k
    return tank * (found.tank_k[place] - found.ambient_k) + found.filter_heat_j_per_k * (
        found.filter_k[place] - found.ambient_k
    )


@pytest.mark.parametrize("name", CASES)
def test_heat_put_in_is_heat_stored_lost_and_burnt_at_every_moment(name: str) -> None:
    found = driven(asked(name), duration_s=3600.0)

    assert found.put_in_j[-1] > 1e5
    for place in (1, 10, 90, found.time_s.size - 1):
        gone = found.lost_j[place] + found.burnt_j[place]
        gained = stored_j(found, place) - stored_j(found, 0)
        scale = abs(found.put_in_j[place]) + abs(found.lost_j[place])
        assert gained + gone - found.put_in_j[place] == pytest.approx(0.0, abs=1e-6 * scale)


class Model:
    """The same two volumes written down anew, asked by SciPy's integrator."""

    def __init__(self, what: ColdVehicle) -> None:
        self.what = what
        self.data = what.data
        body = what.vehicle
        parts = what.line.parts
        nodes = [part.to_node for part in parts]
        mixed = nodes.index("head") + 1 if body.recirculation else 0
        roles = [getattr(part, "role", "") for part in parts]
        filters = [p for p, role in enumerate(roles) if role not in ("", "strainer") and p >= mixed]
        first = mixed or filters[0]
        wall = [30.0 * wall_area_m2(part) for part in parts]
        self.ahead, self.behind = sum(wall[:first]), sum(wall[first:])
        self.home, self.tank = 30.0 * 0.12, 10.0 * 6.0 * body.tank.capacity_m3 ** (2.0 / 3.0)
        self.filter = 0.5 * len(filters)
        celsius = what.soak_k - 273.15 + 20.0
        fuel = what.fuel
        self.c = 1e3 * (1.685 + 0.0034 * celsius)
        self.c /= math.sqrt(fuel.density_15c_kg_per_m3 / 999.016)
        held = len(filters) * 0.4e-3 * self.density(what.soak_k)
        self.heat = 500.0 * len(filters) + held * self.c
        self.start_kg = self.density(what.soak_k) * 0.5 * body.tank.capacity_m3

    def density(self, kelvin: float) -> float:
        fuel = self.what.fuel
        return fuel.density_15c_kg_per_m3 * (1.0 - fuel.expansion_per_k * (kelvin - 288.15))

    def flows(self, tank: float, inlet: float, hot: float, kg: float) -> tuple[float, ...]:
        """Ask the circuit: feed, return, burnt [kg/s], share led back, power [W]."""
        body = self.what.vehicle
        at = replace(
            self.what.conditions,
            fuel_temperature_k=inlet,
            tank_fuel_temperature_k=tank,
            return_fuel_temperature_k=hot,
            fuel_level_fraction=kg / self.density(tank) / body.tank.capacity_m3,
        )
        circuit = build_circuit(body, self.what.line, self.what.fuel, at, self.what.rule)
        speed = 0.5 * body.engine.rated_speed_rev_per_s
        _, full = circuit.full_load(np.array([speed]))
        state = circuit.at(speed, 0.3 * float(full[0]))
        leaked = body.pump.backleak_rated_m3_per_s * 0.5
        power = 80e6 * leaked
        power += (1.0 / 0.85 - 1.0) * 80e6 * (leaked + state.injected_m3_per_s)
        power += body.pump.feed_pressure_regulated_pa * state.return_m3_per_s
        back = body.recirculation
        share = back.fraction_at(inlet) if back else 0.0
        density = self.density(inlet)
        return (
            density * state.feed_m3_per_s,
            density * state.return_m3_per_s,
            density * state.injected_m3_per_s,
            share,
            power,
        )

    def __call__(self, _: float, y: np.ndarray) -> list[float]:
        tank, filled, kg = y[:3]
        air = self.what.ambient_k
        inlet, hot = filled, filled
        for _ in range(4):
            feed, back, burnt, share, power = self.flows(tank, inlet, hot, kg)
            inlet = air + (filled - air) * math.exp(-self.behind / (feed * self.c))
            hot = inlet + power / (back * self.c)
        drawn, home = feed - share * back, (1.0 - share) * back
        arriving = air + (tank - air) * math.exp(-self.ahead / (drawn * self.c))
        returning = air + (hot - air) * math.exp(-self.home / (home * self.c))
        to_filter = self.c * (drawn * arriving + share * back * hot - feed * filled)
        to_filter -= self.filter * (filled - air)
        to_tank = self.c * home * (returning - tank) - self.tank * (tank - air)
        lost = self.tank * (tank - air) + self.filter * (filled - air)
        lost += self.c * (drawn * (tank - arriving) + feed * (filled - inlet))
        lost += self.c * home * (hot - returning)
        slopes = [to_tank / (kg * self.c), to_filter / self.heat, -burnt, power, lost]
        return [*slopes, burnt * self.c * (inlet - air)]


@pytest.mark.parametrize("name", CASES)
def test_the_drive_is_what_an_integrator_makes_of_the_same_equations(name: str) -> None:
    what = asked(name)
    model = Model(what)
    found = driven(what, duration_s=1800.0)
    start = [what.soak_k, what.soak_k, model.start_kg, 0.0, 0.0, 0.0]
    solved = solve_ivp(model, (0.0, 1800.0), start, rtol=1e-8, atol=1e-8, t_eval=[200.0, 1800.0]).y

    for column, place in ((0, 10), (1, -1)):
        assert found.tank_k[place] == pytest.approx(solved[0, column], abs=1e-3)
        assert found.filter_k[place] == pytest.approx(solved[1, column], abs=5e-3)
        assert found.fuel_kg[place] == pytest.approx(solved[2, column], rel=1e-6)
        assert found.put_in_j[place] == pytest.approx(solved[3, column], rel=1e-4)
        assert found.lost_j[place] == pytest.approx(solved[4, column], rel=1e-3, abs=20.0)
        assert found.burnt_j[place] == pytest.approx(solved[5, column], rel=1e-3, abs=20.0)


def test_half_the_step_changes_nothing_that_matters() -> None:
    whole = driven(asked("a thermostat"))
    half = driven(asked("a thermostat"), step_s=10.0)

    assert np.abs(half.filter_k[::2] - whole.filter_k).max() < 1e-3
    assert np.abs(half.full_load_depression_pa[::2] - whole.full_load_depression_pa).max() < 5.0


@pytest.mark.parametrize("thermostat", [False, True])
def test_the_error_of_a_step_falls_with_its_square(thermostat: bool) -> None:
    what = cold(vehicle(thermostat=thermostat), -15.0, "K1", "K2")
    runs = [driven(what, duration_s=960.0, step_s=step) for step in (60.0, 30.0, 15.0)]
    # Ten minutes on, in all three.
    tank, filled = (
        [float(found[10 * count]) for found, count in zip(each, (1, 2, 4), strict=True)]
        for each in ([run.tank_k for run in runs], [run.filter_k for run in runs])
    )
    for coarse, middle, fine in (tank, filled):
        assert (middle - coarse) / (fine - middle) == pytest.approx(4.0, abs=0.4)


def test_what_warms_by_itself_warms_without_turning_back() -> None:
    found = driven(asked("a chain"))

    for temperature in (found.tank_k, found.filter_k, found.inlet_k):
        assert np.all(np.diff(temperature) > 0.0)
    assert np.all(np.diff(found.wax_multiplier) < 0.0)
    assert np.all(found.return_k > found.inlet_k)
    assert np.all(np.diff(found.fuel_kg) < 0.0)


def test_a_warm_tank_in_cold_air_cools() -> None:
    found = driven(asked("a warm tank in cold air"))

    assert np.all(np.diff(found.tank_k) < 0.0)
    assert found.tank_k[-1] > found.ambient_k
    assert found.lost_j[-1] > found.put_in_j[-1]


def test_the_end_is_where_heat_in_is_heat_out_by_hand() -> None:
    """Hardly any fuel burnt, a day's drive: two linear balances, solved by substitution."""
    data = ColdData(drive_load_fraction=1e-9, heater_w=60.0)
    body = vehicle(tank=replace(vehicle().tank, capacity_m3=0.02))
    what = cold(body, -5.0, ambient_c=2.0, fuel="arctic", data=data)
    found = driven(what, duration_s=86400.0, step_s=120.0)
    walls = cold_line(body, what.line, data)

    inlet = found.inlet_k[-1]
    at = replace(
        what.conditions,
        fuel_temperature_k=inlet,
        tank_fuel_temperature_k=found.tank_k[-1],
        return_fuel_temperature_k=found.return_k[-1],
    )
    circuit = build_circuit(body, what.line, what.fuel, at, what.rule)
    speed = 0.5 * body.engine.rated_speed_rev_per_s
    state = circuit.at(speed, 0.0)
    carried = circuit.fluid.density_kg_per_m3 * state.feed_m3_per_s * found.specific_heat_j_per_kg_k
    power = 80e6 / 0.85 * circuit.backleak_m3_per_s(speed) + 6e5 * state.feed_m3_per_s
    ahead, behind, home = (
        math.exp(-each / carried)
        for each in (walls.ahead_w_per_k, walls.behind_w_per_k, walls.return_w_per_k)
    )
    # carried ahead x + heater = (carried + filter) y; carried home (behind y + rise) = (...) x
    rise = power / carried
    out = carried + walls.tank_w_per_k
    through = carried + walls.filter_w_per_k
    tank = carried * home * (behind * 60.0 / through + rise)
    tank /= out - carried * home * behind * carried * ahead / through
    filled = (carried * ahead * tank + 60.0) / through

    assert found.tank_k[-1] - found.ambient_k == pytest.approx(tank, abs=1e-3)
    assert found.filter_k[-1] - found.ambient_k == pytest.approx(filled, abs=1e-3)
    # All that is put in is lost by then.
    put_in, lost = (float(np.diff(each)[-1]) for each in (found.put_in_j, found.lost_j))
    assert lost == pytest.approx(put_in, rel=1e-5)


# What helps.
def wait_s(found: WarmUp) -> float:
    """Give the wait, without end where there is none."""
    return math.inf if found.holds_from_s is None else found.holds_from_s


def test_hotter_air_warms_faster() -> None:
    runs = [driven(cold(vehicle(), -12.0, "K1", "K2", ambient_c=air)) for air in (-12.0, 0.0, 15.0)]

    for cooler, warmer in pairwise(runs):
        assert np.all(warmer.tank_k[1:] > cooler.tank_k[1:])
        assert np.all(warmer.filter_k[1:] > cooler.filter_k[1:])
        assert wait_s(warmer) <= wait_s(cooler)


def test_return_led_back_shortens_the_wait_and_kits_lengthen_it() -> None:
    without = driven(cold(vehicle(), -15.0, "K1", "K2"))
    led_back = driven(cold(vehicle(thermostat=True), -15.0, "K1", "K2"))
    bare = driven(cold(vehicle(), -15.0))

    assert 600.0 < wait_s(without) < 3600.0
    assert wait_s(led_back) < 60.0
    assert wait_s(bare) < wait_s(without)
    assert np.all(led_back.led_back_fraction == 0.8)
    assert np.all(led_back.filter_k[1:] > without.filter_k[1:])
    # What is led back does not reach the tank.
    assert np.all(led_back.tank_k[1:] < without.tank_k[1:])


def test_a_heater_helps_and_a_cooler_hinders() -> None:
    plain = driven(cold(vehicle(), -15.0, "K1", "K2"))
    heated = driven(cold(vehicle(), -15.0, "K1", "K2", data=ColdData(heater_w=250.0)))
    cooler = Cooler(
        id="cooler", viscous_per_m3=0.0, inertial_per_m4=0.0, effectiveness_fraction=0.5
    )
    pipe = reference.part_of({"type": "pipe", "L": 4.8, "d": 0.008}, "return_pipe")
    cooled = driven(cold(vehicle(return_line=Line(parts=(pipe, cooler))), -15.0, "K1", "K2"))

    assert wait_s(heated) < wait_s(plain) < wait_s(cooled)
    assert heated.put_in_j[-1] - plain.put_in_j[-1] == pytest.approx(250.0 * 3600.0, rel=0.01)
    assert np.all(cooled.tank_k[1:] < plain.tank_k[1:])


def test_elements_ahead_of_the_warm_return_keep_the_tanks_wax() -> None:
    body = vehicle(thermostat=True)
    kit = reference.kit("K2")
    # The same fine element let in ahead of the primer, and so ahead of the node "head".
    moved = replace(
        kit, insertions=(replace(kit.insertions[0], place="primer_checks", side="before"),)
    )
    behind = driven(cold(body, -15.0, "K2"))
    ahead = driven(replace(cold(body, -15.0), line=body.line.with_kit(moved)))

    assert behind.ahead == ()
    assert ahead.ahead == ("K2_0",)
    assert ahead.warmed == ("oe_filter",)
    # Its media keep the tank's wax, though less fuel flows there while return is led back.
    assert ahead.wax_multiplier_tank[-1] > 1.3 > 1.0 == ahead.wax_multiplier[-1]
    assert any(
        "K2_0" in str(each) and "melts with the tank" in str(each) for each in ahead.findings
    )


# The moment that is named.
def test_the_moment_named_is_the_first_at_which_the_circuit_itself_holds() -> None:
    what = cold(vehicle(), -15.0, "K1", "K2")
    found = driven(what)
    limit = what.vehicle.pump.maker_limit_abs_pa
    place = int(np.searchsorted(found.time_s, found.holds_from_s))

    def least_pressure(moment: int) -> float:
        level = found.fuel_kg[moment] / 0.080
        level /= 828.0 * (1.0 - 8.3e-4 * (found.tank_k[moment] - 288.15))
        at = replace(
            what.conditions,
            fuel_temperature_k=float(found.inlet_k[moment]),
            tank_fuel_temperature_k=float(found.tank_k[moment]),
            return_fuel_temperature_k=float(found.return_k[moment]),
            fuel_level_fraction=float(level),
        )
        circuit = build_circuit(what.vehicle, what.line, what.fuel, at, what.rule)
        _, wanted = circuit.full_load(PULL_SPEEDS_REV_PER_S)
        return float(circuit.at_many(PULL_SPEEDS_REV_PER_S, wanted)[:, 2].min())

    assert found.time_s[place] == found.holds_from_s
    assert least_pressure(place) >= limit > least_pressure(place - 1)
    for moment in (0, place, -1):
        assert found.room_pa[moment] == pytest.approx(least_pressure(moment) - limit, abs=1e-3)
    assert f"{-found.room_pa[0] / 1e3:.1f} kPa below the limit" in found.reason


def test_never_within_the_hour_says_what_is_missing() -> None:
    found = driven(cold(vehicle(), -9.0, "K1", "K2", fuel="summer"))

    assert found.holds_from_s is None
    assert found.reason.startswith("Never within 60.0 min")
    assert f"{-found.room_pa[-1] / 1e3:.1f} kPa below the limit" in found.reason


def test_without_a_limit_no_moment_is_called_safe() -> None:
    body = vehicle()
    unknown = replace(body, pump=replace(body.pump, maker_limit_abs_pa=None))
    found = driven(cold(unknown, 0.0))

    assert found.holds_from_s is None
    assert found.reason.startswith("No limit known")
    assert "fed from 0.0 min" in found.reason
    assert np.all(np.isnan(found.room_pa))


def test_a_worn_pump_that_is_not_fed_does_not_hold_however_high_its_inlet_stands() -> None:
    body = vehicle("worn")
    thirsty = replace(body, pump=replace(body.pump, backleak_rated_m3_per_s=60 * reference.L_PER_H))
    found = driven(cold(thirsty, 10.0))

    assert np.all(found.room_pa > 0.0)
    assert found.holds_from_s is None
    assert "not fed" in found.reason


# Ends and errors.
def test_findings_tell_of_wax_of_the_plugging_point_and_of_the_engine_bay() -> None:
    mild = [str(each) for each in driven(cold(vehicle(), 5.0)).findings]
    waxed = [str(each) for each in driven(cold(vehicle(), -6.0, fuel="summer")).findings]
    plugged = [str(each) for each in driven(cold(vehicle(), -12.0, fuel="summer")).findings]

    assert len(mild) == 1
    assert "engine bay" in mild[0]
    assert any("screening figure only" in each and "CFPP" in each for each in waxed)
    assert not any("plugging point of" in each for each in waxed)
    assert any("plugging point of" in each for each in plugged)


def test_an_empty_tank_ends_the_drive() -> None:
    data = ColdData(drive_load_fraction=1.0, drive_speed_fraction=1.0)
    found = driven(cold(vehicle(), 5.0, level=0.05, data=data))

    assert found.time_s[-1] < 1000.0
    assert found.fuel_kg[-1] > 0.0
    assert any("tank is empty" in str(each) for each in found.findings)


def test_a_line_without_a_state_is_an_answer_and_names_its_part() -> None:
    body = vehicle(thermostat=True)
    valve = CheckValve(
        id="wrong_way",
        cracking_pressure_pa=1e3,
        inertial_per_m4=4e8,
        from_node="inlet",
        to_node="last",
    )
    parts = (*body.line.parts[:-1], replace(body.line.parts[-1], to_node="last"), valve)
    found = driven(replace(cold(body, -5.0), line=Line(parts=parts)))

    assert found.holds_from_s is None
    assert np.all(np.isnan(found.depression_pa))
    assert "no state" in found.reason
    assert any(each.place == "wrong_way" for each in found.findings)
    # Nothing flows, so nothing warms.
    assert found.tank_k == pytest.approx(np.full(found.tank_k.size, 268.15), abs=1e-9)


def test_a_line_without_a_filter_has_nothing_to_wait_for() -> None:
    body = vehicle()
    bare = tuple(part for part in body.line.parts if part.id != "oe_filter")
    with pytest.raises(InputError, match="no filter element"):
        driven(replace(cold(body, -5.0), line=Line(parts=bare)))


def test_a_pull_beyond_the_engines_curve_is_refused_before_the_drive() -> None:
    with pytest.raises(InputError, match="full-load curve"):
        warm_up(cold(vehicle(), -5.0), np.array([100.0]))


# Figures that no case says.
def test_every_figure_is_listed_with_its_standing_and_a_given_one_says_so() -> None:
    names = {each.name for each in fields(ColdData)} | {each.name for each in fields(RailData)}
    usual = assumptions(ColdData())
    given = {each.name: each for each in assumptions(ColdData(heater_w=150.0))}

    assert {each.name for each in usual} == names - {"rail"}
    assert all(each.standing and each.meaning and each.unit for each in usual)
    assert not any(each.standing == GIVEN for each in usual)
    assert given["heater_w"].standing == GIVEN
    assert given["heater_w"].value == 150.0
    assert given["volume_m3"].standing != GIVEN


def test_the_tanks_wall_is_that_of_a_cube() -> None:
    assert tank_wall_m2(vehicle()) == pytest.approx(6.0 * (0.08 ** (1.0 / 3.0)) ** 2)
