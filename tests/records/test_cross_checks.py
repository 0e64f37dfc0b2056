"""
What two keys say together is checked.

Promised: each contradiction is found when it stands alone, with the key that it is about, and the
same document without it has no error.
"""

from pathlib import Path

import pytest

from feedproof.records.folder import CaseFolder
from tests.records.documents import LOG, VEHICLE, case_folder, digest, reading_of, run_text

LIMIT = 'maker_limit_abs = { value = "48 kPa"'
DEPRESSION = (
    'inlet_depression = { column = "Unterdruck Pumpe", ceiling = "40 kPa", floor = "-5 kPa"'
)


def findings(text: str, folder: Path) -> list[str]:
    """Give all findings of a document as text."""
    return [str(finding) for finding in reading_of(text, folder).findings]


@pytest.mark.parametrize(
    ("right", "wrong", "told"),
    [
        ('altitude = "700 m"', 'altitude = "700 m"\nambient_pressure_abs = "93 kPa"', "found 2"),
        ('altitude = "700 m"\n', "", "found 0"),
        ('inlet_above_full = "0.15 m"', 'inlet_above_full = "0.95 m"', "Swapped?"),
        ('charge = "turbo_air"', 'charge = "natural"', "boost ratio 2.2 with charge natural"),
        ('rated_speed = "3300 rpm"', 'rated_speed = "4300 rpm"', "outside the full-load curve"),
        ('fuel_level = "60 %"', 'fuel_level = "95 L"', "more than the tank holds"),
        ('after = "factory_filter"', 'after = "primer"\nbefore = "bends"', "found 2"),
        ('[[kit]]\nid = "primary"', '[[kit]]\nid = "secondary"', "kit id"),
        ('[[kit]]\nid = "primary"', '[[kit]]\nid = "baseline"', "without a kit"),
        ('return_do_not_release = "10 %"', 'return_do_not_release = "3 %"', "below the margin"),
        ('floor = "-5 kPa"', 'floor = "45 kPa"', "not below ceiling"),
        (
            DEPRESSION,
            'inlet_pressure_abs = { column = "p", floor = "-5 kPa"',
            "inlet_pressure_gauge",
        ),
        ('throttle = { column = "Pedal", unit = "%"', 'trottle = { column = "Pedal"', "throttle"),
        (
            'wheel_power = { column = "Power at wheel", unit = "kW"',
            'wheel_power = { column = "Power at wheel", unit = "kPa"',
            "not a unit that",
        ),
        ('column = "Engine", unit', 'column = "Roller speed", unit', "One column is one channel"),
        ("loading = { factory_filter", "loading = { factory_filtre", "no element of this line"),
        ('viscosity_20c = "4.80 mm^2/s"\n', "", "viscosity at two temperatures"),
    ],
)
def test_a_contradiction_is_an_error(right: str, wrong: str, told: str, tmp_path: Path) -> None:
    assert right in VEHICLE

    found = findings(VEHICLE.replace(right, wrong, 1), tmp_path)

    assert [line for line in found if line.startswith("error") and told in line]


@pytest.mark.parametrize(
    ("right", "wrong", "told"),
    [
        (LIMIT, LIMIT.replace("48", "20"), "did you mean a depression"),
        (LIMIT, LIMIT.replace("48", "95"), "no suction is allowed"),
        ('stop = "115 km/h"', 'stop = "160 km/h"', "outside the full-load curve"),
        ('fuel_temperature = "-5 degC"', 'fuel_temperature = "-25 degC"', "below the fuel's CFPP"),
        ('wheel_power = "2 %"', 'wheel_power = "0.3 %"', "below the declared repeatability"),
        ('wheel_power = "2 %"', 'wheel_power = "20 %"', "calls a large loss harmless"),
        ('cloud_point = "-2 degC"', 'cloud_point = "-9 degC"', "is below CFPP"),
        ('ceiling = "40 kPa"', 'ceiling = "160 kPa"', "more than air pressure"),
        (DEPRESSION, 'inlet_pressure_gauge = { column = "p", floor = "0 kPa"', "cannot show a"),
        ('secondary_element = "6 g" }', 'strainer = "6 g" }', "its loading changes nothing"),
    ],
)
def test_what_is_only_implausible_is_a_warning(
    right: str, wrong: str, told: str, tmp_path: Path
) -> None:
    assert right in VEHICLE

    found = findings(VEHICLE.replace(right, wrong, 1), tmp_path)

    assert [line for line in found if line.startswith("warning") and told in line]
    assert [line for line in found if line.startswith("error")] == []


def test_a_limit_of_fifteen_inches_is_not_taken_for_a_depression(tmp_path: Path) -> None:
    # Common practice: 15 inHg is near half of sea-level air pressure either way it is counted.
    found = findings(VEHICLE.replace(LIMIT, LIMIT.replace("48 kPa", "15 inHg")), tmp_path)

    assert [line for line in found if "depression?" in line] == []


@pytest.mark.parametrize(
    ("first", "second", "told"),
    [
        ({}, {"number": "1"}, "run number 1 is used before"),
        ({}, {"started": "2026-09-14T09:01:10+02:00"}, "Two pulls cannot overlap"),
        ({}, {"started": "2026-09-14T09:30:00"}, "has no offset"),
        ({}, {"fuel": '"sumer"'}, 'Did you mean "summer"'),
        ({}, {"kits": '["secondary", "secondary"]'}, "is named twice"),
        ({}, {"loading": '{ secondary_element = "9 g" }'}, "no element of this line"),
        ({}, {"fuel_level": '"120 L"'}, "more than the tank holds"),
        (
            {},
            {"caught_return": '{ volume = "1 L", duration = "60 s", temperature = "40 degC" }'},
            "no engine speed",
        ),
        (
            {},
            {"logs": f'[{{ file = "a.csv", sha256 = "{digest(1)}", instrument = "cell" }}]'},
            "the same bytes as the log of",
        ),
        (
            {},
            {"logs": f'[{{ file = "a.csv", sha256 = "{digest(2)}", instrument = "cel" }}]'},
            'Did you mean "cell"',
        ),
        (
            {},
            {"logs": f'[{{ file = "../a.csv", sha256 = "{digest(2)}", instrument = "cell" }}]'},
            "leads to another folder",
        ),
        ({}, {"logs": '[{ file = "a.csv", sha256 = "ab", instrument = "cell" }]'}, "allowed form"),
    ],
)
def test_a_contradiction_of_runs_is_an_error(
    first: dict[str, str], second: dict[str, str], told: str, tmp_path: Path
) -> None:
    found = findings(VEHICLE + run_text(1, **first) + run_text(2, **second), tmp_path)

    assert [line for line in found if line.startswith("error") and told in line], found


def test_two_sound_runs_have_no_error(tmp_path: Path) -> None:
    reading = reading_of(VEHICLE + run_text(1) + run_text(2, kits='["secondary"]'), tmp_path)

    assert reading.case is not None
    assert [run.configuration for run in reading.case.runs] == ["baseline", "secondary"]


def test_runs_stand_in_the_order_of_their_start_and_a_later_number_first_is_told(
    tmp_path: Path,
) -> None:
    text = VEHICLE + run_text(2) + run_text(1, started="2026-09-14T09:30:00+02:00")
    reading = reading_of(text, tmp_path)

    assert reading.case is not None
    assert [run.number for run in reading.case.runs] == [2, 1]
    assert any("started after run 2" in finding.message for finding in reading.findings)


def test_a_kit_next_to_another_kit_needs_that_kit_in_the_run(tmp_path: Path) -> None:
    behind = VEHICLE.replace('before = "factory_filter"', 'after = "secondary_hoses"', 1)
    alone = findings(behind + run_text(1, kits='["primary"]'), tmp_path)
    after = findings(behind + run_text(1, kits='["secondary", "primary"]'), tmp_path)

    assert [line for line in alone if "which is not in this line" in line]
    assert [line for line in after if line.startswith("error")] == []


@pytest.mark.parametrize(("change", "told"), [("delete", "is not in raw"), ("edit", "was changed")])
def test_a_raw_log_that_is_gone_or_changed_is_told(change: str, told: str, tmp_path: Path) -> None:
    log = tmp_path / "a.csv"
    log.write_bytes(LOG)
    case: CaseFolder = case_folder(tmp_path)
    kept = case.raw(case.raw_logs.add(log, "cell"))
    runs = run_text(1).replace(digest(1), kept.parent.name)
    (case.path / "case.toml").write_text(VEHICLE + runs, encoding="utf-8")
    assert case.read().case is not None

    if change == "delete":
        kept.unlink()
    else:
        kept.write_bytes(LOG.replace(b"1510", b"1511"))

    reading = case.read()
    assert reading.case is None
    assert any(told in finding.message for finding in reading.findings)
