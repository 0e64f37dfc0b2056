"""The fitted element in words: what is promised, and what must never be said."""

import math

import pytest

from feedproof.evidence.fit.element_equivalent import Restriction, restriction_equivalent
from feedproof.evidence.fit.element_fit import fit_element
from feedproof.evidence.fit.element_words import customer_words, engineer_words, equivalent_words
from tests.evidence.fit.element_sets import L_PER_H, TRUE_A, TRUE_B, Plant

AT_120 = 120.0 * L_PER_H
NEVER = ("proven", "identical", "100%", "100 %", "no significant difference", "no loss", "gain")


def test_a_customer_reads_a_pressure_a_range_and_what_was_not_tested() -> None:
    fit = fit_element(Plant().runs(None))
    added = fit.added_depression(AT_120)

    text = " ".join(customer_words(fit, added))

    # 3.12 kPa over 3.38639 kPa per inHg is 0.92.
    assert "At 120 L/h and 40 °C fuel" in text
    assert "about 3.12 kPa (0.92 inHg) harder" in text
    assert f"{added.added_pa.low / 1e3:.2f} kPa" in text
    assert "19 times in 20" in text
    assert "Not tested: a loaded element, cold fuel" in text


def test_what_the_runs_cannot_show_is_no_pass() -> None:
    # 31 Pa added, each run's flow scale uncertain by 3 %.
    fit = fit_element(Plant(a=0.01 * TRUE_A, b=0.01 * TRUE_B, scale_sd=0.03).runs(None))

    text = " ".join(customer_words(fit, fit.added_depression(AT_120)))

    assert "cannot tell" in text
    assert "This is not a pass." in text


def test_an_apparent_lowering_is_no_result() -> None:
    fit = fit_element(Plant(a=-TRUE_A, b=-TRUE_B).runs(None))

    text = " ".join(customer_words(fit, fit.added_depression(AT_120)))

    assert "No filter does that" in text
    assert "not a result" in text


def test_an_engineer_reads_figures_sources_and_findings() -> None:
    fit = fit_element(Plant(order="ABBA", scale_sd=0.02).runs(None), shared_flow_scale_u=0.01)
    added = fit.added_depression(200.0 * L_PER_H)

    text = " ".join(engineer_words(fit, added))

    assert f"{added.added_pa.standard_uncertainty:.3g} Pa (declared)" in text
    assert "flow scale shared by all runs" in text
    assert f"correlation {fit.correlation:.3f}" in text
    assert "2 runs without and 2 with the element, 48 points" in text
    assert "drift between the runs is no part of it" in text
    assert "outside the runs with and without" in text


def test_one_flow_is_said_to_both() -> None:
    fit = fit_element(Plant(lowest=120.0, highest=120.0).runs(None))
    added = fit.added_depression()

    assert "known at this one flow only" in " ".join(customer_words(fit, added))
    assert "a and b cannot be told apart" in " ".join(engineer_words(fit, added))


@pytest.mark.parametrize(
    ("rise", "expected"),
    [
        (Restriction(loss_pa=10e3, standard_uncertainty_pa=600.0), "at 31 % of its restriction"),
        (Restriction(loss_pa=1e3, standard_uncertainty_pa=600.0), "% or more of its restriction"),
    ],
)
def test_the_equivalent_is_percent_of_restriction_and_says_so(
    rise: Restriction, expected: str
) -> None:
    fit = fit_element(Plant().runs(None))
    added = fit.added_depression(AT_120)
    like = Restriction(loss_pa=3120.0, standard_uncertainty_pa=350.0)

    text = " ".join(equivalent_words(restriction_equivalent(like, rise), added))

    assert expected in text
    assert "not of dirt held and not of life" in text


def test_an_equivalent_that_cannot_be_told_says_cannot_tell() -> None:
    fit = fit_element(Plant().runs(None))
    little = Restriction(loss_pa=300.0, standard_uncertainty_pa=350.0)
    rise = Restriction(loss_pa=1000.0, standard_uncertainty_pa=600.0)

    text = equivalent_words(restriction_equivalent(little, rise), fit.added_depression(AT_120))

    assert "cannot tell" in text[0]


def test_an_equivalent_that_may_be_nothing_says_so() -> None:
    fit = fit_element(Plant().runs(None))
    little = Restriction(loss_pa=300.0, standard_uncertainty_pa=350.0)
    rise = Restriction(loss_pa=10e3, standard_uncertainty_pa=600.0)

    text = equivalent_words(restriction_equivalent(little, rise), fit.added_depression(AT_120))

    assert "(95 %: 0 to " in text[0]
    assert "not shown" in text[0]


def test_an_equivalent_beyond_a_change_out_is_said_to_be_that() -> None:
    fit = fit_element(Plant().runs(None))
    much = Restriction(loss_pa=24e3, standard_uncertainty_pa=350.0)
    rise = Restriction(loss_pa=10e3, standard_uncertainty_pa=600.0)

    text = equivalent_words(restriction_equivalent(much, rise), fit.added_depression(AT_120))

    assert "at 240 % of its restriction rise" in text[0]
    assert "more than the factory element gains up to its change-out" in text[0]


def test_words_that_promise_too_much_are_never_used() -> None:
    for plant in (Plant(), Plant(a=-TRUE_A, b=-TRUE_B), Plant(lowest=120.0, highest=120.0)):
        fit = fit_element(plant.runs(None))
        added = fit.added_depression(None if not fit.separable else AT_120)
        text = " ".join((*customer_words(fit, added), *engineer_words(fit, added))).lower()
        assert not [word for word in NEVER if word in text]
        assert not math.isnan(added.added_pa.value)
