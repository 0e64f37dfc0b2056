"""
The jobs folder: what is known of each job, so that a server that starts again knows it too.

Laid out as::

    <id>/job.json       the job, always whole
    <id>/progress.json  how far it is; may be a moment old
    <id>/outcome.json   how it ended, with the result; written by the process that computed it
"""

import json
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from feedproof.app.documents import to_document
from feedproof.app.jobs.record import Basis, HowFar, Job, State, basis_from, findings_from, job_from
from feedproof.core.errors import WriteError
from feedproof.core.findings import Finding
from feedproof.records.durable import write_whole

JOB, PROGRESS, OUTCOME = "job.json", "progress.json", "outcome.json"


class Shelf:
    """
    A jobs folder.

    Parameters
    ----------
    path : Path
        The folder; it is made where it is not there.

    Raises
    ------
    WriteError
        It cannot be made.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.damaged: tuple[str, ...] = ()
        try:
            path.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as fault:
            raise WriteError.at(
                str(path), f"cannot be made: {fault.strerror}.", "Mend the permissions."
            ) from fault

    def folder(self, identity: str) -> Path:
        """Give the folder of a job."""
        return self.path / identity

    def add(self, job: Job) -> None:
        """
        Put a new job on record.

        Parameters
        ----------
        job : Job
            With an id that is not taken.

        Raises
        ------
        WriteError
            Nothing of it stays.
        """
        folder = self.folder(job.id)
        try:
            folder.mkdir(mode=0o700)
            self.write(job)
        except (OSError, WriteError) as fault:
            shutil.rmtree(folder, ignore_errors=True)
            if isinstance(fault, WriteError):
                raise
            raise WriteError.at(
                str(folder), f"cannot be made: {fault.strerror}.", "Free some space."
            ) from fault

    def write(self, job: Job) -> None:
        """
        Put a change of a job on record.

        Parameters
        ----------
        job : Job
            As it stands now.

        Raises
        ------
        WriteError
            It stays as it was.
        """
        text = json.dumps(to_document(job), ensure_ascii=False, indent=1)
        write_whole(self.folder(job.id) / JOB, text.encode())

    def write_progress(self, identity: str, progress: HowFar) -> None:
        """
        Note how far a job is; a note that cannot be written is none.

        Parameters
        ----------
        identity : str
            Of the job.
        progress : HowFar
            How far.
        """
        target = self.folder(identity) / PROGRESS
        beside = target.with_suffix(".new")
        try:
            # Not synced: it is worth less than what the disk would lose time with.
            beside.write_text(json.dumps(to_document(progress)), encoding="utf-8")
            beside.replace(target)
        except OSError:
            return

    def outcome(self, identity: str) -> Mapping[str, Any] | None:
        """
        Read how a job ended.

        Parameters
        ----------
        identity : str
            Of the job.

        Returns
        -------
        mapping or None
            None where it was not written, or is no longer what was written.
        """
        try:
            found = json.loads((self.folder(identity) / OUTCOME).read_bytes())
        except (OSError, ValueError, RecursionError):
            return None
        return found if isinstance(found, dict) and "exit_code" in found else None

    def read_all(self) -> Iterator[Job]:
        """
        Read every job, as a server does that starts.

        Yields
        ------
        Job
            As on record, its last progress with it; one that was running is done where its
            process still wrote how it ended.
        """
        damaged = []
        for folder in sorted(each for each in self.path.iterdir() if each.is_dir()):
            try:
                job = job_from(json.loads((folder / JOB).read_bytes()))
                if job.id != folder.name:
                    raise ValueError("of another folder")
            except (OSError, ValueError, KeyError, TypeError, RecursionError):
                damaged.append(folder.name)
                continue
            if job.state is State.RUNNING:
                job = replace(job, progress=self._progress(job))
            if job.state is State.RUNNING and (found := self.outcome(job.id)) is not None:
                job = ended_as(job, found)
            yield job
        self.damaged = tuple(damaged)

    def remove(self, identity: str) -> None:
        """
        Take a job off the record.

        Parameters
        ----------
        identity : str
            Of the job.
        """
        shutil.rmtree(self.folder(identity), ignore_errors=True)

    def size_bytes(self, identity: str) -> int:
        """Add up what a job takes on disk."""
        try:
            return sum(file.stat().st_size for file in self.folder(identity).iterdir())
        except OSError:
            return 0

    def _progress(self, job: Job) -> HowFar:
        """Read how far a job was."""
        try:
            return HowFar(**json.loads((self.folder(job.id) / PROGRESS).read_bytes()))
        except (OSError, ValueError, TypeError):
            return job.progress


def write_outcome(
    folder: Path,
    *,
    exit_code: int,
    result: Any = None,
    findings: tuple[Finding, ...] = (),
    basis: Basis | None = None,
) -> None:
    """
    Write how a job ended; done by the process that computed it.

    Parameters
    ----------
    folder : Path
        Of the job.
    exit_code : int
        What the command line would give.
    result : object
        What the verb gave back; None where it raised.
    findings : tuple of Finding
        Why there is no result.
    basis : Basis or None
        What the result rests on.

    Raises
    ------
    WriteError
        It could not be written.
    """
    whole = {"exit_code": exit_code, "result": result, "findings": findings, "basis": basis}
    text = json.dumps(to_document(whole), ensure_ascii=False, allow_nan=False)
    write_whole(folder / OUTCOME, text.encode())


def ended_as(job: Job, outcome: Mapping[str, Any]) -> Job:
    """
    Give a job as its outcome says that it ended.

    Parameters
    ----------
    job : Job
        Running.
    outcome : mapping
        From `Shelf.outcome`.

    Returns
    -------
    Job
        Done or failed; without the moment of its end.
    """
    is_done = outcome["result"] is not None
    return replace(
        job,
        state=State.DONE if is_done else State.FAILED,
        exit_code=outcome["exit_code"],
        findings=findings_from(outcome["findings"]),
        basis=basis_from(outcome["basis"]),
    )
