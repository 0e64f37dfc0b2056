"""A page of pictures with their sentences and numbers, for verbs that are not the whole report."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from feedproof.report.cautions import CAUTIONS
from feedproof.report.content import BANNER, OUT_OF_SCOPE
from feedproof.report.model import Table
from feedproof.report.page import rendered


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """
    One section of the page.

    Parameters
    ----------
    title : str
        Heading.
    sentences : tuple of str
        What is said.
    wide, narrow : str
        The picture as SVG, for a screen and for a phone; empty without one.
    tables : tuple of Table
        Shown.
    folded : tuple of Table
        The picture in numbers, folded away.
    """

    title: str
    sentences: tuple[str, ...]
    wide: str = ""
    narrow: str = ""
    tables: tuple[Table, ...] = ()
    folded: tuple[Table, ...] = ()


def gallery_html(
    *,
    title: str,
    topic: str,
    vehicle: str,
    program_version: str,
    invented: bool,
    answers: Sequence[str],
    sections: Sequence[Section],
    findings: Sequence[str],
) -> str:
    """
    Write the page.

    Parameters
    ----------
    title, topic, vehicle : str
        Of the case; what the page is about.
    program_version : str
        Version.
    invented : bool
        True for invented data, which the page then says at its head and foot.
    answers : sequence of str
        First sentences.
    sections : sequence of Section
        The page's body.
    findings : sequence of str
        What must be known.

    Returns
    -------
    str
        A whole document: no script, no request, nothing outside the file; the cautions at its end.
    """
    return rendered(
        "gallery.html",
        {
            "title": title,
            "topic": topic,
            "vehicle": vehicle,
            "version": program_version,
            "banner": BANNER if invented else "",
            "scope": OUT_OF_SCOPE,
            "answers": list(answers),
            "sections": [asdict(each) for each in sections],
            "findings": list(findings),
            "cautions": CAUTIONS,
        },
    )
