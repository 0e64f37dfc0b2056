"""What the result screens have in common."""

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from feedproof.core.findings import Finding
from feedproof.report.content import BANNER
from feedproof.report.gallery import Section


def banner_of(note: str) -> str:
    """
    Give the banner of invented data.

    Parameters
    ----------
    note : str
        Of the case.

    Returns
    -------
    str
        Empty for data that somebody measured.
    """
    return BANNER if "invented" in note.lower() else ""


def told(findings: Iterable[Finding]) -> list[dict[str, str]]:
    """
    Write findings as a page tells them.

    Parameters
    ----------
    findings : iterable of Finding
        In any order.

    Returns
    -------
    list of dict
        Each once, mistakes first, notes last.
    """
    weights = {"error": 0, "warning": 1, "note": 2}
    once = sorted(dict.fromkeys(findings), key=lambda one: weights[one.level.value])
    return [
        {
            "level": one.level.value,
            "place": one.place,
            "message": one.message,
            "remedy": one.remedy,
        }
        for one in once
    ]


def sections(all_of: Iterable[Section]) -> list[dict[str, Any]]:
    """
    Write sections of a page as plain data.

    Parameters
    ----------
    all_of : iterable of Section
        As the printed page has them.

    Returns
    -------
    list of dict
        Title, sentences, pictures, tables.
    """
    return [asdict(each) for each in all_of]
