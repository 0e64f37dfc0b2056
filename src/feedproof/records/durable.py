"""Writing that is whole or not at all, and locks between processes."""

import contextlib
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from feedproof.core.errors import WriteError

PATIENCE_S = 10.0
STALE_S = 120.0


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
    temporary = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
        temporary = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
        sync_folder(path.parent)
    except OSError as fault:
        if temporary is not None:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
        raise WriteError.at(
            str(path.name),
            f"could not be written: {fault.strerror or fault}.",
            "Free some space or mend the permissions; what was there is as it was.",
        ) from fault


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
def locked(path: Path) -> Iterator[None]:
    """
    Keep other processes from writing the same file.

    Parameters
    ----------
    path : Path
        The file; its lock is a file beside it.

    Yields
    ------
    None
        While the lock is held.

    Raises
    ------
    WriteError
        Another process holds it for too long.
    """
    lock = path.with_name(f".{path.name}.lock")
    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            os.close(os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            break
        except FileExistsError:
            if _is_stale(lock):
                lock.unlink(missing_ok=True)
                continue
            if time.monotonic() > deadline:
                raise WriteError.at(
                    path.name,
                    "is being written by another process.",
                    f"Wait for it, or remove {lock.name} when no feedproof is running.",
                ) from None
            time.sleep(0.02)
        except OSError as fault:
            raise WriteError.at(
                path.name, f"could not be locked: {fault.strerror}.", "Mend the permissions."
            ) from fault
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)


def _is_stale(lock: Path) -> bool:
    """Say whether a lock was left behind by a process that died."""
    try:
        return time.time() - lock.stat().st_mtime > STALE_S
    except OSError:
        return False
