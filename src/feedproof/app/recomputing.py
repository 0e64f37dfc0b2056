"""Compute a kept result again from what it was made from, and compare."""

import importlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PureWindowsPath
from typing import Any

from feedproof import __version__
from feedproof.app.calibration import NOTHING
from feedproof.app.documents import to_document
from feedproof.app.keeping import exact_hash
from feedproof.app.store_told import Recomputed
from feedproof.core.errors import FeedproofError
from feedproof.records.folder import CASE, JOURNAL, RAW, RESULTS, CaseFolder
from feedproof.records.making import environment

VERBS = {
    "predict": "api_ahead",
    "envelope": "api_ahead",
    "faults": "api_ahead",
    "sensitivity": "api_ahead",
    "cold_start": "api_ahead",
    "prove": "api_prove",
    "fit": "api_fit",
    "plan": "api_plan",
    "protect": "api_kits",
    "service": "api_kits",
    "choose": "api_choose",
}
"""Verbs that keep a result, by where they stand; nothing else that a file names is ever called."""
OUTPUTS = ("picture", "sheet", "force")
"""Parameters that say where to write a page: no part of what was found."""
_TIMES = ("computed", "sheet")


def recompute(folder: CaseFolder, identity: str, read: Mapping[str, Any]) -> Recomputed:
    """
    Compute a result again.

    Parameters
    ----------
    folder : CaseFolder
        Of the case; it is not touched.
    identity : str
        The result's id.
    read : mapping
        The result with how it was made.

    Returns
    -------
    Recomputed
        Whether it came out again, and where it first differs.
    """
    made = read["made"]
    here = environment(__version__)
    other = [f"{k} was {v}, is {here.get(k)}" for k, v in made["environment"].items()
             if here.get(k) != v]  # fmt: skip
    answer = {
        "result": identity,
        "kind": read["kind"],
        "verb": made["verb"],
        "environment_equal": not other,
        "why": "; ".join(other),
    }
    try:
        with _as_it_stood(folder, made) as (copy, files):
            found = _called(copy, made, files)
    except FeedproofError as fault:
        return Recomputed(**{**answer, "why": str(fault)}, equal=False)
    kept = _timeless(read["content"])
    differing = first_difference(kept, _timeless(to_document(found)))
    if differing is not None:
        path, before, now = differing
        return Recomputed(**answer, equal=False, path=path, kept=before, now=now)
    if not other and exact_hash(found) != made["exact"]:
        why = "equal to 12 digits; differs in the last digits on the same machine and versions"
        return Recomputed(**{**answer, "why": why}, equal=False)
    return Recomputed(**answer, equal=True)


@contextmanager
def _as_it_stood(
    folder: CaseFolder, made: Mapping[str, Any]
) -> Iterator[tuple[CaseFolder, dict[str, Path]]]:
    """Lay out the case as it stood when a result was made, in a folder that goes away."""
    with tempfile.TemporaryDirectory(prefix="feedproof-") as name:
        path = Path(name) / "case"
        (path / RESULTS).mkdir(parents=True)
        (path / CASE).write_bytes(folder.documents.read(made["document"]))
        lines = folder.journal.path.read_bytes().splitlines(keepends=True) if (
            folder.journal.path.is_file()
        ) else []  # fmt: skip
        (path / JOURNAL).write_bytes(b"".join(lines[: made["journal_line"]]))
        if (folder.path / RAW).is_dir():
            shutil.copytree(folder.path / RAW, path / RAW, copy_function=_linked)
        files = {}
        for parameter, document in made["files"].items():
            # A file's own name is part of what a result says of it; it may lead nowhere else.
            own = PureWindowsPath(made["parameters"][parameter]).name
            files[parameter] = Path(name) / "files" / own
            files[parameter].parent.mkdir(exist_ok=True)
            files[parameter].write_bytes(folder.documents.read(document))
        if made["verb"] == "prove" and "calibrated" not in files:
            # Nothing was registered then: what the database says now is no part of this answer.
            files["calibrated"] = Path(name) / "calibrations.json"
            files["calibrated"].write_text(json.dumps(NOTHING), encoding="utf-8")
        yield CaseFolder(path), files


def _linked(source: str, target: str) -> None:
    """Give a file a second name, or copy it where the disks differ."""
    try:
        os.link(source, target)
    except OSError:
        shutil.copyfile(source, target)


def _called(folder: CaseFolder, made: Mapping[str, Any], files: Mapping[str, Path]) -> Any:
    """Call the verb as it was called."""
    verb = made["verb"]
    if verb not in VERBS:
        raise FeedproofError.at(f"verb {verb!r}", "is none that keeps a result.")
    given = {key: value for key, value in made["parameters"].items() if key not in OUTPUTS}
    arguments = {k: tuple(v) if isinstance(v, list) else v for k, v in given.items()}
    room = importlib.import_module(f"feedproof.app.{VERBS[verb]}")
    return getattr(room, verb)(folder.path, **{**arguments, **files})


def _timeless(content: Mapping[str, Any]) -> dict[str, Any]:
    """Leave out when it was computed and where a page was written."""
    return {key: value for key, value in content.items() if key not in _TIMES}


def _held(document: Mapping[str, Any], key: str) -> str:
    """Say whether a document has a key that another lacks."""
    return "something" if key in document else "nothing"


def first_difference(kept: Any, now: Any, path: str = "") -> tuple[str, str, str] | None:
    """
    Find where two documents first differ.

    Parameters
    ----------
    kept, now : object
        As JSON holds them.
    path : str
        Where they stand.

    Returns
    -------
    tuple of str, str and str, or None
        Path and both values; None where they are equal.
    """
    if isinstance(kept, Mapping) and isinstance(now, Mapping):
        for key in sorted({*kept, *now}):
            inner = f"{path}.{key}" if path else key
            if key not in kept or key not in now:
                return inner, _held(kept, key), _held(now, key)
            if (found := first_difference(kept[key], now[key], inner)) is not None:
                return found
        return None
    if isinstance(kept, list) and isinstance(now, list):
        for position, (one, other) in enumerate(zip(kept, now, strict=False)):
            if (found := first_difference(one, other, f"{path}[{position}]")) is not None:
                return found
        return (f"{path}.length", str(len(kept)), str(len(now))) if len(kept) != len(now) else None
    same = type(kept) is type(now) and kept == now
    # JSON writes 2.0 and 2 apart, and a reader may not.
    numbers = all(isinstance(v, (int, float)) and not isinstance(v, bool) for v in (kept, now))
    if same or (numbers and kept == now):
        return None
    return path, repr(kept), repr(now)
