"""The seam to long work: start it, ask how far it is, find its last result, stop it."""

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from fastapi import Request

from feedproof.app.jobs.kept import Kept
from feedproof.app.jobs.record import Job, State
from feedproof.app.jobs.verbs import given, key_of
from feedproof.app.web.api.job_routes import jobs_of
from feedproof.app.web.shown.computing import SCREEN_VERBS
from feedproof.core.errors import MissingError
from feedproof.records.folder import CASE, JOURNAL

Parameters = Mapping[str, Any]


def start(request: Request, path: Path, screen: str, parameters: Parameters) -> Job:
    """
    Begin the work of a screen, or find it where it is under way already.

    Parameters
    ----------
    request : Request
        Any.
    path : Path
        Folder of the case.
    screen : str
        Address of the screen.
    parameters : mapping
        What is asked.

    Returns
    -------
    Job
        On record.

    Raises
    ------
    InputError
        All mistakes in what is asked.
    WriteError
        It could not be put on record.
    """
    latest = newest(request, path, screen, parameters)
    if latest is not None and not latest.state.has_ended:
        return latest
    return jobs_of(request).submit(f"show_{screen}", path, parameters)


def state(request: Request, path: Path, identity: str) -> Job:
    """
    Say where a piece of work stands.

    Parameters
    ----------
    request : Request
        Any.
    path : Path
        Folder of the case that it must be of.
    identity : str
        From outside: never trusted.

    Returns
    -------
    Job
        As it is now.

    Raises
    ------
    MissingError
        This case has no such work.
    """
    jobs = jobs_of(request)
    job = jobs.state(identity)
    if jobs.case_of(job) != path.resolve():
        raise MissingError.at("work", "this case has no such work.", "Load the page again.")
    return job


def newest(request: Request, path: Path, screen: str, parameters: Parameters) -> Job | None:
    """
    Find work on a question that is under way, or gave no result for the case as it stands.

    Parameters
    ----------
    request : Request
        Any.
    path : Path
        Folder of the case.
    screen : str
        Address of the screen.
    parameters : mapping
        What is asked.

    Returns
    -------
    Job or None
        None where there is none; what failed before the case was changed counts no more. What
        a server's end interrupted is told as such: it is to be begun again.

    Raises
    ------
    InputError
        All mistakes in what is asked.
    """
    name, jobs = f"show_{screen}", jobs_of(request)
    verb = SCREEN_VERBS[name]
    key = key_of(name, verb, given(verb, parameters, jobs.root))
    for job in jobs.list(path):
        if job.verb == name and job.key == key:
            if not job.state.has_ended:
                return job
            # What was done is told by its result, which also knows whether it still holds.
            gone = job.state is State.DONE or _changed(path, job)
            return None if gone else job
    return None


def last(request: Request, path: Path, screen: str, parameters: Parameters) -> Kept | None:
    """
    Find the last result of a question.

    Parameters
    ----------
    request : Request
        Any.
    path : Path
        Folder of the case.
    screen : str
        Address of the screen.
    parameters : mapping
        What is asked.

    Returns
    -------
    Kept or None
        With what has changed since; None where there is none.

    Raises
    ------
    InputError
        All mistakes in what is asked.
    """
    return jobs_of(request).latest(f"show_{screen}", path, parameters)


def cancel(request: Request, path: Path, identity: str) -> None:
    """
    Stop a piece of work.

    Parameters
    ----------
    request : Request
        Any.
    path : Path
        Folder of the case that it must be of.
    identity : str
        From outside: never trusted.

    Raises
    ------
    MissingError
        This case has no such work.
    WriteError
        That it was stopped could not be put on record.
    """
    jobs_of(request).cancel(state(request, path, identity).id)


def told(job: Job) -> str:
    """
    Say how far a piece of work is.

    Parameters
    ----------
    job : Job
        The work.

    Returns
    -------
    str
        One sentence.
    """
    if job.is_stopping:
        return "Stopping."
    if job.state is State.QUEUED:
        return "Waiting for its turn."
    far = job.progress
    if not far.what:
        return "Beginning."
    counted = f": {far.done} of {far.total}" if far.total > 1 else ""
    return f"{far.what[:1].upper()}{far.what[1:]}{counted}."


def _changed(path: Path, job: Job) -> bool:
    """Say whether the case was written to after a piece of work had been asked for."""
    asked = datetime.fromisoformat(job.created)
    for name in (CASE, JOURNAL):
        file = path / name
        if file.is_file() and datetime.fromtimestamp(file.stat().st_mtime, UTC) > asked:
            return True
    return False
