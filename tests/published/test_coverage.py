"""
Promise: of the planned checks of pipe flow, fuels, air and power, and gas, none is missing.

``not_applicable.csv`` lists every planned check of these four sections: ``run``, ``part`` (some of
its values are run) or ``left out``, the last two with the reason.
"""

import csv
from pathlib import Path

import pytest

from tests.published.rows import read_rows

SECTIONS = {
    "A": ("a_pipe_flow", 71),
    "B": ("b_fuels", 71),
    "C": ("c_atmosphere_power", 28),
    "E": ("e_gas_vapour", 8),
}
# Checks of our own beside the planned ones; a letter behind a planned id marks a further value.
OWN = {"B090", "B091", "B092", "B093", "B094", "C036"}
STATES = {"run", "part", "left out"}


def planned() -> dict[str, tuple[str, str]]:
    """Read state and reason of each planned check."""
    file = Path(__file__).parent / "not_applicable.csv"
    with file.open(encoding="utf-8", newline="") as lines:
        return {row["id"]: (row["state"], row["reason"]) for row in csv.DictReader(lines)}


def ids_run(section: str) -> set[str]:
    """Give the planned checks that rows of a section's table run."""
    return {name[:4] for name in read_rows(SECTIONS[section][0])} - OWN


@pytest.mark.parametrize("section", SECTIONS)
def test_checks_run_and_checks_left_out_are_all_that_were_planned(section: str) -> None:
    wanted = {name: state for name, (state, _) in planned().items() if name[0] == section}
    left_out = {name for name, state in wanted.items() if state == "left out"}

    assert len(wanted) == SECTIONS[section][1]
    assert ids_run(section) | left_out == set(wanted)
    assert not ids_run(section) & left_out


def test_a_check_that_is_not_wholly_run_says_why() -> None:
    for name, (state, reason) in planned().items():
        assert state in STATES, name
        assert (len(reason) > 20) is (state != "run"), name


def test_little_is_left_out() -> None:
    assert sum(state == "left out" for state, _ in planned().values()) == 3


def test_own_checks_are_not_among_the_planned_ones() -> None:
    assert not OWN & set(planned())
    names = {name[:4] for table, _ in SECTIONS.values() for name in read_rows(table)}
    assert names >= OWN
