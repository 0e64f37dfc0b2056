"""
The jobs of a workspace: put in, watched, cancelled, started again.

Whoever opens a jobs folder owns it until `Jobs.close`.  All that is said here is on disk before it
is said, so that a server that is killed and starts again says the same.
"""

import asyncio
import contextlib
import secrets
from collections.abc import Iterator, Mapping
from itertools import chain
from pathlib import Path
from typing import Any

from feedproof.app.jobs.bases import Standing
from feedproof.app.jobs.kept import Kept, file_changes, kept_in_case
from feedproof.app.jobs.limits import Limits
from feedproof.app.jobs.queueing import Queue, now
from feedproof.app.jobs.record import Job, State
from feedproof.app.jobs.shelf import Shelf
from feedproof.app.jobs.verbs import OWN, TABLE, given, key_of, verb_of
from feedproof.core.errors import MissingError
from feedproof.records.durable import locked

FOLDER = Path(OWN) / "jobs"


class Jobs:
    """
    The jobs of a workspace.

    Parameters
    ----------
    root : Path
        The workspace: files that parameters name lie in it.
    folder : Path, optional
        Of the jobs; ``.feedproof/jobs`` of the workspace when left out.
    limits : Limits
        What jobs may take.
    table : str
        Table of verbs as ``module:name``.

    Raises
    ------
    WriteError
        The folder cannot be written, or another server has it.
    """

    def __init__(
        self,
        root: Path,
        folder: Path | None = None,
        *,
        limits: Limits | None = None,
        table: str = TABLE,
    ) -> None:
        self.root = root.resolve()
        self._shelf = Shelf(folder or self.root / FOLDER)
        self._held = contextlib.ExitStack()
        self._held.enter_context(locked(self._shelf.path / "owner", patience_s=1.0))
        self._queue = Queue(self.root, self._shelf, limits or Limits(), table)

    def submit(self, verb: str, case: Path, parameters: Mapping[str, Any] | None = None) -> Job:
        """
        Put a job in.

        Parameters
        ----------
        verb : str
            Of `feedproof.app.jobs.verbs.VERBS`.
        case : Path
            Folder of the case.
        parameters : mapping, optional
            Plain JSON, by the names of the verb's function.

        Returns
        -------
        Job
            Queued, and on disk; one that waits to find the same is given instead of a second.

        Raises
        ------
        InputError
            All mistakes of form.
        WriteError
            It could not be put on record, or too many wait.
        """
        return self._submit(verb, case, dict(parameters or {}), "")

    def again(self, identity: str) -> Job:
        """
        Put a job in once more, as it was asked.

        Parameters
        ----------
        identity : str
            Of the job.

        Returns
        -------
        Job
            A new one.

        Raises
        ------
        MissingError
            There is no such job.
        InputError, WriteError
            As for `submit`.
        """
        job = self.state(identity)
        return self._submit(job.verb, self.case_of(job), dict(job.parameters), job.id)

    def state(self, identity: str) -> Job:
        """
        Say where a job stands.

        Parameters
        ----------
        identity : str
            From outside: never trusted.

        Returns
        -------
        Job
            As it is now.

        Raises
        ------
        MissingError
            There is no such job.
        """
        job = self._queue.find(identity)
        if job is None:
            raise MissingError.at(
                "job", f"there is no job {identity!r}.", "It may be so old that it was removed."
            )
        return job

    def result(self, identity: str) -> Any:
        """
        Give what a job found.

        Parameters
        ----------
        identity : str
            Of the job.

        Returns
        -------
        object
            The document that ``--json`` prints.

        Raises
        ------
        MissingError
            There is no such job, or it has no result (yet).
        FeedproofError
            What the verb raised, as on the command line.
        """
        job = self.state(identity)
        if job.state is State.FAILED:
            raise job.fault()
        outcome = self._shelf.outcome(identity) if job.state is State.DONE else None
        if outcome is None:
            raise MissingError.at(
                f"job {identity}", f"has no result: it is {job.state.value}.", "Start it again."
            )
        return outcome["result"]

    def latest(
        self, verb: str, case: Path, parameters: Mapping[str, Any] | None = None
    ) -> Kept | None:
        """
        Find the result to show before anything is computed.

        Parameters
        ----------
        verb : str
            Of those that keep a result.
        case : Path
            Folder of the case.
        parameters : mapping, optional
            Only results of these; of any when left out.

        Returns
        -------
        Kept or None
            A current one where there is one, else the newest, which says what has changed since;
            results of the command line count too.

        Raises
        ------
        InputError
            All mistakes of form.
        """
        found = verb_of(self._queue.verbs, verb)
        if not found.kind:
            return None
        key = ""
        if parameters is not None:
            key = key_of(verb, found, given(found, parameters, self.root))
        standing = Standing(case, asks_database=found.asks_database)
        newest: Kept | None = None
        for each in chain(
            self._of_jobs(verb, case, standing, key),
            kept_in_case(case, verb, found, standing, self.root, key),
        ):
            if each.is_current:
                return each
            if newest is None or each.computed > newest.computed:
                newest = each
        return newest

    def identical(
        self, verb: str, case: Path, parameters: Mapping[str, Any] | None = None
    ) -> Kept | None:
        """
        Find a result that a job would only find again.

        Parameters
        ----------
        verb, case, parameters
            As for `submit`.

        Returns
        -------
        Kept or None
            Of the same verb and parameters, from the same case, journal and program.

        Raises
        ------
        InputError
            All mistakes of form.
        """
        kept = self.latest(verb, case, parameters or {})
        return kept if kept is not None and kept.is_current else None

    def list(self, case: Path | None = None) -> tuple[Job, ...]:
        """
        List jobs.

        Parameters
        ----------
        case : Path, optional
            Of this case only.

        Returns
        -------
        tuple of Job
            The newest first.
        """
        name = None if case is None else self._name(case)
        jobs = self._queue.newest_first()
        return tuple(job for job in jobs if name is None or job.case == name)

    def wait(self, identity: str, timeout_s: float | None = None) -> Job:
        """
        Wait for the end of a job; for threads.

        Parameters
        ----------
        identity : str
            Of the job.
        timeout_s : float, optional
            At most. [s]

        Returns
        -------
        Job
            As it is then, ended or not.

        Raises
        ------
        MissingError
            There is no such job.
        """
        self.state(identity)
        if (end := self._queue.end_of(identity)) is not None:
            with contextlib.suppress(TimeoutError):
                end.result(timeout_s)
        return self.state(identity)

    async def ended(self, identity: str, timeout_s: float | None = None) -> Job:
        """
        Wait for the end of a job; for a loop of events, which goes on meanwhile.

        Parameters
        ----------
        identity : str
            Of the job.
        timeout_s : float, optional
            At most. [s]

        Returns
        -------
        Job
            As it is then, ended or not.

        Raises
        ------
        MissingError
            There is no such job.
        """
        self.state(identity)
        if (end := self._queue.end_of(identity)) is not None:
            # Not awaited itself: who stops waiting would end it for all others.
            await asyncio.wait((asyncio.wrap_future(end),), timeout=timeout_s)
        return self.state(identity)

    def cancel(self, identity: str) -> Job:
        """
        Cancel a job: at once while it waits, else as soon as it can stop.

        Parameters
        ----------
        identity : str
            Of the job.

        Returns
        -------
        Job
            As it is now; one that has ended stays as it ended.

        Raises
        ------
        MissingError
            There is no such job.
        WriteError
            That a waiting job was cancelled could not be put on record; it waits on.
        """
        self._queue.cancel(self.state(identity))
        return self.state(identity)

    def start(self) -> None:
        """Start a process ahead of the first job; in the background."""
        self._queue.need_hand()

    def close(self, grace_s: float = 0.5) -> None:
        """
        End everything: running jobs are interrupted, waiting ones wait for the next server.

        Parameters
        ----------
        grace_s : float
            How long running jobs may take to stop by themselves. [s]
        """
        self._queue.close(grace_s)
        self._held.close()

    def case_of(self, job: Job) -> Path:
        """
        Give the folder of a job's case.

        Parameters
        ----------
        job : Job
            The job.

        Returns
        -------
        Path
            Absolute.
        """
        return self.root / job.case

    @property
    def pids(self) -> tuple[int, ...]:
        """Give the ids of the processes that compute."""
        return self._queue.pids

    def _of_jobs(self, verb: str, case: Path, standing: Standing, key: str) -> Iterator[Kept]:
        """Give the result of a job that is current, else that of the newest."""
        asked = [
            (self._changes(job, standing), job)
            for job in self.list(case)
            if job.verb == verb and job.state is State.DONE and key in ("", job.key)
        ]
        # Only what is given is read from disk: results are large. Sorting keeps the newest first.
        for changes, job in sorted(asked, key=lambda each: bool(each[0]))[:1]:
            outcome = self._shelf.outcome(job.id)
            if outcome is not None:
                yield Kept(
                    result=outcome["result"],
                    is_current=not changes,
                    changes=changes,
                    computed=job.ended,
                    parameters=job.parameters,
                    job=job.id,
                )

    def _changes(self, job: Job, standing: Standing) -> tuple[str, ...]:
        """Say what has changed since a job was done."""
        verb = self._queue.verbs[job.verb]
        files = file_changes(job.key, job.verb, verb, job.parameters, self.root)
        return (*standing.changes_since(job.basis), *files)

    def _submit(self, name: str, case: Path, parameters: dict[str, Any], again_of: str) -> Job:
        """Put a job on record and in the queue."""
        verb = verb_of(self._queue.verbs, name)
        found = given(verb, parameters, self.root)
        key, place = key_of(name, verb, found), self._name(case)
        if (alike := self._queue.waiting_alike(place, key)) is not None:
            return alike
        job = Job(
            id=secrets.token_hex(8),
            verb=name,
            case=place,
            parameters=parameters,
            created=now(),
            key=key,
            again_of=again_of,
        )
        self._queue.add(job)
        return job

    def _name(self, case: Path) -> str:
        """Name a case from the workspace where it lies in it."""
        path = case.resolve()
        inside = path.is_relative_to(self.root)
        return path.relative_to(self.root).as_posix() if inside else path.as_posix()
