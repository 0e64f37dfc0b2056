"""
The journal.

Promised: what was appended is read back in order; an edit, a line taken out or moved is found and
nothing after it counts; an unfinished last line hides no earlier one; nothing is appended to a
broken chain.
"""

import errno
import json
import os
from datetime import UTC, datetime, timedelta, timezone
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.core.errors import InputError, WriteError
from feedproof.core.findings import Level
from feedproof.records.journal import Entry, Journal

WHEN = datetime(2026, 9, 14, 9, 42, tzinfo=timezone(timedelta(hours=2)))


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    made = Journal(tmp_path / "journal.jsonl")
    for number in range(1, 5):
        made.append("run added", {"run": number}, why="ü", who="tester", when=WHEN)
    return made


def lines_of(journal: Journal) -> list[bytes]:
    """Give the lines with their ends."""
    return journal.path.read_bytes().splitlines(keepends=True)


def broken_at(journal: Journal) -> str:
    """Give the place of the one error, after making sure that it is the only finding."""
    findings = journal.read()[1]
    assert [finding.level for finding in findings] == [Level.ERROR]
    return findings[0].place


def test_lines_are_read_back_in_order_with_their_moment_in_utc(journal: Journal) -> None:
    entries, findings = journal.read()

    assert findings == ()
    assert [(e.seq, e.data["run"]) for e in entries] == [(1, 1), (2, 2), (3, 3), (4, 4)]
    assert entries[0].when == WHEN
    assert json.loads(lines_of(journal)[0])["when"] == "2026-09-14T07:42:00+00:00"


def test_a_journal_that_does_not_exist_is_empty(tmp_path: Path) -> None:
    assert Journal(tmp_path / "journal.jsonl").read() == ((), ())


def test_who_is_the_operator_unless_said(tmp_path: Path) -> None:
    assert Journal(tmp_path / "journal.jsonl").append("note", {}).who == "operator"


@pytest.mark.parametrize("number", [1, 2, 3, 4])
@pytest.mark.parametrize(
    ("old", "new"),
    [(b"tester", b"Tester"), (b'"run": ', b'"run": 1'), (b"2026-09-14", b"2026-09-13")],
)
def test_an_edit_of_any_line_is_found_there(
    number: int, old: bytes, new: bytes, journal: Journal
) -> None:
    lines = lines_of(journal)
    assert old in lines[number - 1]
    lines[number - 1] = lines[number - 1].replace(old, new)
    journal.path.write_bytes(b"".join(lines))

    assert broken_at(journal) == f"journal.jsonl line {number}"
    assert len(journal.read()[0]) == number - 1


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_line_taken_out_before_the_last_is_found(number: int, journal: Journal) -> None:
    lines = lines_of(journal)
    del lines[number - 1]
    journal.path.write_bytes(b"".join(lines))

    assert broken_at(journal) == f"journal.jsonl line {number}"


def test_two_lines_that_changed_places_are_found(journal: Journal) -> None:
    lines = lines_of(journal)
    lines[1], lines[2] = lines[2], lines[1]
    journal.path.write_bytes(b"".join(lines))

    assert broken_at(journal) == "journal.jsonl line 2"


def signed(line: bytes, **changes: Any) -> bytes:
    """Change a line and give it the hash that fits, as somebody who knows the chain would."""
    body = {**json.loads(line), **changes}
    del body["hash"]
    canonical = json.dumps(body, sort_keys=True, separators=(",", ":"))
    return json.dumps({**body, "hash": sha256(canonical.encode()).hexdigest()}).encode() + b"\n"


def test_an_edit_with_a_hash_that_fits_is_found_at_the_next_line(journal: Journal) -> None:
    lines = lines_of(journal)
    lines[1] = signed(lines[1], why="other")
    journal.path.write_bytes(b"".join(lines))

    assert broken_at(journal) == "journal.jsonl line 3"


def test_a_number_left_out_is_found_though_the_hashes_fit(journal: Journal) -> None:
    lines = lines_of(journal)
    lines[3] = signed(lines[3], seq=5)
    journal.path.write_bytes(b"".join(lines))

    assert broken_at(journal) == "journal.jsonl line 4"


def test_a_line_written_twice_is_found(journal: Journal) -> None:
    lines = lines_of(journal)
    journal.path.write_bytes(b"".join([*lines, lines[-1]]))

    assert broken_at(journal) == "journal.jsonl line 5"


@pytest.mark.parametrize("rubbish", [b"[]\n", b"3\n", b"\n", b"\x00\xff\n", b"{}\n", b"NaN\n"])
def test_rubbish_between_lines_is_an_error_and_no_exception(
    rubbish: bytes, journal: Journal
) -> None:
    lines = lines_of(journal)
    journal.path.write_bytes(b"".join([lines[0], rubbish, *lines[1:]]))

    assert broken_at(journal) == "journal.jsonl line 2"


@pytest.mark.parametrize("kept", [1, 40, -1])
def test_a_torn_last_line_is_told_and_hides_no_earlier_one(kept: int, journal: Journal) -> None:
    lines = lines_of(journal)
    journal.path.write_bytes(b"".join([*lines[:3], lines[3][:kept]]))
    entries, findings = journal.read()

    assert len(entries) == 3
    assert [finding.level for finding in findings] == [Level.WARNING]


def test_after_a_torn_line_the_next_one_continues_the_chain(journal: Journal) -> None:
    journal.path.write_bytes(journal.path.read_bytes()[:-20])
    journal.append("note", {})
    entries, findings = journal.read()

    assert findings == ()
    assert [entry.what for entry in entries] == ["run added"] * 3 + ["note"]


def test_nothing_is_appended_to_a_broken_chain(journal: Journal) -> None:
    changed = journal.path.read_bytes().replace(b'"run": 2', b'"run": 9')
    journal.path.write_bytes(changed)
    with pytest.raises(InputError, match="line 2"):
        journal.append("note", {})

    assert journal.path.read_bytes() == changed


def test_a_full_disk_is_told_and_the_earlier_lines_stay(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    before = journal.read()[0]
    monkeypatch.setattr(os, "fsync", failing)
    with pytest.raises(WriteError, match="No space left"):
        journal.append("note", {})

    assert journal.read()[0][:4] == before


VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**12), 10**12)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.text(st.characters(exclude_categories=["Cs"]), max_size=8), inner, max_size=3
        )
    ),
    max_leaves=8,
)
TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)


@settings(max_examples=60)
@given(
    lines=st.lists(
        st.tuples(TEXT, st.dictionaries(TEXT, VALUES, max_size=3), TEXT), min_size=1, max_size=5
    ),
    flipped=st.data(),
)
def test_any_lines_come_back_and_any_changed_byte_before_the_last_line_end_is_found(
    lines: list[tuple[str, dict[str, Any], str]],
    flipped: st.DataObject,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    journal = Journal(tmp_path_factory.mktemp("journal") / "journal.jsonl")
    moment = datetime(2026, 1, 1, tzinfo=UTC)
    written: list[Entry] = [
        journal.append(what, data, why=why, when=moment) for what, data, why in lines
    ]
    entries, findings = journal.read()
    assert findings == ()
    assert list(entries) == written

    content = bytearray(journal.path.read_bytes())
    position = flipped.draw(st.integers(0, len(content) - 2))
    bit = flipped.draw(st.integers(0, 7))
    content[position] ^= 1 << bit
    journal.path.write_bytes(bytes(content))

    after, told = journal.read()
    assert told or list(after) == written
