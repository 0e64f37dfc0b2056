"""
Writing that is whole or not at all.

Promised: whatever step of a write fails, a reader finds the old content or the new, no temporary
file stays, and the error is one that a user can mend.
"""

import errno
import os
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from feedproof.core.errors import WriteError
from feedproof.records import durable

OLD, NEW = b"old content\n", b"new content, longer\n"


def failing(*_: Any, **__: Any) -> None:
    """Fail as a full disk does."""
    raise OSError(errno.ENOSPC, "No space left on device")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "case.toml"
    path.write_bytes(OLD)
    return path


def test_new_content_replaces_old(file: Path) -> None:
    durable.write_whole(file, NEW)

    assert file.read_bytes() == NEW
    assert [entry.name for entry in file.parent.iterdir()] == ["case.toml"]


@pytest.mark.parametrize("step", ["replace", "fsync", "fdopen"])
def test_a_failure_before_the_rename_leaves_the_old_content(
    step: str, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, step, failing)
    with pytest.raises(WriteError, match="No space left"):
        durable.write_whole(file, NEW)

    assert file.read_bytes() == OLD
    assert [entry.name for entry in file.parent.iterdir()] == ["case.toml"]


def test_a_failure_after_the_rename_leaves_the_new_content_whole(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(durable, "sync_folder", failing)
    durable.write_whole(file, NEW)

    assert file.read_bytes() == NEW
    assert [entry.name for entry in file.parent.iterdir()] == ["case.toml"]


def test_content_reaches_the_disk_before_the_rename_and_the_folder_after(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    order: list[str] = []
    replace, fsync = os.replace, os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: (order.append("fsync"), fsync(handle))[1])
    monkeypatch.setattr(os, "replace", lambda *a: (order.append("replace"), replace(*a))[1])
    durable.write_whole(file, NEW)

    assert order == ["fsync", "replace", "fsync"]


def test_a_second_writer_waits_for_the_first(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(durable, "PATIENCE_S", 0.1)
    with (
        durable.locked(file),
        pytest.raises(WriteError, match="another process"),
        durable.locked(file),
    ):
        pass

    with durable.locked(file):
        pass


def test_a_lock_left_by_a_dead_process_is_free_at_once(file: Path) -> None:
    program = (
        "import os, pathlib, sys; from feedproof.records import durable\n"
        f"with durable.locked(pathlib.Path({str(file)!r})): os._exit(9)\n"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 9

    started = time.monotonic()
    with durable.locked(file):
        pass

    assert time.monotonic() - started < durable.PATIENCE_S / 2
