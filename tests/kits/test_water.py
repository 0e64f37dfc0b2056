"""
Promise: water is neither made nor lost between the delivery and the pump.

Outside checks: a balance by hand, exponentials by hand from the published pair of solubilities,
Stokes' speed at the cut size, distances by division, conservation and monotony under random input.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.case.conditions import Conditions
from feedproof.case.line import Line
from feedproof.case.parts import Element, LiftPump, Part
from feedproof.case.supply import Separator
from feedproof.core.errors import InputError
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.pump_state import FeedState
from feedproof.kits.water import WaterQuestion, cooling_release, water_of
from feedproof.kits.water_balance import Caught, Temperatures, balance
from feedproof.kits.water_ranges import Range, SolubilityGrid, ester_of
from feedproof.kits.water_result import WaterResult
from feedproof.kits.water_separators import caught_by, uses
from feedproof.physics.settling import stokes_settling_speed
from tests.feedline.reference import circuit, conditions, fuel_of, vehicle
from tests.feedline.test_network_circuit import INJECTED, RATED, branched, network
from tests.kits.test_service import DUTY, SUPPLY

PLAIN = Range(low=0.0, typical=0.0, high=0.0)
BIO = Range(low=0.2, typical=0.2, high=0.2)
SEPARATOR = Separator(
    efficiency_fraction=0.95,
    droplet_m=60e-6,
    flow_m3_per_s=150e-3 / 3600.0,
    side="suction",
    bowl_m3=150e-6,
    sensor_m3=100e-6,
    source="invented",
)
TEMPERATURES = Temperatures(delivery_k=288.15, tank_k=288.15, filter_k=288.15, behind_k=288.15)
shares = st.floats(0.0, 1.0)
celsius = st.floats(-10.0, 60.0)


def line_with(
    *separators: Separator | None, ahead: tuple[Part, ...] = (), at: Conditions | None = None
) -> FeedCircuit:
    """Make the reference vehicle's line, its factory filter and a primary with separators."""
    body = vehicle()
    feed = circuit("K1")
    own = dict(zip(("K1_0", "oe_filter"), separators, strict=False))
    parts = tuple(
        replace(part, separator=own.get(part.id)) if isinstance(part, Element) else part
        for part in feed.line.parts
    )
    return build_circuit(
        body, Line(parts=(*ahead, *parts)), fuel_of("summer"), at or conditions(), "blend_blasius"
    )


def asked(**others: object) -> WaterQuestion:
    """Ask about an 80 L tank, three quarters of it burnt between fillings."""
    given = {
        "supply": replace(SUPPLY, free_water_fraction=200e-6, dissolved_saturation_fraction=1.0),
        "duty": DUTY,
        "capacity_m3": 0.08,
        "fuel_density_kg_per_m3": 838.0,
        "ester_fraction": PLAIN,
        "temperatures": TEMPERATURES,
        **others,
    }
    return WaterQuestion(**given)  # type: ignore[arg-type]


def followed(feed: FeedCircuit, **others: object) -> WaterResult:
    """Follow water at the rated point."""
    return water_of(feed, {"full load": feed.at(RATED, INJECTED)}, asked(**others))


@settings(max_examples=80, deadline=None)
@given(
    free=st.floats(0.0, 2e-3),
    saturation=shares,
    drawn=shares,
    first=shares,
    second=shares,
    haze=shares,
    warmth=st.tuples(celsius, celsius, celsius, celsius),
    ester=st.sampled_from([0.0, 0.07, 1.0]),
)
def test_all_that_is_delivered_settles_is_caught_or_reaches_the_pump(
    free: float,
    saturation: float,
    drawn: float,
    first: float,
    second: float,
    haze: float,
    warmth: tuple[float, float, float, float],
    ester: float,
) -> None:
    names = ("delivery_k", "tank_k", "filter_k", "behind_k")
    found = balance(
        solubility=SolubilityGrid(Range(low=ester, typical=ester, high=ester)),
        temperatures=Temperatures(
            **dict(zip(names, (each + 273.15 for each in warmth), strict=True))
        ),
        saturation_fraction=saturation,
        free_fraction=free,
        drawn_fraction=drawn,
        caught=Caught(
            elements=("one", "other"),
            coarse=np.array([[first] * 3, [(1.0 - first) * second] * 3]),
            haze=np.array([[haze] * 3, [0.0] * 3]),
        ),
    )
    delivered = found.dissolved_delivered + found.free_delivered
    ends = (
        found.settled
        + found.caught.sum(axis=0)
        + found.pump_free
        + found.falls_out
        + found.stays_dissolved
    )
    # To 1e-12 of what the fuel of a wet delivery holds; nothing is below nothing.
    assert np.all(np.abs(ends - delivered) <= 1e-12 * np.maximum(delivered, 1e-6))
    every = (*found.caught, found.settled, found.pump_free, found.falls_out, found.stays_dissolved)
    assert min(float(each.min()) for each in every) >= -1e-18


def test_a_fill_adds_up_in_the_typical_column() -> None:
    fill = followed(line_with(SEPARATOR, SEPARATOR)).fill
    ends = [fill.settled, fill.carried_over, fill.falls_out, fill.stays_dissolved]
    ends += [caught for _, caught in fill.caught]
    came = fill.dissolved_delivered.typical + fill.free_delivered.typical
    assert sum(each.typical for each in ends) == pytest.approx(came, rel=1e-12)


def test_a_saturated_tank_that_cools_lets_go_what_two_exponentials_say() -> None:
    # By hand: 80 L x 0.838 kg/L x 50 mg/kg x (e^1.2 - 1) = 7.8 g; common practice: about 7 mL.
    found = cooling_release(0.08, 838.0, PLAIN, 333.15, 293.15)
    by_hand = 0.08 * 838.0 * 50e-6 * (math.exp(0.03 * 40.0) - 1.0) / 998.0
    assert found.typical == pytest.approx(by_hand, rel=1e-9)
    assert 6e-6 < found.typical < 9e-6
    assert found.low < 0.6 * found.typical
    assert found.high > 2.0 * found.typical
    assert cooling_release(0.08, 838.0, PLAIN, 293.15, 333.15).high == 0.0


def test_water_delivered_in_a_year_is_what_a_multiplication_says() -> None:
    # 12 L/100 km over 20 000 km are 2400 L, 0.838 kg each, with 200 mg/kg of free water.
    found = followed(line_with(SEPARATOR))
    assert found.fills_per_year == pytest.approx(2400.0 / 60.0)
    assert found.year.free_delivered.typical == pytest.approx(
        2.4 * 838.0 * 200e-6 / 998.0, rel=1e-12
    )


def test_ester_lets_more_water_pass_and_it_falls_out_behind_the_filter() -> None:
    # Published pair: ester 1500 mg/kg at 10 degC, 1980 at 50: one fifth of it adds its share.
    cooling = Temperatures(delivery_k=323.15, tank_k=323.15, filter_k=323.15, behind_k=283.15)
    feed = line_with(SEPARATOR)
    dry = replace(SUPPLY, free_water_fraction=0.0, dissolved_saturation_fraction=1.0)
    plain = followed(feed, temperatures=cooling, supply=dry).fill
    bio = followed(feed, temperatures=cooling, supply=dry, ester_fraction=BIO).fill
    burnt_kg = 0.06 * 838.0
    diesel = 50e-6 * (math.exp(0.9) - math.exp(-0.3))
    assert plain.falls_out.typical == pytest.approx(burnt_kg * diesel / 998.0, rel=1e-9)
    by_hand = burnt_kg * (0.8 * diesel + 0.2 * 480e-6) / 998.0
    assert bio.falls_out.typical == pytest.approx(by_hand, rel=0.01)
    assert bio.dissolved_delivered.typical > 2.0 * plain.dissolved_delivered.typical
    for fill in (plain, bio):
        assert fill.caught[0][1].high == 0.0
        assert fill.carried_over.high == 0.0


def test_water_that_a_cold_line_lets_go_is_haze_and_hardly_caught() -> None:
    cold = Temperatures(delivery_k=323.15, tank_k=323.15, filter_k=283.15, behind_k=283.15)
    dry = replace(SUPPLY, free_water_fraction=0.0, dissolved_saturation_fraction=1.0)
    found = followed(line_with(SEPARATOR), temperatures=cold, supply=dry)
    assert found.fill.coarse.high == 0.0
    assert found.fill.haze.typical > 0.0
    assert found.carried_fraction is not None
    # By hand: cut 60/sqrt(19) um, moved by the root of flow and of viscosity over the assumed one.
    feed = line_with(SEPARATOR)
    flow = feed.at(RATED, INJECTED).feed_m3_per_s / SEPARATOR.flow_m3_per_s
    cut = 60.0 / math.sqrt(19.0) * math.sqrt(flow * feed.fluid.dynamic_viscosity_pa_s / 2.5e-3)
    assert found.carried_fraction.typical == pytest.approx(1.0 / (1.0 + (5.0 / cut) ** 2), rel=1e-9)
    assert found.carried_fraction.typical > 0.8


def test_a_hot_tank_takes_its_own_free_water_into_solution() -> None:
    # 50 mg/kg of free water fit into saturated fuel that warms from 15 to 60 degC.
    hot = replace(TEMPERATURES, tank_k=333.15, filter_k=333.15, behind_k=333.15)
    damp = replace(SUPPLY, free_water_fraction=50e-6, dissolved_saturation_fraction=1.0)
    found = followed(line_with(SEPARATOR), temperatures=hot, supply=damp).fill
    assert found.coarse.typical == 0.0
    assert found.settled.typical == 0.0
    assert found.stays_dissolved.typical == pytest.approx(
        found.dissolved_delivered.typical + found.free_delivered.typical, rel=1e-12
    )


def test_drawn_drops_dissolve_while_a_warm_line_can_take_them_up() -> None:
    # Saturated at 15 degC, at 25 in the line: by hand 50 (e^0.15 - e^-0.15) = 15.05 mg/kg more.
    warm = replace(TEMPERATURES, filter_k=298.15, behind_k=298.15)
    damp = replace(SUPPLY, free_water_fraction=50e-6, dissolved_saturation_fraction=1.0)
    fill = followed(line_with(SEPARATOR), temperatures=warm, supply=damp, drawn_fraction=1.0).fill
    left = 50e-6 - 50e-6 * (math.exp(0.15) - math.exp(-0.15))
    assert fill.coarse.typical == pytest.approx(0.06 * 838.0 * left / 998.0, rel=1e-9)


def test_at_the_cut_size_drops_settle_in_proportion_to_the_flow() -> None:
    # Stokes: the speed of the drop at the cut goes with the flow, whatever the viscosity.
    ratios = []
    for temperature in (0.0, 40.0):
        feed = line_with(SEPARATOR, at=conditions(temperature))
        for injected in (0.3 * INJECTED, INJECTED):
            use = uses(feed, feed.at(RATED, injected), "")[0]
            # One density for all: only the viscosity is under test.
            speed = stokes_settling_speed(
                use.cut_m, 998.0, 830.0, feed.fluid.dynamic_viscosity_pa_s
            )
            ratios.append(speed / use.flow_m3_per_s)
    assert ratios == pytest.approx([ratios[0]] * 4, rel=1e-9)


def test_less_flow_and_thinner_fuel_let_less_water_pass() -> None:
    thin, thick = (line_with(SEPARATOR, at=conditions(each)) for each in (40.0, 0.0))
    idle, full = thin.at(13.0, 0.1 * INJECTED), thin.at(RATED, INJECTED)
    passed = [
        uses(feed, state, "")[0].passed_fraction.typical
        for feed, state in ((thin, idle), (thin, full), (thick, thick.at(RATED, INJECTED)))
    ]
    assert passed == sorted(passed)


def test_part_load_and_full_load_are_both_told() -> None:
    feed = line_with(SEPARATOR, SEPARATOR)
    states = {"part load": feed.at(32.0, 0.3 * INJECTED), "full load": feed.at(RATED, INJECTED)}
    found = water_of(feed, states, asked())
    assert [(use.element, use.state) for use in found.uses] == [
        ("K1_0", "part load"),
        ("oe_filter", "part load"),
        ("K1_0", "full load"),
        ("oe_filter", "full load"),
    ]
    part, full = found.uses[0], found.uses[2]
    assert part.flow_m3_per_s == states["part load"].feed_m3_per_s < full.flow_m3_per_s


def test_behind_a_lift_pump_drops_are_finer_and_the_rating_is_doubted() -> None:
    pump = LiftPump(
        id="lift",
        shut_off_pressure_pa=30e3,
        free_flow_m3_per_s=1e-4,
        curve_exponent=2.0,
        stopped_inertial_per_m4=1e12,
    )
    bare, pumped, stopped = (
        line_with(SEPARATOR, ahead=ahead)
        for ahead in ((), (pump,), (replace(pump, running=False),))
    )
    found = [uses(feed, feed.at(RATED, INJECTED), "")[0] for feed in (bare, pumped, stopped)]
    assert [use.side for use in found] == ["suction", "pressure", "suction"]
    assert found[1].passed_fraction.typical > 3.0 * found[0].passed_fraction.typical
    assert any("finer" in doubt for doubt in found[1].doubts)
    assert not any("finer" in doubt for doubt in found[0].doubts)
    # 180 um against a rating at 60: what is better than the rating is a curve's.
    assert any("coarser" in doubt for doubt in found[0].doubts)
    assert not any("coarser" in doubt for doubt in found[1].doubts)


def test_two_separators_pass_the_product_and_a_bare_element_takes_nothing() -> None:
    feed = line_with(SEPARATOR, SEPARATOR)
    state = feed.at(RATED, INJECTED)
    found = uses(feed, state, "")
    both = followed(feed)
    product = found[0].passed_fraction.typical * found[1].passed_fraction.typical
    assert both.carried_fraction is not None
    assert both.carried_fraction.typical == pytest.approx(product, rel=1e-9)
    none = followed(line_with())
    assert none.carried_fraction == Range(low=1.0, typical=1.0, high=1.0)
    assert none.fill.caught == ()
    assert "oe_filter" in none.without_separator
    assert "oe_filter" not in both.without_separator


def test_side_by_side_each_separator_sees_its_own_flow_and_a_bypass_passes_all() -> None:
    plain = network(branched())
    parts = tuple(
        replace(part, separator=SEPARATOR)
        if isinstance(part, Element) and part.id in ("filter_a", "filter_b")
        else part
        for part in plain.line.parts
    )
    feed = network(replace(branched(), line=replace(plain.line, parts=parts)))
    state = feed.at(RATED, INJECTED)
    flows = feed.network_at(RATED, INJECTED).flow_m3_per_s
    found = {use.element: use for use in uses(feed, state, "")}
    for name in ("filter_a", "filter_b"):
        assert found[name].flow_m3_per_s == pytest.approx(abs(flows[name]), rel=1e-6)
    told = water_of(feed, {"": state}, asked())
    ends = [told.fill.settled, told.fill.carried_over, told.fill.stays_dissolved]
    ends += [told.fill.falls_out, *(caught for _, caught in told.fill.caught)]
    came = told.fill.dissolved_delivered.typical + told.fill.free_delivered.typical
    assert sum(each.typical for each in ends) == pytest.approx(came, rel=1e-12)
    # The two branches are alike; the return led back ahead of them meets them again, and for all
    # drops of one size c = P (D + B c)/(D + B).
    (passed,) = {round(use.passed_fraction.typical, 12) for use in found.values()}
    back = feed.recirculated_fraction * state.return_m3_per_s
    drawn = state.feed_m3_per_s - back
    expected = passed * drawn / (drawn + back - passed * back)
    assert flows["bypass"] < 1e-12
    assert back > 0.0
    assert told.carried_fraction is not None
    assert told.carried_fraction.typical == pytest.approx(expected, rel=1e-6)


def test_drops_of_all_sizes_are_in_the_range() -> None:
    feed = line_with(SEPARATOR)
    found = followed(feed)
    caught = caught_by(feed, feed.at(RATED, INJECTED), uses(feed, feed.at(RATED, INJECTED), ""))
    typical, coarsest, finest = 1.0 - caught.coarse[0]
    assert found.carried_fraction is not None
    assert found.carried_fraction.levels == pytest.approx((coarsest, typical, finest), rel=1e-9)
    assert coarsest < typical < finest


def test_the_bowl_is_full_after_what_a_division_says() -> None:
    found = followed(line_with(SEPARATOR), drawn_fraction=1.0)
    caught = found.fill.caught[0][1].typical
    kilometres = 0.06 / DUTY.fuel_use_m2 / caught
    bowl = found.bowls[0]
    assert bowl.to_full_m.typical == pytest.approx(150e-6 * kilometres, rel=1e-9)
    assert bowl.to_sensor_m is not None
    assert bowl.to_sensor_m.typical == pytest.approx(100e-6 * kilometres, rel=1e-9)
    # 20 000 km in a year of 365.25 days.
    assert bowl.to_full_s.typical == pytest.approx(
        bowl.to_full_m.typical / 2e7 * 365.25 * 86400.0, rel=1e-9
    )
    # If none of the tank's free water is drawn, the bowl never fills: that end is shown.
    assert math.isinf(bowl.to_full_m.high)


def test_full_bowls_carry_all_over() -> None:
    full = followed(line_with(SEPARATOR)).with_full_bowls
    assert full.carried_over.typical == pytest.approx(full.coarse.typical + full.haze.typical)
    assert full.caught[0][1].high == 0.0


@settings(max_examples=15, deadline=None)
@given(one=st.floats(0.5, 0.98), more=st.floats(0.0, 0.019), bowl=st.floats(1e-5, 1e-3))
def test_a_better_separator_carries_less_and_a_larger_bowl_lasts_longer(
    one: float, more: float, bowl: float
) -> None:
    small = replace(SEPARATOR, efficiency_fraction=one, bowl_m3=bowl, sensor_m3=None)
    better = replace(small, efficiency_fraction=one + more)
    larger = replace(small, bowl_m3=2.0 * bowl)
    found = [followed(line_with(each)) for each in (small, better, larger)]
    assert found[1].fill.carried_over.typical <= found[0].fill.carried_over.typical
    assert found[2].bowls[0].to_full_m.typical >= found[0].bowls[0].to_full_m.typical
    assert found[0].bowls[0].to_sensor_m is None


def test_both_ends_of_what_a_tank_gives_are_shown() -> None:
    found = followed(line_with(SEPARATOR))
    assert [share for share, _ in found.by_drawn] == [0.0, 0.5, 1.0]
    none, _, all_of_it = (fill for _, fill in found.by_drawn)
    assert none.coarse.high == 0.0
    assert all_of_it.settled.high == 0.0
    assert none.settled.typical == pytest.approx(all_of_it.coarse.typical, rel=1e-12)


def test_the_catalogue_knows_the_ester_of_its_blends_and_says_when_it_does_not() -> None:
    found = ester_of("b20")
    assert found is not None
    assert found.typical == pytest.approx(0.20, abs=0.01)
    assert ester_of("no such grade") is None


def test_what_cannot_be_is_refused_all_at_once() -> None:
    feed = line_with(SEPARATOR)
    wrong = asked(
        drawn_fraction=1.5,
        duty=replace(DUTY, refuel_at_fraction=1.0),
        supply=replace(SUPPLY, dissolved_saturation_fraction=2.0),
    )
    with pytest.raises(InputError) as refused:
        water_of(feed, {}, wrong)
    assert len(refused.value.findings) == 4


@pytest.mark.parametrize(
    ("spoilt", "words"),
    [
        (replace(SEPARATOR, efficiency_fraction=95.0), "95 % is 0.95"),
        (replace(SEPARATOR, droplet_m=0.0), "droplet_m"),
        (replace(SEPARATOR, sensor_m3=1e-3), "sensor"),
    ],
)
def test_a_rating_that_says_nothing_is_refused_with_its_element(
    spoilt: Separator, words: str
) -> None:
    feed = line_with(spoilt)
    state: FeedState = feed.at(RATED, INJECTED)
    with pytest.raises(InputError, match=words) as refused:
        uses(feed, state, "")
    assert refused.value.findings[0].place == "K1_0"
