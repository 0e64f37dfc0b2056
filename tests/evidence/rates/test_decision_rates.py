"""
Our own way keeps its promises, and the same harness goes red when the method is spoilt.

A loss of the margin passes once in twenty: 0.045 to 0.054 in 100,000 sessions, the band that the
method's own simulation found; its standard error here is 0.0007.  Every other figure is held
against the printed one with the allowance of `Figure.allowance`.
"""

import numpy as np
import pytest
from scipy import integrate, stats
from scipy.special import ndtr

from feedproof.evidence.designs import design_of_order
from feedproof.evidence.multiplicity import holm_adjusted
from feedproof.evidence.plan.chance import chance_of_excluding
from feedproof.evidence.planning import power
from feedproof.evidence.students import student_survival
from tests.evidence.rates.breaking_figures import (
    ARCHIVE_FIGURES,
    SETUP_FIGURES,
    SHAPE_FIGURES,
    wrong_archive_trials,
)
from tests.evidence.rates.decision_figures import (
    FIVE_EACH,
    GAUGE_FIGURES,
    LOOK_FIGURES,
    MARGIN,
    PAIR_FIGURES,
    POWER_FIGURES,
    first_pass,
    gauge_trials,
)
from tests.evidence.rates.draws import sessions, with_archive
from tests.evidence.rates.figure import Figure
from tests.evidence.rates.harness import OURS, Decided, Declared, Method, decide, flags_of
from tests.evidence.rates.wrong_figures import SAME_TABLE_FIGURES

REPEATS = 100_000
BAND = (0.045, 0.054)
ORDERS = ("ABA", "ABBA", "ABAB", "ABABAB", "ABBAAB", "ABABABABAB", FIVE_EACH)


def decided(
    order: str,
    *,
    loss: float = MARGIN,
    drift: float = 0.0,
    method: Method = OURS,
    archive: bool = True,
) -> Decided:
    """Decide many sessions; each with its own random archive of eight degrees of freedom."""
    rng = np.random.default_rng([len(order), round(10 * drift) + 100, order.count("BB")])
    runs = sessions(rng, order, REPEATS, loss=loss, drift=drift)
    declared = with_archive(rng, REPEATS) if archive else Declared()
    return decide(runs, order, declared, method)


def false_accept(
    order: str, drift: float = 0.0, method: Method = OURS, *, archive: bool = True
) -> float:
    """Give how often a loss of the margin passes."""
    found = decided(order, drift=drift, method=method, archive=archive)
    return float(found.passes(MARGIN).mean())


def is_in_band(rate: float) -> bool:
    """Say whether a rate of false accepts is what it should be."""
    return BAND[0] <= rate <= BAND[1]


@pytest.mark.parametrize("drift", [0.0, 1.0, -1.0])
@pytest.mark.parametrize("order", ORDERS)
def test_a_loss_of_the_margin_passes_once_in_twenty(order: str, drift: float) -> None:
    assert is_in_band(false_accept(order, drift))


@pytest.mark.parametrize("order", ["AABB", "ABBA", "AAABBB", "ABABAB", FIVE_EACH])
def test_without_an_archive_it_passes_once_in_twenty_too(order: str) -> None:
    assert is_in_band(false_accept(order, -1.0, archive=False))


@pytest.mark.parametrize("order", ORDERS)
def test_a_factor_of_one_leaves_the_band(order: str) -> None:
    assert false_accept(order, method=Method(factor=1.0)) > 0.15


@pytest.mark.parametrize("order", ["ABBA", "ABAB", "ABABAB", "ABBAAB", FIVE_EACH])
def test_two_degrees_of_freedom_too_many_leave_the_band(order: str) -> None:
    spoilt = Method(more_degrees=2.0)
    assert false_accept(order, method=spoilt, archive=False) > BAND[1]
    assert is_in_band(false_accept(order, archive=False))


def test_two_degrees_of_freedom_too_many_show_beside_a_small_archive_too() -> None:
    rng = np.random.default_rng(12)
    runs = sessions(rng, "ABA", REPEATS, loss=MARGIN)
    small = with_archive(rng, REPEATS, nu0=4.0)
    assert is_in_band(float(decide(runs, "ABA", small).passes(MARGIN).mean()))
    spoilt = decide(runs, "ABA", small, Method(more_degrees=2.0))
    assert float(spoilt.passes(MARGIN).mean()) > BAND[1]


@pytest.mark.parametrize("order", ["AABB", "AAABBB", "AAAAABBBBB"])
def test_without_the_drift_term_blocks_pass_a_real_loss(order: str) -> None:
    assert false_accept(order, -1.0, Method(drift_term=False)) > 0.15
    assert is_in_band(false_accept(order, -1.0))


@pytest.mark.parametrize("order", ["ABAB", "ABABAB", "ABABABABAB"])
@pytest.mark.parametrize("drift", [1.0, -1.0])
def test_without_the_drift_term_alternating_runs_leave_the_band_too(
    order: str, drift: float
) -> None:
    # Above it or, where the drift swells the scatter, below.
    assert not is_in_band(false_accept(order, drift, Method(drift_term=False)))
    assert is_in_band(false_accept(order, drift))


@pytest.mark.parametrize("order", ["ABBA", "ABBAAB", FIVE_EACH])
def test_without_the_check_a_wrong_archive_does_more_harm(order: str) -> None:
    with_check = Figure(name=order, printed=0.0, trials=wrong_archive_trials(order, 0.5, 8.0))
    spoilt = wrong_archive_trials(order, 0.5, 8.0, Method(conflict_check=False))
    without = Figure(name=order, printed=0.0, trials=spoilt)
    assert without.measure(REPEATS)[0] > with_check.measure(REPEATS)[0] + 0.015


FIGURES = [
    *SAME_TABLE_FIGURES,
    *POWER_FIGURES,
    *LOOK_FIGURES,
    *PAIR_FIGURES,
    *GAUGE_FIGURES,
    *SHAPE_FIGURES,
    *ARCHIVE_FIGURES,
    *SETUP_FIGURES,
]


@pytest.mark.parametrize("figure", FIGURES, ids=lambda figure: figure.name)
def test_a_printed_figure_comes_out(figure: Figure) -> None:
    found, repeats = figure.measure(REPEATS)
    assert abs(found - figure.printed) <= figure.allowance(repeats), figure.explain(found, repeats)


def test_declared_looks_need_fewer_runs() -> None:
    """Printed: 6.6 runs in the mean at no loss; its standard error in 3000 sessions is 0.05."""
    stopped = first_pass(np.random.default_rng(31), REPEATS, 0.0, 0.98)
    assert np.where(stopped > 0, stopped, 10).mean() == pytest.approx(6.6, abs=0.25)


@pytest.mark.parametrize("u", [0.3, 0.6])
def test_instrument_error_that_is_left_out_passes_too_much(u: float) -> None:
    rng = np.random.default_rng(9)
    assert float(gauge_trials(u, included=False)(rng, REPEATS).mean()) > 0.09
    assert is_in_band(float(gauge_trials(u, included=True)(rng, REPEATS).mean()))


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("drift", [0.0, 1.0])
def test_the_planning_formula_is_exact_where_the_archive_is_not_checked(
    order: str, drift: float
) -> None:
    planned = power(design_of_order(order), margin=MARGIN, repeatability=1.0, archive_dof=8)
    found = decided(order, loss=0.0, drift=drift, method=Method(conflict_check=False))
    # Standard error 0.0016.
    assert float(found.passes(MARGIN).mean()) == pytest.approx(planned, abs=0.007)


@pytest.mark.parametrize("order", ["ABA", "ABABABABAB", FIVE_EACH])
def test_power_is_within_two_hundredths_of_the_planning_formula(order: str) -> None:
    planned = power(design_of_order(order), margin=MARGIN, repeatability=1.0, archive_dof=8)
    found = float(decided(order, loss=0.0).passes(MARGIN).mean())
    assert found == pytest.approx(planned, abs=0.02)


def power_with_check(order: str, nu0: float, margin: float) -> float:
    """
    Integrate the power with the check of the archive over both variances, at unit scatter.

    Outside check: chi-square, F and t laws of scipy, a double integral over probabilities.
    """
    design = design_of_order(order)
    nu, root = design.degrees_of_freedom, np.sqrt(design.variance_factor)
    critical = stats.f.isf(0.05, nu, nu0)
    both, alone = stats.t.ppf(0.95, nu + nu0), stats.t.ppf(0.95, nu)
    grid, weight = np.polynomial.legendre.leggauss(400)
    p, w = 0.5 * (grid + 1.0), 0.5 * weight
    own = stats.chi2.ppf(p, nu)[:, None] / nu
    archive = stats.chi2.ppf(p, nu0)[None, :] / nu0
    dropped = own > critical * archive
    scatter = np.sqrt(np.where(dropped, own, (nu * own + nu0 * archive) / (nu + nu0)))
    factor = np.where(dropped, alone, both)
    return float(w @ ndtr(margin / root - factor * scatter) @ w)


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("u", [0.0, 0.6])
def test_power_is_what_the_plan_with_the_check_of_the_archive_says(order: str, u: float) -> None:
    """The wanted 0.02, and three times closer; the standard error is 0.0016."""
    planned = chance_of_excluding(
        design_of_order(order), margin=MARGIN, repeatability=1.0, archive_dof=8, u_other=u
    )
    rng = np.random.default_rng([51, len(order)])
    error = np.outer(rng.normal(0.0, u, REPEATS), flags_of(order))
    runs = sessions(rng, order, REPEATS) + error
    found = decide(runs, order, with_archive(rng, REPEATS, type_b_u=u)).passes(MARGIN)
    assert float(found.mean()) == pytest.approx(planned, abs=0.007)


@pytest.mark.parametrize("order", ["ABBA", "ABAB", "ABABAB", "ABBAAB"])
def test_checking_the_archive_costs_what_an_integral_says_and_no_more_than_three_hundredths(
    order: str,
) -> None:
    planned = power(design_of_order(order), margin=MARGIN, repeatability=1.0, archive_dof=8)
    found = float(decided(order, loss=0.0).passes(MARGIN).mean())
    assert found == pytest.approx(power_with_check(order, 8.0, MARGIN), abs=0.007)
    # The rate's own error is 0.0016, so the cost is known to be inside 0 to 0.03 within that.
    assert 0.0 <= planned - power_with_check(order, 8.0, MARGIN) <= 0.03


def test_all_measures_must_pass_and_that_needs_no_correction() -> None:
    """Printed 0.037 for one of three measures at the margin; from 3000 sessions."""
    rng = np.random.default_rng(15)
    passed = [
        decide(
            sessions(rng, FIVE_EACH, REPEATS, loss=loss), FIVE_EACH, with_archive(rng, REPEATS)
        ).passes(MARGIN)
        for loss in (MARGIN, 0.0, 0.0)
    ]
    joint = float(np.all(passed, axis=0).mean())
    figure = Figure(name="joint pass", printed=0.037, trials=lambda _, __: np.all(passed, axis=0))
    assert abs(joint - 0.037) <= figure.allowance(REPEATS)
    assert joint < 0.05


def test_a_loss_in_something_needs_holms_correction() -> None:
    """Printed 0.127 uncorrected for three measures; from 3000 sessions."""
    rng = np.random.default_rng(16)
    repeats = 20_000
    p = np.empty((repeats, 3))
    for j in range(3):
        found = decide(sessions(rng, "ABABAB", repeats), "ABABAB", with_archive(rng, repeats))
        u = (found.estimate - found.lower) / stats.t.ppf(0.95, found.degrees)
        p[:, j] = [
            student_survival(t, dof)
            for t, dof in zip((found.estimate / u).tolist(), found.degrees.tolist(), strict=True)
        ]
    uncorrected = float((p.min(axis=1) < 0.05).mean())
    corrected = float(np.mean([min(holm_adjusted(row)) < 0.05 for row in p.tolist()]))
    figure = Figure(name="any of three", printed=0.127, trials=lambda _, __: p.min(axis=1) < 0.05)
    assert abs(uncorrected - 0.127) <= figure.allowance(repeats)
    assert corrected == pytest.approx(0.05, abs=0.008)


def test_the_integral_itself_is_right_where_it_has_a_closed_form() -> None:
    """Without a check the same double integral is the noncentral t."""
    planned = power(design_of_order("ABABAB"), margin=MARGIN, repeatability=1.0, archive_dof=8)
    pooled = integrate.quad(
        lambda x: float(
            stats.chi2.pdf(x, 11)
            * ndtr(MARGIN / np.sqrt(35 / 48) - stats.t.ppf(0.95, 11) * np.sqrt(x / 11))
        ),
        0.0,
        60.0,
    )[0]
    assert pooled == pytest.approx(planned, abs=1e-6)
