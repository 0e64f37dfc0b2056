"""Mutate files, and judge what comes of reading them: read, or refused in words, soon and small."""

import os
import random
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Sequence

from feedproof.core.errors import FeedproofError

SLOWEST_S = 10.0
"""Computing time of this process and its children: a busy machine must not fail a reader."""
LONGEST_WAIT_S = 90.0
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
    return _bytes(resource.RUSAGE_SELF)


def peak_bytes_of_children() -> float:
    """Give the most memory that any ended child of this process has held."""
    return _bytes(resource.RUSAGE_CHILDREN)


def _bytes(whose: int) -> float:
    """Give a peak in bytes: systems count it differently."""
    most = resource.getrusage(whose).ru_maxrss
    return float(most if sys.platform == "darwin" else most * 1024)


def computing_s() -> float:
    """Give the time that this process and its ended children have computed."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


def tried(name: str, attempt: Callable[[], object]) -> str:
    """Say what went wrong when a file was read; empty where it was read or refused in words."""
    # A process of an earlier test that nobody waited for, such as a browser, is counted as soon as
    # the next one starts: it must be counted before.
    subprocess.run([sys.executable, "-c", ""], check=True)
    before, children = peak_bytes(), peak_bytes_of_children()
    start, computed = time.perf_counter(), computing_s()
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
    if computing_s() - computed > SLOWEST_S:
        fault = fault or f"computed for {computing_s() - computed:.0f} s"
    if time.perf_counter() - start > LONGEST_WAIT_S:
        fault = fault or f"took {time.perf_counter() - start:.0f} s"
    if peak_bytes() - before > MOST_BYTES:
        fault = fault or "took more than 1 GB"
    if peak_bytes_of_children() > max(children, MOST_BYTES):
        fault = fault or "a process that it started took more than 1 GB"
    return fault


def wrong(faults: Sequence[str]) -> list[str]:
    """Give the different faults among what was found, twenty at most."""
    return sorted({fault for fault in faults if fault})[:20]
