"""The verbs that can be jobs, and how each is called with what was sent."""

import hashlib
import importlib
import inspect
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from feedproof.app.archive_place import readable
from feedproof.app.jobs import parameters as of
from feedproof.app.jobs.parameters import Asked, parsed
from feedproof.app.naming import named_archive
from feedproof.app.progress import Progress
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding, error

OWN = ".feedproof"
"""Folder of the server in a workspace."""
Arranged = tuple[tuple[Any, ...], dict[str, Any]]


def _of_case(case: Path, given: dict[str, Any]) -> Arranged:
    """Call a verb with its case and the rest by name."""
    return (case,), given


def _looking(case: Path, given: dict[str, Any]) -> Arranged:
    """Compare files with the case where an instrument of it is named."""
    instrument, confirmed_by = given["instrument"], given["confirmed_by"] or ""
    # A confirmation without an instrument is refused by the verb, in its own words.
    named = {"instrument": instrument, "case": case} if instrument else {}
    return (given["files"],), {**named, "hints": given["hints"], "confirmed_by": confirmed_by}


def _importing(case: Path, given: dict[str, Any]) -> Arranged:
    """Unpack into the folder that the case will have."""
    return (given["file"], case), {}


def _adding(case: Path, given: dict[str, Any]) -> Arranged:
    """Give the start of a run as the moment that TOML knows and JSON does not."""
    run = given["run"]
    if isinstance(run.get("started"), str):
        try:
            run = {**run, "started": datetime.fromisoformat(run["started"])}
        except ValueError as fault:
            raise InputError.at(
                "parameters.run.started",
                f"{run['started']!r} is no moment: {fault}.",
                "Write it as 2026-09-14T09:42:00+02:00.",
            ) from fault
    return (case, run, given["logs"]), {"who": given["who"], "learn": given["learn"]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Verb:
    """
    A verb that can be a job.

    Parameters
    ----------
    function : str
        ``module:function``.
    model : type
        What it may be asked.
    writes : bool
        True when two of them on one case wait for each other.
    kind : str
        Kind of the result that it keeps in the case; empty when it keeps none.
    asks_database : bool
        True when what the database says of instruments is in the result.
    arrange : callable
        Gives the arguments from case and parameters.
    """

    function: str
    model: type[Asked] = Asked
    writes: bool = False
    kind: str = ""
    asks_database: bool = False
    arrange: Callable[[Path, dict[str, Any]], Arranged] = _of_case


_API = "feedproof.app.api:"
VERBS: Mapping[str, Verb] = {
    "check": Verb(function=f"{_API}check"),
    "predict": Verb(function=f"{_API}predict", model=of.OfPredict, kind="prediction"),
    "envelope": Verb(function=f"{_API}envelope", model=of.OfEnvelope, kind="envelope"),
    "sensitivity": Verb(function=f"{_API}sensitivity", model=of.OfSensitivity, kind="sensitivity"),
    "cold_start": Verb(function=f"{_API}cold_start", model=of.OfColdStart, kind="cold-start"),
    "faults": Verb(function=f"{_API}faults", model=of.OfFaults, kind="faults"),
    "plan": Verb(function=f"{_API}plan", model=of.OfPlan, kind="plan"),
    # It leaves a look in the journal.
    "prove": Verb(
        function=f"{_API}prove",
        model=of.OfProve,
        writes=True,
        kind="proof",
        asks_database=True,
    ),
    "fit": Verb(function=f"{_API}fit", model=of.OfFit, kind="fit"),
    "protect": Verb(function=f"{_API}protect", model=of.OfProtect, kind="protection"),
    "service": Verb(function=f"{_API}service", model=of.OfService, kind="service"),
    "choose": Verb(function=f"{_API}choose", model=of.OfChoose, kind="choice"),
    "publish": Verb(function=f"{_API}publish", model=of.OfPublish, writes=True),
    "add_run": Verb(function=f"{_API}add_run", model=of.OfAddRun, writes=True, arrange=_adding),
    "look": Verb(function=f"{_API}look", model=of.OfLook, arrange=_looking),
    "store_verify": Verb(function=f"{_API}store_verify", model=of.OfStoreVerify),
    "store_export": Verb(function=f"{_API}store_export", model=of.OfStoreFile),
    "store_import": Verb(
        function=f"{_API}store_import", model=of.OfStoreFile, writes=True, arrange=_importing
    ),
}
TABLE = f"{__name__}:VERBS"


def table_of(name: str) -> Mapping[str, Verb]:
    """
    Find a table of verbs.

    Parameters
    ----------
    name : str
        ``module:name``.

    Returns
    -------
    mapping of str to Verb
        The table.
    """
    room, _, table = name.partition(":")
    found: Mapping[str, Verb] = getattr(importlib.import_module(room), table)
    return found


def verb_of(table: Mapping[str, Verb], name: str) -> Verb:
    """
    Find a verb.

    Parameters
    ----------
    table : mapping of str to Verb
        Those that there are.
    name : str
        From outside: never trusted.

    Returns
    -------
    Verb
        Of this name.

    Raises
    ------
    InputError
        There is none.
    """
    if name not in table:
        raise InputError.at(
            "verb", f"there is no verb {name!r}.", f"There are: {', '.join(table)}."
        )
    return table[name]


def given(verb: Verb, sent: Mapping[str, Any], root: Path) -> dict[str, Any]:
    """
    Read parameters with their files.

    Parameters
    ----------
    verb : Verb
        To be called.
    sent : mapping
        Plain JSON.
    root : Path
        Workspace: files are named from it and lie in it.

    Returns
    -------
    dict
        By the function's names; files as paths.

    Raises
    ------
    InputError
        All mistakes of form.
    """
    read = parsed(verb.model, sent)
    found = {name: getattr(read, name) for name in type(read).model_fields}
    faults: list[Finding] = []
    for name in verb.model.FILES:
        found[name] = _inside(root, found[name], f"parameters.{name}", faults)
    if "dbc" in found.get("hints", {}):
        # A file among the hints is a file too.
        path = _inside(root, found["hints"]["dbc"], "parameters.hints.dbc", faults)
        found["hints"] = {**found["hints"], "dbc": str(path)}
    if faults:
        raise InputError(faults)
    if "archive" in verb.model.FILES:
        # What the workshop set for the whole program is as good as on the command line.
        found["archive"] = named_archive(found["archive"])
    return found


def _inside(root: Path, value: Any, place: str, faults: list[Finding]) -> Any:
    """Turn names of files into paths within a folder, however they are held."""
    if value is None:
        return None
    if isinstance(value, dict):
        return {key: _inside(root, each, f"{place}.{key}", faults) for key, each in value.items()}
    if isinstance(value, tuple):
        return tuple(_inside(root, each, f"{place}.{n}", faults) for n, each in enumerate(value))
    try:
        path = (root / value).resolve()
        # What lies at the top of the server's own folder is its password and secret.
        within = path.is_relative_to(root.resolve()) and path.parent != root.resolve() / OWN
    except (OSError, ValueError):  # such as a zero byte in the name
        within = False
    if not within:
        faults.append(
            error(
                place,
                f"{value!r} lies outside of the workspace, or is the server's own.",
                "Put the file into it first.",
            )
        )
        return None
    return path


def key_of(name: str, verb: Verb, found: Mapping[str, Any]) -> str:
    """
    Hash what was asked, files by their content: equal keys ask the same.

    Parameters
    ----------
    name : str
        Of the verb.
    verb : Verb
        The verb.
    found : mapping
        From `given`.

    Returns
    -------
    str
        SHA-256; empty for a verb that keeps no result, which nobody compares.
    """
    if not verb.kind:
        return ""
    files = {each: _content_hash(found[each]) for each in verb.model.FILES if found[each]}
    return key_from(name, verb, found, files)


def _content_hash(place: Path) -> str:
    """Hash a file, or the archive of the database by its word; empty where there is none."""
    try:
        with readable(place) as file:
            return hashlib.sha256(file.read_bytes()).hexdigest() if file else ""
    except (OSError, FeedproofError):
        return ""


def key_from(name: str, verb: Verb, found: Mapping[str, Any], files: Mapping[str, str]) -> str:
    """
    Hash what was asked where the files' own hashes are known.

    Parameters
    ----------
    name : str
        Of the verb.
    verb : Verb
        The verb.
    found : mapping
        Asked.
    files : mapping of str to str
        Hashes of files, by parameter.

    Returns
    -------
    str
        SHA-256.
    """
    plain = {each: value for each, value in found.items() if each not in verb.model.FILES}
    text = json.dumps([name, plain, dict(files)], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


def call(verb: Verb, case: Path, found: dict[str, Any], progress: Progress) -> Any:
    """
    Call a verb.

    Parameters
    ----------
    verb : Verb
        The verb.
    case : Path
        Folder of the case.
    found : dict
        From `given`.
    progress : Progress
        Told how far the work is, where the verb tells it.

    Returns
    -------
    object
        What the verb gives back.
    """
    room, _, name = verb.function.partition(":")
    function = getattr(importlib.import_module(room), name)
    positional, named = verb.arrange(case, found)
    if "progress" in inspect.signature(function).parameters:
        named = {**named, "progress": progress}
    return function(*positional, **named)
