"""A job as it is told: what was asked, how far it is, how it ended."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from feedproof.core.errors import FeedproofError, InputError, MissingError, WriteError
from feedproof.core.findings import Finding, Level

FORMAT, VERSION = "feedproof-job", 1


class State(StrEnum):
    """Where a job stands."""

    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"
    INTERRUPTED = "interrupted"

    @property
    def has_ended(self) -> bool:
        """Say whether nothing more comes of it."""
        return self not in (State.QUEUED, State.RUNNING)


@dataclass(frozen=True, slots=True, kw_only=True)
class HowFar:
    """
    How far a job is.

    Parameters
    ----------
    step : int
        Number of the piece of work, from 1; 0 before the first.  It only grows.
    done, total : int
        Of this piece; while the step stays the same, ``done`` only grows.
    what : str
        What is being done.
    """

    step: int = 0
    done: int = 0
    total: int = 0
    what: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """
    What a result rests on.

    Parameters
    ----------
    document : str
        SHA-256 of ``case.toml``.
    journal_lines, journal_sha256 : int, str
        End of the journal when the result was there.
    code : str
        Hash of the program.
    calibrated : str
        SHA-256 of what the database says of the instruments; empty where the verb does not ask.
    """

    document: str
    journal_lines: int
    journal_sha256: str
    code: str
    calibrated: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """
    One job.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-job`` and its version.
    id : str
        Random.
    verb : str
        Of the front door.
    case : str
        Folder of the case: below the workspace, else absolute.
    parameters : mapping
        As they were sent.
    state : State
        Where it stands.
    created, started, ended : str
        Moments in UTC; empty where it has not come to that.
    is_stopping : bool
        True when somebody asked for it to be cancelled.
    exit_code : int or None
        What the command line would have given; None until it has ended by itself.
    findings : tuple of Finding
        Why there is no result.
    progress : HowFar
        How far it is.
    key : str
        Hash of verb and parameters, files by their content.
    basis : Basis or None
        Of the result; None where the case changed while it was computed.
    again_of : str
        Job that this one repeats.
    """

    id: str
    verb: str
    case: str
    parameters: Mapping[str, Any]
    created: str
    key: str
    format: str = FORMAT
    version: int = VERSION
    state: State = State.QUEUED
    started: str = ""
    ended: str = ""
    is_stopping: bool = False
    exit_code: int | None = None
    findings: tuple[Finding, ...] = ()
    progress: HowFar = field(default_factory=HowFar)
    basis: Basis | None = None
    again_of: str = ""

    def fault(self) -> FeedproofError:
        """
        Give the error that the verb raised.

        Returns
        -------
        FeedproofError
            Of the class that its exit code tells.
        """
        kinds = (InputError, MissingError, WriteError)
        kind = next((each for each in kinds if each.exit_code == self.exit_code), FeedproofError)
        return kind(self.findings)


def job_from(document: Mapping[str, Any]) -> Job:
    """
    Read a job from its document.

    Parameters
    ----------
    document : mapping
        From `feedproof.app.documents.to_document`.

    Returns
    -------
    Job
        As it was.

    Raises
    ------
    KeyError, TypeError, ValueError
        It is none.
    """
    if (document["format"], document["version"]) != (FORMAT, VERSION):
        raise ValueError("of another format")
    read = dict(document)
    read["state"] = State(read["state"])
    read["progress"] = HowFar(**read["progress"])
    read["basis"] = basis_from(read["basis"])
    read["findings"] = findings_from(read["findings"])
    return Job(**read)


def basis_from(document: Mapping[str, Any] | None) -> Basis | None:
    """
    Read a basis from its document.

    Parameters
    ----------
    document : mapping or None
        As JSON holds it.

    Returns
    -------
    Basis or None
        As it was.
    """
    return None if document is None else Basis(**document)


def findings_from(documents: list[Mapping[str, str]]) -> tuple[Finding, ...]:
    """
    Read findings from their documents.

    Parameters
    ----------
    documents : list of mapping
        As JSON holds them.

    Returns
    -------
    tuple of Finding
        As they were.
    """
    return tuple(
        Finding(
            level=Level(each["level"]),
            place=each["place"],
            message=each["message"],
            remedy=each["remedy"],
        )
        for each in documents
    )
