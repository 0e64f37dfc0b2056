"""
Findings: what a reader of a document, a log or a calculation must be told.

A finding is a value, not an exception: all findings of a document are collected and shown
together, and none hides another.
"""

from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How much a finding weighs."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """
    One thing that somebody must know, and what to do about it.

    Parameters
    ----------
    level : Level
        ``error`` makes the document unusable, ``warning`` must be printed with the result,
        ``note`` records what was done.
    place : str
        File, line, key, channel, run or part that it is about.
    message : str
        What was found, with value and unit, and what is allowed.
    remedy : str
        What to do.
    """

    level: Level
    place: str
    message: str
    remedy: str = ""

    def __str__(self) -> str:
        """Write the finding as one line."""
        remedy = f" {self.remedy}" if self.remedy else ""
        return f"{self.level}: {self.place}: {self.message}{remedy}"


def error(place: str, message: str, remedy: str = "") -> Finding:
    """Make a finding that makes its document unusable."""
    return Finding(level=Level.ERROR, place=place, message=message, remedy=remedy)


def warning(place: str, message: str, remedy: str = "") -> Finding:
    """Make a finding that must be printed with the result."""
    return Finding(level=Level.WARNING, place=place, message=message, remedy=remedy)


def note(place: str, message: str, remedy: str = "") -> Finding:
    """Make a finding that records what was done."""
    return Finding(level=Level.NOTE, place=place, message=message, remedy=remedy)


def has_errors(findings: tuple[Finding, ...] | list[Finding]) -> bool:
    """
    Say whether any finding makes its document unusable.

    Parameters
    ----------
    findings : sequence of Finding
        Findings of one document.

    Returns
    -------
    bool
        True when at least one is an error.
    """
    return any(finding.level is Level.ERROR for finding in findings)
