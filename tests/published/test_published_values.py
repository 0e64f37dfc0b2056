"""
Promise: the project's own functions give every published value carried in the tables here.

A row whose provenance begins with "memory" proves only that a formula is coded as remembered.
"""

import pytest

from feedproof.core import units
from tests.published import a_runners, b_runners, c_runners, d_runners, e_runners, g_runners
from tests.published.rows import Row, Runner, explain, read_rows

TABLES = {
    "a_pipe_flow": a_runners.RUNNERS,
    "b_fuels": b_runners.RUNNERS,
    "c_atmosphere_power": c_runners.RUNNERS,
    "d_filtration": d_runners.RUNNERS,
    "e_gas_vapour": e_runners.RUNNERS,
    "g_units": g_runners.RUNNERS,
}
CASES = [
    pytest.param(row, runners[row.id], id=row.id)
    for name, runners in TABLES.items()
    for row in read_rows(name).values()
    if row.id in runners
]


@pytest.mark.parametrize(("row", "runner"), CASES)
def test_a_published_value_is_met(row: Row, runner: Runner) -> None:
    result = runner()
    assert row.allows(result), explain(row, result)


@pytest.mark.parametrize("name", TABLES)
def test_every_row_has_a_runner_and_every_runner_a_row(name: str) -> None:
    assert set(read_rows(name)) == set(TABLES[name])


def test_the_tables_hold_what_they_are_counted_for() -> None:
    assert sum(len(read_rows(name)) for name in TABLES) >= 140


@pytest.mark.parametrize("name", TABLES)
def test_every_row_names_its_source_and_how_far_it_was_seen(name: str) -> None:
    for row in read_rows(name).values():
        assert row.source
        assert row.provenance.split(":")[0] in {"seen", "computed", "exact", "memory"}


def test_the_ambiguous_barrel_is_refused() -> None:
    # pint takes "barrel" for 31.5 US gal (119.24 L), the trade for 42 (158.99 L).
    with pytest.raises(ValueError, match="oil_barrel"):
        units.to_si(1.0, "barrel")
