"""
A document's mistakes are told all at once.

Promised: no mistake hides another, whether of one key or between two keys; each names its key as
the document writes it, its line, and what to do.
"""

from pathlib import Path

import pytest

import feedproof
from feedproof.core.findings import Finding
from feedproof.records.reading import read_case
from tests.records.documents import VEHICLE, errors_of, reading_of, run_text

# What to change in the demonstration vehicle, the path of the finding, and words of it.
PLANTED = [
    ('bore = "6.8 mm"', 'bore = "680 mm"', "line[quick_connectors].bore", "outside the allowed"),
    ('length = "0.50 m"', "length = 0.50", "line[pickup_tube].length", "has no unit"),
    ('length = "1.3 m"', 'lenght = "1.3 m"', "line[rubber_hoses].lenght", 'Did you mean "length"'),
    ('topology = "overflow', 'topology = "overflw', "vehicle.pump.topology", "Did you mean"),
    ('low = "2.5 L/h"', 'low = "3.5 L/h"', "vehicle.pump.slip.low", "above the value"),
    ('capacity = "90 L"', 'capacity = "90 kPa"', "vehicle.tank.capacity", "not a unit of volume"),
    ("220, 305, 345, 370, 370", "305, 345, 370, 370", "torque.values", "10 values for 11 speeds"),
    ("1500, 1700, 2000, 2400", "1500, 1700, 1600, 2400", "speed.values", "not increasing"),
    ('id = "banjos"', 'id = "bends"', "line[bends].id", "is used before"),
    (
        'before = "factory_filter"',
        'before = "factory_filer"',
        "insertion[0].before",
        "Did you mean",
    ),
    ('cloud_point = "-2 degC"', 'cloud_point = "-20 degC"', "fuel.summer.cloud_point", "swapped"),
    ('viscosity_40c = "2.40', 'viscosity_40c = "4.40', "fuel.winter.viscosity_20c", "swapped"),
    ('start = "50 km/h"', 'start = "150 km/h"', "pull.start", "not below stop"),
    ('ceiling = "40 kPa"', 'ceiling = "-40 kPa"', "inlet_depression.ceiling", "positive"),
    ('fuel = "winter"', 'fuel = "wintr"', "worst[1].fuel", "Did you mean"),
]
RUN_MISTAKES = run_text(3, kits='["secundary"]', elements='{ secondary_element = "S-1" }')
RUN_PATHS = [
    ("run[3].kits[0]", "Did you mean"),
    ("run[3].elements.secondary_element", "no element"),
]


def planted_document() -> str:
    """Plant every mistake in one document."""
    text = VEHICLE
    for right, wrong, _, _ in PLANTED:
        assert right in text, right
        text = text.replace(right, wrong, 1)
    return text + RUN_MISTAKES


@pytest.fixture(scope="module")
def text() -> str:
    return planted_document()


@pytest.fixture(scope="module")
def errors(text: str, tmp_path_factory: pytest.TempPathFactory) -> list[Finding]:
    reading = reading_of(text, tmp_path_factory.mktemp("planted"))
    assert reading.case is None
    return errors_of(reading)


@pytest.mark.parametrize(
    ("path", "words"), [(path, words) for _, _, path, words in PLANTED] + RUN_PATHS
)
def test_each_of_seventeen_mistakes_is_told_beside_the_others(
    path: str, words: str, errors: list[Finding]
) -> None:
    about = [finding for finding in errors if path in finding.place]

    assert any(words in f"{finding.message} {finding.remedy}" for finding in about), errors


def test_a_mistake_that_was_not_made_is_not_told(errors: list[Finding]) -> None:
    expected = [path for _, _, path, _ in PLANTED] + [path for path, _ in RUN_PATHS]
    # A misspelt key is both unknown and missing; a ceiling below 0 is below its floor too.
    expected += ["line[rubber_hoses].length", "inlet_depression.floor"]

    assert [str(f) for f in errors if not any(path in f.place for path in expected)] == []


def test_every_error_says_what_to_do(errors: list[Finding]) -> None:
    assert [finding for finding in errors if not finding.remedy] == []


def test_the_line_told_is_the_line_of_the_key(errors: list[Finding], text: str) -> None:
    lines = text.split("\n")
    told = next(f for f in errors if f.place.endswith("line[pickup_tube].length"))
    number = int(told.place.split("line ")[1].split(":")[0])

    assert lines[number - 1] == "length = 0.50"


def test_a_syntax_error_is_told_with_its_line(tmp_path: Path) -> None:
    reading = reading_of(VEHICLE.replace('start = "50 km/h"', "start = 50 km/h"), tmp_path)
    wanted = VEHICLE.split("\n").index('start = "50 km/h"') + 1

    assert f"at line {wanted}," in reading.findings[0].message


def test_a_newer_version_is_told_alone(tmp_path: Path) -> None:
    text = VEHICLE.replace("version = 1", "version = 2").replace('title = "Mountain', 'titel = "M')
    reading = reading_of(text, tmp_path)

    assert ["newer" in finding.message for finding in reading.findings] == [True]


def test_the_document_without_planted_mistakes_has_none(tmp_path: Path) -> None:
    assert errors_of(reading_of(VEHICLE, tmp_path)) == []


def test_the_demonstration_vehicle_has_no_mistake() -> None:
    reading = read_case(Path(feedproof.__file__).parent / "scenario" / "vehicle.toml")

    assert reading.case is not None
    assert errors_of(reading) == []
