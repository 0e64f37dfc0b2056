"""Digits: units of the trade, and no figure rounded onto what it is compared with."""

import pytest

from feedproof.report import digits


def plainly(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_pressure_has_inches_of_mercury_beside_it() -> None:
    # 1 inHg = 3.38639 kPa (conventional inch of mercury, NIST SP 811, appendix B: 3.386389 kPa).
    assert plainly(digits.kpa_inhg(3386.389)) == "3.39 kPa (1.00 inHg)"


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (digits.flow(1.0e-3 / 36.0), "100.0 L/h"),
        (digits.road_speed(10.0), "36 km/h"),
        (digits.power(71_234.0), "71.23 kW"),
        (digits.temperature(308.15), "35 °C"),
        (digits.temperature(268.65), "\u22124.5 °C"),
        (digits.engine_speed(50.0), "3000 rpm"),
        (digits.short_percent(2.0), "2 %"),
    ],
)
def test_units_of_the_trade(written: str, expected: str) -> None:
    assert plainly(written) == expected


def test_minus_nothing_is_nothing() -> None:
    assert digits.decimal(-0.0004, 2) == "0.00"


def test_equal_figures_stay_equal() -> None:
    assert digits.percent(2.0, 2.0) == digits.percent(2.0)
