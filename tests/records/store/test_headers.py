"""The shape of a header: the same for what a person would call the same header, and only then."""

import pytest

from feedproof.records.store.headers import header_shape

PLAIN = (["Time", "Débit", "Inlet pressure"], ["s", "L/h", "kPa"])


@pytest.mark.parametrize(
    "columns",
    [
        ["time", "DÉBIT", "inlet PRESSURE"],
        [" Time ", "De\u0301bit", "Inlet \t pressure"],
        ["\ufeffTime", "Débit", "Inlet\u00a0pressure"],
    ],
)
def test_blanks_capitals_and_marks_do_not_count(columns: list[str]) -> None:
    assert header_shape(columns, PLAIN[1]) == header_shape(*PLAIN)


@pytest.mark.parametrize(
    ("columns", "units"),
    [
        (["Débit", "Time", "Inlet pressure"], PLAIN[1]),
        (["Time", "Débit"], ["s", "L/h"]),
        (["Time", "Débit", "Inlet pressure", ""], PLAIN[1]),
        (["Time", "Debit", "Inlet pressure"], PLAIN[1]),
        (PLAIN[0], ["s", "L/h", "KPA"]),
        (PLAIN[0], []),
        ([*PLAIN[0], *PLAIN[1]], []),
    ],
)
def test_order_number_words_and_units_count(columns: list[str], units: list[str]) -> None:
    assert header_shape(columns, units) != header_shape(*PLAIN)


def test_an_empty_row_of_units_is_none() -> None:
    assert header_shape(PLAIN[0], ["", " ", ""]) == header_shape(PLAIN[0])


def test_the_shape_stays_from_release_to_release() -> None:
    assert header_shape(["Time", "P"], ["s", "kPa"]) == (
        "d6debb0a85354d586a168e71c6c9fe5d3b333c38df94d40ed612c5baaffd1681"
    )
