"""Files from outside, kept apart until a verb takes them: no name of theirs is ever trusted."""

import hashlib
import json
import re
import secrets
import shutil
from collections.abc import Iterator
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import BinaryIO

from feedproof.app.web.api.told_here import Upload
from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.durable import write_whole
from feedproof.records.names import safe_name

FOLDER = "uploads"
KEPT = timedelta(days=7)
MOST_WAITING = 200
"""Files of all cases together that may wait."""
_ID = re.compile(r"[0-9a-f]{32}")
_CHUNK_BYTES = 1 << 20
_ABOUT = ".upload.json"
"""Beside the file, under a name that `safe_name` gives to none."""


class Uploads:
    """
    The files that wait.

    Parameters
    ----------
    own : Path
        The server's own folder.
    most_bytes : int
        That all of them together may have.
    """

    def __init__(self, own: Path, most_bytes: int) -> None:
        self.path = own / FOLDER
        self._most_bytes = most_bytes

    def take(self, case: str, name: str, source: BinaryIO, now: datetime | None = None) -> Upload:
        """
        Keep a file until it is used.

        Parameters
        ----------
        case : str
            Whose it is.
        name : str
            As it came.
        source : file
            Its bytes.
        now : datetime, optional
            When, in UTC.

        Returns
        -------
        Upload
            What it is named by.

        Raises
        ------
        WriteError
            Too many wait, or no space; nothing is kept.
        """
        moment = now or datetime.now(UTC)
        self.prune(moment)
        waiting, room = 0, self._most_bytes
        for each in self._all():
            waiting, room = waiting + 1, room - self._about(each)[1].bytes
        if waiting >= MOST_WAITING or room <= 0:
            raise WriteError.at(
                "uploads",
                f"{waiting} files wait already, with {(self._most_bytes - room) / 1e6:.3g} MB;"
                f" at most {MOST_WAITING} with {self._most_bytes / 1e6:.3g} MB may.",
                "Add them to their runs, or take some away.",
            )
        identity = secrets.token_hex(16)
        folder = self.path / identity
        plain = safe_name(name)
        try:
            folder.mkdir(parents=True, mode=0o700)
            size, digest = _copied(source, folder / plain, room)
            until = (moment + KEPT).isoformat(timespec="seconds")
            about = Upload(upload=identity, name=plain, bytes=size, sha256=digest, until=until)
            text = json.dumps({"case": case, **asdict(about)}, ensure_ascii=False)
            write_whole(folder / _ABOUT, text.encode())
        except BaseException as fault:
            shutil.rmtree(folder, ignore_errors=True)
            if isinstance(fault, OSError):
                raise WriteError.at(
                    plain, f"could not be kept: {fault.strerror}.", "Free some space."
                ) from fault
            raise
        return about

    def of_case(self, case: str) -> tuple[Upload, ...]:
        """
        List what waits for a case.

        Parameters
        ----------
        case : str
            Its name.

        Returns
        -------
        tuple of Upload
            The oldest first.
        """
        self.prune(datetime.now(UTC))
        found = [about for each in self._all() for of, about in (self._about(each),) if of == case]
        return tuple(sorted(found, key=lambda each: (each.until, each.name, each.upload)))

    def file(self, case: str, identity: str) -> Path:
        """
        Find a file that waits for a case.

        Parameters
        ----------
        case : str
            Its name.
        identity : str
            From outside: never trusted.

        Returns
        -------
        Path
            The file.

        Raises
        ------
        MissingError
            There is none.
        """
        folder = self.path / identity
        if _ID.fullmatch(identity) and (folder / _ABOUT).is_file():
            of, about = self._about(folder)
            file = folder / about.name
            if of == case and file.is_file():
                return file
        raise MissingError.at(
            f"upload {identity[:40]!r}", "is not there (any more).", "Send the file again."
        )

    def remove(self, case: str, identity: str) -> None:
        """
        Take a file away.

        Parameters
        ----------
        case : str
            Its name.
        identity : str
            From outside: never trusted.

        Raises
        ------
        MissingError
            There is none.
        """
        shutil.rmtree(self.file(case, identity).parent, ignore_errors=True)

    def prune(self, now: datetime) -> None:
        """
        Take away what nobody used.

        Parameters
        ----------
        now : datetime
            In UTC.
        """
        for folder in self._folders():
            if not (folder / _ABOUT).is_file():
                # Of a process that died while it took a file, or of one that takes it now.
                began = datetime.fromtimestamp(folder.stat().st_mtime, UTC)
                if now - began > timedelta(hours=1):
                    shutil.rmtree(folder, ignore_errors=True)
            elif datetime.fromisoformat(self._about(folder)[1].until) < now:
                shutil.rmtree(folder, ignore_errors=True)

    def _folders(self) -> Iterator[Path]:
        """Give the folders of uploads, whole or not."""
        if self.path.is_dir():
            yield from (each for each in self.path.iterdir() if _ID.fullmatch(each.name))

    def _all(self) -> Iterator[Path]:
        """Give the folders of whole uploads."""
        yield from (each for each in self._folders() if (each / _ABOUT).is_file())

    def _about(self, folder: Path) -> tuple[str, Upload]:
        """Read whose an upload is and what it is."""
        read = json.loads((folder / _ABOUT).read_bytes())
        case = read.pop("case")
        return case, Upload(**read)


def _copied(source: BinaryIO, target: Path, room: int) -> tuple[int, str]:
    """Copy a file piece by piece; give its size and hash."""
    digest, size = hashlib.sha256(), 0
    with target.open("xb") as kept:
        while chunk := source.read(_CHUNK_BYTES):
            size += len(chunk)
            if size > room:
                raise WriteError.at(
                    "uploads",
                    f"{target.name} is larger than the {room / 1e6:.3g} MB that are left for files"
                    " that wait.",
                    "Add those that wait to their runs, or take some away.",
                )
            digest.update(chunk)
            kept.write(chunk)
    if not size:
        raise InputError.at(target.name, "is empty.", "Export it again.")
    return size, digest.hexdigest()
