"""
Orders: their variance, and what they suffer from a drift that is no straight line.

The factors are those of ordinary least squares, worked out here by numpy's pseudo-inverse; the
printed table of an earlier independent calculation stands beside.  The shares of false passes were
simulated before this code was written; here they are simulated anew by numpy and scipy alone.
"""

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from feedproof.evidence.plan.orders import HURTS, TOO_GOOD, candidate_orders, describe_order

PRINTED = {
    "AB": math.inf,
    "ABA": 1.500,
    "AABB": 5.000,
    "ABAB": 1.250,
    "ABBA": 1.000,
    "AAABBB": 2.917,
    "ABABAB": 0.729,
    "ABBAAB": 0.673,
    "ABBABAAB": 0.500,
    "ABABABABAB": 0.4125,
}
DOF = {"ABA": 0, "AABB": 1, "ABAB": 1, "ABBA": 1, "ABABAB": 3, "ABBABAAB": 5, "ABABABABAB": 7}
SESSIONS, ARCHIVE_DOF, MARGIN = 12_000, 8, 2.0


@pytest.mark.parametrize(("order", "printed"), PRINTED.items())
def test_the_variance_factor_is_the_tabulated_one(order: str, printed: float) -> None:
    found = describe_order(order).design

    assert found.variance_factor_with_drift == pytest.approx(printed, abs=5.1e-4)
    if order in DOF:
        assert found.degrees_of_freedom == DOF[order]


def model(order: str) -> np.ndarray:
    """Write the columns mean, kit and drift."""
    place = np.arange(len(order), dtype=float)
    return np.stack(
        [np.ones(len(order)), [each == "B" for each in order], place - place.mean()], axis=1
    )


@pytest.mark.parametrize("order", ["ABA", "ABBA", "ABBAAB", "ABABABAB", "ABBABAABAB"])
def test_variance_and_set_up_factors_are_those_of_the_pseudo_inverse(order: str) -> None:
    weights = np.linalg.pinv(model(order))[1]
    change = np.cumsum([0, *(a != b for a, b in itertools.pairwise(order))])
    inside = [weights[change == each].sum() for each in np.unique(change)]
    found = describe_order(order)

    assert found.design.variance_factor == pytest.approx(float(weights @ weights), rel=1e-12)
    assert found.setup_factor == pytest.approx(float(np.square(inside).sum()), rel=1e-12)
    assert found.changes == change[-1]


def share_passed(order: str, drift: np.ndarray, seed: int, declared: float = 1.0) -> float:
    """Simulate sessions with a loss of the margin and decide as the method says."""
    noise = np.random.default_rng(seed)
    x = model(order)
    n, flags = len(order), x[:, 1]
    values = noise.normal(size=(SESSIONS, n)) + MARGIN * flags + drift
    beta = values @ np.linalg.pinv(x).T
    dof = n - 3
    own = np.square(values - beta @ x.T).sum(axis=1)
    s0 = declared**2 * noise.chisquare(ARCHIVE_DOF, SESSIONS) / ARCHIVE_DOF
    variance, nu = s0, np.full(SESSIONS, float(ARCHIVE_DOF))
    if dof:
        clash = stats.f.sf(own / dof / s0, dof, ARCHIVE_DOF) < 0.05
        variance = np.where(clash, own / dof, (ARCHIVE_DOF * s0 + own) / (ARCHIVE_DOF + dof))
        nu = np.where(clash, dof, ARCHIVE_DOF + dof)
    weights = np.linalg.pinv(x)[1]
    upper = beta[:, 1] + stats.t.ppf(0.95, nu) * np.sqrt(variance * (weights @ weights))
    return float(np.mean(upper < MARGIN))


def worst_sign(order: str, drift: np.ndarray) -> float:
    """Take the sign of a drift that passes more."""
    return max(share_passed(order, sign * drift, seed=5) for sign in (1.0, -1.0))


@pytest.mark.parametrize("order", [each for each in HURTS if HURTS[each].odd_end is not None])
def test_an_odd_first_or_last_run_passes_what_was_simulated(order: str) -> None:
    """Standard error 0.004; an odd run is two repeatabilities off."""
    odd = np.zeros(len(order))
    odd[0] = 2.0
    found = max(worst_sign(order, odd), worst_sign(order, odd[::-1]))

    assert found == pytest.approx(HURTS[order].odd_end, abs=0.02)


@pytest.mark.parametrize("order", HURTS)
def test_a_jump_half_way_passes_what_was_simulated(order: str) -> None:
    """Standard error 0.004."""
    n = len(order)
    half = [np.arange(n) >= each for each in {n // 2, (n + 1) // 2}]
    found = max(worst_sign(order, 2.0 * jump) for jump in half)

    assert found == pytest.approx(HURTS[order].jump, abs=0.02)


@pytest.mark.parametrize("order", TOO_GOOD)
def test_a_declared_figure_of_half_the_truth_passes_what_was_simulated(order: str) -> None:
    found = share_passed(order, np.zeros(len(order)), seed=7, declared=0.5)

    assert found == pytest.approx(TOO_GOOD[order], abs=0.015)


def test_without_drift_the_simulated_decision_keeps_five_percent() -> None:
    assert share_passed("ABABAB", 0.7 * np.arange(6.0), seed=3) == pytest.approx(0.05, abs=0.008)


def test_every_trap_is_listed_last_with_its_reason() -> None:
    listed = candidate_orders(3)
    bad = [each for each in listed if each.trap]

    assert [each.order for each in bad] == ["AB", "AABB", "AAABBB"]
    assert listed[-3:] == tuple(bad)
    assert {"ABA", "ABBA", "ABAB", "ABABAB", "ABBAAB", "ABBABAAB", "ABBABAABAB"} <= {
        each.order for each in listed
    }
    assert "ABABABABABAB" in {each.order for each in candidate_orders(6)}
