"""
From the document to the case.

Promised: every number arrives in SI as it was written, with its range and source in the book of
values under its path; levels in litres and altitudes are turned as the standards say.
"""

from pathlib import Path

import pytest

from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.case.parts import Element
from tests.records.documents import VEHICLE, reading_of, run_text


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Case:
    text = VEHICLE.replace('fuel_level = "60 %"', 'fuel_level = "54 L"') + run_text(7)
    read = reading_of(text, tmp_path_factory.mktemp("case")).case
    assert read is not None
    return read


def test_a_value_with_range_and_source_stands_in_the_book_under_its_path(case: Case) -> None:
    bore = case.values["line[steel_line].bore"]

    assert (bore.value, bore.low, bore.high) == pytest.approx((8e-3, 7.6e-3, 8.2e-3))
    assert bore.source.startswith("tube size")
    assert bore.text == "8 mm"


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("vehicle.pump.slip", 3.2e-3 / 3600),
        ("vehicle.tank.capacity", 0.090),
        ("kit[secondary].insertion[0].part[secondary_hoses].bore", 0.010),
        ("worst[0].loading.factory_filter", 0.004),
        ("fuel.summer.density_15c", 838.0),
        ("run[7].fuel_level", 0.58),
        ("instrument.logger.span", 80e3),
    ],
)
def test_a_value_without_source_stands_in_the_book_too(path: str, value: float, case: Case) -> None:
    assert case.values[path].value == pytest.approx(value)


def test_a_default_that_nobody_wrote_is_not_in_the_book(case: Case) -> None:
    assert "line[pickup_tube].roughness" not in case.values


def test_a_level_in_litres_is_divided_by_the_tank(case: Case) -> None:
    assert case.reference.fuel_level_fraction == pytest.approx(54 / 90)


def test_an_altitude_becomes_the_pressure_of_the_standard_atmosphere(case: Case) -> None:
    # ISO 2533:1975, table of pressures: 746.917 hPa at 2500 m geometric altitude (memory);
    # the geopotential altitude of the case differs by 1 m, worth 0.1 hPa.
    assert case.worst[0].ambient_pressure_abs_pa == pytest.approx(74692, abs=15)


def test_repeatability_of_a_ratio_becomes_log_percent_and_of_a_pressure_stays(case: Case) -> None:
    assert case.repeatability[Measure.WHEEL_POWER].standard_deviation == pytest.approx(0.5)
    assert case.repeatability[Measure.INLET_DEPRESSION].standard_deviation == pytest.approx(250.0)


def test_an_element_without_loading_scale_never_loads(case: Case) -> None:
    strainer = case.vehicle.line.parts[0]

    assert isinstance(strainer, Element)
    assert strainer.loading_scale_kg == float("inf")


def test_kits_are_let_into_the_line_at_their_place(case: Case) -> None:
    ids = [part.id for part in case.line_with(("secondary",)).parts]

    assert ids[ids.index("factory_filter") + 1] == "secondary_element"


@pytest.mark.parametrize(
    ("written", "other"),
    [
        ('"8 mm"', '"0.8 cm"'),
        ('"8 mm"', '"8mm"'),
        ('"1.3 m"', '{ value = "1.3 m" }'),
        ('"600 kPa"', '"6 bar"'),
        ('"1.45 cm^3"', '"1.45 mL"'),
        ('"3300 rpm"', '"55 rps"'),
        ('"5 MPa"', '"50 bar"'),
    ],
)
def test_the_unit_in_which_a_value_is_written_changes_nothing(
    written: str, other: str, tmp_path: Path
) -> None:
    one = reading_of(VEHICLE, tmp_path).case
    two = reading_of(VEHICLE.replace(f"= {written}", f"= {other}"), tmp_path).case

    assert one is not None
    assert two is not None
    for path, value in one.values.items():
        assert two.values[path].value == pytest.approx(value.value, rel=1e-12)


def test_a_fuel_may_name_its_own_two_temperatures(tmp_path: Path) -> None:
    text = VEHICLE.replace(
        'viscosity_20c = "4.80 mm^2/s"\nviscosity_40c = "2.95 mm^2/s"',
        'viscosity_cool = "4.80 mm^2/s"\ntemperature_cool = "15 degC"\n'
        'viscosity_warm = "2.95 mm^2/s"\ntemperature_warm = "50 degC"',
    )
    read = reading_of(text, tmp_path).case

    assert read is not None
    assert read.fuels["summer"].temperature_warm_k == pytest.approx(323.15)
