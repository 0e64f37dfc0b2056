"""
What is read by hand is declared, and held against the catches made with it.

Promised: every mistake is found, all of them at once; a mass comes through as a mass and a volume
as a volume; what a case does not declare stays undeclared.
"""

from pathlib import Path

import pytest

from feedproof.case.measures import AirSensors, Balance, Jug, Roller
from feedproof.records.reading import Reading
from tests.records.documents import VEHICLE, errors_of, reading_of, run_text

JUG = """
[measure.jug]
kind = "volume"
error = "20 mL"
step = "10 mL"
left_over = "5 mL"
reaction = "0.2 s"
temperature_error = "2 K"
"""
BALANCE = """
[measure.balance]
kind = "weighing"
error = { value = "2 g", source = "test weights" }
step = "1 g"
"""
AIR = """
[measure.cell_air]
kind = "air"
pressure_error = "0.1 kPa"
temperature_error = "1 K"
"""
STEADY = 'hold = "steady", engine_speed = "3000 rpm"'
VOLUME = f'{{ volume = "1.88 L", duration = "60 s", temperature = "42 degC", {STEADY} }}'
MASS = f'{{ mass = "1.55 kg", duration = "60 s", {STEADY} }}'


def told(text: str, folder: Path) -> list[str]:
    """Give all findings of a document as text."""
    return [str(finding) for finding in reading_of(text, folder).findings]


def caught(text: str, folder: Path, *catches: str) -> Reading:
    """Read the vehicle with measures and one run for each catch."""
    runs = "".join(run_text(n + 1, caught_return=each) for n, each in enumerate(catches))
    return reading_of(VEHICLE + text + runs, folder)


def test_a_declared_jug_balance_and_air_come_through_in_si(tmp_path: Path) -> None:
    reading = caught(JUG + BALANCE + AIR, tmp_path, VOLUME, MASS)

    assert errors_of(reading) == []
    assert reading.case is not None
    assert reading.case.measures == {
        "jug": Jug(
            id="jug",
            error_m3=pytest.approx(20e-6),
            step_m3=pytest.approx(10e-6),
            left_over_m3=pytest.approx(5e-6),
            reaction_s=0.2,
            temperature_error_k=2.0,
        ),
        "balance": Balance(id="balance", error_kg=pytest.approx(2e-3), step_kg=pytest.approx(1e-3)),
        "cell_air": AirSensors(
            id="cell_air", pressure_error_pa=pytest.approx(100.0), temperature_error_k=1.0
        ),
    }
    assert reading.case.values["measure.balance.error"].source == "test weights"
    catches = [run.caught_return for run in reading.case.runs]
    assert [each.measure for each in catches if each] == ["jug", "balance"]
    assert catches[0].volume_m3 == pytest.approx(1.88e-3)
    assert catches[0].mass_kg is None
    assert catches[1].mass_kg == pytest.approx(1.55)
    assert catches[1].volume_m3 is None


def test_what_is_not_declared_stays_undeclared(tmp_path: Path) -> None:
    reading = caught("", tmp_path, VOLUME)

    assert errors_of(reading) == []
    assert reading.case is not None
    assert reading.case.measures == {}
    assert reading.case.runs[0].caught_return.measure == ""
    assert all(each.roller is None for each in reading.case.instruments.values())


def test_the_roller_and_the_gauges_place_come_through(tmp_path: Path) -> None:
    text = VEHICLE.replace(
        "[instrument.cell.channels]",
        '[instrument.cell.roller]\ntorque_error = "0.5 %"\nspeed_error = "0.1 %"\n'
        "[instrument.cell.channels]",
    ).replace(
        "gauge_line_filled = true",
        'gauge_line_filled = true\ngauge_place_error = "2 cm"\ngauge_again_error = "5 mm"\n'
        'zero_error = "0.1 kPa"',
    )
    reading = reading_of(text, tmp_path)

    assert errors_of(reading) == []
    assert reading.case is not None
    cell, logger = (reading.case.instruments[name] for name in ("cell", "logger"))
    assert cell.roller == Roller(
        torque_error_fraction=pytest.approx(0.005), speed_error_fraction=pytest.approx(0.001)
    )
    assert logger.gauge_place_error_m == pytest.approx(0.02)
    assert logger.gauge_again_error_m == pytest.approx(0.005)
    assert logger.zero_error_pa == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("measures", "catch", "message"),
    [
        ("", MASS, "no balance is declared"),
        (JUG, MASS, "no balance is declared"),
        (JUG, f'{{ duration = "60 s", {STEADY} }}', "one of volume and mass, found 0"),
        (
            JUG + BALANCE,
            VOLUME.replace("{ volume", '{ mass = "1 kg", volume'),
            "one of volume and mass, found 2",
        ),
        (JUG, VOLUME.replace('temperature = "42 degC", ', ""), "without its temperature"),
        (JUG, VOLUME.replace("{ volume", '{ measure = "jag", volume'), 'Did you mean "jug"'),
        (JUG + AIR, VOLUME.replace("{ volume", '{ measure = "cell_air", volume'), "no jug or"),
        (JUG + BALANCE, VOLUME.replace("{ volume", '{ measure = "balance", volume'), "of kind"),
        (JUG + JUG.replace("jug", "can"), VOLUME, "Say which one: jug, can"),
        (AIR + AIR.replace("cell_air", "hall"), VOLUME, "a second set of air sensors"),
        (JUG.replace('kind = "volume"', 'kind = "bucket"'), VOLUME, "bucket"),
        (JUG.replace('error = "20 mL"\n', "", 1), VOLUME, "error"),
        (JUG.replace('"20 mL"', '"20 g"'), VOLUME, "not a unit of volume"),
        (JUG.replace('"20 mL"', '"-20 mL"'), VOLUME, "outside the allowed range"),
        (JUG.replace('"0.2 s"', '"200 s"'), VOLUME, "outside the allowed range"),
        (BALANCE.replace('"1 g"', '"1 mL"'), MASS, "not a unit of mass"),
        (AIR.replace('"1 K"', '"0 K"'), VOLUME, "outside the allowed range"),
        (JUG, MASS.replace("1.55 kg", "0 kg"), "outside the allowed range"),
    ],
)
def test_a_mistake_about_what_is_read_by_hand_is_an_error(
    measures: str, catch: str, message: str, tmp_path: Path
) -> None:
    found = [str(each) for each in errors_of(caught(measures, tmp_path, catch))]

    assert [line for line in found if message in line], found


@pytest.mark.parametrize(
    ("right", "wrong", "message"),
    [
        (
            "[instrument.logger.channels]",
            '[instrument.logger.roller]\ntorque_error = "0.5 %"\nspeed_error = "0.1 %"\n'
            "[instrument.logger.channels]",
            "no channel wheel_power",
        ),
        (
            "[instrument.cell.channels]",
            'zero_error = "0.1 kPa"\n[instrument.cell.channels]',
            "no channel of the pump inlet",
        ),
        ("[instrument.cell.channels]", "class = 0.6\n[instrument.cell.channels]", "span, which"),
        (
            "[instrument.cell.channels]",
            '[instrument.cell.roller]\ntorque_error = "0 %"\nspeed_error = "0.1 %"\n'
            "[instrument.cell.channels]",
            "outside the allowed range",
        ),
    ],
)
def test_a_mistake_about_an_instruments_errors_is_an_error(
    right: str, wrong: str, message: str, tmp_path: Path
) -> None:
    assert right in VEHICLE
    found = [
        str(each) for each in errors_of(reading_of(VEHICLE.replace(right, wrong, 1), tmp_path))
    ]

    assert [line for line in found if message in line], found


def test_doubtful_figures_are_asked_about(tmp_path: Path) -> None:
    wide = JUG.replace('step = "10 mL"', 'step = "500 mL"')
    assert [each for each in told(VEHICLE + wide, tmp_path) if "cannot show an error" in each]
    coarse = VEHICLE.replace("class = 0.6", "class = 6.0")
    assert coarse != VEHICLE
    assert [each for each in told(coarse, tmp_path) if "outside those of dial gauges" in each]
    heavy = MASS.replace("1.55 kg", "30 kg")
    assert [
        str(each)
        for each in caught(BALANCE, tmp_path, heavy).findings
        if "more than road vehicles return" in str(each)
    ]


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    reading = caught(
        JUG.replace('"20 mL"', '"20 g"'),
        tmp_path,
        MASS,
        VOLUME.replace('temperature = "42 degC", ', ""),
        VOLUME.replace("{ volume", '{ measure = "jag", volume'),
    )
    found = "\n".join(str(each) for each in errors_of(reading))

    for message in (
        "not a unit of volume",
        "no balance is declared",
        "without its temperature",
        '"jug"',
    ):
        assert message in found
