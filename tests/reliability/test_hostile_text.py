"""
Hostile text files: logs, cases and journals that were mutated are read, or refused in words.

One clear error with a place, soon and in little memory; never another exception.
"""

import json
import random
import resource
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from feedproof.core.errors import FeedproofError
from feedproof.records.folder import CaseFolder
from feedproof.records.logs.looking import look_at_log
from feedproof.records.logs.reading import read_log
from tests.records.logs.writer import Form, instrument, write
from tests.reliability.rows import tally, trials

ROW = "hostile text files"
SLOWEST_S = 10.0
MOST_BYTES = 1e9
BOMBS = (
    *(
        b"NaN",
        b"-Infinity",
        b"1e999",
        b"-1e999",
        b"inf",
        b"nan",
        b"0x7fffffff",
        b"1_0",
        b"\xff\xfe",
    ),
    *(
        b"[" * 100_000,
        b'{"a":' * 50_000,
        b"9" * 100_000,
        b"0." + b"0" * 50_000,
        b"1e" + b"9" * 5000,
    ),
    *(b"a." * 20_000 + b"b = 1\n", b"\0", b"\x1a", b'"""', b"'''", b"#", b"\r", b"\xe2\x80\xa8"),
    *(b'"\\ud800"', b"\xc0\x80", b"[[run]]\n" * 3000, b"x = 9999-99-99\n", b";" * 9000, b"= = =\n"),
    *(b'{"a": 1, "a": 2}\n', b"null\n", b"[]\n", b"true\n", b"1\n", b'"text"\n', b"\n" * 50_000),
)
SHARED = Path(__file__).parents[2] / "src" / "feedproof" / "scenario" / "case"


def mutated(data: bytes, rng: random.Random) -> bytes:
    """Change, cut, double or swap bytes, or put a bomb among them."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 5, 20))):
        at = rng.randrange(len(out) + 1)
        kind = rng.randrange(6)
        if kind == 0:
            out[at : at + 1] = bytes([rng.randrange(256)])
        elif kind == 1:
            del out[at : at + rng.choice((1, 3, 40, 2000))]
        elif kind == 2:
            out[at:at] = out[at : at + rng.choice((1, 9, 200))]
        elif kind == 3:
            # In the place of a number or a word: there the meaning changes, not the form.
            end = at
            while end < len(out) and out[end : end + 1] not in (b"\n", b",", b";", b'"'):
                end += 1
            out[at:end] = rng.choice(BOMBS)
        elif kind == 4:
            out[at:at] = rng.choice(BOMBS)
        else:
            del out[max(at, 1) :]
    return bytes(out)


def peak_bytes() -> float:
    """Give the most memory that this process has held."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return float(most if sys.platform == "darwin" else most * 1024)


def tried(name: str, attempt: Callable[[], object]) -> str:
    """Say what went wrong when a file was read; empty where it was read or refused in words."""
    before = peak_bytes()
    start = time.perf_counter()
    fault = ""
    try:
        attempt()
    except FeedproofError as refused:
        if not refused.findings or not all(f.place and f.message for f in refused.findings):
            fault = f"refused without a place: {refused!r}"
        elif name not in str(refused):
            fault = f"the error does not name the file: {str(refused)[:300]}"
        elif len(str(refused)) > 200_000:
            fault = "the error is longer than anybody reads"
    except Exception as other:
        fault = f"{type(other).__name__}: {str(other)[:300]}"
    if time.perf_counter() - start > SLOWEST_S:
        fault = fault or f"took {time.perf_counter() - start:.0f} s"
    if peak_bytes() - before > MOST_BYTES:
        fault = fault or "took more than 1 GB"
    return fault


def judged(faults: list[str], done: int) -> None:
    """Count the trials and fail with every fault that was found."""
    wrong = [fault for fault in faults if fault]
    tally(ROW, done, len(wrong))
    assert not wrong, "\n".join(sorted(set(wrong))[:20])


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
    judged(faults, count)


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
    judged(faults, count)


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
