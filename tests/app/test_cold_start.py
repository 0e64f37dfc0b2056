"""`feedproof cold-start`: start and drive from cold as a workshop reads them, and a document."""

import json
from pathlib import Path
from types import SimpleNamespace

import jsonschema
import pytest

from feedproof.app import api
from feedproof.app.cli import main
from feedproof.app.cold_starting import ColdReport, cold_report
from feedproof.app.cold_text import cold_text
from feedproof.app.schemas import schema
from feedproof.feedline.cold_data import ColdData
from feedproof.records.folder import CaseFolder
from tests.app.conftest import copied


@pytest.fixture
def folder(demo: SimpleNamespace, tmp_path: Path) -> CaseFolder:
    """Copy the demonstration."""
    return copied(demo.folder, tmp_path / "case")


@pytest.fixture(scope="module")
def frosty(demo: SimpleNamespace) -> ColdReport:
    """Soak the demonstration below the cloud point of its summer fuel."""
    return cold_report(demo.case, kits=("secondary", "badly_plumbed"), fuel="summer", soak="-6degC")


def test_the_table_names_the_moment_and_every_figure_with_its_standing(frosty: ColdReport) -> None:
    text = cold_text(frosty)

    for each in frosty.configurations:
        found = each.warm_up
        if found.holds_from_s is None:
            assert f"{each.configuration}: no moment for a full load. Never" in text
        else:
            assert f"full load holds from {found.holds_from_s / 60:.1f} min on" in text
    assert any(each.warm_up.holds_from_s for each in frosty.configurations)
    for words in (
        "screening model, not a test",
        "heat capacity of a filter housing: 500 J/K (invented)",
        "cranking speed: 200 rpm (common practice)",
        "intake of the high-pressure pump per revolution: 0.4 cm^3 (memory, no source)",
        "fine elements plug nearer the cloud point than the CFPP says",
        "the engine bay is taken to stay as cold as the air",
    ):
        assert words in text
    assert text.count("engine bay") == 1
    assert len([each for each in frosty.assumptions if each.standing]) == 19


def test_a_given_figure_is_told_as_given(demo: SimpleNamespace) -> None:
    data = ColdData(heater_w=150.0)
    told = cold_report(demo.case, kits=("secondary",), data=data, duration_s=120.0)

    assert "electric heater in the filter: 150 W (given)" in cold_text(told)


def test_the_first_moment_is_what_predict_says_of_the_same_cold(
    folder: CaseFolder, frosty: ColdReport
) -> None:
    predicted = api.predict(
        folder.path, kits=("secondary", "badly_plumbed"), fuel="summer", fuel_temp="-6degC"
    )
    for cold, known in zip(frosty.configurations, predicted.configurations, strict=True):
        assert cold.configuration == known.configuration
        first = float(cold.warm_up.full_load_pressure_abs_pa[0])
        assert first == pytest.approx(float(known.pull.pressure_abs_pa.min()), rel=1e-4)
        room = known.assessment.room_pa
        assert float(cold.warm_up.room_pa[0]) == pytest.approx(room, abs=5.0)


def test_the_document_is_what_its_schema_says_and_is_kept(
    folder: CaseFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--kit", "secondary", "--fuel", "winter", "--soak", "-12degC", "--ambient", "-5degC"]
    code = main(["cold-start", str(folder.path), *words, "--json"])
    document = json.loads(capsys.readouterr().out)

    assert code == 0
    jsonschema.validate(document, schema("cold-start"))
    assert document["conditions"]["fuel_temperature_k"] == pytest.approx(261.15)
    assert document["ambient_k"] == pytest.approx(268.15)
    warm_up = document["configurations"][1]["warm_up"]
    assert len(warm_up["time_s"]) == len(warm_up["tank_k"]) > 100
    assert warm_up["tank_k"][0] == pytest.approx(261.15)
    kept = folder.results.of_kind("cold-start")
    assert folder.results.read(kept[-1])["content"] == document


def test_without_a_question_the_coldest_declared_conditions_are_asked(
    folder: CaseFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["cold-start", str(folder.path)]) == 0
    text = capsys.readouterr().out

    assert "Soaked at -5.0 °C, air -5.0 °C" in text
    assert "winter fuel, cloud point -10.0 °C" in text
    assert "cold morning in the valley" in text
    assert "secondary+primary:" in text
    # A positive control is no kit; it is asked by its name only.
    assert "control_orifice" not in text
    assert main(["cold-start", str(folder.path), "--kit", "control_orifice"]) == 0
    assert "control_orifice:" in capsys.readouterr().out


def test_a_low_costs_the_room_what_the_hydrostatic_balance_says(demo: SimpleNamespace) -> None:
    """By hand: 980 of 1013.25 hPa on the map are 98.0/101.325 of the pressure at any place."""

    def told(hpa: str) -> ColdReport:
        return cold_report(
            demo.case,
            kits=("secondary",),
            altitude="700m",
            sea_level_pressure=hpa,
            duration_s=60.0,
        )

    normal, low = told("1013.25hPa"), told("980hPa")
    ratio = (268.15 / (268.15 + 4.55)) ** (9.80665 / 287.05287 / 0.0065)
    here = normal.conditions.ambient_pressure_abs_pa
    assert here == pytest.approx(101325.0 * ratio, rel=1e-9)
    assert low.conditions.ambient_pressure_abs_pa == pytest.approx(here * 98000 / 101325, rel=1e-12)
    for one, other in zip(normal.configurations, low.configurations, strict=True):
        lost = float(one.warm_up.room_pa[0] - other.warm_up.room_pa[0])
        # All of it, but for what the depression falls since the pump fills less.
        fall = here * (1.0 - 98000 / 101325)
        assert 0.8 * fall < lost < fall


def test_a_starved_start_is_an_answer_and_its_cliff_is_told(
    folder: CaseFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--fuel", "summer", "--soak", "-25degC", "--kit", "badly_plumbed"]
    assert main(["cold-start", str(folder.path), *words]) == 0
    text = capsys.readouterr().out

    assert "full load at once: Short by" in text
    assert "MPa/s" in text
    assert "below its plugging point" in text
    assert "nan" not in text


def test_all_wrong_options_are_told_at_once(
    folder: CaseFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--fuel", "petrol", "--soak", "5", "--ambient", "900degC", "--level", "140%"]
    code = main(["cold-start", str(folder.path), *words, "--sea-level-pressure", "980hPa"])
    told = capsys.readouterr().err

    assert code == 2
    for place in ("--fuel", "--soak", "--ambient", "--level", "--sea-level-pressure"):
        assert f"{place}:" in told
    both = ["--sea-level-pressure", "980hPa", "--ambient-pressure", "91kPa", "--altitude", "1m"]
    assert main(["cold-start", str(folder.path), *both]) == 2
    assert "say the same thing" in capsys.readouterr().err


def test_an_unknown_kit_exits_with_3_and_names_those_there_are(
    folder: CaseFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["cold-start", str(folder.path), "--kit", "tertiary"]) == 3
    assert "secondary" in capsys.readouterr().err
