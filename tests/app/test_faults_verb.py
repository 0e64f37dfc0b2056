"""`feedproof faults`: a table for this vehicle that a workshop can read."""

import json
from pathlib import Path
from types import SimpleNamespace

import jsonschema
import pytest

from feedproof.app.cli import main
from feedproof.app.schemas import schema


def test_every_fault_stands_in_the_table_with_its_signs(
    demo: SimpleNamespace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = demo.folder.copy_to(tmp_path / "case").path

    assert main(["faults", str(case), "--kit", "secondary", "--fuel-temp", "20degC"]) == 0
    text = capsys.readouterr().out
    for fault in ("collapsed hose", "air leak", "blocked pickup", "worn pump", "blocked breather"):
        assert text.count(fault) >= 3
    assert "cannot tell" in text


def test_the_document_is_what_its_schema_says_and_each_grave_fault_is_told_apart(
    demo: SimpleNamespace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = demo.folder.copy_to(tmp_path / "case").path

    assert main(["faults", str(case), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, schema("faults"))
    for line in document["lines"]:
        if line["severity"] >= 0.3:
            assert line["fitting"] == [line["fault"]]


def test_an_unknown_kit_is_named(
    demo: SimpleNamespace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = demo.folder.copy_to(tmp_path / "case").path

    assert main(["faults", str(case), "--kit", "nosuch"]) != 0
    assert "nosuch" in capsys.readouterr().err
