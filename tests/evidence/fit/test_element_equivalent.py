"""Like the factory element at p % of its restriction rise."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedproof.core.errors import InputError
from feedproof.evidence.fit.element_equivalent import (
    Restriction,
    restriction_equivalent,
    restriction_rise,
)


def loss(pa: float, u: float, dof: float = math.inf) -> Restriction:
    return Restriction(loss_pa=pa, standard_uncertainty_pa=u, degrees_of_freedom=dof)


ADDED, RISE = loss(3120.0, 350.0), loss(10000.0, 600.0)


def test_the_worked_example() -> None:
    # The method's figures: 31.2 % with a standard uncertainty of 4.0, Monte Carlo 23.8 to 39.5.
    found = restriction_equivalent(ADDED, RISE)

    assert found.percent == pytest.approx(31.2, rel=1e-12)
    # By hand: 31.2 sqrt((350/3120)^2 + (600/10000)^2).
    assert found.standard_uncertainty_percent == pytest.approx(3.9692, abs=1e-4)
    assert found.low_percent == pytest.approx(23.8, abs=0.05)
    assert found.high_percent == pytest.approx(39.5, abs=0.05)


def test_the_interval_agrees_with_a_simulation() -> None:
    rng = np.random.default_rng(5)
    ratio = rng.normal(3120.0, 350.0, 400_000) / rng.normal(10000.0, 600.0, 400_000)
    low, high = np.percentile(100.0 * ratio, [2.5, 97.5])

    found = restriction_equivalent(ADDED, RISE)

    assert (found.low_percent, found.high_percent) == pytest.approx((low, high), abs=0.1)


def test_fieller_covers_where_the_first_order_does_not() -> None:
    # A rise known to 30 %: over repeated measurements Fieller's set holds the true ratio in 95 %.
    rng = np.random.default_rng(6)
    held = plain = 0
    for _ in range(2000):
        added, rise = rng.normal(3120.0, 150.0), rng.normal(10000.0, 3000.0)
        if rise <= 0.0:
            continue
        found = restriction_equivalent(loss(added, 150.0), loss(rise, 3000.0))
        low = -math.inf if found.low_percent is None else found.low_percent
        high = math.inf if found.high_percent is None else found.high_percent
        held += low <= 31.2 <= high
        plain += abs(found.percent - 31.2) <= 1.96 * found.standard_uncertainty_percent
    assert held / 2000 == pytest.approx(0.95, abs=0.015)
    assert plain / 2000 > held / 2000 + 0.005 or plain / 2000 < held / 2000 - 0.005


def test_fewer_degrees_of_freedom_widen_it() -> None:
    # t table: 2.571 at 5 degrees of freedom.  With an exact rise the ends are a plain interval.
    found = restriction_equivalent(loss(3120.0, 350.0, 5.0), loss(10000.0, 0.0))

    assert found.degrees_of_freedom == pytest.approx(5.0)
    assert found.high_percent == pytest.approx(31.2 + 2.5706 * 3.5, abs=1e-3)
    assert found.lower_percent == pytest.approx(31.2 - 2.0150 * 3.5, abs=1e-3)


def test_a_rise_that_is_hardly_known_leaves_a_least_percentage_only() -> None:
    found = restriction_equivalent(loss(3120.0, 350.0), loss(1000.0, 600.0))

    assert not found.bounded
    assert not found.cannot_tell
    assert found.high_percent is None
    assert found.low_percent is not None
    # At the least ratio the difference is just k of its own uncertainty.
    r = found.low_percent / 100.0
    assert 3120.0 - r * 1000.0 == pytest.approx(
        1.959964 * math.hypot(350.0, 600.0 * r) * math.copysign(1.0, 3120.0 - r * 1000.0), rel=1e-6
    )


def test_nothing_known_is_cannot_tell() -> None:
    found = restriction_equivalent(loss(300.0, 350.0), loss(1000.0, 600.0))

    assert found.cannot_tell
    assert found.percent == pytest.approx(30.0)


def test_the_least_percentage_does_not_jump_where_the_upper_end_goes_to_infinity() -> None:
    critical = 10000.0 / 1.959963984540054
    ends = [
        restriction_equivalent(ADDED, loss(10000.0, critical * (1.0 + e))).low_percent
        for e in (-1e-9, 0.0, 1e-9)
    ]

    assert ends == pytest.approx([ends[1]] * 3, rel=1e-6)


@given(
    added=st.floats(0.0, 1e4),
    u_added=st.floats(1.0, 5e3),
    rise=st.floats(1.0, 3e4),
    u_rise=st.floats(0.0, 1e4),
)
def test_the_estimate_is_inside_and_the_ends_are_where_they_should_be(
    added: float, u_added: float, rise: float, u_rise: float
) -> None:
    found = restriction_equivalent(loss(added, u_added), loss(rise, u_rise))

    for end, sign in ((found.low_percent, 1.0), (found.high_percent, -1.0)):
        if end is None:
            continue
        assert sign * (found.percent - end) >= -1e-6 * abs(end)
        r = end / 100.0
        apart = abs(added - r * rise)
        k = 1.959963984540054
        assert apart == pytest.approx(k * math.hypot(u_added, r * u_rise), rel=1e-4)


def test_a_covariance_narrows_what_is_measured_with_one_flow() -> None:
    # Both by the same flow meter: errors go the same way and cancel in the ratio.
    apart = restriction_equivalent(ADDED, RISE)
    together = restriction_equivalent(ADDED, RISE, covariance_pa2=0.9 * 350.0 * 600.0)

    assert together.standard_uncertainty_percent < apart.standard_uncertainty_percent
    # By hand: sqrt(350^2 - 2 0.312 189000 + (0.312 600)^2) / 100.
    expected = math.sqrt(350.0**2 - 0.624 * 189000.0 + 187.2**2) / 100.0
    assert together.standard_uncertainty_percent == pytest.approx(expected, rel=1e-12)


def test_a_rise_is_loaded_less_clean() -> None:
    rise = restriction_rise(loss(14000.0, 300.0), loss(4000.0, 400.0, 4.0))

    assert (rise.loss_pa, rise.standard_uncertainty_pa) == (10000.0, 500.0)
    # Welch-Satterthwaite by hand: 500^4 / (400^4 / 4).
    assert rise.degrees_of_freedom == pytest.approx(500.0**4 / (400.0**4 / 4.0))


def test_what_makes_no_ratio_is_refused_all_at_once() -> None:
    with pytest.raises(InputError) as caught:
        restriction_equivalent(loss(math.nan, -1.0), loss(10000.0, 600.0, 0.0))
    for part in ("not finite", "allowed 0 or more", "allowed above 0"):
        assert part in str(caught.value)
    with pytest.raises(InputError, match="must be above that when clean"):
        restriction_equivalent(ADDED, loss(-10.0, 5.0))
    with pytest.raises(InputError, match="covariance"):
        restriction_equivalent(ADDED, RISE, covariance_pa2=1e6)
