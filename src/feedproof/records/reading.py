"""Read a case document: a case without mistakes, or every mistake at once."""

import hashlib
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from feedproof.case.case import Case
from feedproof.case.margin import Margins, Measure
from feedproof.core.findings import Finding, error, has_errors, warning
from feedproof.records.conversion import case_of, margins_of
from feedproof.records.crosscheck import cross_findings
from feedproof.records.document import FORMAT, VERSION, CaseDocument
from feedproof.records.journal import Entry
from feedproof.records.mistakes import Places, model_findings
from feedproof.records.quantity import shown

LARGEST_BYTES = 20_000_000
MARGINS_DECLARED = "margins declared"
RUN_EXCLUDED = "run excluded"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """
    What a document says.

    Parameters
    ----------
    case : Case or None
        None when there is an error.
    findings : tuple of Finding
        Errors and warnings.
    sha256 : str
        Hash of the document's bytes.
    content : bytes
        The document's bytes; none where they could not be read.
    """

    case: Case | None
    findings: tuple[Finding, ...]
    sha256: str
    content: bytes = b""


def margins_digest(margins: Margins) -> str:
    """
    Hash what the margins say, so that a declaration belongs to exactly these figures.

    Parameters
    ----------
    margins : Margins
        Their date and source play no part, nor does the way a figure is written.

    Returns
    -------
    str
        Sixteen hexadecimal digits.
    """
    figures = (
        margins.wheel_power_fraction,
        margins.caught_return_fraction,
        margins.return_do_not_release_fraction,
        margins.rail_deviation_pa,
        margins.rail_deviation_s,
    )
    text = " ".join(f"{figure:.12g}" for figure in figures)
    # What is left out of a document is left out here, so that a digest does not change with the
    # format.
    if margins.looks:
        text += f" looks {' '.join(map(str, margins.looks))}"
    if margins.primary is not Measure.WHEEL_POWER:
        text += f" primary {margins.primary.value}"
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def read_case(path: Path, journal: Sequence[Entry] = ()) -> Reading:
    """
    Read and check a case document.

    Parameters
    ----------
    path : Path
        ``case.toml``.
    journal : sequence of Entry
        The case's journal, for the date of the margins and for excluded runs.

    Returns
    -------
    Reading
        The case, or None with every mistake.
    """
    name = path.name
    try:
        size = path.stat().st_size
        content = path.read_bytes() if size <= LARGEST_BYTES else b""
    except OSError as fault:
        finding = error(name, f"cannot be read: {fault.strerror}.", "Name the folder of a case.")
        return Reading(case=None, findings=(finding,), sha256="")
    if size > LARGEST_BYTES:
        finding = error(name, f"holds {size} bytes.", "A case document is smaller than 20 MB.")
        return Reading(case=None, findings=(finding,), sha256="")
    return read_content(content, name, journal)


def read_content(content: bytes, name: str, journal: Sequence[Entry] = ()) -> Reading:
    """
    Read and check the bytes of a case document.

    Parameters
    ----------
    content : bytes
        As they stand in the file, or would.
    name : str
        Name of its file.
    journal : sequence of Entry
        The case's journal.

    Returns
    -------
    Reading
        The case, or None with every mistake.
    """
    digest = hashlib.sha256(content).hexdigest()
    parsed = _parsed(content, name)
    if isinstance(parsed, Finding):
        return Reading(case=None, findings=(parsed,), sha256=digest, content=content)
    text, document = parsed
    reading = read_document(document, text, name, journal)
    return replace(reading, sha256=digest, content=content)


def read_document(
    document: Mapping[str, Any], text: str, name: str, journal: Sequence[Entry] = ()
) -> Reading:
    """
    Check a document that was read from TOML.

    Parameters
    ----------
    document : mapping
        As read from TOML.
    text : str
        Its text, for line numbers.
    name : str
        Name of its file.
    journal : sequence of Entry
        The case's journal.

    Returns
    -------
    Reading
        The case, or None with every mistake; without a hash.
    """
    places = Places(document, text, name)
    foreign = _foreign(document, places)
    if foreign is not None:
        return Reading(case=None, findings=(foreign,), sha256="")
    findings: list[Finding] = []
    model = None
    try:
        model = CaseDocument.model_validate(document)
    except ValidationError as fault:
        findings += model_findings(fault, places)
    findings += cross_findings(document, places)
    findings = list(dict.fromkeys(findings))
    if model is None or has_errors(findings):
        return Reading(case=None, findings=tuple(findings), sha256="")
    agreed = margins_of(model.margins)
    declared = _declared(agreed, journal)
    if declared is None:
        findings.append(
            warning(
                places.place(("margins",)),
                "these margins stand in no line of the journal: verdicts will be void.",
                "Declare them before the first run with a kit: feedproof declare CASE.",
            )
        )
    margins = replace(agreed, declared=declared)
    case = case_of(model, margins, _excluded(journal))
    return Reading(case=case, findings=tuple(findings), sha256="")


_DEEPEST = 100
# The reader of TOML takes the square of a key's parts in time: 20,000 of them take ten seconds.
_DEEP_KEY = re.compile(rf"^[ \t]*\[*(?:[A-Za-z0-9_-]{{1,64}}\.){{{_DEEPEST}}}", re.MULTILINE)


def _parsed(content: bytes, name: str) -> tuple[str, dict[str, Any]] | Finding:
    """Read TOML, or say where it breaks."""
    try:
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as fault:
        line = content[: fault.start].count(b"\n") + 1
        return error(f"{name} line {line}", "is not text in UTF-8.", "Save the file as UTF-8.")
    if not text.strip():
        return error(name, "is empty.", "Start from a template: feedproof new CASE.")
    if deep := _DEEP_KEY.search(text):
        line = text[: deep.start()].count("\n") + 1
        return error(
            f"{name} line {line}",
            f"a key of more than {_DEEPEST} parts, joined by points.",
            "Mend the line; no key of a case has more than a few.",
        )
    try:
        return text, tomllib.loads(text)
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as fault:
        words = str(fault) or "nested too deeply"
        return error(name, f"cannot be read as TOML: {words}.", "Mend the line and check again.")


def _foreign(document: Mapping[str, Any], places: Places) -> Finding | None:
    """Say whether this is no case document of a version that is known here."""
    found, version = document.get("format"), document.get("version")
    if found != FORMAT:
        return places.error(
            ("format",), f"found {shown(found)}.", f'A case begins with format = "{FORMAT}".'
        )
    if isinstance(version, int) and not isinstance(version, bool) and version > VERSION:
        return places.error(
            ("version",),
            f"version {shown(version)} was written by a newer feedproof;"
            f" this one reads up to {VERSION}.",
            "Update feedproof.",
        )
    return None


def _declared(margins: Margins, journal: Sequence[Entry]) -> datetime | None:
    """Give the date of the first line that declares exactly these margins since the last change."""
    digest = margins_digest(margins)
    declared = None
    for entry in journal:
        if entry.what != MARGINS_DECLARED:
            continue
        same = entry.data.get("digest") == digest
        # Declared again unchanged, the first date stands; changed in between, it starts anew.
        declared = (declared or entry.when) if same else None
    return declared


def _excluded(journal: Sequence[Entry]) -> dict[int, str]:
    """Give the reasons of excluded runs; a later line takes an exclusion back."""
    reasons: dict[int, str] = {}
    for entry in journal:
        number = entry.data.get("run")
        if isinstance(number, int) and entry.what == RUN_EXCLUDED:
            reasons[number] = f"{entry.why} ({entry.who}, {entry.when:%Y-%m-%d})"
        elif isinstance(number, int) and entry.what == "run taken back":
            reasons.pop(number, None)
    return reasons
