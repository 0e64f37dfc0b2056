"""Documents that only the HTTP interface has."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from feedproof.app.jobs.record import Job
from feedproof.app.web.workspace import CaseLine


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkspaceCases:
    """
    The cases of the workspace.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-workspace`` and its version.
    cases : tuple of CaseLine
        Sorted by name.
    """

    format: str
    version: int
    cases: tuple[CaseLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Upload:
    """
    A file that waits to be used.

    Parameters
    ----------
    upload : str
        What it is named by from now on.
    name : str
        Its name, with what not every machine can hold replaced.
    bytes : int
        Its size.
    sha256 : str
        Hash of its bytes.
    until : str
        When it is taken away, in UTC.
    """

    upload: str
    name: str
    bytes: int
    sha256: str
    until: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UploadList:
    """
    Files that wait to be used.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-uploads`` and its version.
    uploads : tuple of Upload
        The oldest first.
    """

    format: str
    version: int
    uploads: tuple[Upload, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultLine:
    """
    A kept result in the list.

    Parameters
    ----------
    id : str
        Its name.
    kind : str
        Such as ``proof``; empty where it cannot be read.
    kept : str
        When it was kept on this machine, in UTC.
    fault : str
        Why it cannot be read; empty when it can.
    """

    id: str
    kind: str
    kept: str
    fault: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultList:
    """
    Kept results of a case.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-results`` and its version.
    total : int
        How many there are.
    results : tuple of ResultLine
        The newest first.
    """

    format: str
    version: int
    total: int
    results: tuple[ResultLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptResult:
    """
    A kept result.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-result`` and its version.
    id, kind : str
        Its name and kind.
    content : object
        The document that the verb gave.
    made : mapping
        How it was made; empty for results of early versions.
    """

    format: str
    version: int
    id: str
    kind: str
    content: Any
    made: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobList:
    """
    Jobs of a case.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-jobs`` and its version.
    jobs : tuple of Job
        The newest first.
    """

    format: str
    version: int
    jobs: tuple[Job, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FormList:
    """
    Kinds of tables that there are forms for.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-forms`` and its version.
    kinds : tuple of str
        Kinds of parts first.
    """

    format: str
    version: int
    kinds: tuple[str, ...]


HERE: dict[str, type] = {
    "workspace": WorkspaceCases,
    "uploads": UploadList,
    "results": ResultList,
    "result": KeptResult,
    "forms": FormList,
    "job": Job,
    "jobs": JobList,
}
"""What each of them is made of, by its name."""
