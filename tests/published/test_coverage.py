"""
Promise: of the planned checks of sections A to F none is missing.

Pipe flow, fuels, air and power, filtration, gas, statistics: ``not_applicable.csv`` lists every
planned check, ``run``, ``part`` (some of its values are run) or ``left out``, the last two with the
reason.
"""

import csv
from pathlib import Path

import pytest

from tests.published.rows import read_rows

SECTIONS = {
    "A": ("a_pipe_flow", 71),
    "B": ("b_fuels", 71),
    "C": ("c_atmosphere_power", 28),
    "D": ("d_filtration", 58),
    "E": ("e_gas_vapour", 8),
    "F": ("f_statistics", 42),
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
    left_out = [name[0] for name, (state, _) in planned().items() if state == "left out"]
    # Of statistics, methods that the decision does not use.
    assert left_out.count("F") == 9
    assert len(left_out) == 3 + 9


def test_own_checks_are_not_among_the_planned_ones() -> None:
    assert not OWN & set(planned())
    names = {name[:4] for table, _ in SECTIONS.values() for name in read_rows(table)}
    assert names >= OWN
