"""How a result was made: all that is needed to make it again."""

import hashlib
import platform
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from feedproof.records.journal import FIRST, Entry

PACKAGE = Path(__file__).parents[1]
LIBRARIES = ("numpy", "scipy", "numba", "polars")


@dataclass(frozen=True, slots=True, kw_only=True)
class Making:
    """
    What a result rests on.

    Parameters
    ----------
    verb : str
        Function of the front door, such as ``prove``.
    parameters : mapping
        Every parameter of the call as given, those left out with their defaults, files by name.
    files : mapping of str to str
        Files that parameters named, kept among the case's documents: name by parameter.
    document : str
        Name of the kept ``case.toml``; it begins with the hash of its bytes.
    resolved : str
        Name of the kept case as read: every fuel, kit and part with the values that were used.
    logs : mapping of str to str
        Hashes of the raw logs that were read, by ``run/instrument``.
    archive_lines : tuple of str
        Hashes of the lines of an archive of repeatability that were used.
    journal_line, journal_hash : int, str
        Number and hash of the last line of the journal when the case was read.
    journal_seen : mapping
        ``lines`` and ``sha256`` of the journal when the result was kept: a later journal has them.
    exact : str
        Hash of the content at full precision, for the machine it was computed on.
    environment : mapping of str to str
        From `environment`.
    """

    verb: str
    parameters: Mapping[str, Any]
    document: str
    resolved: str
    exact: str
    journal_line: int = 0
    journal_hash: str = FIRST
    journal_seen: Mapping[str, Any] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)
    logs: Mapping[str, str] = field(default_factory=dict)
    archive_lines: tuple[str, ...] = ()
    environment: Mapping[str, str] = field(default_factory=dict)


def last_line(entries: tuple[Entry, ...]) -> tuple[int, str]:
    """
    Give number and hash of the last of a journal's lines.

    Parameters
    ----------
    entries : tuple of Entry
        Of the case.

    Returns
    -------
    tuple of int and str
        0 and what the first line holds as hash of the one before, where there is none.
    """
    return (entries[-1].seq, entries[-1].hash) if entries else (0, FIRST)


@cache
def environment(software: str) -> Mapping[str, str]:
    """
    Say what computes here: versions, machine, and hashes of the code and of the value tables.

    Parameters
    ----------
    software : str
        Version of this program.

    Returns
    -------
    mapping of str to str
        Equal ones must give the same digits to the last.
    """
    found = {"feedproof": software, "python": platform.python_version()}
    for name in LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "absent"
    found["machine"] = f"{platform.system()} {platform.machine()} {_processor()}".strip()
    found["code"] = _hash_of_all("**/*.py")
    found["tables"] = _hash_of_all("**/*.csv")
    return found


def _processor() -> str:
    """Name the processor: kinds differ in the last digits."""
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.processor()
    return next((each.split(":")[1].strip() for each in lines if each.startswith("model name")), "")


def _hash_of_all(pattern: str) -> str:
    """Hash files of the package; the packaged demonstration is none of them."""
    digest = hashlib.sha256()
    for file in sorted(PACKAGE.glob(pattern)):
        inner = file.relative_to(PACKAGE).as_posix()
        if not inner.startswith("scenario/"):
            digest.update(inner.encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()
