"""Exit codes as the page of commands states them: 2 input, 3 missing, 4 nothing written."""

from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.app.cli import main

CASES = {
    "a verb that is none": (["bogus"], 2),
    "an option that is none": (["check", "{case}", "--bogus"], 2),
    "a case that cannot be read": (["check", "{broken}"], 2),
    "a broken case that is used": (["predict", "{broken}"], 2),
    "an empty person": (["declare", "{case}", "--who", " ", "--source", "x"], 2),
    "a document that is none": (["schema", "bogus"], 2),
    "no case": (["predict", "{none}"], 3),
    "no such kit": (["predict", "{case}", "--kit", "bogus"], 3),
    "no runs": (["prove", "{case}"], 3),
    "no archive": (["archive", "show", "--file", "{none}"], 3),
    "a folder that is there": (["new", "{case}"], 4),
    "a report that is not ours": (["publish", "{case}", "--out", "{taken}"], 4),
}


@pytest.mark.parametrize(("words", "code"), CASES.values(), ids=CASES.keys())
def test_each_fault_ends_with_the_code_that_is_stated(
    words: list[str], code: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    places = {name: tmp_path / name for name in ("case", "broken", "none", "taken")}
    for name in ("case", "broken"):
        api.new(places[name])
    (places["broken"] / "case.toml").write_text("title = 3\n", encoding="utf-8")
    places["taken"].mkdir()
    (places["taken"] / "report.html").write_text("notes", encoding="utf-8")

    assert main([word.format(**places) for word in words]) == code
    told = "".join(capsys.readouterr())
    assert told.strip()
    assert "Traceback" not in told
