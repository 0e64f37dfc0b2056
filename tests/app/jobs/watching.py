"""Waiting for what another process does."""

import os
import time
from collections.abc import Callable
from pathlib import Path

from feedproof.app.jobs.record import Job, State
from feedproof.app.jobs.running import Jobs

PATIENCE_S = 60.0


def until(holds: Callable[[], bool], patience_s: float = PATIENCE_S) -> float:
    """Wait until something holds; give how long it took."""
    started = time.monotonic()
    while not holds():
        assert time.monotonic() - started < patience_s, "it never came to that"
        time.sleep(0.005)
    return time.monotonic() - started


def counting(jobs: Jobs, case: Path, verb: str = "count", **parameters: object) -> Job:
    """Have a job count for a long time; give it when it does."""
    job = jobs.submit(verb, case, {"to": 6000, "each_s": 0.01, **parameters})
    until(lambda: jobs.state(job.id).progress.done > 2)
    return jobs.state(job.id)


def ended(jobs: Jobs, job: Job) -> Job:
    """Wait for the end of a job."""
    found = jobs.wait(job.id, PATIENCE_S)
    assert found.state.has_ended
    return found


def running(jobs: Jobs, job: Job) -> bool:
    """Say whether a job runs."""
    return jobs.state(job.id).state is State.RUNNING


def is_alive(pid: int) -> bool:
    """Say whether a process is there; one that only waits to be buried is not."""
    try:
        os.kill(pid, 0)
        status = Path(f"/proc/{pid}/stat")
        return not status.exists() or status.read_text().rsplit(") ", 1)[1][0] != "Z"
    except (OSError, IndexError):
        return False
