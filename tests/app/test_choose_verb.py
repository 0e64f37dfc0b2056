"""`choose`: answer first, document by its schema, wishes read with all mistakes at once."""

import json
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import jsonschema
import pytest

import feedproof
from feedproof.app.cli import main
from feedproof.app.schemas import schema
from feedproof.app.wishing import wishes_of
from feedproof.core.errors import InputError


@pytest.fixture(scope="module")
def folder(demo: SimpleNamespace, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Copy the demonstration case, with a limit that leaves room above the prediction's range."""
    path = Path(demo.folder.copy_to(tmp_path_factory.mktemp("choose") / "case").path)
    text = (path / "case.toml").read_text(encoding="utf-8")
    known = 'maker_limit_abs = { value = "48 kPa"'
    assert known in text
    changed = text.replace(known, 'maker_limit_abs = { value = "44 kPa"')
    (path / "case.toml").write_text(changed, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def few(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """Leave most of the catalogue out, so that a call is short."""
    del tmp_path_factory
    names = ("before_factory", "bulkhead", "hose_8", "hose_12", "finest_small", "fine_small")
    return [word for name in names for word in ("--leave-out", name)]


def test_the_document_is_what_its_schema_says(
    folder: Path, few: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["choose", str(folder), *few, "--baseline-share", "80 %", "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, schema("choice"))
    assert document["format"] == "feedproof-choice"
    assert document["answer"] == "kit"
    names = [each["id"] for each in document["kits"]]
    assert document["best"] in names
    assert names == list(dict.fromkeys(names))
    for rival in document["rivals"]:
        assert 0.0 <= rival["order"]["probability"] <= 1.0
    kept = [json.loads(each.read_text("utf-8")) for each in (folder / "results").glob("*.json")]
    assert document in [each["content"] for each in kept]


def test_the_answer_comes_first_and_says_what_it_rests_on(
    folder: Path, few: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["choose", str(folder), *few]) == 0
    shown = capsys.readouterr()
    lines = shown.out.splitlines()
    assert lines[4].startswith("A fine secondary alone")
    for said in (
        "Primary or secondary?",
        "Will a fine secondary starve my engine?",
        "What decides it",
        "How sure",
        "assumption, without a source",
        "no filter stops",
        "least score",
    ):
        assert said in shown.out
    assert "rating candidates" in shown.err


def test_a_page_is_drawn_and_never_written_over_unasked(
    folder: Path, few: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "front.html"
    asked = ["choose", str(folder), *few, "--water", "--picture", str(page)]
    assert main(asked) == 0
    text = page.read_text(encoding="utf-8")
    HTMLParser().feed(text)
    assert "INVENTED" in text
    assert text.count("<svg") >= 2
    assert "surgical emergency" in text
    assert main(asked) == 2
    assert "--force" in capsys.readouterr().err


def test_the_front_door_takes_a_workshops_catalogue(
    folder: Path, tmp_path: Path, few: list[str]
) -> None:
    file = tmp_path / "ours.csv"
    file.write_text(
        "item,property,value,unit,low,high,source,where,note\n"
        "ours,kind,element,,,,,,\nours,role,secondary,,,,,,\nours,head,head_large,,,,,,\n"
        "ours,media_resistance,3.2e9,1/m,,,measured,,\nours,face_area,0.5,m^2,,,measured,,\n"
        "ours,loading_scale,11,g,,,measured,,\nours,cost,1,1,,,price list,,\n"
        # Read like an efficiency in percent, which is said, and taken as the ratio that it is.
        "ours,ratio at 4 um(c),75,1,,,data sheet,,\nours,ratio at 5 um(c),99.5,1,,,data sheet,,\n",
        encoding="utf-8",
    )
    told = feedproof.choose(
        folder,
        catalogue=file,
        leave_out=tuple(few[1::2]),
        baseline_share="80%",
        currency="crowns",
    )
    # Larger than the largest but one, and cheaper than any: nothing speaks against it.
    assert told.kit(told.best).elements == ("ours",)
    assert "crowns" in " ".join(told.sentences)
    doubts = [str(each) for each in told.findings if each.place == "catalogue ours"]
    assert any("efficiency in percent" in each for each in doubts)
    assert not [each for each in told.findings if each.place.startswith("catalogue fine")]


def test_wishes_are_read_in_their_units() -> None:
    wishes = wishes_of(at_least="30000km", space="3L", joint_cost=0.0, baseline_share="70%")
    assert wishes.at_least_m == pytest.approx(3e7)
    assert wishes.most_space_m3 == pytest.approx(3e-3)
    assert wishes.baseline_share == pytest.approx(0.7)
    assert wishes.assumed == ("change cost", "worth of a halving")


def test_all_wrong_wishes_are_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        wishes_of(
            at_least="30000",
            space="3 kg",
            joint_cost=-1.0,
            most_cost=float("nan"),
            baseline_share="0 %",
            currency="",
        )
    places = [each.place for each in caught.value.findings]
    assert sorted(set(places)) == sorted(
        {
            "--at-least",
            "--space",
            "--joint-cost",
            "--most-cost",
            "--baseline-share",
            "--currency",
        }
    )


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--at-least", "soon"], 2, "--at-least"),
        (["--catalogue", "none.csv"], 3, "there is no file"),
        (["--leave-out", "hose_7"], 2, "hose_7"),
        (["--picture", "front.txt"], 2, ".html"),
        (["--joint-cost", "-3"], 2, "0 or more"),
    ],
)
def test_what_cannot_be_asked_is_said(
    words: list[str], code: int, said: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["choose", str(folder), *words]) == code
    assert said in capsys.readouterr().err


def test_without_supply_and_duty_nothing_is_guessed(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (folder / "case.toml").read_text(encoding="utf-8")
    start, end = text.index("[supply]"), text.index("[service]")
    case = tmp_path / "bare"
    case.mkdir()
    (case / "case.toml").write_text(text[:start] + text[end : text.index("[[run]]")], "utf-8")
    assert main(["choose", str(case)]) == 3
    said = capsys.readouterr().err
    assert "[supply]" in said
    assert "[duty]" in said
