"""Raw logs as they came, each under the hash of its bytes."""

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from feedproof.case.run import LogFile
from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.durable import sync_folder, whole_file
from feedproof.records.names import CHANNELS, name_fault

_PIECE_BYTES = 1024 * 1024


class RawLogs:
    """
    The raw logs of one case.

    Parameters
    ----------
    path : Path
        Folder that holds ``<sha256>/<name>``.
    """

    def __init__(self, path: Path) -> None:
        self.path = path

    def fault(self, log: LogFile) -> str:
        """
        Say what is wrong with one raw log.

        Parameters
        ----------
        log : LogFile
            As a run names it.

        Returns
        -------
        str
            Empty when it is as it came.
        """
        path = self.path_of(log)
        if not path.is_file():
            return f"{log.name} is not in raw/{log.sha256[:12]}...."
        found = hash_of_file(path)
        if found != log.sha256:
            return f"{log.name} was changed: its hash is {found[:12]}..., not {log.sha256[:12]}...."
        return ""

    def path_of(self, log: LogFile) -> Path:
        """
        Give the path of a raw log.

        Parameters
        ----------
        log : LogFile
            As a run names it.

        Returns
        -------
        Path
            Inside the folder.

        Raises
        ------
        InputError
            A name that would leave the folder.
        """
        fault = name_fault(log.name)
        if fault:
            raise InputError.at(f"log {log.name!r}", f"{fault}.", "Rename the file.")
        path = self.path / log.sha256 / log.name
        if not path.resolve().is_relative_to(self.path.resolve()):
            raise InputError.at(f"log {log.name!r}", "leads out of the folder.", "Copy it in.")
        return path

    def add(self, source: Path, instrument: str) -> LogFile:
        """
        Keep a log as it came, under its hash.

        Parameters
        ----------
        source : Path
            The file.
        instrument : str
            Id of the instrument that wrote it.

        Returns
        -------
        LogFile
            To be named by a run.

        Raises
        ------
        MissingError, InputError, WriteError
            No such file; a name that cannot be kept; no space.
        """
        if not source.is_file():
            raise MissingError.at(str(source), "there is no such file.", "Check the path.")
        refuse_name(source)
        log = LogFile(name=source.name, sha256=hash_of_file(source), instrument=instrument)
        target = self.path_of(log)
        if not target.exists():
            try:
                target.parent.mkdir(parents=True, exist_ok=True)
            except OSError as fault:
                raise WriteError.at(
                    str(target.name), f"could not be kept: {fault.strerror}.", "Free some space."
                ) from fault
            _copy(source, target, log.sha256)
            sync_folder(target.parent.parent)
        return log


def _copy(source: Path, target: Path, sha256: str) -> None:
    """Copy a file piece by piece; one that changes meanwhile is not kept under a wrong hash."""
    digest = hashlib.sha256()
    with source.open("rb") as original, whole_file(target) as copy:
        while piece := original.read(_PIECE_BYTES):
            digest.update(piece)
            copy.write(piece)
        if digest.hexdigest() != sha256:
            raise InputError.at(
                source.name,
                "was changed while it was read.",
                "Wait until the instrument has written it, then add it again.",
            )


def hash_of_file(source: Path) -> str:
    """
    Hash a file that is about to be added.

    Parameters
    ----------
    source : Path
        The file.

    Returns
    -------
    str
        SHA-256 of its bytes.

    Raises
    ------
    MissingError
        There is no such file.
    """
    if not source.is_file():
        raise MissingError.at(str(source), "there is no such file.", "Check the path.")
    with source.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def refuse_name(source: Path) -> None:
    """
    Refuse a log whose name would pass for a channel file, so that its bytes would not be hashed.

    Parameters
    ----------
    source : Path
        The file.

    Raises
    ------
    InputError
        It is named so.
    """
    if CHANNELS.match(source.name):
        raise InputError.at(
            f"log {source.name!r}",
            "is named as the channel files are that this program keeps beside a raw log.",
            "Rename the file.",
        )


def with_logs(table: Mapping[str, Any], logs: Mapping[str, Path]) -> dict[str, Any]:
    """
    Name the logs in a run's table, each by the hash of its bytes.

    Parameters
    ----------
    table : mapping
        The run as ``case.toml`` holds it, without ``logs``.
    logs : mapping of str to Path
        Files by instrument.

    Returns
    -------
    dict of str to object
        The table with them.

    Raises
    ------
    InputError, MissingError
        A log is not there, or has a name that no log may have.
    """
    for source in logs.values():
        refuse_name(source)
    entries = [
        {"file": source.name, "sha256": hash_of_file(source), "instrument": instrument}
        for instrument, source in logs.items()
    ]
    return {**table, "logs": entries}
