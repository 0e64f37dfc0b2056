"""
Promise: the deciding half of the evidence gives the published statistics that are its own cases.

A row whose provenance begins with "memory" proves only that a formula is coded as remembered.
"""

import pytest

from tests.published.f_more_runners import MORE_RUNNERS
from tests.published.f_runners import RUNNERS as FIRST_RUNNERS
from tests.published.rows import Result, Row, explain, read_rows

ROWS = read_rows("f_statistics")
RUNNERS = FIRST_RUNNERS | MORE_RUNNERS


def spoilt(result: Result) -> Result:
    """Make a result two per cent too large."""
    return tuple(1.02 * x for x in result) if isinstance(result, tuple) else 1.02 * result


def test_every_row_has_a_runner_and_every_runner_a_row() -> None:
    assert set(ROWS) == set(RUNNERS)


@pytest.mark.parametrize("row", ROWS.values(), ids=list(ROWS))
def test_a_published_statistic_is_met(row: Row) -> None:
    result = RUNNERS[row.id]()
    assert row.allows(result), explain(row, result)


@pytest.mark.parametrize("row", ROWS.values(), ids=list(ROWS))
def test_a_row_notices_two_per_cent(row: Row) -> None:
    assert not row.allows(spoilt(RUNNERS[row.id]()))
