"""`envelope --picture` writes a page, and never over somebody's file unasked."""

from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.app.cli import main

EMPTY = "kept"


@pytest.fixture
def case(tmp_path: Path) -> Path:
    """Start a case from the template."""
    api.new(tmp_path / "case")
    return tmp_path / "case"


def test_a_page_is_written_with_every_kit_and_its_limit(case: Path, tmp_path: Path) -> None:
    target = tmp_path / "map.html"
    code = main(["envelope", str(case), "--picture", str(target)])
    text = target.read_text(encoding="utf-8")

    assert code == 0
    assert "<svg" in text
    assert "where it holds" in text


@pytest.mark.parametrize(
    ("name", "word"),
    [("map.png", ".html"), ("no/such/map.html", "folder"), ("old.html", "--force")],
)
def test_a_page_that_cannot_be_written_is_refused_before_any_work(
    case: Path, tmp_path: Path, name: str, word: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "old.html").write_text(EMPTY, encoding="utf-8")
    code = main(["envelope", str(case), "--picture", str(tmp_path / name)])

    assert code == 2
    assert word in capsys.readouterr().err
    assert (tmp_path / "old.html").read_text(encoding="utf-8") == EMPTY
    assert not list((case / "results").glob("*envelope*"))


def test_with_force_a_page_is_written_anew(case: Path, tmp_path: Path) -> None:
    target = tmp_path / "old.html"
    target.write_text(EMPTY, encoding="utf-8")

    assert main(["envelope", str(case), "--picture", str(target), "--force"]) == 0
    assert target.read_text(encoding="utf-8") != EMPTY
