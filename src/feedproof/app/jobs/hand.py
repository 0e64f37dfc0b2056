"""The server's side of one process that computes jobs."""

import contextlib
import json
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import IO, Any

import feedproof

PACKAGES = Path(feedproof.__file__).resolve().parents[1]
_START = (
    "import sys; table, *paths = sys.argv[1:]; sys.path += paths;"
    " from feedproof.app.jobs.worker import main; main(table)"
)
LARGEST_LOG_BYTES = 2**20
Said = Mapping[str, Any]


class Hand:
    """
    A process that computes, started when it is needed and again when it has died.

    Parameters
    ----------
    table : str
        Table of verbs as ``module:name``.
    log : Path
        File for what the processes write to their errors; it is begun anew when it is large.
    """

    def __init__(self, table: str, log: Path) -> None:
        self._table, self._log = table, log
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._is_closed = False

    @property
    def pid(self) -> int | None:
        """Give the id of the process; None while there is none."""
        process = self._process
        return process.pid if process is not None and process.poll() is None else None

    def start(self) -> None:
        """Start the process where there is none."""
        with self._lock:
            if self._is_closed or (self._process is not None and self._process.poll() is None):
                return
            self._reap()
            # Not in front: a folder of packages must not hide what the interpreter brings.
            command = [sys.executable, "-P", "-X", "faulthandler", "-c", _START]
            is_large = self._log.is_file() and self._log.stat().st_size > LARGEST_LOG_BYTES
            with self._log.open("wb" if is_large else "ab") as log:
                self._process = subprocess.Popen(
                    [*command, self._table, str(PACKAGES)],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=log,
                    # The console's interrupt is for the server, which ends this process itself.
                    **_apart(),
                )

    def compute(
        self, message: Said, hear: Callable[[Said], None], is_wanted: Callable[[], bool]
    ) -> tuple[Said | None, str]:
        """
        Have a job computed.

        Parameters
        ----------
        message : mapping
            The job.
        hear : callable
            Told what the process says meanwhile.
        is_wanted : callable
            Says whether the job is still to be computed.

        Returns
        -------
        end : mapping or None
            What it said at the end; None where it died.
        how : str
            How it died.
        """
        how = "none could be started"
        for is_last in (False, True):
            self.start()
            process = self._process
            if process is None or process.stdout is None:
                break
            has_begun = False
            if self._send(process, message):
                for said in _lines(process.stdout):
                    if said.get("id") != message["id"]:
                        continue
                    has_begun = True
                    if "end" in said:
                        return said, ""
                    hear(said)
            how = _how(process.wait())
            # One that died while it had nothing to do has not even heard of this job.
            if has_begun or is_last or not is_wanted():
                break
        return None, how

    def stop(self, identity: str) -> None:
        """
        Ask for a job to be stopped.

        Parameters
        ----------
        identity : str
            Of the job.
        """
        process = self._process
        if process is not None:
            self._send(process, {"id": identity, "stop": True})

    def kill(self) -> None:
        """End the process at once."""
        process = self._process
        if process is not None and process.poll() is None:
            process.kill()

    def close(self) -> None:
        """End the process for good."""
        with self._lock:
            self._is_closed = True
        self.kill()

    def reap(self) -> None:
        """Let go of a process that has ended; to be called by who reads its words."""
        with self._lock:
            self._reap()

    def _reap(self) -> None:
        """Let go of a process, with the lock held."""
        if self._process is None:
            return
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                # What could not be sent to one that died stays unsent.
                with contextlib.suppress(OSError):
                    pipe.close()
        self._process = None

    @staticmethod
    def _send(process: subprocess.Popen[bytes], message: Said) -> bool:
        """Send one line; say whether it went out."""
        try:
            assert process.stdin is not None
            process.stdin.write(json.dumps(message).encode() + b"\n")
            process.stdin.flush()
        except (OSError, ValueError):
            return False
        return True


def _apart() -> dict[str, Any]:
    """Give the arguments that keep the console's signals from a process."""
    if os.name == "nt":
        return {"creationflags": getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)}
    return {"start_new_session": True}


def _lines(file: IO[bytes]) -> Any:
    """Read lines of JSON; one that was cut off when its writer died is none."""
    for line in file:
        with contextlib.suppress(ValueError):
            yield json.loads(line)


def _how(code: int) -> str:
    """Say how a process ended."""
    if code < 0:
        return f"it was killed by signal {-code}"
    return f"it ended by itself with exit code {code}"
