"""
Promise: what no filter stops is said with sound figures, and nothing is promised.

Outside checks: petrol's own flash point (about -40 degC, memory) out of the mixing rule; Raoult by
hand; screening figures for 5 % petrol (3.0, 5.9 and 16.3 kPa at 20, 38 and 70 degC, memory); the
limit of EN 590 (above 55 degC, seen); the published pair of solubilities of ester.
"""

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.case.fuel import Fuel
from feedproof.core.values import SourcedValue
from feedproof.kits.flash_point import flash_point_with_petrol
from feedproof.kits.petrol import SHARES, petrol_effects
from feedproof.kits.unstopped import CAUTIONS, INSTRUCTION, UnstoppedWords, unstopped
from feedproof.kits.water_ranges import Range
from feedproof.physics.fuel_catalogue import fuel_of_grade
from tests.feedline.reference import fuel_of

PROMISE = re.compile(
    r"\bguarantee|\bpromis|\bsafe\b|\bprotects?\b|\bwill (?:not|never)\b|\bcertain|\balways\b"
    r"|\bremoves? (?:all|every)|\b100 %|\blifetime\b|\blonger life\b|\bprevents?\b",
    re.IGNORECASE,
)
SCREENING = ((293.15, 3.0e3), (311.15, 5.9e3), (343.15, 16.3e3))


def summer() -> Fuel:
    """Give the reference fuel."""
    return fuel_of("summer")


def words() -> UnstoppedWords:
    """Give the words for it."""
    return unstopped(summer())


def test_petrol_alone_flashes_where_petrol_flashes() -> None:
    # -40 degC is the figure that is commonly quoted (memory); nothing of it is in the rule.
    found = flash_point_with_petrol(1.0, 27e3, 3400.0, 0.014, 338.15)
    assert found == pytest.approx(233.15, abs=3.0)


def test_no_petrol_leaves_the_flash_point_alone() -> None:
    assert flash_point_with_petrol(0.0, 27e3, 3400.0, 0.014, 338.15) == pytest.approx(338.15)


@settings(max_examples=50)
@given(one=st.floats(0.0, 1.0), more=st.floats(0.0, 1.0))
def test_more_petrol_never_raises_the_flash_point(one: float, more: float) -> None:
    least, most = sorted((one, more))
    found = [flash_point_with_petrol(each, 27e3, 3400.0, 0.014, 338.15) for each in (least, most)]
    assert found[1] <= found[0] + 1e-9


def test_one_percent_may_leave_the_limit_of_diesel_and_two_do() -> None:
    # EN 590: above 55 degC.
    one, two = petrol_effects(summer(), shares=(0.01, 0.02))
    assert one.flash_point_k.low < 328.15
    assert one.flash_point_k.typical < 328.15
    assert two.flash_point_k.high < 328.15


def test_five_percent_has_the_vapour_pressure_of_the_screening_figures() -> None:
    (five,) = petrol_effects(summer(), shares=(0.05,))
    for (temperature, figure), (known, expected) in zip(
        five.vapour_pressure_abs_pa, SCREENING, strict=True
    ):
        assert temperature == known
        assert figure.low < expected < figure.high
        assert figure.typical == pytest.approx(expected, rel=0.2)


def test_vapour_pressure_is_raoults_sum_by_hand() -> None:
    # Moles per litre: diesel 0.95 x 838/210, petrol 0.05 x 745/100; petrol has 27 kPa.
    (five,) = petrol_effects(replace(summer(), density_15c_kg_per_m3=838.0), shares=(0.05,))
    diesel, petrol = 0.95 * 838.0 / 210.0, 0.05 * 745.0 / 100.0
    own = summer().vapour_pressure_20c_abs_pa
    by_hand = (diesel * own + petrol * 27e3) / (diesel + petrol)
    assert five.vapour_pressure_abs_pa[0][1].typical == pytest.approx(by_hand, rel=1e-9)


def test_thinner_with_every_share_and_never_below_petrol() -> None:
    found = petrol_effects(summer())
    assert [each.petrol_fraction for each in found] == [0.0, *SHARES]
    warm = [each.viscosity_40c_m2_per_s.typical for each in found]
    assert warm == sorted(warm, reverse=True)
    assert warm[-1] > 0.52e-6
    assert warm[0] == pytest.approx(summer().viscosity_warm_m2_per_s, rel=1e-9)
    # The mean of logarithms (Arrhenius) lies inside what three rules bound.
    ten = found[-1].viscosity_40c_m2_per_s
    arrhenius = math.exp(0.9 * math.log(warm[0]) + 0.1 * math.log(0.52e-6))
    assert ten.low * (1.0 - 1e-9) <= arrhenius <= ten.high


def test_ranges_of_the_book_widen_the_figures() -> None:
    name = summer().name
    book = {f"fuel.{name}.vapour_pressure_20c_abs": SourcedValue(value=100.0, low=50.0, high=900.0)}
    plain, ranged = (petrol_effects(summer(), each, shares=(0.01,))[0] for each in ({}, book))
    assert (
        ranged.vapour_pressure_abs_pa[0][1].high > plain.vapour_pressure_abs_pa[0][1].high + 500.0
    )


def test_every_kind_is_told_with_how_it_is_recognised() -> None:
    found = words()
    assert len(found.items) == 4
    for kind in ("petrol", "dissolved water", "additives", "soft matter"):
        (item,) = [each for each in found.items if each.name.startswith(kind)]
        assert item.card.endswith(".")
        assert len(item.card) <= 220
        assert item.recognised
    soft = found.items[-1]
    for matter in ("oap", "sterol", "lycerol", "olymer", "microb"):
        assert matter in soft.report
    told = " ".join(found.report)
    for share in (1, 2, 5, 10):
        assert f"{share} % petrol: viscosity" in told


def test_the_instruction_and_the_cautions_are_on_every_card_and_report() -> None:
    found = words()
    assert "do not start the engine" in INSTRUCTION
    assert "drained" in INSTRUCTION
    assert "licensed" in INSTRUCTION
    assert found.card[-1] == INSTRUCTION
    assert INSTRUCTION in found.report
    assert set(CAUTIONS) <= set(found.report)
    assert "flammable" in CAUTIONS[0]


@pytest.mark.parametrize("grade", ["", "b20", "en590_class_f", "petrol_5_percent"])
def test_nothing_is_promised(grade: str) -> None:
    fuel = fuel_of_grade(grade) if grade else summer()
    found = unstopped(fuel)
    for text in (*found.card, *found.report, *found.names):
        assert not PROMISE.search(text), text


@pytest.mark.parametrize("text", ["This kit protects the pump.", "It will never block.", "is safe"])
def test_a_promise_is_found(text: str) -> None:
    assert PROMISE.search(text)


def test_fuel_that_holds_petrol_says_so() -> None:
    assert "declared to hold 5 % petrol" in unstopped(fuel_of_grade("petrol_5_percent")).report[0]
    assert "declared to hold" not in words().report[0]


def test_petrol_that_is_held_already_counts_for_the_flash_point() -> None:
    held = petrol_effects(replace(summer(), petrol_fraction=0.05), shares=(0.0,))[0]
    fresh = petrol_effects(summer(), shares=(0.05,))[0]
    assert held.flash_point_k.typical == pytest.approx(fresh.flash_point_k.typical, abs=0.5)


def test_ester_holds_what_the_published_pair_says() -> None:
    # 1500 mg/kg at 10 degC; at 60 degC the line through the pair gives 1980 exp(0.0069 x 10).
    pure = unstopped(summer(), ester_fraction=Range(low=1.0, typical=1.0, high=1.0))
    assert pure.dissolved_cold_fraction.typical == pytest.approx(1500e-6, rel=0.01)
    assert pure.dissolved_warm_fraction.typical == pytest.approx(
        1980e-6 * math.exp(0.069), rel=0.01
    )
    plain = words()
    assert plain.dissolved_warm_fraction.typical == pytest.approx(50e-6 * math.exp(1.2))
    assert "Ester holds many times" in pure.items[1].report


def test_a_flash_point_that_nobody_gave_is_called_assumed() -> None:
    assert any("ordinary road diesel" in each for each in words().assumed)
    own = unstopped(fuel_of_grade("astm_d975_1d"))
    assert not any("ordinary road diesel" in each for each in own.assumed)
