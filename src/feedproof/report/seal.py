"""The mark in a report's page: which case it is of, and that nobody changed it since."""

import hashlib
import html
import json
import re
from dataclasses import asdict, dataclass

_NAME = "feedproof-report"
_TAG = re.compile(rf'<meta name="{_NAME}" content="([^"]*)">\n')


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """
    What a page says of itself.

    Parameters
    ----------
    title, vehicle : str
        Of the case.
    journal : str
        Hash of the first line of the case's journal, which no other case has; empty before there
        is one.
    result : str
        Id of the result that the page prints.
    paper_sha256 : str
        Hash of the PDF beside it.
    replaced_sha256 : str
        Hash of the PDF that stood there before, empty without one: a process that dies between
        its two files leaves the new page beside the old PDF.
    """

    title: str
    vehicle: str
    journal: str
    result: str
    paper_sha256: str
    replaced_sha256: str = ""

    def same_case(self, other: "Seal") -> bool:
        """Say whether both are of one case: by its journal, before there is one by its names."""
        if self.journal and other.journal:
            return self.journal == other.journal
        return (self.title, self.vehicle) == (other.title, other.vehicle)


def sealed(page: str, seal: Seal) -> str:
    """
    Put the mark into a page.

    Parameters
    ----------
    page : str
        A whole HTML document.
    seal : Seal
        What it says.

    Returns
    -------
    str
        The same document with one more meta tag in its head.
    """
    words = json.dumps({**asdict(seal), "page_sha256": _digest(page)}, ensure_ascii=False)
    tag = f'<meta name="{_NAME}" content="{html.escape(words)}">\n'
    return page.replace("</head>", f"{tag}</head>", 1)


def seal_of(page: str) -> Seal | None:
    """
    Read the mark of a page.

    Parameters
    ----------
    page : str
        Text of a file.

    Returns
    -------
    Seal or None
        None where the program did not write the page, or it was changed since.
    """
    found = _TAG.search(page)
    if found is None:
        return None
    try:
        words = json.loads(html.unescape(found[1]))
        digest = words.pop("page_sha256")
        seal = Seal(**words)
    except (ValueError, TypeError, KeyError, AttributeError):
        return None
    return seal if digest == _digest(_TAG.sub("", page, count=1)) else None


def _digest(page: str) -> str:
    """Hash a page without its mark."""
    return hashlib.sha256(page.encode()).hexdigest()
