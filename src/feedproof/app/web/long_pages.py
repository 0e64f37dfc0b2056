"""A screen over long work: the last result at once, the work beside it, mistakes in place."""

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from fastapi import Request
from starlette.responses import Response

from feedproof.app.jobs.record import State
from feedproof.app.web import work
from feedproof.app.web.case_tables import TABLES
from feedproof.app.web.screen import case_of, notation_of, page
from feedproof.app.web.shown.sources import in_units
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding
from feedproof.records.folder import CaseFolder

Parameters = Mapping[str, Any]
_NEEDS = re.compile(r"^\w+ needs \[\w+\] and the case declares none; nothing is guessed in")


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
        Its address, which also names its work and its template.
    parameters : mapping, optional
        Of the work.
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
    last, job = None, None
    if not faults:
        try:
            # First the work: were it the other way round, work that ends in between would leave
            # the older result on the page and nothing to wait for.
            job = work.newest(request, path, screen, asked)
            last = work.last(request, path, screen, asked)
            may_start = starts_itself and not mistakes and (last is None or not last.is_current)
            is_idle = job is None or job.state is State.INTERRUPTED
            if may_start and is_idle:
                job = work.start(request, path, screen, asked)
        except InputError as fault:
            faults = fault.findings
    why = job.findings if job is not None else ()
    # The work names a table that the case does not have: that is filled in elsewhere.
    lacking = dict.fromkeys(one.place for one in (*faults, *why) if one.place in TABLES)
    return page(
        request,
        f"{screen}.html",
        screen=screen,
        mistakes=mistakes,
        faults=[_at_field(one) for one in faults],
        why=[_at_field(one) for one in why],
        shown=None if last is None else in_units(last.result, notation_of(request)),
        made="" if last is None else moment(last.computed),
        is_current=last is not None and last.is_current,
        changes=() if last is None else last.changes,
        job=job,
        lacking={place: TABLES[place] for place in lacking},
        told=work.told,
        asked=asked,
        query=request.url.query,
        **content,
    )


def moment(text: str) -> str:
    """
    Write a moment as a page does.

    Parameters
    ----------
    text : str
        ISO 8601.

    Returns
    -------
    str
        To the minute, in UTC.

    Examples
    --------
    >>> moment("2026-09-14T09:42:17.123+00:00")
    '2026-09-14 09:42 UTC'
    """
    return f"{datetime.fromisoformat(text).astimezone(UTC):%Y-%m-%d %H:%M} UTC"


def _at_field(finding: Finding) -> Finding:
    """Name a field of the page where a finding names an option of the command line."""
    if finding.place in TABLES:
        said = _NEEDS.sub("is not filled in for this case; nothing is guessed in", finding.message)
        return replace(finding, place=TABLES[finding.place], message=said)
    place = finding.place.removeprefix("parameters.").removeprefix("--")
    if place == finding.place:
        return finding
    words = place.replace("-", " ").replace("_", " ")
    return replace(finding, place=f"{words[:1].upper()}{words[1:]}")
