"""Promise: each invariant of the method is held by a test that exists (``invariants.csv``)."""

import ast
import csv
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
with (Path(__file__).parent / "invariants.csv").open(encoding="utf-8", newline="") as _lines:
    ROWS = [(row["invariant"], row["test"]) for row in csv.DictReader(_lines)]


@cache
def names_in(file: str) -> frozenset[str]:
    """List the tests of a file."""
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    return frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef))


@pytest.mark.parametrize(("invariant", "test"), ROWS)
def test_the_test_that_holds_an_invariant_exists(invariant: str, test: str) -> None:
    file, name = test.split("::")

    assert invariant
    assert name in names_in(file), f"{invariant}: {test} is gone"


def test_no_invariant_is_lost_from_the_list() -> None:
    assert len({invariant for invariant, _ in ROWS}) == 21


@pytest.mark.parametrize("topic", ["state", "cranking"])
def test_every_test_of_the_state_of_a_circuit_is_listed(topic: str) -> None:
    file = f"tests/feedline/test_invariants_{topic}.py"
    listed = {test.split("::")[1] for _, test in ROWS if test.startswith(file)}

    assert {name for name in names_in(file) if name.startswith("test_")} == listed
