"""Logs that were dropped on the page and do not belong to a run yet."""

import hashlib
import json
import re
import shutil
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.durable import write_whole

_KEY = re.compile(r"[0-9a-f]{16}")
_FORBIDDEN = re.compile(r"[\x00-\x1f\x7f<>:\"/\\|?*]")
BLOCK = 1 << 20
KEPT_S = 30 * 24 * 3600
LONGEST_NAME = 120
DRAFT = ".draft.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class InboxLog:
    """
    A log in the inbox.

    Parameters
    ----------
    key : str
        First digits of its SHA-256; its name in addresses.
    path : Path
        The file, under the name that it came with.
    hints : mapping of str to str
        What was stated about its form.
    instrument : str
        Instrument of the case that it was said to come from; empty where nobody said.
    """

    key: str
    path: Path
    hints: Mapping[str, str] = field(default_factory=dict)
    instrument: str = ""


class Inbox:
    """
    The logs of one case that wait for a run.

    Parameters
    ----------
    path : Path
        Folder of its own; made when the first log comes.
    """

    def __init__(self, path: Path) -> None:
        self.path = path

    def add(self, stream: BinaryIO, name: str) -> InboxLog:
        """
        Take a log in.

        Parameters
        ----------
        stream : binary file
            As it comes.
        name : str
            As the browser says: never used as a path.

        Returns
        -------
        InboxLog
            The same bytes are kept once, under the first name.

        Raises
        ------
        InputError
            Nothing in it, or no name.
        WriteError
            No space.
        """
        called = safe_name(name)
        self._prune()
        arriving = self.path / f".arriving-{time.time_ns()}"
        digest, size = hashlib.sha256(), 0
        try:
            self.path.mkdir(parents=True, exist_ok=True, mode=0o700)
            with arriving.open("wb") as file:
                while block := stream.read(BLOCK):
                    file.write(block)
                    digest.update(block)
                    size += len(block)
            if not size:
                raise InputError.at(called, "is empty.", "Export it again.")
            place = self.path / digest.hexdigest()[:16]
            if not place.is_dir():
                place.mkdir()
                arriving.replace(place / called)
        except OSError as fault:
            raise WriteError.at(
                called, f"could not be kept: {fault.strerror}.", "Free some space."
            ) from fault
        finally:
            arriving.unlink(missing_ok=True)
        return self.log(place.name)

    def logs(self) -> tuple[InboxLog, ...]:
        """
        List the logs.

        Returns
        -------
        tuple of InboxLog
            By name.
        """
        if not self.path.is_dir():
            return ()
        keys = [each.name for each in self.path.iterdir() if _KEY.fullmatch(each.name)]
        found = [self.log(key) for key in keys if self._file(key) is not None]
        return tuple(sorted(found, key=lambda each: (each.path.name.lower(), each.key)))

    def log(self, key: str) -> InboxLog:
        """
        Find a log.

        Parameters
        ----------
        key : str
            From an address: never trusted.

        Returns
        -------
        InboxLog
            With what was said of it.

        Raises
        ------
        MissingError
            There is none.
        """
        file = self._file(key) if _KEY.fullmatch(key) else None
        if file is None:
            raise MissingError.at("logs", "this log is not here any more.", "Drop it in again.")
        said = self._said(key)
        return InboxLog(
            key=key,
            path=file,
            hints={str(k): str(v) for k, v in dict(said.get("hints", {})).items()},
            instrument=str(said.get("instrument", "")),
        )

    def say(self, key: str, *, hints: Mapping[str, str], instrument: str) -> None:
        """
        Keep what was said of a log.

        Parameters
        ----------
        key : str
            Which.
        hints : mapping of str to str
            What was stated about its form.
        instrument : str
            Instrument that it comes from.

        Raises
        ------
        MissingError
            There is no such log.
        """
        self.log(key)
        said = {"hints": dict(hints), "instrument": instrument}
        write_whole(self.path / key / ".said.json", json.dumps(said).encode())

    def keep_draft(self, draft: Mapping[str, Any] | None) -> None:
        """
        Keep what was typed into the form of runs, until they are all on record.

        Parameters
        ----------
        draft : mapping or None
            Plain data; None when it has served.

        Raises
        ------
        WriteError
            No space.
        """
        file = self.path / DRAFT
        if draft is None:
            file.unlink(missing_ok=True)
            return
        self.path.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_whole(file, json.dumps(draft).encode())

    def draft(self) -> dict[str, Any] | None:
        """
        Give what was typed.

        Returns
        -------
        dict or None
            None where nothing waits, or what waits cannot be read.
        """
        try:
            found = json.loads((self.path / DRAFT).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        return found if isinstance(found, dict) else None

    def remove(self, key: str) -> None:
        """
        Put a log out; its file elsewhere is untouched.

        Parameters
        ----------
        key : str
            Which.
        """
        shutil.rmtree(self.log(key).path.parent, ignore_errors=True)

    def _said(self, key: str) -> dict[str, Any]:
        """Read what was said; what cannot be read was not said."""
        try:
            said = json.loads((self.path / key / ".said.json").read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return said if isinstance(said, dict) else {}

    def _file(self, key: str) -> Path | None:
        """Find the file of a key."""
        place = self.path / key
        if not place.is_dir():
            return None
        return next((each for each in place.iterdir() if not each.name.startswith(".")), None)

    def _prune(self) -> None:
        """Put out what nobody has asked for in a month."""
        for log in self.logs():
            if time.time() - log.path.stat().st_mtime > KEPT_S:
                shutil.rmtree(log.path.parent, ignore_errors=True)


def safe_name(name: str) -> str:
    r"""
    Make a file's name of what a browser says.

    Parameters
    ----------
    name : str
        As it came.

    Returns
    -------
    str
        Without folders, leading dots and what some system forbids.

    Raises
    ------
    InputError
        Nothing is left.

    Examples
    --------
    >>> safe_name("../..\\run 02.csv"), safe_name(".hidden.csv")
    ('run 02.csv', 'hidden.csv')
    """
    last = re.split(r"[\\/]", name)[-1]
    kept = _FORBIDDEN.sub("_", last).strip(" .")
    stem, dot, ending = kept.rpartition(".")
    if len(kept) > LONGEST_NAME:
        kept = (stem[: LONGEST_NAME - len(ending) - 1] + dot + ending)[-LONGEST_NAME:]
    if not kept:
        raise InputError.at("file", "has no name.", "Give it one.")
    return kept
