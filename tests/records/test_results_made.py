"""How results were made: sealed with them, no part of their name."""

import json
from pathlib import Path

import pytest

from feedproof.core.errors import InputError
from feedproof.records.results import Results

CONTENT = {"loss": 1.25, "runs": [1, 2], "computed": "2026-09-14T10:00:00+00:00"}


def test_a_result_gives_back_how_it_was_made(tmp_path: Path) -> None:
    results = Results(tmp_path / "results")
    identity = results.write("proof", CONTENT, {"verb": "prove"})

    assert results.read(identity) == {
        "kind": "proof",
        "content": CONTENT,
        "made": {"verb": "prove"},
    }


def test_how_it_was_made_is_no_part_of_its_name(tmp_path: Path) -> None:
    names = {
        Results(tmp_path / str(number)).write("proof", CONTENT, made)
        for number, made in enumerate((None, {"numpy": "2.2"}, {"numpy": "2.3"}))
    }

    assert len(names) == 1


def test_the_time_of_computing_is_no_part_of_its_name_but_sealed(tmp_path: Path) -> None:
    results = Results(tmp_path / "results")
    identity = results.write("proof", CONTENT, {})
    later = {**CONTENT, "computed": "2027-09-14T10:00:00+00:00"}
    assert results.write("proof", later, {}) == identity
    file = results.path / f"{identity}.json"
    file.write_text(file.read_text().replace("2026-", "2027-"))

    with pytest.raises(InputError, match="was changed"):
        results.read(identity)


@pytest.mark.parametrize(
    ("before", "after"),
    [('"prove"', '"proof"'), ('"made"', '"mode"'), ("1.25", "1.250"), ('"runs": [', '"runs":  [')],
)
def test_an_edit_of_any_of_it_is_found(before: str, after: str, tmp_path: Path) -> None:
    results = Results(tmp_path / "results")
    identity = results.write("proof", CONTENT, {"verb": "prove"})
    file = results.path / f"{identity}.json"
    text = file.read_text()
    assert before in text
    file.write_text(text.replace(before, after))

    with pytest.raises(InputError, match="was changed"):
        results.read(identity)


def test_a_result_that_loses_how_it_was_made_is_found(tmp_path: Path) -> None:
    results = Results(tmp_path / "results")
    identity = results.write("proof", CONTENT, {"verb": "prove"})
    file = results.path / f"{identity}.json"
    found = json.loads(file.read_text())
    del found["made"]
    file.write_text(json.dumps(found, sort_keys=True, indent=1))

    with pytest.raises(InputError, match="was changed"):
        results.read(identity)
