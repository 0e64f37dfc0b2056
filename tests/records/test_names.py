"""
Names of files that come from outside.

Promised: a plain name passes; none that leads out of its folder, or that some machine cannot
hold, does.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedproof.records.names import name_fault


@pytest.mark.parametrize(
    "name", ["run02_cell.csv", "Füllstand.csv", "a b.txt", "x", "log.2026.csv"]
)
def test_a_plain_name_passes(name: str) -> None:
    assert name_fault(name) == ""


@pytest.mark.parametrize(
    "name",
    [
        "",
        " ",
        ".",
        "..",
        ".hidden",
        "../a.csv",
        "..\\a.csv",
        "/etc/passwd",
        "C:a.csv",
        "C:\\a.csv",
        "\\\\server\\share",
        "a/b.csv",
        "a\x00.csv",
        "a\n.csv",
        "con",
        "NUL.csv",
        "com1.txt",
        "a.csv.",
        "a.csv ",
        "a:stream",
        "a?.csv",
        "x" * 201,
    ],
)
def test_a_name_that_leads_away_or_cannot_be_held_is_refused(name: str) -> None:
    assert name_fault(name) != ""


@given(st.text(max_size=40))
def test_a_name_that_passes_stays_in_its_folder(name: str) -> None:
    if name_fault(name):
        return

    assert "/" not in name
    assert "\\" not in name
    assert name not in (".", "..")
