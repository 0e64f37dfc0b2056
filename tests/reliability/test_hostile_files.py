"""
Hostile files: bundles, workbooks, Parquet and MDF logs that were mutated are read, or refused.

One clear error with the file and a place, soon and in little memory; never another exception.
Bytes are changed in the file as it stands, and behind its checksums: in the parts of an archive
that is then closed again properly, as a program with a fault would write it.
"""

import hashlib
import io
import json
import random
import shutil
import struct
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest

from feedproof.records.bundle import MANIFEST, read_bundle, write_bundle
from feedproof.records.folder import CaseFolder
from feedproof.records.logs.kinds import READERS, Kind
from feedproof.records.logs.looking import look_at_log
from feedproof.records.logs.reading import read_log
from tests.records.logs.books import book, mdf, parquet, table
from tests.records.logs.writer import Form, instrument
from tests.reliability.hostile import mutated, tried, wrong
from tests.reliability.rows import tally, trials

ROW = "hostile files"
# All that the standard library's reader of archives is known to raise for a damaged one.
UNREADABLE = (
    *(zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, struct.error),
    *(NotImplementedError, RuntimeError, EOFError, ValueError, OSError),
)
SHARED = Path(__file__).parents[2] / "src" / "feedproof" / "scenario" / "case"
FORM = Form(rows=200)
SHEET_BOMBS = (
    b'<c r="XFD1048576" t="n"><v>1</v></c>',
    b'<c r="ZZZZZZZ99999999999"><v>1</v></c>',
    b'<c r="A0"><v>1</v></c>',
    b'<c t="s"><v>4000000000</v></c>',
    b'<c t="n"><v>1e999</v></c>',
    b'<c t="n"><v>NaN</v></c>',
    b'<c s="4000000000"><v>1</v></c>',
    b'<c t="e"><v>#REF!</v></c>',
    b"<f>1/0</f>",
    b"<a>" * 50_000,
    b'<!DOCTYPE a [<!ENTITY b "bbbbbbbb"><!ENTITY c "&b;&b;&b;&b;">]>',
    b"&c;&#0;&#x110000;",
    b"]]>",
    b"<!--",
    b"</sheetData>",
    b"<row/>" * 20_000,
)


def zipped(parts: dict[str, bytes], comment: bytes = b"") -> bytes:
    """Make an archive, with the comment of a sealed bundle where one is asked for."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            # The library itself refuses an empty name where it is given as text.
            archive.writestr(name or zipfile.ZipInfo(name), content)
        archive.comment = comment
    return stream.getvalue()


def parts_of(data: bytes) -> dict[str, bytes]:
    """Unpack an archive."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def sealed(data: bytes) -> bytes:
    """Give a bundle the hash that its bytes now have."""
    return data[:-64] + hashlib.sha256(data[:-64]).hexdigest().encode()


def hostile_workbook(data: bytes, rng: random.Random) -> bytes:
    """Change a workbook's bytes, or one of its parts."""
    if rng.random() < 0.25:
        return mutated(data, rng)
    parts = parts_of(data)
    sheet = "xl/worksheets/sheet1.xml"
    name = sheet if rng.random() < 0.6 else rng.choice(sorted(parts))
    kind = rng.random()
    if kind < 0.1:
        del parts[name]
    elif kind < 0.5:
        at = rng.randrange(len(parts[name]))
        at = parts[name].find(b"<", at) if rng.random() < 0.8 else at
        parts[name] = parts[name][:at] + rng.choice(SHEET_BOMBS) + parts[name][at:]
    else:
        parts[name] = mutated(parts[name], rng)
    return zipped(parts)


def hostile_parquet(data: bytes, rng: random.Random) -> bytes:
    """Change a Parquet file's bytes; half of the time those at its end, which say what is where."""
    if rng.random() < 0.5:
        return mutated(data, rng)
    out = bytearray(data)
    length = int.from_bytes(out[-8:-4], "little")
    for _ in range(rng.choice((1, 1, 2, 8))):
        out[len(out) - 8 - rng.randrange(-4, length)] = rng.randrange(256)
    return bytes(out)


def hostile_bundle(data: bytes, rng: random.Random) -> bytes:
    """Change a bundle's bytes, its names, its manifest or its files; most are sealed again."""
    kind = rng.random()
    if kind < 0.2:
        return mutated(data, rng)
    if kind < 0.5:
        return sealed(mutated(data[:-71], rng) + data[-71:])
    parts = parts_of(data)
    name = rng.choice(sorted(parts))
    if kind < 0.65:
        parts[MANIFEST] = mutated(parts[MANIFEST], rng)
    elif kind < 0.8:
        new = rng.choice(("../x", "/x", "C:/x", "CASE.TOML", "a\0b", "nul", "x/" * 200 + "y", ""))
        parts[new] = parts.pop(name)
    else:
        parts[name] = mutated(parts[name], rng)
        about = json.loads(parts[MANIFEST]) if name != MANIFEST else {"files": {}}
        if name in about["files"]:
            digest = hashlib.sha256(parts[name]).hexdigest()
            about["files"][name] = {"sha256": digest, "bytes": len(parts[name])}
            parts[MANIFEST] = json.dumps(about).encode()
    return sealed(zipped(parts, b"sha256:" + b"0" * 64))


def log_faults(
    path: Path, hostile: Callable[[bytes, random.Random], bytes], count: int
) -> list[str]:
    """Look at a mutated log and read another, by turns."""
    rng = random.Random(f"hostile {path.name}")
    original = path.read_bytes()
    faults = []
    for i in range(count):
        path.write_bytes(hostile(original, rng))
        if i % 2:
            faults.append(tried(path.name, lambda: read_log(path, instrument())))
        else:
            faults.append(tried(path.name, lambda: look_at_log(path, {})))
    return faults


def test_mutated_workbooks_are_read_or_refused(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    book(path, {"log": [["a logger"], *table(FORM)], "words": [["made", "by hand"]]})
    count = trials(6, 500)
    faults = wrong(log_faults(path, hostile_workbook, count))
    tally(f"{ROW}, workbooks", count, len(faults))
    assert not faults


def test_mutated_parquet_files_are_read_or_refused(tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    parquet(path, table(FORM))
    count = trials(4, 300)
    faults = wrong(log_faults(path, hostile_parquet, count))
    tally(f"{ROW}, Parquet", count, len(faults))
    assert not faults


@pytest.mark.skipif(Kind.MDF not in READERS, reason="MDF files are not read yet")
def test_mutated_mdf_files_are_read_or_refused(tmp_path: Path) -> None:
    pytest.importorskip("asammdf")
    path = tmp_path / "log.mf4"
    mdf(path, table(FORM))
    count = trials(4, 200)
    faults = wrong(log_faults(path, mutated, count))
    tally(f"{ROW}, MDF", count, len(faults))
    assert not faults


def test_mutated_bundles_are_unpacked_or_refused(tmp_path: Path) -> None:
    rng = random.Random("hostile bundles")
    case = tmp_path / "case"
    shutil.copytree(SHARED, case)
    # Raw logs are read elsewhere, and hashing them takes time.
    shutil.rmtree(case / "raw", ignore_errors=True)
    path, target = tmp_path / "case.zip", tmp_path / "unpacked"
    write_bundle(case, path)
    original = path.read_bytes()
    count = trials(30, 400)
    faults = []
    for _ in range(count):
        path.write_bytes(hostile_bundle(original, rng))
        faults.append(tried(path.name, lambda: read_bundle(path, target)))
        if target.exists():
            # A file that was changed with its manifest is a case of its own.
            faults.append(tried("", lambda: CaseFolder(target).read()))
            shutil.rmtree(target)
        left = [each.name for each in tmp_path.iterdir() if each not in (case, path)]
        faults += [f"left behind: {name}" for name in left]
    faults = wrong(faults)
    tally(f"{ROW}, bundles", count, len(faults))
    assert not faults


def test_the_mutations_reach_behind_the_checksums(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    book(path, {"log": table(FORM)})
    original, rng = path.read_bytes(), random.Random("behind")
    whole = 0
    for _ in range(100):
        try:
            parts_of(hostile_workbook(original, rng))
        # A workbook carries the second that it was written in, so its bytes, and with them what
        # a hole in its compressed data does, differ from run to run: zlib's own error among them.
        except UNREADABLE:
            continue
        whole += 1
    assert 60 <= whole < 100
