"""Whatever the bytes, a log is read or refused in words, soon; nothing else ever happens."""

import random
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedproof.core.errors import InputError
from feedproof.records.logs.reading import read_log

from .writer import Form, instrument, write

_SEEDS = {
    "commas": Form(preamble="words"),
    "semicolons": Form(delimiter=";", decimal=",", encoding="cp1252", time_form="date-time"),
    "utf-16": Form(delimiter="\t", encoding="utf-16-le", mark=b"\xff\xfe", time_form="h:mm:ss"),
}
_NASTY = [
    *(b"\0", b"\r", b"\n", b'"', b";", b",", b"\xff\xfe", b"\xef\xbb\xbf", b"1e400", b"-", b"\x1f"),
    *(b"9" * 400, b"\n" * 300, b";" * 5000, b'"' * 999, b"NaN", b"[9**9**9**9]", b"\xe2\x88\x92"),
    *(b"0x10", b"1,234", b"9:99:99", b"9999-99-99T99:99:99", b"\xc2\x85", b"\xe2\x80\xa8", b"\x1a"),
]
_SLOWEST_S = 5.0


def _mutated(data: bytes, rng: random.Random) -> bytes:
    """Change some bytes, or cut, double, swap or insert some."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 5, 30))):
        at = rng.randrange(len(out) + 1)
        # Most of a log is body: half of all changes go to the head.
        at = at if rng.random() < 0.5 else min(at, rng.randrange(200))
        length = rng.choice((1, 2, 10, 200))
        kind = rng.randrange(5)
        if kind == 0:
            out[at : at + 1] = bytes([rng.randrange(256)])
        elif kind == 1:
            del out[at : at + length]
        elif kind == 2:
            out[at:at] = out[at : at + length]
        elif kind == 3:
            out[at:at] = rng.choice(_NASTY)
        else:
            del out[max(at, 1) :]
            out += rng.choice(_NASTY)
    return bytes(out)


@pytest.mark.parametrize("name", _SEEDS)
def test_mutated_logs_are_read_or_refused_in_words(name: str, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    write(path, _SEEDS[name])
    original = path.read_bytes()
    rng = random.Random(name)
    read = refused = unnamed = 0
    for _ in range(100):
        path.write_bytes(_mutated(original, rng))
        start = time.perf_counter()
        try:
            log = read_log(path, instrument()).log
        except InputError as fault:
            refused += 1
            unnamed += sum(not (f.place and f.message) for f in fault.findings)
        else:
            read += 1
            assert (log.time_s[1:] > log.time_s[:-1]).all()
            assert all(v.size == log.time_s.size for v in log.values.values())
        # A hang or a blow-up takes far longer; the bound is wide so that a busy machine passes.
        assert time.perf_counter() - start < _SLOWEST_S
    assert unnamed == 0
    assert read > 5, "mutations that leave nothing readable prove little"
    assert refused > 5, "mutations that do no harm prove little"


@given(
    data=st.binary(max_size=400)
    | st.text(alphabet='0123,;.-\n\r"t |\t:', max_size=300).map(lambda text: text.encode())
)
def test_any_bytes_are_refused_in_words(
    data: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("any") / "log.csv"
    path.write_bytes(data)
    with pytest.raises(InputError):
        read_log(path, instrument())


@pytest.mark.parametrize(
    "data",
    [
        b"t;x\n" + b"1" * 3_000_000 + b";2\n",
        b"t;x\n" + b"1;" * 500_000 + b"\n" + b"1;2\n" * 200,
        b"\n" * 2_000_000,
        (b'"' * 200_001 + b";1\n") * 5,
        b"t [9**9**9**9**9];x [m**999999999]\n" + b"1;2\n" * 100,
        b";".join(b"c%d" % i for i in range(20000)) + b"\n" + (b"1;" * 19999 + b"1\n") * 5,
    ],
    ids=[
        "long number",
        "wide line",
        "only line ends",
        "quotes",
        "towers of powers",
        "many columns",
    ],
)
def test_monsters_are_refused_soon(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(data)
    start = time.perf_counter()
    with pytest.raises(InputError):
        read_log(path, instrument())
    assert time.perf_counter() - start < 2 * _SLOWEST_S
