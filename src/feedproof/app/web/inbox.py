"""The logs of one case that wait for a run, with what was said of them on the screen."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

from feedproof.app.web.api.uploads import Uploads
from feedproof.records.durable import write_whole

SAID = ".said.json"
"""Beside the log, under a name that no log can have."""
DRAFTS = "drafts"


@dataclass(frozen=True, slots=True, kw_only=True)
class InboxLog:
    """
    A log in the inbox.

    Parameters
    ----------
    key : str
        Id of the upload; its name in addresses.
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
    The uploads of one case; what the HTTP interface was sent stands here too.

    Parameters
    ----------
    uploads : Uploads
        Of the server.
    case : str
        Name of the case.
    """

    def __init__(self, uploads: Uploads, case: str) -> None:
        self._uploads = uploads
        self._case = case
        self._draft = uploads.path.parent / DRAFTS / f"{case}.json"

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
            The one that waits already where its bytes are the same.

        Raises
        ------
        InputError
            Nothing in it.
        WriteError
            Too many wait, or no space.
        """
        waiting = self._uploads.of_case(self._case)
        taken = self._uploads.take(self._case, name, stream)
        same = next((each for each in waiting if each.sha256 == taken.sha256), None)
        if same is not None:
            self._uploads.remove(self._case, taken.upload)
        return self.log(taken.upload if same is None else same.upload)

    def logs(self) -> tuple[InboxLog, ...]:
        """
        List the logs.

        Returns
        -------
        tuple of InboxLog
            By name.
        """
        found = [self.log(each.upload) for each in self._uploads.of_case(self._case)]
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
        file = self._uploads.file(self._case, key)
        said = _read(file.parent / SAID)
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
        said = {"hints": dict(hints), "instrument": instrument}
        write_whole(self.log(key).path.parent / SAID, json.dumps(said).encode())

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
        if draft is None:
            self._draft.unlink(missing_ok=True)
            return
        self._draft.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_whole(self._draft, json.dumps(draft).encode())

    def draft(self) -> dict[str, Any] | None:
        """
        Give what was typed.

        Returns
        -------
        dict or None
            None where nothing waits, or what waits cannot be read.
        """
        return _read(self._draft) or None

    def remove(self, key: str) -> None:
        """
        Put a log out; its file elsewhere is untouched.

        Parameters
        ----------
        key : str
            Which.

        Raises
        ------
        MissingError
            There is no such log.
        """
        self._uploads.remove(self._case, key)


def _read(file: Path) -> dict[str, Any]:
    """Read plain data; what cannot be read was not said."""
    try:
        found = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
