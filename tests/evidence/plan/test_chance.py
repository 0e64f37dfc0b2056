"""
The chance that a session excludes a margin, with the check of the declared repeatability.

Outside checks: powers that an independent simulation of the whole decision gave (40,000 sessions
each, printed with two digits); a simulation by numpy and scipy here; the noncentral t of scipy.
"""

import inspect
import math

import numpy as np
import pytest
from scipy import stats

from feedproof.evidence import archive
from feedproof.evidence.designs import design_of_order
from feedproof.evidence.plan.chance import CONFLICT, chance_of_excluding
from feedproof.evidence.planning import power

TWO, THREE = 2.0203, 3.0459
FIVE = "AB" * 5
# Repeatability and margins; the printed power for each order.
PRINTED = [
    (0.5, (1.005, TWO), {"ABA": (0.44, 0.91), "ABBA": (0.55, 0.93), "ABABAB": (0.68, 0.99)}),
    (0.5, (1.005, TWO), {FIVE: (0.91, 1.0)}),
    (1.0, (TWO, THREE), {"ABA": (0.44, 0.72), "ABBA": (0.55, 0.83), "ABABAB": (0.68, 0.93)}),
    (1.0, (TWO, THREE), {FIVE: (0.90, 1.0)}),
    (1.5, (TWO, THREE), {"ABA": (0.26, 0.44), "ABBA": (0.33, 0.55), "ABABAB": (0.42, 0.68)}),
    (1.5, (TWO, THREE), {FIVE: (0.63, 0.90)}),
    (0.2, (1.0, 2.0), {"ABA": (0.98, 1.0), "ABBA": (0.95, 0.96), "ABABAB": (1.0, 1.0)}),
    (0.35, (1.0, 2.0), {"ABA": (0.69, 1.0), "ABBA": (0.79, 0.95), "ABABAB": (0.91, 1.0)}),
    (0.5, (1.0, 2.0), {"ABA": (0.44, 0.91), "ABBA": (0.55, 0.93), "ABABAB": (0.68, 0.99)}),
]
CASES = [
    (order, sd, margin, printed)
    for sd, margins, rows in PRINTED
    for order, powers in rows.items()
    for margin, printed in zip(margins, powers, strict=True)
]


@pytest.mark.parametrize(("order", "sd", "margin", "printed"), CASES)
def test_the_chance_is_the_simulated_one(
    order: str, sd: float, margin: float, printed: float
) -> None:
    found = chance_of_excluding(
        design_of_order(order), margin=margin, repeatability=sd, archive_dof=8
    )

    assert found == pytest.approx(printed, abs=0.02)


def test_the_plain_formula_alone_would_promise_too_much() -> None:
    """The check that proves the integral is needed: ABBA at 2 % and 1 % was simulated as 0.55."""
    plain = power(design_of_order("ABBA"), margin=TWO, repeatability=1.0, archive_dof=8)

    assert plain > 0.55 + 0.03


@pytest.mark.parametrize(("order", "archive_dof"), [("ABA", 8), ("ABBA", 0), ("ABABAB", 0)])
def test_without_two_figures_to_compare_it_is_the_noncentral_t_of_scipy(
    order: str, archive_dof: int
) -> None:
    design = design_of_order(order)
    dof = design.degrees_of_freedom + archive_dof
    shift = TWO / math.sqrt(design.variance_factor) / 0.6
    expected = stats.nct.sf(stats.t.ppf(0.95, dof), dof, shift)
    found = chance_of_excluding(design, margin=TWO, repeatability=0.6, archive_dof=archive_dof)

    assert found == pytest.approx(expected, abs=2e-3)


def test_with_instruments_it_is_the_share_of_simulated_sessions() -> None:
    """Effective degrees of freedom after JCGM 100, G.4.1; standard error 0.002."""
    noise, n, u_other = np.random.default_rng(11), 40_000, 0.4
    design = design_of_order("ABABAB")
    g = design.variance_factor
    s, s0 = noise.chisquare(3, n) / 3, noise.chisquare(8, n) / 8
    clash = stats.f.sf(s / s0, 3, 8) < 0.05
    u2 = g * np.where(clash, s, (8 * s0 + 3 * s) / 11)
    nu = np.where(clash, 3.0, 11.0)
    total = u2 + u_other**2
    half = stats.t.ppf(0.95, total**2 / (u2**2 / nu)) * np.sqrt(total)
    half = np.maximum(half, stats.t.ppf(0.95, nu) * np.sqrt(u2))
    d = noise.normal(size=n) * math.sqrt(g + u_other**2)
    found = chance_of_excluding(
        design, margin=TWO, repeatability=1.0, archive_dof=8, u_other=u_other
    )

    assert found == pytest.approx(float(np.mean(d + half < TWO)), abs=0.008)


def test_a_loss_of_the_margin_passes_once_in_twenty() -> None:
    for order in ("ABA", "ABABAB", FIVE):
        found = chance_of_excluding(
            design_of_order(order), margin=TWO, true_loss=TWO, repeatability=1.0, archive_dof=8
        )
        assert found == pytest.approx(0.05, abs=0.005)


def test_without_any_degree_of_freedom_there_is_no_chance() -> None:
    assert chance_of_excluding(design_of_order("ABA"), margin=9.0, repeatability=0.1) == 0.0


def test_the_level_of_the_check_is_the_one_that_the_decision_uses() -> None:
    assert f"{CONFLICT}" in inspect.getsource(archive)
