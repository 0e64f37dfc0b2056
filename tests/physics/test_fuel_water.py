"""Promise: water is never lost nor made, what is dissolved passes, ratings hold where they say."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.physics import fuel_water, settling
from feedproof.physics.fuel_water import SeparatorRating

calm = settings(deadline=None, max_examples=100)
fractions = st.floats(0.0, 3e-3)
DIESEL = fuel_water.solubility_of("diesel")
ESTER = fuel_water.solubility_of("ester")


def solubility(kind: fuel_water.Solubility, celsius: float) -> float:
    """Give the solubility of a kind of fuel at a temperature."""
    return fuel_water.water_solubility(celsius + 273.15, kind.at_20c_fraction, kind.slope_per_k)


def test_a_tank_that_cools_drops_what_a_second_computation_says() -> None:
    # 80 L saturated at 60 and cooled to 20 degC: about 7 mL (100 mg/kg), a second computation.
    free = fuel_water.free_water_fraction(solubility(DIESEL, 60.0), solubility(DIESEL, 20.0))
    assert free == pytest.approx(100e-6, rel=0.2)
    assert fuel_water.water_volume(0.080, 830.0, free) == pytest.approx(7e-6, rel=0.15)


def test_the_volume_of_water_is_its_mass_over_its_density() -> None:
    # 998 kg/m3 at 20 degC: two cubic metres of fuel of 830 with 1 % of water by mass.
    assert fuel_water.water_volume(2.0, 830.0, 0.01) == pytest.approx(16.6 / 998.0, rel=1e-12)


def test_diesel_and_ester_hold_what_is_published() -> None:
    # 50 to 200 mg/kg in diesel; ester 1500 at 10 and 1980 mg/kg at 50 degC: public summaries.
    for celsius in (20.0, 40.0, 60.0):
        assert 50e-6 * 0.999 <= solubility(DIESEL, celsius) <= 200e-6
    assert solubility(ESTER, 10.0) == pytest.approx(1500e-6, rel=0.01)
    assert solubility(ESTER, 50.0) == pytest.approx(1980e-6, rel=0.01)
    # "10 to 15 times diesel" is met inside the range of diesel at each temperature.
    for celsius in (10.0, 30.0, 50.0):
        factor = fuel_water.water_solubility(celsius + 273.15, 1.0, DIESEL.slope_per_k)
        highest = DIESEL.high_fraction * factor
        assert 10.0 * DIESEL.low_fraction * factor < solubility(ESTER, celsius) < 20.0 * highest


def test_a_kind_of_fuel_that_there_is_not_is_refused() -> None:
    with pytest.raises(ValueError, match="diesel, ester"):
        fuel_water.solubility_of("petrol")


@calm
@given(st.floats(250.0, 350.0), st.floats(0.01, 30.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_warmer_fuel_and_more_ester_hold_more(t: float, more: float, a: float, b: float) -> None:
    cold = fuel_water.water_solubility(t, DIESEL.at_20c_fraction, DIESEL.slope_per_k)
    assert fuel_water.water_solubility(t + more, 50e-6, DIESEL.slope_per_k) > cold
    low, high = sorted((a, b))
    blend = fuel_water.blended_solubility
    assert blend(cold, 1.6e-3, high) >= blend(cold, 1.6e-3, low) - 1e-15
    assert blend(cold, 1.6e-3, 0.0) == cold
    assert blend(cold, 1.6e-3, 1.0) == pytest.approx(1.6e-3)


@calm
@given(fractions, fractions, st.floats(0.0, 1.0))
def test_water_is_conserved_and_no_separator_takes_what_is_dissolved(
    water: float, solubility_fraction: float, p: float
) -> None:
    free = fuel_water.free_water_fraction(water, solubility_fraction)
    behind = fuel_water.water_behind_separator(water, solubility_fraction, p)
    taken = free * (1.0 - p)
    assert behind + taken == pytest.approx(water, rel=1e-12, abs=1e-18)
    assert behind >= min(water, solubility_fraction) - 1e-18
    perfect = fuel_water.water_behind_separator(water, solubility_fraction, 0.0)
    assert perfect == pytest.approx(min(water, solubility_fraction), abs=1e-18)


RATING = SeparatorRating(
    droplet_m=60e-6,
    efficiency_fraction=0.93,
    flow_m3_per_s=100e-3 / 3600,
    viscosity_pa_s=2.5e-3,
    side="suction",
)


def passed(droplet: float, flow: float, viscosity: float) -> float:
    """Give the share of drops that passes the separator of the rating."""
    cut = fuel_water.separator_cut_size(
        RATING.cut_m(), flow, RATING.flow_m3_per_s, viscosity, RATING.viscosity_pa_s
    )
    return fuel_water.separator_penetration(droplet, cut, fuel_water.SEPARATOR_SLOPE)


def test_at_the_conditions_of_its_rating_a_separator_does_what_it_was_rated_for() -> None:
    assert passed(60e-6, RATING.flow_m3_per_s, 2.5e-3) == pytest.approx(0.07, rel=1e-9)


@calm
@given(st.floats(1e-6, 5e-4), st.floats(1e-7, 1e-4), st.floats(5e-4, 2e-2), st.floats(1.01, 4.0))
def test_more_flow_thicker_fuel_and_finer_drops_pass_more(
    d: float, flow: float, mu: float, more: float
) -> None:
    base = passed(d, flow, mu)
    assert passed(d, flow * more, mu) > base
    assert passed(d, flow, mu * more) > base
    assert passed(d * more, flow, mu) < base


@calm
@given(st.floats(1e-5, 1e-3), st.floats(5e-4, 1e-2), st.floats(0.1, 10.0))
def test_the_cut_goes_as_a_drop_that_just_settles_against_the_rising_fuel(
    area: float, mu: float, more: float
) -> None:
    # Stokes' speed of the cut size is flow over area: with the flow it must stay so.
    def rise(flow: float) -> float:
        cut = fuel_water.separator_cut_size(40e-6, flow, 1e-5, mu, 2.5e-3)
        return settling.stokes_settling_speed(cut, 998.0, 830.0, mu) * area / flow

    assert rise(1e-5 * more) == pytest.approx(rise(1e-5), rel=1e-9)


def test_without_flow_all_drops_settle() -> None:
    assert passed(1e-6, 0.0, 2.5e-3) == 0.0


@pytest.mark.parametrize(
    ("change", "said"),
    [({"side": ""}, "suction or pressure"), ({"droplet_m": 0.0}, "droplet_m"),
     ({"flow_m3_per_s": math.nan}, "flow_m3_per_s"), ({"viscosity_pa_s": -1.0}, "viscosity"),
     ({"efficiency_fraction": 93.0}, "0.95"), ({"efficiency_fraction": 1.0}, "below 1")],
)  # fmt: skip
def test_a_rating_that_leaves_out_its_conditions_is_refused(
    change: dict[str, object], said: str
) -> None:
    whole: dict[str, object] = {
        "droplet_m": 60e-6, "efficiency_fraction": 0.93, "flow_m3_per_s": 1e-5,
        "viscosity_pa_s": 2.5e-3, "side": "suction",
    }  # fmt: skip
    with pytest.raises(ValueError, match=said):
        SeparatorRating(**{**whole, **change})  # type: ignore[arg-type]


def test_where_a_use_leaves_the_rating_it_is_said() -> None:
    assert RATING.doubts(150e-6, 80e-3 / 3600, "suction") == []
    doubts = RATING.doubts(10e-6, 130e-3 / 3600, "pressure")
    assert len(doubts) == 3
    assert any("finer" in doubt and "10 um" in doubt for doubt in doubts)
    assert any("130 L/h" in doubt for doubt in doubts)


def test_what_no_filter_stops_is_named() -> None:
    assert {"dissolved water", "additives"} <= set(fuel_water.NOT_STOPPED)
    assert any("petrol" in name for name in fuel_water.NOT_STOPPED)
