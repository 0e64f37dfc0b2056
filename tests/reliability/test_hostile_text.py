"""
Hostile text files: logs, cases and journals that were mutated are read, or refused in words.

One clear error with a place, soon and in little memory; never another exception.
"""

import json
import random
import shutil
import time
from pathlib import Path

import pytest

from feedproof.core.errors import FeedproofError
from feedproof.records.folder import CaseFolder
from feedproof.records.logs.looking import look_at_log
from feedproof.records.logs.reading import read_log
from tests.records.logs.writer import Form, instrument, write
from tests.reliability.hostile import mutated, tried, wrong
from tests.reliability.rows import tally, trials

ROW = "hostile text files"
SHARED = Path(__file__).parents[2] / "src" / "feedproof" / "scenario" / "case"


def test_mutated_logs_are_read_or_refused(tmp_path: Path) -> None:
    rng = random.Random("hostile logs")
    path = tmp_path / "log.csv"
    originals = []
    for form in (
        Form(preamble="words", rows=300),
        Form(delimiter=";", decimal=",", encoding="cp1252", time_form="h:mm:ss"),
        Form(delimiter="\t", encoding="utf-16-le", mark=b"\xff\xfe", time_form="date-time"),
    ):
        write(path, form)
        originals.append(path.read_bytes())
    faults = []
    count = trials(24, 400)
    for i in range(count):
        path.write_bytes(mutated(originals[i % len(originals)], rng))
        faults.append(tried("log.csv", lambda: read_log(path, instrument())))
        faults.append(tried("log.csv", lambda: look_at_log(path, {})))
    tally(ROW, count, len(wrong(faults)))
    assert not wrong(faults)


@pytest.mark.parametrize(("name", "short", "full"), [("case.toml", 18, 300), ("journal", 18, 300)])
def test_mutated_cases_are_read_or_refused(
    name: str, short: int, full: int, tmp_path: Path
) -> None:
    rng = random.Random(f"hostile {name}")
    folder = tmp_path / "case"
    shutil.copytree(SHARED, folder)
    # Raw logs are not what is tested here, and their hashes take time.
    shutil.rmtree(folder / "raw", ignore_errors=True)
    case = CaseFolder(folder)
    path = folder / "case.toml" if name == "case.toml" else case.journal.path
    original = path.read_bytes() if path.is_file() else b""
    if name == "journal" and not original:
        case.journal.append("note", {"text": "for the test"}, who="tester", why="a line")
        original = path.read_bytes()
    faults = []
    count = trials(short, full)
    for _ in range(count):
        path.write_bytes(mutated(original, rng))

        def attempt() -> object:
            reading = CaseFolder(folder).read()
            # Everything that is found can be printed and kept.
            return json.dumps([str(finding) for finding in reading.findings])

        faults.append(tried(path.name, attempt))
    tally(ROW, count, len(wrong(faults)))
    assert not wrong(faults)


def test_a_key_of_very_many_parts_is_refused_at_its_line(tmp_path: Path) -> None:
    folder = tmp_path / "case"
    folder.mkdir()
    (folder / "case.toml").write_bytes(b"# a case\n" + b"a." * 20_000 + b"b = 1\n")
    start = time.perf_counter()
    reading = CaseFolder(folder).read()
    assert [f.place for f in reading.findings if f.level == "error"] == ["case.toml line 2"]
    assert time.perf_counter() - start < 2.0


def test_the_judge_sees_another_exception_and_a_nameless_refusal() -> None:
    def crash() -> None:
        raise KeyError("x")

    def nameless() -> None:
        raise FeedproofError.at("somewhere", "is wrong")

    assert tried("log.csv", crash).startswith("KeyError")
    assert "does not name the file" in tried("log.csv", nameless)
