"""The report as one page: no script, no request, nothing outside the file."""

import base64
import functools
import hashlib
from pathlib import Path
from typing import Any

from feedproof.report import envelope_words
from feedproof.report.content import (
    BANNER,
    OUT_OF_SCOPE,
    Content,
    content_of,
    envelope_content,
    limit_words,
)
from feedproof.report.model import Publication

HERE = Path(__file__).parent
ICON = (
    "data:image/svg+xml,"
    "%3Csvg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 16 16'%3E"
    "%3Cpath d='M1 3h4v4h4v4h6' fill='none' stroke='%230072B2' stroke-width='2'/%3E%3C/svg%3E"
)


def page_html(publication: Publication) -> str:
    """
    Write the report as one HTML page.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    str
        A whole document with its typeface, style sheet and pictures inside; its content policy
        allows nothing else.
    """
    return rendered("page.html", content_of(publication))


def envelope_html(publication: Publication) -> str:
    """
    Write the envelope maps alone as one HTML page.

    Parameters
    ----------
    publication : Publication
        With its envelopes.

    Returns
    -------
    str
        A whole document, as `page_html`.
    """
    content = {
        "title": publication.title,
        "banner": BANNER if publication.invented else "",
        "vehicle": publication.vehicle_name,
        "version": publication.program_version,
        "scope": OUT_OF_SCOPE,
        "limit": limit_words(publication),
        "key": envelope_words.KEY,
        "envelopes": [envelope_content(publication, each) for each in publication.envelopes],
    }
    return rendered("envelope.html", content)


def rendered(template: str, content: Content, more_style: str = "") -> str:
    """
    Fill a template and put style and icon into it.

    Parameters
    ----------
    template : str
        File in this room.
    content : dict
        What it fills in.
    more_style : str
        Style sheet of this template alone.

    Returns
    -------
    str
        A whole document.
    """
    style = _style() + more_style
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    filled: str = (
        _environment()
        .get_template(template)
        .render(**content, style=style, style_hash=f"sha256-{digest}", icon=ICON)
    )
    return filled


@functools.cache
def _style() -> str:
    """Read the style sheet and put the typeface into it."""
    style = (HERE / "page.css").read_text(encoding="utf-8")
    for cut in ("Regular", "SemiBold"):
        font = base64.b64encode((HERE / f"fonts/FeedproofSans-{cut}.ttf").read_bytes()).decode()
        style = style.replace(f"FONT-{cut}", f"data:font/ttf;base64,{font}")
    return style


@functools.cache
def _environment() -> Any:
    """Find templates, with escaping on and missing names an error."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(HERE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
