"""
The queue of jobs, and the threads that have them computed.

One thread for each process.  A job changes only with the lock held, and is on disk before its
change is told to anybody.
"""

import contextlib
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from feedproof.app.jobs import ending
from feedproof.app.jobs.hand import Hand, Said
from feedproof.app.jobs.limits import Limits
from feedproof.app.jobs.record import HowFar, Job, State
from feedproof.app.jobs.shelf import Shelf
from feedproof.app.jobs.verbs import table_of
from feedproof.core.errors import FeedproofError, WriteError

NOTE_EVERY_S = 1.0


class Queue:
    """
    Jobs that wait, run and have ended.

    Parameters
    ----------
    root : Path
        The workspace.
    shelf : Shelf
        Where they are on record.
    limits : Limits
        What they may take.
    table : str
        Table of verbs as ``module:name``.
    """

    def __init__(self, root: Path, shelf: Shelf, limits: Limits, table: str) -> None:
        self.root, self.limits = root, limits
        self.verbs = table_of(table)
        self._table, self._shelf = table, shelf
        self._news = threading.Condition()
        self._jobs: dict[str, Job] = {}
        self._ends: dict[str, Future[None]] = {}
        self._why: dict[str, ending.Why] = {}
        self._busy: dict[str, Hand] = {}
        self._noted: dict[str, float] = {}
        self._is_closing = False
        self._threads: list[threading.Thread] = []
        self._hands: list[Hand] = []
        self._read_all()

    @property
    def pids(self) -> tuple[int, ...]:
        """Give the ids of the processes that compute."""
        return tuple(pid for hand in self._hands if (pid := hand.pid) is not None)

    def find(self, identity: str) -> Job | None:
        """Give a job; None where there is none of this id."""
        return self._jobs.get(identity)

    def end_of(self, identity: str) -> "Future[None] | None":
        """Give what is fulfilled when a job ends; None where it has."""
        return self._ends.get(identity)

    def newest_first(self) -> tuple[Job, ...]:
        """Give all jobs."""
        with self._news:
            return tuple(reversed(self._jobs.values()))

    def add(self, job: Job) -> None:
        """
        Put a job on record and in the queue.

        Parameters
        ----------
        job : Job
            New.

        Raises
        ------
        WriteError
            It could not be put on record, or too many wait.
        """
        with self._news:
            waiting = self._waiting()
        if self._is_closing or waiting >= self.limits.waiting:
            why = "the server is stopping" if self._is_closing else f"{waiting} jobs wait already"
            raise WriteError.at("jobs", f"{why}.", "Try again later.")
        self._shelf.add(job)
        with self._news:
            self._jobs[job.id] = job
            self._ends[job.id] = Future()
            self._news.notify_all()
        self.need_hand()

    def waiting_alike(self, case: str, key: str) -> Job | None:
        """
        Find a job that waits to do the same.

        Parameters
        ----------
        case, key : str
            Of the job that somebody wants.

        Returns
        -------
        Job or None
            Not begun: it will read the case as it is then.
        """
        with self._news:
            jobs = (job for job in self._jobs.values() if job.state is State.QUEUED)
            return next((job for job in jobs if key and (job.case, job.key) == (case, key)), None)

    def cancel(self, job: Job) -> None:
        """
        Cancel a job: at once while it waits, else as soon as it can stop.

        Parameters
        ----------
        job : Job
            Of this queue.

        Raises
        ------
        WriteError
            That a waiting job was cancelled could not be put on record; it waits on.
        """
        with self._news:
            job = self._jobs.get(job.id, job)
            if job.state is State.QUEUED:
                job = replace(job, state=State.CANCELLED, ended=now(), is_stopping=True)
                self._shelf.write(job)
                self._end(job)
        if job.state is State.RUNNING:
            self._stop(job.id, ending.Why.CANCELLED)

    def close(self, grace_s: float) -> None:
        """
        End everything.

        Parameters
        ----------
        grace_s : float
            How long running jobs may take to stop by themselves. [s]
        """
        with self._news:
            self._is_closing = True
            running = [(each, self._ends[each]) for each in self._busy]
            self._news.notify_all()
        for identity, _ in running:
            self._stop(identity, ending.Why.CLOSED, grace_s)
        deadline = time.monotonic() + grace_s
        for _, end in running:
            with contextlib.suppress(TimeoutError):
                end.result(max(0.0, deadline - time.monotonic()))
        for hand in self._hands:
            hand.close()
        for thread in self._threads:
            thread.join(1.0)

    def _read_all(self) -> None:
        """Take up what an earlier server left."""
        found = sorted(self._shelf.read_all(), key=lambda job: (job.created, job.id))
        for job in found:
            if job.state is State.RUNNING:
                is_writing = job.verb in self.verbs and self.verbs[job.verb].writes
                job = ending.interrupted(job, "the server ended while it ran", is_writing)
            if job.verb not in self.verbs and not job.state.has_ended:
                job = ending.interrupted(job, "this program has no such verb", is_writing=False)
            if job.state.has_ended and not job.ended:
                job = replace(job, ended=now())
                with contextlib.suppress(WriteError):
                    self._shelf.write(job)
            self._jobs[job.id] = job
            if not job.state.has_ended:
                self._ends[job.id] = Future()
        if self._ends:
            self.need_hand()
        self._prune()

    def need_hand(self) -> None:
        """Start one process more where there is none, or jobs wait and there may be more."""
        with self._news:
            idle = len(self._hands) - len(self._busy)
            waiting = self._waiting()
            enough = len(self._hands) >= self.limits.processes
            if self._is_closing or enough or (self._hands and idle >= waiting):
                return
            slot = len(self._hands)
            hand = Hand(self._table, self._shelf.path / f"process-{slot}.log")
            thread = threading.Thread(target=self._serve, args=(hand,), daemon=True)
            self._hands.append(hand)
            self._threads.append(thread)
        thread.start()

    def _waiting(self) -> int:
        """Count the jobs that wait; with the lock held."""
        return sum(job.state is State.QUEUED for job in self._jobs.values())

    def _serve(self, hand: Hand) -> None:
        """Have jobs computed by one process until the end."""
        self._warm(hand)
        while (job := self._take(hand)) is not None:
            self._compute(hand, job)
        hand.reap()

    def _take(self, hand: Hand) -> Job | None:
        """Wait for a job that may run, and take it."""
        with self._news:
            while not self._is_closing:
                writing = {
                    self._jobs[each].case
                    for each in self._busy
                    if self.verbs[self._jobs[each].verb].writes
                }
                for job in self._jobs.values():
                    blocked = job.case in writing and self.verbs[job.verb].writes
                    if job.state is State.QUEUED and not blocked:
                        self._busy[job.id] = hand
                        job = replace(job, state=State.RUNNING, started=now())
                        self._jobs[job.id] = job
                        return job
                self._news.wait()
        return None

    def _compute(self, hand: Hand, job: Job) -> None:
        """Have one job computed, and put on record how it ended."""
        end: Said | None = None
        timer = self._after(self.limits.time_s, self._stop, job.id, ending.Why.TOO_LONG)
        try:
            self._shelf.write(job)
            message = {
                "id": job.id,
                "verb": job.verb,
                "case": str(self.root / job.case),
                "parameters": dict(job.parameters),
                "root": str(self.root),
                "folder": str(self._shelf.folder(job.id)),
                "memory_mb": self.limits.memory_mb,
            }
            end, how = hand.compute(message, self._hear, lambda: job.id not in self._why)
            done = self._ended(job.id, end, how)
        except FeedproofError as fault:
            done = ending.failed(self._jobs[job.id], fault.exit_code, fault.findings)
        except Exception as fault:
            # A thread that died of it would leave every job after this one waiting for ever.
            done = ending.broken(self._jobs[job.id], fault)
        timer.cancel()
        done = replace(done, ended=now())
        # The outcome is on disk: a server that starts again finds it where this fails.
        with contextlib.suppress(WriteError):
            self._shelf.write(done)
        with self._news:
            del self._busy[job.id]
            self._why.pop(job.id, None)
            self._end(done)
        self._prune()
        if end is None or end.get("peak_mb", 0) > self.limits.renew_mb:
            hand.reap()
            self._warm(hand)

    @staticmethod
    def _after(time_s: float | None, call: Callable[..., None], *words: Any) -> threading.Timer:
        """Have something done after a time; never where there is none."""
        timer = threading.Timer(0.0 if time_s is None else time_s, call, words)
        timer.daemon = True
        if time_s is not None:
            timer.start()
        return timer

    @staticmethod
    def _warm(hand: Hand) -> None:
        """Start a process ahead of its job; where that fails, the job says so."""
        with contextlib.suppress(OSError):
            hand.start()

    def _hear(self, said: Said) -> None:
        """Take what a process says while it computes."""
        if "progress" not in said:
            return
        identity, far = said["id"], HowFar(**said["progress"])
        with self._news:
            self._jobs[identity] = replace(self._jobs[identity], progress=far)
        now = time.monotonic()
        if now - self._noted.get(identity, -NOTE_EVERY_S) >= NOTE_EVERY_S:
            self._noted[identity] = now
            self._shelf.write_progress(identity, far)

    def _ended(self, identity: str, end: Said | None, how: str) -> Job:
        """Say how a job ended, from what its process said and left."""
        with self._news:
            job, why = self._jobs[identity], self._why.get(identity)
        verb = self.verbs[job.verb]
        outcome = self._shelf.outcome(identity)
        self._noted.pop(identity, None)
        return ending.ended(job, end, how, outcome, why, self.limits, is_writing=verb.writes)

    def _stop(self, identity: str, why: ending.Why, grace_s: float | None = None) -> None:
        """Have a running job stop: by itself, or else by force."""
        with self._news:
            hand = self._busy.get(identity)
            if hand is None:
                return
            self._why.setdefault(identity, why)
            self._jobs[identity] = replace(self._jobs[identity], is_stopping=True)
        hand.stop(identity)
        wait_s = self.limits.grace_s if grace_s is None else grace_s
        self._after(wait_s, self._kill, identity, hand)

    def _kill(self, identity: str, hand: Hand) -> None:
        """End the process of a job that did not stop."""
        with self._news:
            if self._busy.get(identity) is hand:
                hand.kill()

    def _end(self, job: Job) -> None:
        """Tell everybody that a job has ended; with the lock held."""
        self._jobs[job.id] = job
        end = self._ends.pop(job.id, None)
        if end is not None:
            end.set_result(None)
        self._news.notify_all()

    def _prune(self) -> None:
        """Remove the oldest ended jobs where there are too many."""
        with self._news:
            over = ending.too_many(list(self._jobs.values()), self._shelf.size_bytes, self.limits)
            for job in over:
                del self._jobs[job.id]
        for job in over:
            self._shelf.remove(job.id)


def now() -> str:
    """
    Give the moment.

    Returns
    -------
    str
        In UTC.
    """
    return datetime.now(UTC).isoformat(timespec="milliseconds")
