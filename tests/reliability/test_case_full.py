"""
A disk that is full while a run is added and while a report is published.

Promised: exit code 4 and a message that says what to do; the case holds the run whole or not at
all; a report is the old one or the new one, file by file; all goes on once there is space.
"""

import random
import resource
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from feedproof.app import api, cli
from feedproof.core.errors import WriteError
from feedproof.records.folder import CaseFolder
from tests.records.documents import case_folder
from tests.reliability.adding import add
from tests.reliability.rows import tally, trials

SEED = 20260914


@contextmanager
def no_file_longer_than(length: int) -> Iterator[None]:
    """Have every write beyond a length fail, as a full disk has it."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (length, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def state_of(case: CaseFolder) -> tuple[bytes, bytes]:
    """Give the document and the journal."""
    return (case.path / "case.toml").read_bytes(), case.journal.path.read_bytes()


def test_a_full_disk_while_adding_changes_nothing_and_adding_goes_on(tmp_path: Path) -> None:
    count, dice, faults, refused = trials(8, 60), random.Random(SEED), [], 0
    for trial in range(count):
        own = tmp_path / str(trial)
        own.mkdir()
        case = case_folder(own)
        # A journal longer than all else, so that in some trials its line is what fails.
        case.journal.append("noted", {"text": "x" * dice.choice((1, 40_000))})
        before = state_of(case)
        length = dice.randrange(len(before[1]) + 3_000)
        # The log of the run itself is not what is tried.
        failed = False
        try:
            with no_file_longer_than(max(length, 5_000)):
                add(case, 1)
        except WriteError as fault:
            failed, refused = True, refused + 1
            if "Free some space" not in str(fault):
                faults.append(str(fault))
        if failed and (state_of(case) != before or case.load().case.runs):
            faults.append(f"limit {length}: changed")
        add(case, 2 if not failed else 1)
        if len(case.load().case.runs) != 2 - failed or case.journal.read()[1]:
            faults.append(f"limit {length}: did not go on")
    tally("disk full, runs added to a case", count, len(faults))

    assert not faults
    assert refused


def test_a_full_disk_while_publishing_keeps_the_old_report(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = case_folder(tmp_path)
    api.publish(case.path)
    report = case.path / "report"
    old = {file.name: file.read_bytes() for file in report.iterdir()}
    count, dice, faults = trials(2, 20), random.Random(SEED), []
    for _ in range(count):
        shutil.rmtree(case.path / "results")
        (case.path / "results").mkdir()
        with no_file_longer_than(dice.randrange(min(map(len, old.values())))):
            code = cli.main(["publish", str(case.path)])
        said = capsys.readouterr().err
        now = {file.name: file.read_bytes() for file in report.iterdir()}
        whole = now.keys() == old.keys() and now["report.html"] == old["report.html"]
        if code != 4 or "Free some space" not in said or not whole:
            faults.append(f"exit {code}: {said}")
    tally("disk full, publish", count, len(faults))

    assert not faults
    assert cli.main(["publish", str(case.path)]) == 0
