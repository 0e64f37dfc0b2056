"""
The disk is full while records are kept.

Promised: a clear message, nothing half written, and work goes on once space is freed.
"""

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from feedproof.core.errors import WriteError
from feedproof.records.store.store import Store
from tests.records.store.filled import fill, reading, signed
from tests.reliability.rows import tally, trials

ROOT = Path(__file__).parents[2]
ROW = "disk full during import and recording"


def limited(size: int) -> None:
    """Let no file of this process grow beyond a size, and be told instead of killed."""
    import signal

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


@pytest.mark.timeout(900)  # of the long form
@pytest.mark.skipif(os.name == "nt", reason="limits of file size are of POSIX systems")
def test_a_full_disk_is_told_and_nothing_is_half_written(tmp_path: Path) -> None:
    failed, rounds = 0, trials(3, 20)
    for number in range(rounds):
        path = tmp_path / f"{number}.sqlite"
        with Store.open(path) as store:
            fill(store)
            before = len(store.readings())
        size = 90_000 + 7_919 * number
        done = subprocess.run(
            [sys.executable, "-m", "tests.reliability.store_writer", str(path), "w"],
            cwd=ROOT, capture_output=True, text=True, check=False, timeout=60,
            preexec_fn=lambda size=size: limited(size),
            env={**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT / "src"), str(ROOT)])},
        )  # fmt: skip
        *acknowledged, last = done.stdout.splitlines()
        with Store.open(path) as store:
            right = len(store.readings()) == before + len(acknowledged)
            right &= store.verify() == ()
            store.keep_reading(reading(), signed())
            right &= len(store.readings()) == before + len(acknowledged) + 1
        told = last.startswith("refused") and "nothing was written" in last and "space" in last
        failed += not (right and told and acknowledged and done.returncode == 0)
    tally(ROW, rounds, failed)
    assert failed == 0, done.stdout[-300:] + done.stderr[-2000:]


@pytest.mark.skipif(os.name == "nt", reason="limits of file size are of POSIX systems")
def test_a_backup_on_a_full_disk_leaves_nothing(tmp_path: Path) -> None:
    path, target = tmp_path / "store.sqlite", tmp_path / "copy"
    with Store.open(path) as store:
        fill(store)
    program = (
        "import sys; from pathlib import Path; from feedproof.records.store.store import Store;"
        "from feedproof.core.errors import WriteError\n"
        "with Store.open(sys.argv[1]) as store:\n"
        "    try: store.backup(Path(sys.argv[2]))\n"
        "    except WriteError as fault: print(fault)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, str(path), str(target)],
        cwd=ROOT, capture_output=True, text=True, check=True, timeout=60,
        preexec_fn=lambda: limited(40_000), env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
    )  # fmt: skip

    assert "could not be written" in done.stdout
    assert WriteError.exit_code == 4
    assert sorted(each.name for each in tmp_path.iterdir()) == ["store.sqlite"]
