"""Columns of a log that grow block by block."""

import numpy as np
import pytest

from feedproof.records.logs.growing import Growing


def test_a_column_holds_what_was_added_also_beyond_what_was_expected() -> None:
    column = Growing(np.int64, 10)
    parts = [np.arange(first, first + 100) for first in range(0, 1000, 100)]
    for part in parts:
        column.add(part)

    assert column.whole().tolist() == list(range(1000))
    # A view of the column's own memory, which is converted in place.
    column.whole()[0] = -1
    assert column.whole()[0] == -1


def test_memory_that_is_not_there_is_told_as_memory() -> None:
    with pytest.raises(MemoryError):
        Growing(np.float64, 10**15)
