"""How a job ended, in words, and which of those that ended are kept."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from enum import Enum
from typing import Any

from feedproof.app.jobs.limits import Limits
from feedproof.app.jobs.record import Job, State
from feedproof.app.jobs.shelf import ended_as
from feedproof.core.findings import Finding, error

MIB = 2**20
_LOOK_FIRST = "What was written is whole; look at the case before you start it again."
_AGAIN = "Start it again."


class Why(Enum):
    """Why a running job was stopped."""

    CANCELLED = "cancelled"
    TOO_LONG = "took too long"
    CLOSED = "the server was stopped"


def interrupted(job: Job, why: str, is_writing: bool) -> Job:
    """
    Give a job that has ended without anybody having decided it.

    Parameters
    ----------
    job : Job
        Running.
    why : str
        What happened.
    is_writing : bool
        True for a verb that writes to the case.

    Returns
    -------
    Job
        Interrupted.
    """
    remedy = _LOOK_FIRST if is_writing else _AGAIN
    return replace(job, state=State.INTERRUPTED, findings=(error(job.verb, f"{why}.", remedy),))


def failed(job: Job, exit_code: int, findings: tuple[Finding, ...]) -> Job:
    """
    Give a job that could not be done.

    Parameters
    ----------
    job : Job
        Running.
    exit_code : int
        What the command line would give.
    findings : tuple of Finding
        Why.

    Returns
    -------
    Job
        Failed.
    """
    return replace(job, state=State.FAILED, exit_code=exit_code, findings=findings)


def broken(job: Job, fault: Exception) -> Job:
    """
    Give a job that the server itself could not have done.

    Parameters
    ----------
    job : Job
        Running.
    fault : Exception
        What happened.

    Returns
    -------
    Job
        Failed.
    """
    told = error(job.verb, f"a fault of the program: {type(fault).__name__}: {fault}.", _AGAIN)
    return failed(job, 1, (told,))


def ended(
    job: Job,
    end: Mapping[str, Any] | None,
    how: str,
    outcome: Mapping[str, Any] | None,
    why: Why | None,
    limits: Limits,
    *,
    is_writing: bool,
) -> Job:
    """
    Say how a running job ended.

    Parameters
    ----------
    job : Job
        Running.
    end : mapping or None
        What its process said at the end; None where it died.
    how : str
        How it died.
    outcome : mapping or None
        What it wrote of the end.
    why : Why or None
        Why it was stopped; None where nobody did.
    limits : Limits
        For the words.
    is_writing : bool
        True for a verb that writes to the case.

    Returns
    -------
    Job
        Ended, without the moment.
    """
    if outcome is not None:
        # It was faster than whoever wanted it stopped.
        return ended_as(job, outcome)
    remedy = _LOOK_FIRST if is_writing and end is None else _AGAIN
    if why is Why.CANCELLED:
        return replace(job, state=State.CANCELLED, findings=_forced(job, end, is_writing))
    if why is Why.TOO_LONG:
        told = error(job.verb, f"took longer than {limits.time_s:g} s and was stopped.", remedy)
        return failed(job, 1, (told,))
    if why is Why.CLOSED:
        return interrupted(job, "the server was stopped while it ran", is_writing and end is None)
    if end is not None:
        told = error(job.verb, f"its result could not be kept: {end['end'].get('unwritten')}")
        return failed(job, 4, (told,))
    return interrupted(job, f"the process that computed it is gone: {how}", is_writing)


def _forced(job: Job, end: Mapping[str, Any] | None, is_writing: bool) -> tuple[Finding, ...]:
    """Say where a job that writes had to be ended by force."""
    if end is not None or not is_writing:
        return ()
    return (error(job.verb, "did not stop by itself and was ended.", _LOOK_FIRST),)


def too_many(jobs: Sequence[Job], size: Callable[[str], int], limits: Limits) -> tuple[Job, ...]:
    """
    Find ended jobs that are not kept any longer.

    Parameters
    ----------
    jobs : sequence of Job
        The oldest first.
    size : callable
        Gives what a job takes on disk.
    limits : Limits
        What is kept.

    Returns
    -------
    tuple of Job
        The oldest.
    """
    over, held_bytes, count = [], 0, 0
    for job in reversed(jobs):
        if not job.state.has_ended:
            continue
        held_bytes += size(job.id)
        count += 1
        # The newest is kept whatever it takes: somebody is about to read it.
        if count > 1 and (count > limits.kept or held_bytes > limits.kept_mb * MIB):
            over.append(job)
    return tuple(over)
