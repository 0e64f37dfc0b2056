"""
Lines and paths of keys.

Promised: the line told for a key is the one that holds it, whatever strings, comments, brackets
and dotted keys stand around it; a path names parts by id.
"""

import tomllib

import pytest

from feedproof.records.places import line_of, lines_of, path_of
from tests.records.documents import VEHICLE

TRAPS = '''# [not.a.table]
title = """
[also.no.table]
key = 1
"""
[a."b.c"]
x = [
  1, # ]
  "]",
]
y.z = "# = [" # = comment
[[a.list]]
id = 'first'
[a.list.below]
k = 1
[[a.list]]
id = 'second'
[a.list.below]
k = 2
"quoted key" = 3
'''


@pytest.mark.parametrize(
    ("location", "line"),
    [
        (("title",), 2),
        (("a", "b.c"), 6),
        (("a", "b.c", "x"), 7),
        (("a", "b.c", "y", "z"), 11),
        (("a", "list", 0, "id"), 13),
        (("a", "list", 0, "below", "k"), 15),
        (("a", "list", 1), 16),
        (("a", "list", 1, "below", "k"), 19),
        (("a", "list", 1, "below", "quoted key"), 20),
    ],
)
def test_a_key_among_traps_has_its_line(location: tuple[str | int, ...], line: int) -> None:
    tomllib.loads(TRAPS)

    assert line_of(lines_of(TRAPS), location) == line


def test_a_table_within_brackets_is_no_header() -> None:
    assert ("not", "a", "table") not in lines_of(TRAPS)
    assert ("also", "no", "table") not in lines_of(TRAPS)


def test_a_missing_key_has_the_line_of_its_table() -> None:
    assert line_of(lines_of(TRAPS), ("a", "list", 1, "below", "missing")) == 18


def test_every_key_that_the_scanner_finds_is_in_the_document() -> None:
    document = tomllib.loads(VEHICLE)
    for location in lines_of(VEHICLE):
        current = document
        for step in location:
            current = current[step]

    assert len(lines_of(VEHICLE)) > 200


def test_a_path_names_parts_by_id_and_others_by_position() -> None:
    document = tomllib.loads(VEHICLE)

    assert path_of(document, ("line", 2, "bore")) == "line[steel_line].bore"
    assert path_of(document, ("worst", 1, "fuel")) == "worst[1].fuel"
