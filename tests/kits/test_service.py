"""
Promise: the interval is the shortest of life, wish and calendar, and says which it was.

Outside check: quantiles of a lognormal quotient in closed form; an interval grows with none of its
bounds; order statistics by NumPy.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.supply import Duty, Service, Supply
from feedproof.core.errors import InputError
from feedproof.kits.life import Followed, follow
from feedproof.kits.passage import Passage
from feedproof.kits.service import (
    YEAR_S,
    Rule,
    fan_of,
    interval_of,
    life_of,
    running_time_s,
    sample_vehicles,
)

SUPPLY = Supply(
    cleanliness=(20, 18, 13),
    contamination_fraction=3e-6,
    contamination_spread=0.7,
    soft_fraction=0.0,
    free_water_fraction=0.0,
    dissolved_saturation_fraction=0.5,
    delivery_temperature_k=288.15,
    breather_dust_kg_per_m3=0.0,
    source="invented",
)
DUTY = Duty(
    fuel_use_m2=1.2e-7,
    distance_per_year_m=2e7,
    engine_speed_rev_per_s=32.0,
    load_fraction=0.35,
    refuel_at_fraction=0.25,
)
INJECTED = 12e-3 / 3600.0
GRID = np.linspace(0.0, 1e8, 11)


def followed(reached_m: np.ndarray) -> Followed:
    """Make samples that reach given distances."""
    sums = 1.0 + np.outer(1.0 / reached_m, GRID)
    return Followed(reached_m=reached_m, sum_per_m3=sums, captured_kg=np.zeros((reached_m.size, 1)))


def test_the_draw_has_the_declared_median_and_spread() -> None:
    drawn = sample_vehicles(
        SUPPLY,
        DUTY,
        fuel_density_kg_per_m3=838.0,
        feed_m3_per_s=8e-5 / 3.6,
        injected_m3_per_s=INJECTED,
        elements=2,
        capacity_spread=0.3,
    )
    logs = np.log(drawn.contamination_kg_per_m3)
    assert np.median(logs) == pytest.approx(math.log(3e-6 * 838.0), abs=0.03)
    assert np.std(logs) == pytest.approx(0.7, rel=0.03)
    assert np.std(np.log(drawn.capacity_ratio)) == pytest.approx(0.3, rel=0.03)
    assert drawn.capacity_ratio.shape == (10_000, 2)
    assert abs(np.corrcoef(logs, np.log(drawn.capacity_ratio[:, 0]))[0, 1]) < 0.03


def test_quantiles_are_order_statistics_and_stay_infinite_beyond_the_grid() -> None:
    reached = np.concatenate([np.linspace(1e7, 9e7, 90), np.full(10, np.inf)])
    life = life_of(followed(reached), GRID, 0.9)
    found = dict(life.quantiles)
    assert found[0.05] == np.sort(reached)[5]
    assert math.isinf(found[0.95])
    assert life.reached_by_chance_m == np.sort(reached)[10]
    assert np.mean(reached >= life.reached_by_chance_m) >= 0.9


BOUNDS = [
    (Service(longest_distance_m=5e7, longest_duration_s=3 * YEAR_S), Rule.LIFE),
    (Service(longest_distance_m=1e7, longest_duration_s=3 * YEAR_S), Rule.LONGEST_DISTANCE),
    (Service(longest_distance_m=5e7, longest_duration_s=0.5 * YEAR_S), Rule.CALENDAR),
    (Service(), Rule.LIFE),
]


@pytest.mark.parametrize(("service", "rule"), BOUNDS)
def test_the_shortest_bound_sets_the_interval(service: Service, rule: Rule) -> None:
    life = life_of(followed(np.linspace(2e7, 9e7, 1000)), GRID, service.chance_fraction)
    interval = interval_of(life, service, DUTY, INJECTED)
    assert interval.rule is rule
    bounds = [life.reached_by_chance_m, service.longest_distance_m or math.inf]
    if service.longest_duration_s is not None:
        bounds.append(service.longest_duration_s / YEAR_S * DUTY.distance_per_year_m)
    assert interval.distance_m == min(bounds)
    assert interval.calendar_s == pytest.approx(interval.distance_m / 2e7 * YEAR_S)
    # 12 L over 100 km at 12 L/h are 100 km/h.
    assert interval.running_time_s == pytest.approx(interval.distance_m / (100.0 / 3.6))


def test_declared_hours_are_taken_and_not_derived() -> None:
    declared = replace(DUTY, running_time_per_year_s=500.0 * 3600.0)
    assert running_time_s(2e7, declared, INJECTED) == pytest.approx(500.0 * 3600.0)


def test_an_interval_that_nothing_bounds_is_refused() -> None:
    life = life_of(followed(np.full(10, np.inf)), GRID, 0.9)
    with pytest.raises(InputError, match="nothing bounds"):
        interval_of(life, Service(), DUTY, INJECTED)


def test_a_fan_rises_and_its_quantiles_keep_their_order() -> None:
    fan = fan_of(
        followed(np.linspace(2e7, 9e7, 1000)), GRID, np.array([1.0, 9.0]), np.array([15e3, 40e3])
    )
    assert np.all(np.diff(fan.depression_pa, axis=1) >= 0.0)
    assert np.all(np.diff(fan.depression_pa, axis=0) >= 0.0)
    assert fan.depression_pa[:, 0] == pytest.approx(15e3)


@pytest.mark.parametrize(("low", "high"), [(1e-6, 9e-6), (2e-6, 9e-6), (None, 6e-6), (None, None)])
def test_the_range_of_the_contamination_widens_life_as_its_reciprocal(
    low: float | None, high: float | None
) -> None:
    # An element that holds all there is lasts capacity/(contamination x fuel over distance): life
    # is inverse to the contamination.  Its quantiles follow in closed form where spread and range
    # are lognormal; with a range alone the ends of life are the declared ends, turned over.
    ranged = replace(SUPPLY, contamination_low_fraction=low, contamination_high_fraction=high)

    def lives(supply: Supply) -> np.ndarray:
        drawn = sample_vehicles(
            supply,
            DUTY,
            fuel_density_kg_per_m3=838.0,
            feed_m3_per_s=8e-5 / 3.6,
            injected_m3_per_s=INJECTED,
            elements=1,
            capacity_spread=0.0,
            count=20_000,
        )
        found = follow(
            replace(drawn, fuel_use_m2=np.full(20_000, DUTY.fuel_use_m2)),
            mass_share=np.ones(1),
            entering_kg_per_m3=np.zeros(1),
            passage=Passage(
                through=np.zeros(1),
                elements=("0",),
                catch=np.ones((1, 1)),
                drawn_m3_per_s=8e-5 / 3.6,
                injected_m3_per_s=INJECTED,
            ),
            media_per_m3=np.array([1e9]),
            scale_kg=np.array([0.02]),
            laws=["complete"],
            volume_m3=(0.02, 0.08),
            allowed_per_m3=1e300,
            grid_m=np.array([0.0, 6e8]),
        )
        return found.reached_m

    median = 0.02 / (3e-6 * 838.0 * DUTY.fuel_use_m2)
    only_range = lives(replace(ranged, contamination_spread=0.0))
    ends = [median * 3e-6 / (end or 3e-6) for end in (high, low)]
    assert np.quantile(only_range, [0.05, 0.95]) == pytest.approx(ends, rel=0.03)
    assert np.median(only_range) == pytest.approx(median, rel=0.02)
    if low is not None and low * (high or 0.0) == pytest.approx(9e-12):
        sigma = math.hypot(0.7, math.log(3.0) / 1.6448536)
        expected = [median * math.exp(sigma * z) for z in (-1.6448536, 0.0, 1.6448536)]
        assert np.quantile(lives(ranged), [0.05, 0.5, 0.95]) == pytest.approx(expected, rel=0.05)


def test_without_a_range_no_digit_of_the_draw_changes() -> None:
    rng = np.random.default_rng(1)
    expected = 3e-6 * 838.0 * np.exp(0.7 * rng.standard_normal(50))
    drawn = sample_vehicles(
        SUPPLY,
        DUTY,
        fuel_density_kg_per_m3=838.0,
        feed_m3_per_s=8e-5 / 3.6,
        injected_m3_per_s=INJECTED,
        elements=2,
        capacity_spread=0.3,
        count=50,
    )
    assert np.array_equal(drawn.contamination_kg_per_m3, expected)
