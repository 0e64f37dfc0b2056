"""A screen over long work: the last result at once, the work beside it, mistakes in place."""

import re
from collections.abc import Mapping
from typing import Any

from fastapi import Request
from starlette.responses import Response

from feedproof.app.web import work
from feedproof.app.web.numbers import with_comma
from feedproof.app.web.screen import case_of, page, preferences_of
from feedproof.core.errors import FeedproofError
from feedproof.core.findings import Finding
from feedproof.records.folder import CaseFolder

Parameters = Mapping[str, Any]
_LETTERS = re.compile(r"(?<=>)[^<>]*\d[^<>]*(?=</text>|</tspan>|</title>|</desc>)")


def mistakes_of(request: Request) -> tuple[Finding, ...]:
    """
    Find what keeps a case from being computed.

    Parameters
    ----------
    request : Request
        Names the case.

    Returns
    -------
    tuple of Finding
        Empty when it can be used.
    """
    try:
        reading = CaseFolder.open(case_of(request)).read()
    except FeedproofError as fault:
        return fault.findings
    return tuple(one for one in reading.findings if one.level == "error")


def long_page(
    request: Request,
    *,
    screen: str,
    verb: str,
    parameters: Parameters | None = None,
    starts_itself: bool = True,
    faults: tuple[Finding, ...] = (),
    **content: Any,
) -> Response:
    """
    Answer with a screen over long work, which is started where nothing current is there.

    Parameters
    ----------
    request : Request
        Who asks.
    screen : str
        Its address, which also names its template.
    verb : str
        What is computed.
    parameters : mapping, optional
        Of the verb.
    starts_itself : bool
        False for work that leaves something behind in the case: that begins with a button.
    faults : tuple of Finding
        Mistakes in what was asked; nothing is computed then.
    **content : object
        For the template.

    Returns
    -------
    Response
        The page.
    """
    path, asked = case_of(request), dict(parameters or {})
    mistakes = mistakes_of(request)
    last = work.last(request, path, verb, asked)
    piece = work.latest(request, path, verb, asked)
    is_current = last is not None and last.is_current
    if not (mistakes or faults or is_current) and piece is None and starts_itself:
        piece = work.state(request, work.start(request, path, verb, asked))
    return page(
        request,
        f"{screen}.html",
        screen=screen,
        mistakes=mistakes,
        faults=faults,
        shown=None if last is None else last.shown,
        made=None if last is None else f"{last.made:%Y-%m-%d %H:%M} UTC",
        is_current=is_current,
        piece=None if piece is None or (is_current and not piece.is_open) else piece,
        starts_itself=starts_itself,
        asked=asked,
        query=request.url.query,
        lettered=_lettered if preferences_of(request).settings.decimal_comma else str,
        **content,
    )


def _lettered(picture: str) -> str:
    """Write the numbers in a picture's words, and only those, with a decimal comma."""
    return _LETTERS.sub(lambda found: with_comma(found[0]), picture)
