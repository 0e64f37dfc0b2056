"""
Simulated power cuts while the journal of a case is written.

Promised: whatever happened to what was not synced - dropped, torn, zeros in place of a block, or a
later block without an earlier one - the journal opens, says what was torn, holds every line that
was acknowledged, and takes the next one.
"""

import os
import random
from pathlib import Path

import pytest

from feedproof.records import journal as journal_file
from feedproof.records.journal import Journal
from tests.reliability.rows import tally, trials

SEED = 20260914
ROW = "simulated power cut, journal of a case"


class Disk:
    """What has reached the disk, told by the calls that bring it there."""

    def __init__(self, path: Path, patch: pytest.MonkeyPatch) -> None:
        self.path, self.synced, self.named = path, b"", False
        true = os.fsync

        def fsync(handle: int) -> None:
            true(handle)
            self.synced = path.read_bytes()

        patch.setattr(os, "fsync", fsync)
        patch.setattr(journal_file, "sync_folder", lambda _: setattr(self, "named", True))


def images(synced: bytes, later: bytes, dice: random.Random) -> bytes:
    """Give what a power cut may leave of a file, of which ``later`` was not synced."""
    cut = dice.randrange(len(later) + 1)
    kind = dice.randrange(4)
    if kind == 0:
        return synced + later[:cut]
    if kind == 1:  # the length was written, the data were not
        return synced + b"\0" * cut
    if kind == 2:  # a later block reached the disk, an earlier one did not
        return synced + b"\0" * cut + later[cut:]
    return synced + later[:cut] + b"\0" * (len(later) - cut)


def test_after_a_power_cut_every_acknowledged_line_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    count, dice, faults = trials(30, 500), random.Random(SEED), []
    for trial in range(count):
        journal = Journal(tmp_path / f"{trial}.jsonl")
        with monkeypatch.context() as patch:
            disk = Disk(journal.path, patch)
            acknowledged = dice.randrange(1, 4)
            for number in range(acknowledged):
                journal.append("noted", {"number": number, "text": "x" * dice.randrange(300)})
            synced = disk.synced if disk.named else b""
            journal.append("noted", {"number": acknowledged})
        later = journal.path.read_bytes()[len(synced) :]
        image = images(synced, later, dice)
        journal.path.write_bytes(image)
        faults.append(fault_of(journal, acknowledged, image, synced, later))
    tally(ROW, count, sum(map(bool, faults)))

    assert not list(filter(None, faults))


def fault_of(journal: Journal, acknowledged: int, image: bytes, synced: bytes, later: bytes) -> str:
    """Say what is wrong after a power cut; empty when nothing is."""
    entries, findings = journal.read()
    held = acknowledged + (image == synced + later)
    if len(entries) != held:
        return f"{held} lines expected, {len(entries)} held: {image[-80:]!r}"
    levels = [finding.level.value for finding in findings]
    if levels != (["warning"] if image not in (synced, synced + later) else []):
        return f"told {levels}: {image[-80:]!r}"
    journal.append("noted", {"after": True})
    entries, findings = journal.read()
    return "" if len(entries) == held + 1 and not findings else f"after it {findings}"
