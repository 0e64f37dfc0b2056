"""Verbs that take as long as a test wants, and die as it wants."""

import os
import signal
import time
from pathlib import Path
from typing import Any

from feedproof.app.jobs.parameters import Asked, OfStoreFile
from feedproof.app.jobs.verbs import VERBS, Verb
from feedproof.core.errors import WriteError
from feedproof.core.progress import Progress
from feedproof.records.durable import write_whole

TABLE = f"{__name__}:SLOW"


class OfCount(Asked):
    """How far to count, and how."""

    to: int = 3
    each_s: float = 0.0
    fault: str = ""
    mib: int = 0
    mark: str = ""


def count(
    case: Path,
    *,
    to: int,
    each_s: float,
    fault: str,
    mib: int,
    mark: str,
    progress: Progress,
) -> dict[str, Any]:
    """Count, and say so."""
    marked = case.parent / f"{mark}.txt"
    if mark:
        write_whole(marked, b"began")
    for done in range(to):
        progress(done, to, "counting")
        time.sleep(each_s)
    if fault == "exit":
        os._exit(7)
    if fault == "segfault":
        os.kill(os.getpid(), signal.SIGSEGV)
    if fault == "type":
        raise TypeError("one thing too many")
    held = bytearray(mib * 2**20)
    progress(to, to, "counting")
    if mark:
        write_whole(marked, b"ended")
    return {"counted": to, "held": len(held), "pid": os.getpid()}


def deaf(_case: Path, *, to: int, each_s: float, **_: Any) -> dict[str, Any]:
    """Count without telling anybody."""
    for _step in range(to):
        time.sleep(each_s)
    return {"counted": to}


def pieces(_case: Path, *, progress: Progress) -> dict[str, Any]:
    """Do three pieces of work, the last one like the first."""
    for what in ("one", "two", "one"):
        for done in range(4):
            progress(done, 3, what)
    return {}


def linger(_case: Path, *, progress: Progress) -> dict[str, Any]:
    """Begin a piece of work right after another, and take long for it."""
    progress(0, 2, "short")
    progress(1, 2, "long")
    time.sleep(60.0)
    return {}


def chatter(_case: Path) -> dict[str, Any]:
    """Print, as a library may."""
    print('{"id": "x", "end": {}}', flush=True)
    os.write(1, b"not json and no end of line")
    return {}


def full(_case: Path) -> dict[str, Any]:
    """Leave a disk on which nothing can be written any more."""
    from feedproof.app.jobs import shelf

    def refuse(*_: Any) -> None:
        raise WriteError.at("outcome.json", "no space left.", "Free some space.")

    shelf.write_whole = refuse
    return {}


def edit_meanwhile(case: Path) -> dict[str, Any]:
    """Edit the case that it computes from."""
    with (case / "case.toml").open("a", encoding="utf-8") as file:
        file.write("# meanwhile\n")
    return {}


def add_runs(case: Path, *, progress: Progress) -> dict[str, Any]:
    """Add run after run and say so after each."""
    from feedproof.records.folder import CaseFolder
    from tests.reliability.adding import add

    said = os.open(case.parent / "said", os.O_CREAT | os.O_APPEND | os.O_WRONLY)
    for number in range(1, 50):
        # Told once: a job that is asked to stop here would stop in good order.
        if number == 1:
            progress(0, 50, "adding")
        add(CaseFolder(case), number)
        os.write(said, f"{number}\n".encode())
    time.sleep(10.0)
    return {}


def read_file(_case: Path, *, file: Path) -> dict[str, Any]:
    """Read a file of the workspace."""
    return {"read": file.read_text(encoding="utf-8")}


SLOW = {
    **VERBS,
    "count": Verb(function=f"{__name__}:count", model=OfCount),
    "write": Verb(function=f"{__name__}:count", model=OfCount, writes=True),
    "pieces": Verb(function=f"{__name__}:pieces"),
    "linger": Verb(function=f"{__name__}:linger"),
    "chatter": Verb(function=f"{__name__}:chatter"),
    "full": Verb(function=f"{__name__}:full"),
    "edit_meanwhile": Verb(function=f"{__name__}:edit_meanwhile", kind="edited"),
    "add_runs": Verb(function=f"{__name__}:add_runs", writes=True),
    "read_file": Verb(function=f"{__name__}:read_file", model=OfStoreFile, kind="read"),
    "deaf": Verb(function=f"{__name__}:deaf", model=OfCount, writes=True),
}
