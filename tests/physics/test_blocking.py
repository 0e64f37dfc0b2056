"""Promise: laws of blocking agree with SciPy's integrator, and a fit says what it cannot tell."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from feedproof.physics import blocking, blocking_fit
from feedproof.physics.blocking import BlockingLaw

calm = settings(deadline=None, max_examples=100)
EXPONENT = {
    BlockingLaw.CAKE: 0.0,
    BlockingLaw.INTERMEDIATE: 1.0,
    BlockingLaw.STANDARD: 1.5,
    BlockingLaw.COMPLETE: 2.0,
}
# Load at which the slopes of all laws at the start are alike, over that of the cake.
SCALE = {law: 2.0 if law is BlockingLaw.STANDARD else 1.0 for law in BlockingLaw}


@pytest.mark.parametrize("law", BlockingLaw)
@pytest.mark.parametrize(("q", "k", "t"), [(1.0, 0.1, 5.0), (2.5, 0.3, 1.7), (0.4, 2.0, 9.0)])
def test_at_constant_pressure_volume_and_flow_solve_the_equation(
    law: BlockingLaw, q: float, k: float, t: float
) -> None:
    # d2t/dV2 = k (dt/dV)^n, Hermia 1982, as dQ/dt = -k Q^(3 - n), dV/dt = Q.
    def change(_: float, state: list[float]) -> list[float]:
        return [-k * state[0] ** (3.0 - EXPONENT[law]), state[0]]

    flow, volume = solve_ivp(change, (0, t), [q, 0.0], rtol=1e-11, atol=1e-13).y[:, -1]
    assert blocking.constant_pressure_flow(t, q, k, int(law)) == pytest.approx(flow, rel=1e-7)
    assert blocking.constant_pressure_volume(t, q, k, int(law)) == pytest.approx(volume, rel=1e-7)


@pytest.mark.parametrize("law", BlockingLaw)
@pytest.mark.parametrize("load", [0.05, 0.3, 0.8])
def test_at_constant_flow_the_growth_solves_the_equation(law: BlockingLaw, load: float) -> None:
    # The same mechanism at constant flow: resistance R grows with volume as dR/dV = k R^n
    # where R stands for dt/dV at the reference pressure (Hlavacek and Bouchet 1993).
    exponent = EXPONENT[law]
    solved = solve_ivp(lambda _, r: r**exponent, (0, load), [1.0], rtol=1e-11, atol=1e-13)
    got = blocking.blocking_growth(load, SCALE[law], int(law))
    assert got == pytest.approx(solved.y[0, -1], rel=1e-7)


@calm
@given(st.floats(1e-4, 0.99))
def test_with_one_slope_at_the_start_the_laws_are_ordered(load: float) -> None:
    growths = [blocking.blocking_growth(load, SCALE[law], int(law)) for law in BlockingLaw]
    assert growths == sorted(growths)
    assert growths[-1] > growths[0]


@calm
@given(st.sampled_from(list(BlockingLaw)), st.floats(0.0, 0.95), st.floats(1e-4, 0.1))
def test_the_inverse_gives_the_load_back(law: BlockingLaw, share: float, scale: float) -> None:
    growth = blocking.blocking_growth(share * scale, scale, int(law))
    back = blocking.load_at_growth(growth, scale, int(law))
    assert back == pytest.approx(share * scale, rel=1e-9, abs=1e-12 * scale)


@calm
@given(st.sampled_from(list(BlockingLaw)), st.floats(1.0, 50.0), st.floats(1.0001, 2.0))
def test_more_growth_allowed_is_never_less_load(law: BlockingLaw, g: float, more: float) -> None:
    less = blocking.load_at_growth(g, 0.01, int(law))
    assert blocking.load_at_growth(g * more, 0.01, int(law)) > less >= 0.0


def test_what_cannot_be_is_nan_and_what_does_not_load_lasts_for_ever() -> None:
    for law in BlockingLaw:
        assert math.isnan(blocking.load_at_growth(0.9, 0.01, int(law)))
        assert blocking.load_at_growth(2.0, math.inf, int(law)) == math.inf
        assert blocking.load_at_growth(2.0, 0.0, int(law)) == math.inf
        assert blocking.load_at_growth(1.0, 0.0, int(law)) == 0.0
    assert math.isnan(blocking.blocking_growth(0.1, 1.0, 7))
    assert math.isnan(blocking.load_share_at_growth(2.0, 7))
    assert math.isnan(blocking.constant_pressure_flow(1.0, 1.0, 1.0, 7))
    assert math.isnan(blocking.constant_pressure_volume(1.0, 1.0, 1.0, 7))


def planted(law: BlockingLaw, loads: list[float]) -> list[float]:
    """Grow by a law of scale 12 g, twice that for the standard law."""
    return [blocking.blocking_growth(m, 12e-3 * SCALE[law], int(law)) for m in loads]


@pytest.mark.parametrize("law", BlockingLaw)
def test_a_planted_law_is_found_from_points_beyond_its_bend(law: BlockingLaw) -> None:
    loads = [2e-3, 4e-3, 6e-3, 8e-3, 10e-3, 11e-3]
    found = blocking_fit.fit_blocking(loads, planted(law, loads), 0.02)
    assert found.possible == (law,)
    assert found.decided
    assert found.fits[0].law is law
    assert found.fits[0].loading_scale_kg == pytest.approx(12e-3 * SCALE[law], rel=1e-6)
    assert found.fits[0].rms < 1e-6


def test_points_before_the_bend_cannot_tell_the_laws_apart() -> None:
    loads = [0.5e-3, 1e-3]
    found = blocking_fit.fit_blocking(loads, planted(BlockingLaw.STANDARD, loads), 0.02)
    assert set(found.possible) == set(BlockingLaw)
    assert not found.decided


def test_of_a_cake_the_fit_is_the_straight_line_through_the_clean_element() -> None:
    loads, growths = np.array([2e-3, 4e-3, 7e-3]), np.array([1.2, 1.3, 1.7])
    # Closed form of least squares for growth - 1 = m/mc.
    slope = float(loads @ (growths - 1.0) / (loads @ loads))
    wanted = growths - 1.0 - slope * loads
    found = blocking_fit.fit_blocking(list(loads), list(growths), 0.05)
    (cake,) = (fit for fit in found.fits if fit.law is BlockingLaw.CAKE)
    assert cake.loading_scale_kg == pytest.approx(1.0 / slope, rel=1e-6)
    assert cake.residuals == pytest.approx(wanted, abs=1e-6)
    assert cake.rms == pytest.approx(float(np.sqrt(np.mean(wanted**2))), rel=1e-5)


def test_scattered_points_get_the_best_scale_that_a_blind_search_finds() -> None:
    chance = np.random.default_rng(7)
    for _ in range(12):
        loads = [float(m) for m in 10 ** chance.uniform(-4, -1, 4)]
        growths = [float(g) for g in 10 ** chance.uniform(-0.2, 1.5, 4)]
        growths[0] = max(growths[0], 1.5)
        for fit in blocking_fit.fit_blocking(loads, growths, 0.05).fits:

            def rms(scale: float, law: int = int(fit.law)) -> float:
                pairs = zip(loads, growths, strict=True)  # noqa: B023
                missed = [g - blocking.blocking_growth(m, scale, law) for m, g in pairs]
                return math.sqrt(sum(x * x for x in missed) / 4)

            blind = min(rms(10 ** (k / 40)) for k in range(-200, 121))
            assert fit.rms <= blind * 1.001 + 1e-9


def test_points_of_no_law_leave_none() -> None:
    # Saturating growth: none of the laws does that.
    loads = [2e-3, 4e-3, 8e-3, 16e-3, 32e-3]
    found = blocking_fit.fit_blocking(loads, [2.0, 2.4, 2.5, 2.5, 2.5], 0.02)
    assert found.possible == ()


@pytest.mark.parametrize("law", BlockingLaw)
def test_noise_seldom_excludes_the_true_law(law: BlockingLaw) -> None:
    chance = np.random.default_rng(20)
    loads = [2e-3, 4e-3, 6e-3, 8e-3, 10e-3]
    kept = 0
    for _ in range(100):
        noisy = [g + float(chance.normal(0.0, 0.05)) for g in planted(law, loads)]
        kept += law in blocking_fit.fit_blocking(loads, noisy, 0.05).possible
    assert kept >= 92


@pytest.mark.parametrize(
    ("masses", "growths", "u", "said"),
    [([1e-3], [1.5], 0.1, "two or more"), ([1e-3, 2e-3], [1.0, 0.9], 0.1, "above 1"),
     ([0.0, 2e-3], [1.0, 1.5], 0.1, "above 0"), ([1e-3, 2e-3], [1.2, 1.5], 0.0, "uncertainty"),
     ([1e-3, 2e-3], [1.2, math.nan], 0.1, "growth ratios")],
)  # fmt: skip
def test_points_that_cannot_be_fitted_are_refused(
    masses: list[float], growths: list[float], u: float, said: str
) -> None:
    with pytest.raises(ValueError, match=said):
        blocking_fit.fit_blocking(masses, growths, u)
