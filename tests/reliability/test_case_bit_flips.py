"""
Single bits that turn over in a case's files and in a bundle.

Promised: `store verify` finds every one, wherever it strikes; a damaged copy of the channels
changes no number.
"""

import random
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from feedproof.app import api
from feedproof.app.logs import load_logs
from feedproof.core.errors import FeedproofError
from feedproof.records.channel_cache import channels_path, keep_channels
from feedproof.records.folder import CaseFolder
from feedproof.records.logs.reading import read_log
from tests.reliability.rows import tally, trials

PLACES = ("raw", "results", "journal.jsonl", "documents")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> CaseFolder:
    """Give the demonstration with a prediction and what it was made from."""
    made = CaseFolder(api.PACKAGED_DEMO).copy_to(tmp_path_factory.mktemp("flips") / "case")
    api.predict(made.path, kits=())
    return made


@pytest.fixture(scope="module")
def bundle(folder: CaseFolder, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the case as a bundle."""
    file = tmp_path_factory.mktemp("bundle") / "case.zip"
    api.store_export(folder.path, file)
    return file


def flips(files: list[Path], count: int, seed: int) -> Iterator[tuple[Path, int]]:
    """Turn one bit of one file after another, and put it back."""
    draw = random.Random(seed)
    for _ in range(count):
        file = draw.choice(files)
        before = file.read_bytes()
        bit = draw.randrange(8 * len(before))
        changed = bytearray(before)
        changed[bit // 8] ^= 1 << bit % 8
        file.write_bytes(changed)
        yield file, bit
        file.write_bytes(before)


def is_whole(path: Path) -> bool:
    """Say whether verify finds nothing; a refusal is a finding."""
    try:
        return api.store_verify(path).whole
    except FeedproofError:
        return False


@pytest.mark.parametrize("place", PLACES)
def test_every_bit_that_turns_over_in_a_case_is_found(folder: CaseFolder, place: str) -> None:
    files = [f for f in (folder.path / place).glob("**/*") if f.is_file()]
    files = sorted(files) or [folder.path / place]
    count = trials(5, 40)

    missed = [(f.name, bit) for f, bit in flips(files, count, 7) if is_whole(folder.path)]

    tally("bit flips", count, len(missed))
    assert not missed
    assert is_whole(folder.path)


def test_every_bit_that_turns_over_in_a_bundle_is_found(bundle: Path) -> None:
    count = trials(5, 40)

    missed = [bit for _, bit in flips([bundle], count, 8) if is_whole(bundle)]

    tally("bit flips", count, len(missed))
    assert not missed
    assert is_whole(bundle)


def test_bits_at_both_ends_and_in_the_seal_of_a_bundle_are_found(
    bundle: Path, tmp_path: Path
) -> None:
    whole = bundle.read_bytes()
    struck = tmp_path / "case.zip"
    for place in (0, 7, 10, len(whole) - 1, len(whole) - 64, len(whole) - 65, len(whole) - 72):
        changed = bytearray(whole)
        changed[place] ^= 1
        struck.write_bytes(changed)

        assert not is_whole(struck), place


def test_a_damaged_copy_of_the_channels_changes_no_number(
    folder: CaseFolder, tmp_path: Path
) -> None:
    case = folder.load().case
    run = case.runs[0]
    raw = shutil.copy(folder.raw(run.logs[0]), tmp_path)
    path = channels_path(Path(raw), case.instruments[run.logs[0].instrument])
    own = folder.copy_to(tmp_path / "own")
    place = own.raw(run.logs[0]).parent / path.name
    reading = read_log(own.raw(run.logs[0]), case.instruments[run.logs[0].instrument])
    keep_channels(place, reading.log, reading.findings)
    count = trials(10, 100)
    only = [run.number]
    case = CaseFolder(own.path).load().case
    one = next(each for each in case.runs if each.number == only[0])
    small = _with_runs(case, (one,))
    files = [place, place.with_suffix(".json")]
    wrong = []

    for file, bit in flips(files, count, 9):
        logs, told = load_logs(own, small)
        same = np.array_equal(logs[one.number][0].time_s, reading.log.time_s) and all(
            np.array_equal(logs[one.number][0].values[channel], values, equal_nan=True)
            for channel, values in reading.log.values.items()
        )
        said = any("the raw log was read" in finding.message for finding in told)
        if not (same and said):
            wrong.append((file.name, bit))

    tally("bit flips", count, len(wrong))
    assert not wrong


def _with_runs(case, runs):
    """Give a case with some of its runs."""
    from dataclasses import replace

    return replace(case, runs=runs)
