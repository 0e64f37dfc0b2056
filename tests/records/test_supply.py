"""Promise: ratings, supply, duty and service are read in SI, and what makes no sense is said."""

from pathlib import Path

import pytest

from feedproof.case.parts import Element
from feedproof.case.supply import BYPASS_FRACTION, FIELD_SIZE_FACTOR
from feedproof.core.findings import Level
from tests.records.documents import VEHICLE, errors_of, reading_of

RATING = """
[[kit]]
id = "fine"
title = "fine"
[[kit.insertion]]
after = "factory_filter"
[[kit.insertion.part]]
id = "fine_element"
kind = "element"
role = "secondary"
media_resistance = "3.2e9 1/m"
face_area = "0.42 m^2"
housing_inertial = "4e8 1/m^4"
loading_scale = "9 g"
[kit.insertion.part.rating]
point = [{ size = "4 um(c)", ratio = 75 }, { size = "5 um(c)", ratio = 200 }]
source = "invented"
[kit.insertion.part.separator]
efficiency = "93 %"
droplet = "200 um"
flow = "150 L/h"
side = "suction"
bowl = "200 mL"
sensor = "120 mL"
source = "invented"
"""
SUPPLY = """
[supply]
cleanliness = "20/18/13"
contamination = { value = "3 mg/kg", low = "1 mg/kg", high = "10 mg/kg", source = "invented" }
delivery_temperature = "15 degC"
source = "invented"
"""
DUTY = """
[duty]
fuel_use = "12 L/100km"
distance_per_year = "20000 km"
engine_speed = "1900 rpm"
load = "35 %"
source = "invented"
"""
SERVICE = """
[service]
longest_distance = "30000 km"
longest_time = "12 month"
source = "invented"
"""


ADDED = RATING + SUPPLY + DUTY + SERVICE


def with_added(right: str = "", wrong: str = "") -> str:
    """Write the vehicle with all that this room adds, one text replaced."""
    assert right in ADDED, right
    return VEHICLE + ADDED.replace(right, wrong, 1)


def test_all_is_read_in_si_and_what_nobody_declared_is_named(tmp_path: Path) -> None:
    reading = reading_of(with_added(), tmp_path)
    assert errors_of(reading) == []
    case = reading.case
    assert case is not None
    element = case.kits["fine"].insertions[0].parts[0]
    assert isinstance(element, Element)
    rating, separator = element.rating, element.separator

    assert rating is not None
    assert separator is not None
    assert [point.size_m for point in rating.points] == pytest.approx([4e-6, 5e-6])
    assert [point.ratio for point in rating.points] == [75.0, 200.0]
    assert rating.field_size_factor == FIELD_SIZE_FACTOR
    assert rating.bypass_fraction == BYPASS_FRACTION
    assert rating.assumed == ("field_size_factor", "field_slope_factor", "bypass")
    assert separator.bowl_m3 == pytest.approx(2e-4)
    assert case.supply is not None
    assert case.supply.cleanliness == (20, 18, 13)
    assert case.supply.contamination_fraction == pytest.approx(3e-6)
    assert case.duty is not None
    assert case.duty.fuel_use_m2 == pytest.approx(12e-3 / 100e3)  # 12 L over 100 km
    assert case.service is not None
    assert case.service.longest_distance_m == pytest.approx(3e7)
    assert case.service.assumed == ("chance", "capacity_spread")


MISTAKES = [
    ("ratio = 75", "ratio = 0.9", "point[0].ratio", "outside the allowed range"),
    ("ratio = 75", 'ratio = "98.7 %"', "point[0].ratio", "outside the allowed range"),
    ('"4 um(c)"', '"4"', "point[0].size", "with its scale"),
    ('"4 um(c)"', "4", "point[0].size", "with its scale"),
    ('"4 um(c)"', '"4 mm"', "point[0].size", "with its scale"),
    ('"4 um(c)"', '"400 um(c)"', "point[0].size", "is outside 0.5 to 200"),
    ('"4 um(c)"', '"4 um"', "rating.point", "stand in one rating"),
    ('"5 um(c)"', '"4 um(c)"', "point[1].size", "stands twice"),
    ("ratio = 200", "ratio = 20", "point[1].ratio", "is not above"),
    (', { size = "5 um(c)", ratio = 200 }', "", "rating.point", "at least 2"),
    ('sensor = "120 mL"', 'sensor = "220 mL"', "separator.sensor", "answers at 220 mL"),
    ('"20/18/13"', '"20/18"', "supply.cleanliness", "ISO 4406"),
    ('"20/18/13"', '"13/18/20"', "supply.cleanliness", "no fewer large particles"),
    ('"20/18/13"', '"29/18/13"', "supply.cleanliness", "ISO 4406"),
    ("load = ", 'refuel_at = "90 %"\nrefuel_to = "80 %"\nload = ', "duty.refuel_to", "is filled"),
    (
        "load = ",
        'running_time_per_year = "50 h"\nload = ',
        "duty.running_time_per_year",
        "400 km/h",
    ),
    ('loading_scale = "9 g"', 'loading_law = "cake"', "loading_law", "never loads"),
    ('"12 L/100km"', '"12 km/L"', "duty.fuel_use", "not a unit of area"),
]


@pytest.mark.parametrize(("right", "wrong", "place", "told"), MISTAKES)
def test_a_mistake_is_told_at_its_key(
    right: str, wrong: str, place: str, told: str, tmp_path: Path
) -> None:
    errors = errors_of(reading_of(with_added(right, wrong), tmp_path))
    assert [f for f in errors if f.place.endswith(place) and told in f.message], errors


WARNINGS = [
    ("ratio = 75", "ratio = 98.7", "efficiency in percent"),
    (
        '"4 um(c)", ratio = 75 }, { size = "5 um(c)"',
        '"4 um", ratio = 75 }, { size = "5 um"',
        "older scale",
    ),
    ('loading_scale = "9 g"\n', "", "never filling"),
    (SUPPLY, "", "without [supply]"),
]


@pytest.mark.parametrize(("right", "wrong", "told"), WARNINGS)
def test_what_is_assumed_is_told(right: str, wrong: str, told: str, tmp_path: Path) -> None:
    reading = reading_of(with_added(right, wrong), tmp_path)
    assert errors_of(reading) == []
    warnings = [f for f in reading.findings if f.level is Level.WARNING]
    assert [f for f in warnings if told in f.message]


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    text = with_added('"4 um(c)"', '"4"').replace('"20/18/13"', '"clean"')
    errors = errors_of(reading_of(text.replace('"12 L/100km"', '"much"'), tmp_path))
    assert len(errors) == 3
