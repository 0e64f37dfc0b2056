"""
Promise: elements are followed from fill to fill exactly, and their life is a distribution.

Outside checks: a product of lognormal values has a closed form; SciPy's integrator on the balance
of the tank as it is written against time; conservation of mass; the closed forms of the loop.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import norm

from feedproof.core.errors import InputError
from feedproof.kits.life import Followed, Vehicles, allowed_media, follow
from feedproof.kits.passage import Passage
from feedproof.physics.tank_loop import caught_fraction, injected_fraction
from tests.feedline.reference import conditions
from tests.kits.test_check_values import loader

L_PER_H = 1e-3 / 3600.0
ONE_BAND = np.ones(1)
NOTHING = np.zeros(1)
MEDIAN_KG_PER_M3 = 3e-6 * 838.0
FUEL_USE_M2 = 12e-3 / 100e3
CAPACITY_KG = 0.020


def vehicles(count: int, *, spread: float = 0.7, capacity: float = 0.3, seed: int = 1) -> Vehicles:
    """Draw vehicles that differ in their fuel's cleanliness and their element's capacity."""
    rng = np.random.default_rng(seed)
    return Vehicles(
        contamination_kg_per_m3=MEDIAN_KG_PER_M3 * np.exp(spread * rng.standard_normal(count)),
        feed_m3_per_s=np.full(count, 80.0 * L_PER_H),
        injected_m3_per_s=np.full(count, 12.0 * L_PER_H),
        fuel_use_m2=np.full(count, FUEL_USE_M2),
        capacity_ratio=np.exp(capacity * rng.standard_normal((count, 1))),
    )


def in_a_row(penetration: np.ndarray) -> Passage:
    """Put elements one behind the other."""
    through, catch = np.ones(penetration.shape[1]), []
    for row in penetration:
        catch.append(through * (1.0 - row))
        through = through * row
    return Passage(
        through=through,
        elements=tuple(str(index) for index in range(len(catch))),
        catch=np.array(catch),
        drawn_m3_per_s=80.0 * L_PER_H,
        injected_m3_per_s=12.0 * L_PER_H,
    )


def one_element(
    some: Vehicles, penetration: float = 0.0, grid_m: float = 1e9, law: str = "complete"
) -> Followed:
    """Follow one element that is shut when it is full."""
    return follow(
        some,
        mass_share=ONE_BAND,
        entering_kg_per_m3=NOTHING,
        passage=in_a_row(np.array([[penetration]])),
        media_per_m3=np.array([1e9]),
        scale_kg=np.array([CAPACITY_KG]),
        laws=[law],
        volume_m3=(0.020, 0.080),
        allowed_per_m3=1e300,
        grid_m=np.linspace(0.0, grid_m, 41),
    )


def test_life_is_the_closed_form_of_lognormal_fuel_and_capacity() -> None:
    # An element that holds all there is lasts capacity/(contamination x fuel over distance): a
    # quotient of lognormal values.  Figures of the method: 66 000 km, 19 000 to 233 000 km.
    reached = one_element(vehicles(10_000)).reached_m
    median = CAPACITY_KG / (MEDIAN_KG_PER_M3 * FUEL_USE_M2)
    sigma = math.hypot(0.7, 0.3)

    assert np.mean(np.isfinite(reached)) > 0.999
    for share in (0.05, 0.5, 0.95):
        expected = median * math.exp(sigma * norm.ppf(share))
        density = norm.pdf(norm.ppf(share)) / sigma
        error = math.sqrt(share * (1.0 - share) / reached.size) / density
        assert math.log(np.quantile(reached, share) / expected) == pytest.approx(
            0.0, abs=4.0 * error + 0.004
        )
    assert np.quantile(reached, 0.5) == pytest.approx(66e6, rel=0.05)
    assert np.quantile(reached, 0.05) == pytest.approx(19e6, rel=0.06)
    assert np.quantile(reached, 0.95) == pytest.approx(233e6, rel=0.06)


def test_a_vehicle_is_followed_as_the_integrator_follows_it() -> None:
    shares = np.array([0.5, 0.3, 0.2])
    entering = np.array([1e-4, 0.0, 3e-4])
    penetration = np.array([[0.9, 0.5, 0.05], [0.6, 0.1, 0.0]])
    some = vehicles(3, spread=0.5)
    low, high, length = 0.020, 0.080, 5.0e6
    found = follow(
        some,
        mass_share=shares,
        entering_kg_per_m3=entering,
        passage=in_a_row(penetration),
        media_per_m3=np.array([1e9, 2e9]),
        scale_kg=np.array([0.010, 0.020]),
        laws=["intermediate", "cake"],
        volume_m3=(low, high),
        allowed_per_m3=math.inf,
        grid_m=np.array([0.0, length]),
    )
    through = penetration.prod(axis=0)
    catch = np.array([1.0 - penetration[0], penetration[0] * (1.0 - penetration[1])])
    for i in range(3):
        fresh = some.contamination_kg_per_m3[i] * shares
        feed, injected = some.feed_m3_per_s[i], some.injected_m3_per_s[i]

        def balance(t: float, y: np.ndarray, *, feed: float, injected: float) -> np.ndarray:
            held = y[:3]
            concentration = held / (high - injected * t)
            net = -feed * concentration + (feed - injected) * through * concentration
            return np.concatenate(
                [net + entering * injected, (catch * feed * concentration).sum(axis=1)]
            )

        held, captured, distance = fresh * low, np.zeros(2), 0.0
        step = (high - low) / FUEL_USE_M2
        while distance < length:
            start = np.concatenate([held + fresh * (high - low), captured])
            solved = solve_ivp(
                lambda t, y, f=feed, q=injected: balance(t, y, feed=f, injected=q),
                (0.0, (high - low) / injected),
                start,
                method="LSODA",
                rtol=1e-11,
                atol=1e-18,
            )
            held, captured = solved.y[:3, -1], solved.y[3:, -1]
            distance += step
        assert found.captured_kg[i] == pytest.approx(captured, rel=2e-6)
        total = 1e9 * math.exp(captured[0] / (0.010 * some.capacity_ratio[i, 0]))
        total += 2e9 * (1.0 + captured[1] / (0.020 * some.capacity_ratio[i, 0]))
        assert found.sum_per_m3[i, -1] == pytest.approx(total, rel=5e-6)


def test_in_the_long_run_elements_share_the_dirt_as_the_loop_says() -> None:
    # Filled from empty to full again and again, all that came in is caught or burnt.
    some = vehicles(1, spread=0.0, capacity=0.0)
    first, second = 0.7, 0.2
    found = follow(
        some,
        mass_share=ONE_BAND,
        entering_kg_per_m3=NOTHING,
        passage=in_a_row(np.array([[first], [second]])),
        media_per_m3=np.array([1e9, 1e9]),
        scale_kg=np.array([math.inf, math.inf]),
        laws=["intermediate", "intermediate"],
        volume_m3=(0.020, 0.080),
        allowed_per_m3=math.inf,
        grid_m=np.array([0.0, 4e8]),
    )
    r, p = 1.0 - 12.0 / 80.0, first * second
    came = MEDIAN_KG_PER_M3 * FUEL_USE_M2 * 4e8
    expected = [caught_fraction(1.0, first, p, r), caught_fraction(first, second, p, r)]

    assert found.captured_kg[0] / came == pytest.approx(expected, rel=2e-3)
    assert sum(expected) + injected_fraction(p, r) == pytest.approx(1.0, abs=1e-12)


def test_life_grows_with_capacity_and_with_cleaner_fuel() -> None:
    some = vehicles(200)
    known = one_element(some, 0.3).reached_m
    cleaner = replace(some, contamination_kg_per_m3=some.contamination_kg_per_m3 * 0.8)
    larger = replace(some, capacity_ratio=some.capacity_ratio * 1.2)
    assert np.all(one_element(cleaner, 0.3).reached_m > known)
    assert np.all(one_element(larger, 0.3).reached_m > known)
    assert np.all(one_element(some, 0.6).reached_m > known)


def test_sharing_the_work_out_changes_no_digit(monkeypatch: pytest.MonkeyPatch) -> None:
    some = vehicles(101)
    known = one_element(some).reached_m
    monkeypatch.setattr("feedproof.kits.life.threads", lambda: 7)
    assert np.array_equal(one_element(some).reached_m, known)


def test_what_a_line_bears_is_what_its_dirt_reaches() -> None:
    # Two ways to the same limit: the sum of the media, and dirt in the elements' shares.
    from feedproof.kits.loading import allowed_dirt

    line = loader("K1", "K2")
    worst = [conditions(10.0), conditions(40.0)]
    bears = allowed_media(line, worst)
    dirt = allowed_dirt(line, worst).dirt_kg
    assert dirt is not None
    loaded = line.circuit(worst[0], dirt)
    assert bears.deciding is worst[0]
    assert loaded.plan.media_per_m3 == pytest.approx(bears.per_m3, rel=1e-4)


def test_a_branched_line_is_refused_and_not_guessed() -> None:
    from tests.feedline.network_cases import RECIRCULATION, feed_line, return_line

    line = loader("K1", "K2")
    body = replace(
        line.vehicle, line=feed_line(), return_line=return_line(), recirculation=RECIRCULATION
    )
    branched = replace(line, vehicle=body, line=feed_line(), shares={"filter_a": 1.0})
    with pytest.raises(InputError, match="branches"):
        allowed_media(branched, [conditions(10.0)])
