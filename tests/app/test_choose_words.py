"""The choice's words say what the numbers say, and "cannot tell" where that is the answer."""

import pytest

from feedproof.app.choice_result import Wishes
from feedproof.app.choice_words import km, order_words, rule_words
from feedproof.kits.front import Order


@pytest.mark.parametrize(
    ("probability", "told"), [(0.39, True), (0.4, False), (0.5, False), (0.6, False), (0.61, True)]
)
def test_between_forty_and_sixty_in_a_hundred_nothing_is_told(
    probability: float, told: bool
) -> None:
    words = order_words(Order(probability=probability, standard_error=0.02, draws=400))
    assert ("cannot tell" in words) == (not told)
    assert f"{100 * probability:.0f} of 100" in words


def test_the_rule_prints_every_declared_worth() -> None:
    wishes = Wishes(joint_cost=7.0, change_cost=31.0, halving_worth=222.0, currency="crowns")
    words = rule_words(wishes)
    for said in ("7 for each joint", "31 for the visit", "222 for each halving", "crowns"):
        assert said in words


def test_distances_are_never_rounded_up() -> None:
    assert km(3.4999e7) == "34\u202f900"
    assert km(3.5e7) == "35\u202f000"
