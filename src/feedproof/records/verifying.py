"""Hash again everything that a case folder keeps, and say what is not as it was written."""

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from feedproof.core.errors import FeedproofError
from feedproof.core.findings import Finding, error, note
from feedproof.records.channel_cache import channel_faults
from feedproof.records.folder import CASE, CaseFolder
from feedproof.records.journal import Entry
from feedproof.records.names import CHANNELS
from feedproof.records.reading import Reading

Made = tuple[str, Mapping[str, Any]]
"""A result's id, and how it was made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verified:
    """
    What hashing a case again has shown.

    Parameters
    ----------
    raw, channels, documents, results, lines : int
        Raw files, channel files, documents, results and lines of the journal that were looked at.
    findings : tuple of Finding
        What is not as it was written.
    """

    raw: int
    channels: int
    documents: int
    results: int
    lines: int
    findings: tuple[Finding, ...]


def verify_folder(folder: CaseFolder, told: Callable[[str], None]) -> Verified:
    """
    Hash a case again.

    Parameters
    ----------
    folder : CaseFolder
        Of the case.
    told : callable
        Called with what is being looked at.

    Returns
    -------
    Verified
        Counts and findings; no error among them means that all is as it was written.
    """
    told("reading document and journal")
    reading = folder.read()
    entries, _ = folder.journal.read()
    findings = [f for f in reading.findings if f.level != "note"]
    findings += _journal_form(folder)
    told("hashing raw files")
    raw, channels = _raw_files(folder.raw_logs.path, _logs_of(reading))
    findings += _raw_faults(raw)
    told("hashing channels")
    findings += [error(_shown(folder, f), words) for f in channels if (words := channel_faults(f))]
    told("hashing documents")
    documents = folder.documents.all()
    findings += _refused(folder.documents.read, documents)
    told("hashing results")
    results = folder.results.all()
    findings += _refused(folder.results.read, results)
    made = list(_making(folder, results))
    findings += _unsupported(folder, made, entries)
    if made and hashlib.sha256(reading.content).hexdigest() not in _documents_of(made):
        findings.append(
            note(
                CASE,
                "has changed since the last result was computed: no hash vouches for it.",
                "Nothing to do where you edited it; results keep the document they came from.",
            )
        )
    return Verified(
        raw=len(raw),
        channels=len(channels),
        documents=len(documents),
        results=len(results),
        lines=len(entries),
        findings=tuple(dict.fromkeys(findings)),
    )


def _shown(folder: CaseFolder, file: Path) -> str:
    """Name a file inside the folder."""
    return file.relative_to(folder.path).as_posix()


def _journal_form(folder: CaseFolder) -> Iterator[Finding]:
    """Find a torn end, and lines that say the same in other bytes than they were written in."""
    path = folder.journal.path
    if not path.is_file():
        return
    lines = path.read_bytes().split(b"\n")
    if lines[-1]:
        yield error(f"{path.name} line {len(lines)}", "is torn: it does not end.", "Restore it.")
    for number, line in enumerate(lines[:-1], start=1):
        try:
            again = json.dumps(json.loads(line), ensure_ascii=False).encode()
        except (ValueError, RecursionError):
            return  # Reading the chain has told it.
        if again != line:
            yield error(f"{path.name} line {number}", "is not in the form it was written in.")


def _logs_of(reading: Reading) -> set[tuple[str, str]]:
    """Name the logs of all runs by hash and name."""
    runs = reading.case.runs if reading.case else ()
    return {(log.sha256, log.name) for run in runs for log in run.logs}


def _raw_files(path: Path, logs: set[tuple[str, str]]) -> tuple[list[Path], list[Path]]:
    """List raw files, and the channel files beside them; what a run names is raw in any case."""
    files = [f for f in sorted(path.glob("**/*")) if f.is_file() and not f.name.startswith(".")]
    kept = [f for f in files if CHANNELS.match(f.name) and (f.parent.name, f.name) not in logs]
    raw = [file for file in files if file not in kept]
    return raw, [file for file in kept if file.suffix == ".parquet"]


def _raw_faults(files: list[Path]) -> Iterator[Finding]:
    """Find raw files that are not what the name of their folder says."""
    for file in files:
        with file.open("rb") as stream:
            digest = hashlib.file_digest(stream, "sha256").hexdigest()
        if digest != file.parent.name:
            place = f"raw/{file.parent.name[:12]}.../{file.name}"
            yield error(place, f"was changed: its hash is {digest[:12]}....", "Restore it.")


def _refused(read: Callable[[str], Any], names: tuple[str, ...]) -> Iterator[Finding]:
    """Read each, and give what was said of those that are not as they were."""
    for name in names:
        try:
            read(name)
        except FeedproofError as fault:
            yield from fault.findings


def _making(folder: CaseFolder, results: tuple[str, ...]) -> Iterator[Made]:
    """Give how the readable results were made."""
    for identity in results:
        try:
            made = folder.results.read(identity).get("made")
        except FeedproofError:
            continue
        if isinstance(made, Mapping):
            yield identity, made


def _documents_of(made: list[Made]) -> set[str]:
    """Give the hashes of the case documents that results came from."""
    return {str(each["document"]).split(".")[0] for _, each in made}


def _unsupported(
    folder: CaseFolder, made: list[Made], entries: tuple[Entry, ...]
) -> Iterator[Finding]:
    """Find results whose documents, logs or line of the journal are not there any more."""
    documents = set(folder.documents.all())
    raw = {f.name for f in folder.raw_logs.path.glob("*") if f.is_dir()}
    hashes = {entry.seq: entry.hash for entry in entries}
    for identity, each in made:
        place = f"results/{identity}.json"
        for name in (each["document"], each["resolved"], *each["files"].values()):
            if name not in documents:
                yield error(place, f"was made from documents/{name[:12]}..., which is not there.")
        for log, digest in each["logs"].items():
            if digest not in raw:
                yield error(place, f"was made from log {log}, which is not in raw.")
        line = each["journal_line"]
        if line and hashes.get(line) != each["journal_hash"]:
            yield error(
                place,
                f"was made when the journal had {line} lines; line {line} is not there as it was.",
                "Lines were cut off or written anew: restore the journal from a backup.",
            )
