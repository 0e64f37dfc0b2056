"""
The file of the archive of repeatability.

Promised: what was added is read back to the last digit; a session counts once; a withdrawal and a
replacement keep the old line; damage is named at its line and nothing is written to a damaged
file; whatever moment a writer dies at, earlier lines are whole.
"""

import json
import subprocess
import sys
import time
from pathlib import Path

import pytest

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.evidence.archives.lines import standing
from feedproof.records.archive import ADDED, BEGUN, ArchiveFile
from feedproof.records.archive_document import body_of, session_of
from feedproof.records.journal import Journal
from tests.evidence.archives.archive_sessions import START, figure_of, session_data

ROOT = Path(__file__).parents[2]


@pytest.fixture
def archive(tmp_path: Path) -> ArchiveFile:
    """Make an archive of two sessions."""
    made = ArchiveFile(tmp_path / "archive.jsonl")
    made.add(session_data(0), who="tester")
    made.add(session_data(1, [figure_of((0.1, 1 / 3, -0.7, 2e-17))]), who="tester")
    return made


def numbers(archive: ArchiveFile) -> list[int]:
    """Give the lines of the sessions that stand."""
    return [line.number for line in standing(archive.read().lines)]


def forged(path: Path, *data: object, what: str = ADDED, version: object = 1) -> ArchiveFile:
    """Write lines with a whole chain but with this content."""
    journal = Journal(path)
    journal.append(BEGUN, {"format": "feedproof-archive", "version": version})
    for each in data:
        journal.append(what, each)
    return ArchiveFile(path)


def test_what_was_added_is_read_back_to_the_last_digit(archive: ArchiveFile) -> None:
    lines = archive.read().lines

    assert [line.data for line in lines] == [
        session_data(0),
        session_data(1, [figure_of((0.1, 1 / 3, -0.7, 2e-17))]),
    ]
    assert [line.number for line in lines] == [2, 3]


def test_a_session_counts_once(archive: ArchiveFile) -> None:
    before = archive.path.read_bytes()
    with pytest.raises(InputError, match=r"there already: archive.jsonl line 2.*--replace"):
        archive.add(session_data(0, case="the same runs in a copy"), who="tester")

    assert archive.path.read_bytes() == before


def test_a_replacement_keeps_the_old_line_and_its_reason(archive: ArchiveFile) -> None:
    new = session_data(0, [figure_of((0.0, 0.5, 0.1))])
    line = archive.add(new, who="tester", replace_because="run 2 was excluded")

    assert numbers(archive) == [3, 4]
    assert (line.why, line.instead_of) == ("run 2 was excluded", archive.read().lines[0].sha256)
    with pytest.raises(InputError, match="no line"):
        archive.add(session_data(7), who="tester", replace_because="nothing there")


@pytest.mark.parametrize("by_hash", [False, True])
def test_a_withdrawn_session_no_longer_counts_and_can_be_added_anew(archive, by_hash) -> None:
    which = archive.read().lines[0].sha256[:10] if by_hash else "2"
    archive.withdraw(which, who="tester", reason="gauge was broken")

    assert numbers(archive) == [3]
    archive.add(session_data(0), who="tester")
    assert numbers(archive) == [3, 5]


@pytest.mark.parametrize("which", ["1", "4", "99", "x", "", "0000000000"])
def test_only_a_session_that_stands_can_be_withdrawn(archive: ArchiveFile, which: str) -> None:
    with pytest.raises(MissingError, match="2, 3"):
        archive.withdraw(which, who="tester", reason="slip")


def test_a_line_of_an_earlier_version_tells_invented_data_by_the_title() -> None:
    body = body_of(session_data(0, case="Truck, INVENTED"))
    del body["invented"]
    assert session_of(body)[0].invented
    assert not session_of({**body, "case": "Truck"})[0].invented


@pytest.mark.parametrize("nobody", ["", "  ", "\t"])
def test_a_line_needs_a_person_who_stands_for_it(archive: ArchiveFile, nobody: str) -> None:
    before = archive.path.read_bytes()
    with pytest.raises(InputError, match="--who"):
        archive.add(session_data(3), who=nobody)
    with pytest.raises(InputError, match="--who"):
        archive.withdraw("2", who=nobody, reason="gauge was broken")
    assert archive.path.read_bytes() == before


def test_a_withdrawal_needs_a_reason(archive: ArchiveFile) -> None:
    with pytest.raises(InputError, match="reason"):
        archive.withdraw("2", who="tester", reason="  ")


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_damaged_line_is_named_and_nothing_is_written(archive: ArchiveFile, number: int) -> None:
    lines = archive.path.read_bytes().splitlines(keepends=True)
    lines[number - 1] = lines[number - 1].replace(b"tester", b"Tester")
    archive.path.write_bytes(b"".join(lines))
    damaged = archive.path.read_bytes()

    for use in (archive.read, lambda: archive.add(session_data(9), who="tester")):
        with pytest.raises(InputError, match=rf"archive.jsonl line {number}.*archive was changed"):
            use()
    assert archive.path.read_bytes() == damaged


def test_a_file_that_is_no_archive_is_refused(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "journal.jsonl")
    journal.append("margins declared", {"margins": "x"})

    with pytest.raises(InputError, match=r"line 1.*not an archive"):
        ArchiveFile(journal.path).read()


@pytest.mark.parametrize("version", [2, "1", None])
def test_another_version_is_refused(tmp_path: Path, version: object) -> None:
    with pytest.raises(InputError, match=r"line 1.*version"):
        forged(tmp_path / "a.jsonl", version=version).read()


def test_an_empty_file_is_an_empty_archive_and_a_missing_one_is_missing(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with pytest.raises(MissingError, match="archive add"):
        ArchiveFile(path).load()
    path.touch()

    assert ArchiveFile(path).load().lines == ()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"unit": "kPa"}, "'kPa'; it must be in 'log-percent'"),
        ({"standard_deviation": 0.1}, "its values give"),
        ({"degrees_of_freedom": 2}, "its values give"),
        ({"replumbed": True}, "its values give"),
        ({"values": [1.0, 2.0]}, "not of one length"),
        ({"runs": [1, 1, 2]}, "named twice"),
        ({"measure": "noise"}, "figures.0.measure"),
        ({"standard_deviation": -1.0}, "greater than 0"),
        ({"colour": "red"}, "figures.0.colour"),
    ],
)
def test_figures_that_do_not_follow_are_refused_at_their_line(tmp_path, change, words) -> None:
    body = body_of(session_data(0))
    body["figures"][0] |= change

    with pytest.raises(InputError) as fault:
        forged(tmp_path / "a.jsonl", body).read()
    assert "a.jsonl line 2" in str(fault.value)
    assert words in str(fault.value)


@pytest.mark.parametrize(
    ("what", "data"),
    [
        (ADDED, {}),
        (ADDED, [1, 2]),
        ("something else", {"line": 2}),
        ("baseline session withdrawn", {"line": 2, "instead_of": "0" * 64}),
        ("baseline session withdrawn", {"line": 0}),
    ],
)
def test_lines_of_another_kind_are_refused(tmp_path: Path, what: str, data: object) -> None:
    journal = Journal(tmp_path / "a.jsonl")
    journal.append(BEGUN, {"format": "feedproof-archive", "version": 1})
    if isinstance(data, dict):
        journal.append(what, data)
        with pytest.raises(InputError, match="line 2"):
            ArchiveFile(journal.path).read()
    else:
        with pytest.raises((InputError, TypeError, ValueError)):
            journal.append(what, data)  # type: ignore[arg-type]


def test_a_line_cannot_be_older_than_one_above_it(tmp_path: Path) -> None:
    archive = ArchiveFile(tmp_path / "a.jsonl")
    archive.add(session_data(20), who="tester")
    late = archive.read().lines[0]
    line = archive.add(session_data(0), who="tester", when=START)

    assert line.recorded == START
    assert line.known_from == late.known_from > START
    assert any("before" in finding.message for finding in archive.read().findings)


def test_another_writer_meanwhile_is_seen(archive: ArchiveFile) -> None:
    journal = Journal(archive.path, called="archive")
    with pytest.raises(WriteError, match="meanwhile"):
        journal.append(ADDED, {}, lines_before=2)

    assert numbers(archive) == [2, 3]


WRITER = """
import sys
from pathlib import Path
from feedproof.records.archive import ArchiveFile
from tests.evidence.archives.archive_sessions import session_data
archive = ArchiveFile(Path(sys.argv[1]))
for day in range(100000):
    archive.add(session_data(day), who="tester")
    print(day, flush=True)
"""


def test_kill_9_while_adding_leaves_the_archive_whole(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    command = [sys.executable, "-c", WRITER, str(path)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE) as writer:
        assert writer.stdout is not None
        for _ in range(8):
            writer.stdout.readline()
        time.sleep(0.013)
        writer.kill()
        said = 8 + writer.stdout.read().count(b"\n")
    archive = ArchiveFile(path)

    assert len(archive.read().lines) in (said, said + 1)
    archive.add(session_data(200000), who="tester")
    assert len(archive.read().lines) in (said + 1, said + 2)


def test_a_torn_last_line_hides_no_earlier_one(archive: ArchiveFile) -> None:
    whole = archive.path.read_bytes()
    line = json.dumps({"seq": 4, "when": "2026"}).encode()
    archive.path.write_bytes(whole + line)
    found = archive.read()

    assert [each.number for each in found.lines] == [2, 3]
    assert [each.level.value for each in found.findings] == ["warning"]
    archive.add(session_data(5), who="tester")
    assert numbers(archive) == [2, 3, 4]
