"""`protect` and `service`: answers first, documents by their schema, nothing guessed."""

import json
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import jsonschema
import pytest

from feedproof.app.cli import main
from feedproof.app.schemas import schema


@pytest.fixture(scope="module")
def folder(demo: SimpleNamespace, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Copy the demonstration case."""
    return Path(demo.folder.copy_to(tmp_path_factory.mktemp("kits") / "case").path)


def told(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> Any:
    """Ask for a document."""
    assert main([*arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.fixture(scope="module")
def plan(folder: Path) -> dict[str, Any]:
    """Work the service plan out once."""
    from feedproof.app.api_kits import service
    from feedproof.app.documents import to_document

    document: dict[str, Any] = to_document(service(folder, samples=2000))
    return document


def test_protection_is_what_its_schema_says_and_a_fine_element_protects(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = told(["protect", str(folder)], capsys)
    jsonschema.validate(document, schema("protection"))
    found = {each["configuration"]: each for each in document["configurations"]}

    assert found["baseline"]["exposure"] == pytest.approx(1.0)
    # A coarse element ahead changes nothing in the band of the clearances, a fine one does
    # (figures of the method: 1.00 and about a sixth).
    assert found["primary"]["exposure"] == pytest.approx(1.0, abs=0.01)
    assert 0.05 < found["secondary"]["exposure"] < 0.25
    for each in found.values():
        assert each["exposure_low"] <= each["exposure"] <= each["exposure_high"]
        assert sum(each["caught_mass"].values()) <= 1.0 + 1e-9
        for tear in each["torn_seal"].values():
            assert tear["exposure"] >= each["exposure"] - 1e-12
        dirty = each["bad_fuel"]["over_baseline"]
        assert dirty[0] > dirty[1]
    assert "control_orifice" not in found


def test_protection_says_its_answer_first_and_what_it_is_not(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["protect", str(folder)]) == 0
    text = capsys.readouterr().out
    assert "in 100 still reach the pump" in text
    assert "assumptions without a source" in text
    assert "nobody knows" in text


@pytest.mark.parametrize("code", ["20/18", "13/18/20", "99/18/13", "18/18/18", "dirty"])
def test_a_code_that_is_none_is_refused(
    code: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["protect", str(folder), "--bad-fuel", code]) == 2
    assert "--bad-fuel" in capsys.readouterr().err


def test_service_is_what_its_schema_says(plan: dict[str, Any]) -> None:
    jsonschema.validate(plan, schema("service"))
    found = {each["configuration"]: each for each in plan["configurations"]}

    secondary = found["secondary"]
    assert secondary["interval"]["rule"] in ("life", "calendar", "longest_distance")
    assert secondary["reached_fraction"] >= 0.9
    # The prediction's own range is kept from the maker's limit.
    assert secondary["guard_pa"] > 1e3
    assert sum(secondary["dirt_shares"].values()) == pytest.approx(1.0)
    # What breaks its limit clean has neither life nor check value.
    bad = found["badly_plumbed"]
    assert bad["too_restricted"]
    assert bad["check"]["bands"] == []
    assert bad["interval"] is None
    for each in found.values():
        for fuel in ("summer", "winter"):
            bands = [band for band in each["check"]["bands"] if band["fuel"] == fuel]
            alarms = [band["alarm_pa"] for band in bands if band["alarm_pa"] is not None]
            assert alarms == sorted(alarms, reverse=True)
        for band in each["check"]["bands"]:
            assert band["change_out_pa"] is None or (
                band["clean_high_pa"] < band["change_out_pa"] <= band["alarm_pa"]
            )


def test_a_page_is_drawn_and_never_written_over_unasked(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "service.html"
    asked = ["service", str(folder), "--samples", "500", "--picture", str(page)]
    assert main(asked) == 0
    text = page.read_text(encoding="utf-8")
    HTMLParser().feed(text)
    assert "INVENTED" in text
    assert text.count("<svg") >= 2
    assert "surgical emergency" in text
    assert main(asked) == 2
    assert "--force" in capsys.readouterr().err
    assert main([*asked, "--force"]) == 0


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--samples", "3"], 2, "allowed is 100"),
        (["--kit", "nosuch"], 3, "nosuch"),
        (["--picture", "plan.txt"], 2, ".html"),
    ],
)
def test_what_cannot_be_asked_is_said(
    words: list[str], code: int, said: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["service", str(folder), *words]) == code
    assert said in capsys.readouterr().err


def changed(folder: Path, target: Path, *changes: tuple[str, str]) -> Path:
    """Write the demonstration's document without its runs, some texts replaced."""
    text = (folder / "case.toml").read_text(encoding="utf-8")
    text = text[: text.index("[[run]]")]
    for right, wrong in changes:
        assert right in text, right
        text = text.replace(right, wrong)
    target.mkdir()
    (target / "case.toml").write_text(text, encoding="utf-8")
    return target


def test_an_element_that_never_fills_gets_no_check_value_of_a_clean_line(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = changed(
        folder,
        tmp_path / "case",
        ('loading_scale = "5 g"\n', ""),
        ('factory_filter = "4 g", ', ""),
    )
    document = told(["service", str(case), "--kit", "baseline", "--samples", "200"], capsys)
    (baseline,) = document["configurations"]
    assert baseline["check"]["allowed"]["unlimited"]
    assert baseline["check"]["bands"] == []
    assert "No dirt that was tried" in baseline["why_not"]


def test_elements_that_shut_read_no_nan(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = changed(
        folder,
        tmp_path / "case",
        ('loading_scale = "5 g"\n', 'loading_scale = "5 g"\nloading_law = "complete"\n'),
    )
    document = told(["service", str(case), "--kit", "baseline", "--samples", "300"], capsys)
    (baseline,) = document["configurations"]
    readings = [value for row in baseline["fan"]["depression_pa"] for value in row]
    assert all(isinstance(value, float) for value in readings)


def test_without_a_rating_nothing_is_claimed(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (folder / "case.toml").read_text(encoding="utf-8")
    start = text.index("[line.rating]")
    block = text[start : text.index("\n\n", start)]
    case = changed(folder, tmp_path / "case", (block, ""))
    assert main(["protect", str(case)]) == 0
    shown = capsys.readouterr().out
    assert "secondary: cannot tell, for nothing says how factory_filter filters" in shown
    assert "in 100 still reach the pump" not in shown


def test_the_dirt_of_a_change_and_the_codes_are_counted(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = told(["protect", str(folder)], capsys)
    found = {each["configuration"]: each for each in document["configurations"]}
    for each in found.values():
        # 1 mg is worth the more, the cleaner the fuel at the pump is.
        assert each["opened_m"] * each["exposure"] == pytest.approx(
            found["baseline"]["opened_m"], rel=0.02
        )
    # ISO 4406 again, from the printed counts: bands from 4, 6 and 14 um(c) on.
    edges = document["edges_m"]
    per_ml = found["baseline"]["pump_per_ml"]
    above = sum(count for edge, count in zip(edges[:-1], per_ml, strict=True) if edge > 3.9e-6)
    assert 640.0 < above <= 1300.0
    assert found["baseline"]["pump_code"].startswith("17/")


def test_without_supply_and_duty_nothing_is_guessed(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (folder / "case.toml").read_text(encoding="utf-8")
    start, end = text.index("[supply]"), text.index("[service]")
    case = tmp_path / "bare"
    case.mkdir()
    (case / "case.toml").write_text(text[:start] + text[end : text.index("[[run]]")], "utf-8")
    for verb in ("protect", "service"):
        assert main([verb, str(case)]) == 3
        said = capsys.readouterr().err
        assert "[supply]" in said
        assert "[duty]" in said


def test_without_a_makers_limit_no_check_value_is_made_up(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (folder / "case.toml").read_text(encoding="utf-8")
    lines = text[: text.index("[[run]]")].splitlines()
    kept = [line for line in lines if not line.startswith("maker_limit")]
    assert len(kept) < len(lines)
    case = tmp_path / "nolimit"
    case.mkdir()
    (case / "case.toml").write_text("\n".join(kept), encoding="utf-8")
    assert main(["service", str(case)]) == 2
    assert "no limit known" in capsys.readouterr().err
