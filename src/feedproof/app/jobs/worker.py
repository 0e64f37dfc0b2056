"""
A process that computes jobs, one after the other, and stays warm in between.

It is told what to do by lines of JSON on its standard input, and answers with lines of JSON on
what was its standard output.  When its input ends, whoever started it is gone, and so is it.
"""

import contextlib
import json
import os
import queue
import shutil
import signal
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, BinaryIO

TELL_EVERY_S = 0.1
MIB = 2**20
MOST_FOLDERS = 16


class Stopped(BaseException):
    """A job was cancelled; not an `Exception`, so that no verb takes it for a fault of its own."""


class Channel:
    """
    The way back to the server.

    Parameters
    ----------
    file : file
        To write lines to.
    """

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._lock = threading.Lock()

    def say(self, **message: Any) -> None:
        """
        Send one message.

        Parameters
        ----------
        **message
            What JSON can hold.
        """
        with self._lock:
            self._file.write(json.dumps(message).encode() + b"\n")
            self._file.flush()


class Teller:
    """
    Tells how far a job is, and stops it where that was asked for.

    Parameters
    ----------
    channel : Channel
        Whom to tell.
    identity : str
        Of the job.
    stopping : threading.Event
        Set where it is to stop.
    """

    def __init__(self, channel: Channel, identity: str, stopping: threading.Event) -> None:
        self._channel, self._identity, self._stopping = channel, identity, stopping
        self._step, self._what, self._done = 0, "", -1
        self._lock = threading.Lock()
        self._told = 0.0
        self._later: dict[str, Any] = {}

    def __call__(self, done: int, total: int, what: str) -> None:
        """
        Take what a verb tells of itself.

        Parameters
        ----------
        done, total : int
            Steps done and in all.
        what : str
            What is being done.

        Raises
        ------
        Stopped
            The job was cancelled.
        """
        if self._stopping.is_set():
            raise Stopped
        if what != self._what or done < self._done:
            self._step += 1
        self._what, self._done = what, done
        far = {"step": self._step, "done": done, "total": total, "what": what}
        with self._lock:
            wait_s = self._told + TELL_EVERY_S - time.monotonic()
            if wait_s <= 0.0:
                self._say(far)
                return
            # A piece of work that begins now may take long: it is told of a moment later.
            if not self._later:
                timer = threading.Timer(wait_s, self.say_now)
                timer.daemon = True
                timer.start()
            self._later = far

    def say_now(self) -> None:
        """Tell what waits to be told."""
        with self._lock:
            if self._later:
                self._say(self._later)

    def _say(self, far: dict[str, Any]) -> None:
        """Send it."""
        self._told, self._later = time.monotonic(), {}
        self._channel.say(progress=far, id=self._identity)


@contextlib.contextmanager
def memory_limit(limit_mb: int | None) -> Iterator[None]:
    """
    Let the process take so much memory more, and not more.

    Parameters
    ----------
    limit_mb : int or None
        Beyond what it has. [MiB]

    Yields
    ------
    None
        While the limit holds; where the system has none to set, there is none.
    """
    if limit_mb is None or not sys.platform.startswith("linux"):
        yield
        return
    import resource

    status = Path("/proc/self/status").read_text(encoding="utf-8")
    held = next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmData"))
    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    resource.setrlimit(resource.RLIMIT_DATA, (held * 1024 + limit_mb * MIB, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_DATA, (hard, hard))


def own_formulas() -> contextlib.ExitStack:
    """
    Give this process its own folder of compiled formulas, begun with the common one's.

    Two processes that compile different signatures of one formula at the same moment choose the
    same file name for them, and the second overwrites what the first one's index points to.

    Returns
    -------
    contextlib.ExitStack
        Holds the folder while it is open; the system takes it back from a process that dies.
    """
    from feedproof.core.compiled import source_fingerprint
    from feedproof.core.errors import WriteError
    from feedproof.records.durable import locked

    named = os.environ.get("FEEDPROOF_CACHE")
    base = Path(named) if named else Path.home() / ".cache" / "feedproof"
    current = f"formulas-{source_fingerprint()}"
    held = contextlib.ExitStack()
    # Without a folder it compiles in memory, or in the common one: slower, never wrong by itself.
    with contextlib.suppress(OSError, RuntimeError, shutil.Error):
        base.mkdir(parents=True, exist_ok=True)
        for number in range(MOST_FOLDERS):
            own = base / f"jobs-{number}"
            try:
                held.enter_context(locked(own, patience_s=0.0))
            except WriteError:
                continue
            for stale in own.glob("formulas-*"):
                if stale.name != current:
                    shutil.rmtree(stale, ignore_errors=True)
            if (base / current).is_dir() and not (own / current).is_dir():
                shutil.copytree(base / current, own / current)
            os.environ["FEEDPROOF_CACHE"] = str(own)
            break
    return held


class Worker:
    """
    The process.

    Parameters
    ----------
    channel : Channel
        The way back.
    table : str
        Table of verbs as ``module:name``.
    """

    def __init__(self, channel: Channel, table: str) -> None:
        self._channel, self._table = channel, table
        self._jobs: queue.Queue[Mapping[str, Any]] = queue.Queue()
        self._stopping: dict[str, threading.Event] = {}

    def listen(self, file: BinaryIO) -> None:
        """
        Take what the server says until it says nothing more.

        Parameters
        ----------
        file : file
            To read lines from.
        """
        for line in file:
            message = json.loads(line)
            stopping = self._stopping.setdefault(message["id"], threading.Event())
            if message.get("stop"):
                stopping.set()
            else:
                self._jobs.put(message)
        # The server is gone: nobody would hear how it went on.
        os._exit(1)

    def work(self) -> None:
        """Compute one job after the other."""
        while True:
            message = self._jobs.get()
            identity = message["id"]
            self._channel.say(begun=True, id=identity)
            try:
                end = self._compute(message)
            except Stopped:
                end = {"stopped": True}
            self._stopping.pop(identity, None)
            self._channel.say(end=end, id=identity, peak_mb=_peak_mb())

    def _compute(self, message: Mapping[str, Any]) -> dict[str, Any]:
        """Compute one job and write how it ended."""
        from feedproof.app.jobs.computing import computed
        from feedproof.app.jobs.shelf import write_outcome
        from feedproof.core.errors import WriteError

        identity, folder = message["id"], Path(message["folder"])
        teller = Teller(self._channel, identity, self._stopping[identity])
        with memory_limit(message["memory_mb"]):
            outcome = computed(self._table, message, teller)
        teller.say_now()
        try:
            write_outcome(folder, **outcome)
        except WriteError as fault:
            return {"unwritten": str(fault)}
        return {}


def _peak_mb() -> int:
    """Say how much memory the process ever held."""
    if os.name == "nt":
        return 0
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak // (MIB if sys.platform == "darwin" else 1024)


def main(table: str) -> None:
    """
    Run until the server is gone.

    Parameters
    ----------
    table : str
        Table of verbs as ``module:name``.
    """
    # An interrupt at the console is the server's to answer: it ends this process in good order.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # What a library prints must not get between the lines of JSON.
    channel = Channel(os.fdopen(os.dup(1), "wb"))
    os.dup2(2, 1)
    if hasattr(os, "nice"):
        # Pages that are being used go first.
        os.nice(5)
    worker = Worker(channel, table)
    threading.Thread(target=worker.listen, args=(sys.stdin.buffer,), daemon=True).start()
    with own_formulas():
        from feedproof.app.jobs.computing import prepare

        prepare(table)
        worker.work()
