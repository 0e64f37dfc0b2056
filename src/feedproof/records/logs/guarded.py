"""
Run the reader of a kind of log in a process of its own, with limits of memory and time.

The libraries that read workbooks and the like trust sizes that stand in the file: a workbook of
5 kB can make one ask for 550 GB and abort its process.  A fresh interpreter (no fork: threads of
the program must not be copied) reads the file and writes the text; whatever befalls it, the
program goes on and says what happened.
"""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from feedproof.core.errors import InputError, WriteError
from feedproof.core.findings import Finding, Level
from feedproof.core.progress import Progress, silent
from feedproof.records.logs.dialect import Dialect

MEMORY_BYTES = 800_000_000
"""Memory that a reader may take beyond what it needs to start, where the system can limit it."""
SECONDS = 8.0
"""Computing time that any file may take; more for large ones, by `SECONDS_PER_MB`."""
SECONDS_PER_MB = 1.0
# A busy machine gives a process a small part of its time; where no computing time can be limited
# (Windows), the wait is the only limit.
_WAITED_PER_SECOND = 2.0 if sys.platform == "win32" else 10.0
_POLL_S = 0.05
# Systems without such a signal never give this code.
_OUT_OF_TIME = -int(getattr(signal, "SIGXCPU", 0)) or 1_000_000


def as_text_guarded(
    reader: str,
    path: Path,
    hints: Mapping[str, str],
    target: Path,
    *,
    progress: Progress = silent,
) -> Dialect:
    """
    Let a reader write a log as text, under guard.

    Parameters
    ----------
    reader : str
        Module that has ``as_text``.
    path : Path
        The log.
    hints : mapping of str to str
        Checked hints.
    target : Path
        Text to write; its folder takes the answer too.
    progress : Progress
        Told while it goes on.

    Returns
    -------
    Dialect
        Form of the text.

    Raises
    ------
    InputError
        What the reader says of the file; or it took too much memory or time, or died.
    WriteError
        No room for the text.
    """
    limit = SECONDS + SECONDS_PER_MB * path.stat().st_size / 1e6
    answer = target.with_name("answer.json")
    request = {
        "reader": reader,
        "path": str(path.resolve()),
        "hints": dict(hints),
        "target": str(target),
        "answer": str(answer),
        "memory": MEMORY_BYTES,
        "seconds": limit,
    }
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(part for part in sys.path if part),
        # Each thread reserves address space, which the limit of memory counts.
        "POLARS_MAX_THREADS": "2",
        "MALLOC_ARENA_MAX": "1",
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
    }
    child = subprocess.Popen(
        # -P: a program that lies beside the logs must not be run for one of the library's.
        [sys.executable, "-P", "-m", "feedproof.records.logs.child", json.dumps(request)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=environment,
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
    )
    try:
        ended = _waited(child, _WAITED_PER_SECOND * limit, path, progress)
    finally:
        if child.poll() is None:
            child.kill()
        child.wait()
    if not ended or child.returncode == _OUT_OF_TIME:
        raise InputError.at(
            "file",
            f"could not be read within {limit:.0f} s of computing.",
            "Save it anew with the log only, or export it as text (CSV).",
        )
    return _answered(answer)


def _waited(child: "subprocess.Popen[bytes]", limit: float, path: Path, progress: Progress) -> bool:
    """Wait for the end of a child; False where it takes too long."""
    size, end = path.stat().st_size, time.monotonic() + limit
    while time.monotonic() < end:
        try:
            child.wait(_POLL_S)
        except subprocess.TimeoutExpired:
            progress(0, size, f"unpacking {path.name}")
            continue
        return True
    return False


def _answered(answer: Path) -> Dialect:
    """Give what the child found, or raise what it said."""
    try:
        said: dict[str, Any] = json.loads(answer.read_bytes())
    except (OSError, ValueError):
        said = {"died": "the process that read it ended without an answer"}
    if "no_room" in said:
        raise WriteError.at("file", f"no room to unpack it: {said['no_room']}.", "Free some space.")
    if "findings" in said:
        raise InputError([Finding(**{**f, "level": Level(f["level"])}) for f in said["findings"]])
    if "died" in said:
        raise InputError.at(
            "file",
            f"is damaged, or needs more than {MEMORY_BYTES / 1e6:.0f} MB of memory to read"
            f" ({said['died']}).",
            "Save it anew with the log only, or export it as text (CSV).",
        )
    form: dict[str, Any] = {
        k: tuple(v) if isinstance(v, list) else v for k, v in said["dialect"].items()
    }
    return Dialect(**form)


def dialect_as_json(dialect: Dialect) -> dict[str, Any]:
    """
    Write a dialect so that `as_text_guarded` can read it.

    Parameters
    ----------
    dialect : Dialect
        Form of a text.

    Returns
    -------
    dict
        For JSON.
    """
    return asdict(dialect)
