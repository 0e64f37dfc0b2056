"""Keep a result with how it was made: one way for every verb."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from feedproof import __version__
from feedproof.app.documents import to_document
from feedproof.evidence.archives.choice import ArchiveUse
from feedproof.records.folder import CaseFolder
from feedproof.records.loaded import Loaded
from feedproof.records.making import Making, environment, last_line

EXACT = 17
"""Significant digits that tell every double from its neighbours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """
    A verb as it was called.

    Parameters
    ----------
    verb : str
        Function of the front door.
    parameters : mapping
        All of them, as given.
    files : mapping of str to Path or None
        Those that name files which are read, by parameter.
    reads_logs : bool
        True when the runs' logs were read.
    """

    verb: str
    parameters: Mapping[str, Any] = field(default_factory=dict)
    files: Mapping[str, Path | None] = field(default_factory=dict)
    reads_logs: bool = False


def keep_result(folder: CaseFolder, loaded: Loaded, kind: str, result: Any, call: Call) -> str:
    """
    Keep a result and all that is needed to compute it again.

    Parameters
    ----------
    folder : CaseFolder
        Of the case.
    loaded : Loaded
        The case as the verb read it.
    kind : str
        Kind of the result.
    result : object
        What the verb gives back.
    call : Call
        What was asked.

    Returns
    -------
    str
        The result's id.
    """
    line, line_hash = last_line(loaded.journal)
    use = getattr(result, "archive", None)
    making = Making(
        verb=call.verb,
        parameters={k: _named(v) for k, v in {**call.parameters, **call.files}.items()},
        files={
            name: folder.documents.keep(file.read_bytes(), file.suffix.lower()[1:] or "txt")
            for name, file in call.files.items()
            if file is not None and file.is_file()
        },
        document=folder.documents.keep(loaded.content, "toml"),
        resolved=folder.documents.keep(_text(to_document(loaded.case)), "json"),
        logs=_logs(loaded) if call.reads_logs else {},
        archive_lines=_lines(use) if isinstance(use, ArchiveUse) else (),
        journal_line=line,
        journal_hash=line_hash,
        journal_seen=journal_seen(folder),
        exact=exact_hash(result),
        environment=environment(__version__),
    )
    return folder.results.write(kind, to_document(result), to_document(making))


def _named(value: Any) -> Any:
    """Give a file by its name only: where it lay is nobody's concern elsewhere."""
    return value.name if isinstance(value, Path) else value


def journal_seen(folder: CaseFolder) -> dict[str, Any]:
    """
    Give the end of a case's journal as it stands, a look that was just written with it.

    Parameters
    ----------
    folder : CaseFolder
        Of the case.

    Returns
    -------
    dict
        ``lines`` and the hash ``sha256`` of the last one; empty while there is no line.
    """
    lines, digest = last_line(folder.journal.read()[0])
    return {"lines": lines, "sha256": digest} if lines else {}


def exact_hash(result: Any) -> str:
    """
    Hash a result at full precision.

    Parameters
    ----------
    result : object
        From a verb.

    Returns
    -------
    str
        SHA-256; the time of computing plays no part.
    """
    whole = to_document(result, EXACT)
    timeless = {key: value for key, value in whole.items() if key not in ("computed", "sheet")}
    return hashlib.sha256(_text(timeless)).hexdigest()


def _text(document: Any) -> bytes:
    """Write a document in one form only."""
    return json.dumps(document, sort_keys=True, indent=1, ensure_ascii=False).encode()


def _logs(loaded: Loaded) -> dict[str, str]:
    """Name the logs of all runs."""
    runs = loaded.case.runs
    return {f"{run.number}/{log.instrument}": log.sha256 for run in runs for log in run.logs}


def _lines(use: ArchiveUse) -> tuple[str, ...]:
    """Collect the lines of an archive that figures rest on."""
    return tuple(dict.fromkeys(line for figure in use.figures for line in figure.lines))
