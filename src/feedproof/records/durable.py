"""Writing that is whole or not at all, and locks between processes."""

import contextlib
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from feedproof.core.errors import WriteError

PATIENCE_S = 10.0


def write_whole(path: Path, content: bytes) -> None:
    """
    Replace a file by new content, so that a reader or a power cut finds the old or the new.

    Parameters
    ----------
    path : Path
        The file.
    content : bytes
        What it will hold.

    Raises
    ------
    WriteError
        Nothing was changed.
    """
    with whole_file(path) as file:
        file.write(content)


@contextlib.contextmanager
def whole_file(path: Path) -> Iterator[BinaryIO]:
    """
    Write a file piece by piece that then appears whole, or not at all.

    Parameters
    ----------
    path : Path
        The file.

    Yields
    ------
    file
        To write to, and to read back; what was written takes its place when the block ends
        without a fault.

    Raises
    ------
    WriteError
        Nothing was changed.
    """
    temporary = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
        temporary = Path(name)
        with os.fdopen(handle, "w+b") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(0o644)
        temporary.replace(path)
    except OSError as fault:
        raise WriteError.at(
            str(path.name),
            f"could not be written: {fault.strerror or fault}.",
            "Free some space or mend the permissions; what was there is as it was.",
        ) from fault
    finally:
        # After the replacing there is nothing of that name.
        if temporary is not None:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
    # The new file is in place; a folder that cannot be synced may lose it in a power cut only.
    with contextlib.suppress(OSError):
        sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """
    Have a folder's list of names reach the disk, where the system can.

    Parameters
    ----------
    folder : Path
        The folder.
    """
    if os.name == "nt":  # Windows cannot open a folder for this
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextlib.contextmanager
def locked(path: Path, patience_s: float | None = None) -> Iterator[None]:
    """
    Keep other processes from writing the same file.

    Parameters
    ----------
    path : Path
        The file; a hidden file beside it carries the lock, which the system takes back from a
        process that dies.
    patience_s : float, optional
        How long it is waited for; ten seconds when left out. [s]

    Yields
    ------
    None
        While the lock is held.

    Raises
    ------
    WriteError
        Another process holds it for too long, or the folder cannot be written.
    """
    try:
        handle = os.open(path.with_name(f".{path.name}.lock"), os.O_CREAT | os.O_RDWR, 0o644)
    except OSError as fault:
        raise WriteError.at(
            path.name, f"could not be locked: {fault.strerror}.", "Mend the permissions."
        ) from fault
    try:
        deadline = time.monotonic() + (PATIENCE_S if patience_s is None else patience_s)
        while not _taken(handle):
            if time.monotonic() > deadline:
                raise WriteError.at(
                    path.name, "is being written by another process.", "Wait for it and try again."
                )
            time.sleep(0.02)
        yield
    finally:
        os.close(handle)


def _taken(handle: int) -> bool:
    """Take the lock if it is free."""
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
