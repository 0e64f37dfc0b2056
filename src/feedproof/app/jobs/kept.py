"""Results that are there already: of jobs, and of verbs that were called elsewhere."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from feedproof.app.jobs.bases import Standing
from feedproof.app.jobs.parameters import parsed
from feedproof.app.jobs.record import Basis
from feedproof.app.jobs.verbs import Verb, given, key_from, key_of
from feedproof.app.recomputing import OUTPUTS
from feedproof.core.errors import FeedproofError
from feedproof.records.folder import RESULTS
from feedproof.records.results import Results

HASH_DIGITS = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """
    A result that is there already.

    Parameters
    ----------
    result : object
        The document that ``--json`` prints.
    is_current : bool
        True where it would be computed from the same again.
    changes : tuple of str
        What has changed since, in words.
    computed : str
        Moment in UTC.
    parameters : mapping
        What was asked.
    job : str
        Job that computed it; empty where it was computed elsewhere, as on the command line.
    """

    result: Any
    is_current: bool
    changes: tuple[str, ...]
    computed: str
    parameters: Mapping[str, Any]
    job: str = ""


def kept_in_case(
    case: Path, name: str, verb: Verb, standing: Standing, root: Path, key: str = ""
) -> Iterator[Kept]:
    """
    Find results that a case keeps itself.

    Parameters
    ----------
    case : Path
        Its folder.
    name : str
        Of the verb.
    verb : Verb
        The verb.
    standing : Standing
        The case as it stands now.
    root : Path
        The workspace.
    key : str
        Of what was asked; empty for anything.

    Yields
    ------
    Kept
        The newest first; results that do not say how they were made, or were changed since, are
        left out.
    """
    results = Results(case / RESULTS)
    # Only the lines of the outermost level begin with one space: see `Results.write`.
    kind = re.compile(rb'^ "kind": "%s",?$' % verb.kind.encode(), re.MULTILINE)
    for identity in reversed(results.all()):
        file = results.path / f"{identity}.json"
        try:
            # Looked for in the bytes: most files are of another kind, and they are large.
            if not kind.search(file.read_bytes()):
                continue
            read = results.read(identity)
            made = read.get("made")
            if made is None or made["verb"] != name:
                continue
            asked = _asked(made, verb)
            its_key = _key(name, verb, asked, made)
            if key and its_key != key:
                continue
            files = file_changes(its_key, name, verb, asked, root)
            moment = datetime.fromtimestamp(file.stat().st_mtime, UTC)
        except (OSError, FeedproofError):
            continue
        changes = (*standing.changes_since(_basis(made)), *files)
        yield Kept(
            result=read["content"],
            is_current=not changes,
            changes=changes,
            computed=moment.isoformat(timespec="milliseconds"),
            parameters=asked,
        )


def file_changes(
    key: str, name: str, verb: Verb, asked: Mapping[str, Any], root: Path
) -> tuple[str, ...]:
    """
    Say whether files that a result rests on are others now.

    Parameters
    ----------
    key : str
        Of the result.
    name : str
        Of the verb.
    verb : Verb
        The verb.
    asked : mapping
        What was asked.
    root : Path
        The workspace.

    Returns
    -------
    tuple of str
        In words; empty where the same question has the same key today.
    """
    try:
        is_same = key == key_of(name, verb, given(verb, asked, root))
    except FeedproofError:
        is_same = False
    return () if is_same else ("a file that it was computed from is another one",)


def _asked(made: Mapping[str, Any], verb: Verb) -> dict[str, Any]:
    """Give what was asked, by the names of a job: without where a page was drawn, or a file lay."""
    left_out = {*OUTPUTS, *verb.model.FILES}
    return {
        each: value
        for each, value in made["parameters"].items()
        if each not in left_out and value is not None
    }


def _key(name: str, verb: Verb, asked: Mapping[str, Any], made: Mapping[str, Any]) -> str:
    """Give the key of a kept result; raises where it was asked what no job can ask."""
    read = parsed(verb.model, asked)
    found = {each: getattr(read, each) for each in type(read).model_fields}
    files = {
        each: made["files"][each][:HASH_DIGITS]
        for each in verb.model.FILES
        if each in made["files"]
    }
    return key_from(name, verb, found, files)


def _basis(made: Mapping[str, Any]) -> Basis:
    """Say what a kept result rests on."""
    seen = made["journal_seen"]
    return Basis(
        document=made["document"][:HASH_DIGITS],
        journal_lines=seen.get("lines", 0),
        journal_sha256=seen.get("sha256", ""),
        code=made["environment"]["code"],
        calibrated=made["files"].get("calibrated", "")[:HASH_DIGITS],
    )
