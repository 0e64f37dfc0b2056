"""Mistakes of a document as findings: where, what was found, what is allowed, what to do."""

import difflib
import types
from collections.abc import Iterable, Mapping
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from feedproof.core.findings import Finding, Level, error, warning
from feedproof.records.document import CaseDocument
from feedproof.records.places import Location, line_of, lines_of, path_of, without_members
from feedproof.records.quantity import Problem, Quantity, shown
from feedproof.records.series import Level as LevelMarker
from feedproof.records.series import Series


class Places:
    """
    Writes findings about one document.

    Parameters
    ----------
    document : mapping
        As read from TOML.
    text : str
        Its text, for line numbers.
    name : str
        Name of its file.
    """

    def __init__(self, document: Mapping[str, Any], text: str, name: str) -> None:
        self.document = document
        self.name = name
        self._lines = lines_of(text)

    def place(self, location: Location) -> str:
        """
        Write where a key stands.

        Parameters
        ----------
        location : tuple of str or int
            Keys and positions.

        Returns
        -------
        str
            Such as ``case.toml line 12: line[steel_line].bore``.
        """
        line = line_of(self._lines, location)
        where = f" line {line}" if line else ""
        return f"{self.name}{where}: {path_of(self.document, location)}"

    def error(self, location: Location, message: str, remedy: str = "") -> Finding:
        """Make a finding that makes the document unusable."""
        return error(self.place(location), message, remedy)

    def warning(self, location: Location, message: str, remedy: str = "") -> Finding:
        """Make a finding that must be printed with the result."""
        return warning(self.place(location), message, remedy)


def did_you_mean(found: str, known: Iterable[str]) -> str:
    """
    Suggest the nearest known word.

    Parameters
    ----------
    found : str
        What was written.
    known : iterable of str
        What is known.

    Returns
    -------
    str
        A question, and the known words; only these where nothing is near.

    Examples
    --------
    >>> did_you_mean("boar", ["bore", "length"])
    'Did you mean "bore"? Known: bore, length.'
    """
    words = sorted(known)
    near = difflib.get_close_matches(found, words, n=1, cutoff=0.6)
    question = f'Did you mean "{near[0]}"? ' if near else ""
    listed = ", ".join(words[:30]) + (", ..." if len(words) > 30 else "")
    return f"{question}Known: {listed or 'none'}."


def model_findings(fault: ValidationError, places: Places) -> list[Finding]:
    """
    Turn what pydantic found into findings.

    Parameters
    ----------
    fault : ValidationError
        All faults of the document.
    places : Places
        The document.

    Returns
    -------
    list of Finding
        One or more for each fault, in the order of the document.
    """
    findings: list[Finding] = []
    for entry in fault.errors(include_url=False):
        location = without_members(places.document, entry["loc"])
        if entry["type"] == "quantity":
            problems: list[Problem] = entry["ctx"]["problems"]
            findings += [
                places.error((*location, *problem.key), problem.message, problem.remedy)
                for problem in problems
            ]
            continue
        message, remedy = _words(dict(entry), location, places)
        findings.append(places.error(location, message, remedy))
    return findings


def _words(entry: dict[str, Any], location: Location, places: Places) -> tuple[str, str]:
    """Say one fault in words of the document."""
    found = entry.get("input")
    context: Mapping[str, Any] = entry.get("ctx", {})
    match entry["type"]:
        case "missing":
            return "key is missing.", how_to_write(location, places.document)
        case "extra_forbidden":
            return (
                "key is not known here.",
                did_you_mean(str(location[-1]), _keys_at(location[:-1], places.document)),
            )
        case "literal_error":
            known = _literals(context.get("expected", ""))
            return f"{shown(found)} is not allowed.", did_you_mean(str(found), known)
        case "union_tag_not_found":
            return "the part has no kind.", f"Add kind: one of {context.get('discriminator', '')}."
        case "union_tag_invalid":
            known = _literals(context.get("expected_tags", ""))
            tag = str(context.get("tag"))
            return f"kind {shown(tag)} is not known.", did_you_mean(tag, known)
        case "string_pattern_mismatch":
            return f"{shown(found)} is not a name or hash of the allowed form.", (
                f"It must match {context.get('pattern')}."
            )
        case "datetime_type":
            return (
                f"{shown(found)} is not a date and time.",
                "Write it without quotes, such as 2026-09-14T09:42:00+02:00.",
            )
        case "greater_than_equal" | "less_than_equal":
            return f"{shown(found)} is out of range: {entry['msg'].lower()}.", "Check the number."
    is_table = isinstance(found, (Mapping, list))
    what = "" if is_table else f"{shown(found)}: "
    return f"{what}{entry['msg'][:1].lower()}{entry['msg'][1:]}.", "Write it as the guide shows."


def _literals(expected: str) -> list[str]:
    """Take the words out of pydantic's ``'a', 'b' or 'c'``."""
    return [word for word in expected.replace(" or ", ", ").replace("'", "").split(", ") if word]


def how_to_write(location: Location, document: object) -> str:
    """
    Show how a missing key is written.

    Parameters
    ----------
    location : tuple of str or int
        Where the key would stand.
    document : mapping
        As read from TOML.

    Returns
    -------
    str
        An example with the allowed range.
    """
    for annotation in _annotations(location, document):
        for marker in getattr(annotation, "__metadata__", ()):
            if isinstance(marker, Quantity):
                return f"Add it, {marker.example}; allowed is {marker.allowed}."
            if isinstance(marker, Series):
                return "Add it, as { unit = ..., values = [...] }."
            if isinstance(marker, LevelMarker):
                return 'Add it, such as "60 %" or "52 L".'
        if get_origin(annotation) is Literal:
            return f"Add it: one of {', '.join(str(word) for word in get_args(annotation))}."
    return "Add it."


def _keys_at(location: Location, document: object) -> set[str]:
    """List the keys that the table at a location may have."""
    known: set[str] = set()
    for annotation in _annotations(location, document):
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            known |= {field.alias or name for name, field in annotation.model_fields.items()}
    return known


def _annotations(location: Location, document: object) -> list[Any]:
    """Follow a location through the models; give what may stand there."""
    current: list[Any] = [CaseDocument]
    found: Any = document
    for step in location:
        if isinstance(found, Mapping):
            current = _members_of_kind(current, found.get("kind"))
        following: list[Any] = []
        for annotation in current:
            following += _below(annotation, step)
        current = following
        found = _entry(found, step)
    return _members_of_kind(current, found.get("kind") if isinstance(found, Mapping) else None)


def _entry(found: Any, step: str | int) -> Any:
    """Give what the document holds one step below."""
    if isinstance(found, Mapping):
        return found.get(str(step))
    if isinstance(found, list) and isinstance(step, int) and step < len(found):
        return found[step]
    return None


def _members_of_kind(annotations: list[Any], kind: object) -> list[Any]:
    """Keep the one member of a union of parts that the document names."""
    chosen = [
        annotation
        for annotation in annotations
        if isinstance(annotation, type)
        and issubclass(annotation, BaseModel)
        and "kind" in annotation.model_fields
        and kind in get_args(annotation.model_fields["kind"].annotation)
    ]
    return chosen or annotations


def _below(annotation: Any, step: str | int) -> list[Any]:
    """Give the annotations one step below a model, list or mapping."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        for name, field in annotation.model_fields.items():
            if (field.alias or name) == step:
                whole: Any = field.annotation
                if field.metadata and not isinstance(step, int):
                    whole = Annotated[whole, *field.metadata]
                return _flat(whole)
        return []
    arguments = get_args(annotation)
    return _flat(arguments[-1]) if arguments else []


def _flat(annotation: Any) -> list[Any]:
    """Take unions and the wrapping of discriminated ones apart."""
    origin = get_origin(annotation)
    if origin is Annotated:
        inner = get_args(annotation)[0]
        if get_origin(inner) in (Union, types.UnionType, list, dict):
            return _flat(inner)
        return [annotation]
    if origin in (Union, types.UnionType):
        return [item for part in get_args(annotation) for item in _flat(part)]
    return [annotation]


def errors_only(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """
    Keep the findings that make a document unusable.

    Parameters
    ----------
    findings : iterable of Finding
        Of one document.

    Returns
    -------
    tuple of Finding
        Its errors.
    """
    return tuple(finding for finding in findings if finding.level is Level.ERROR)
