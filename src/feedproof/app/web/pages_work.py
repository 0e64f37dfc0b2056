"""Long work on a page: how far it is, begin, stop."""

import json
from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from feedproof.app.web import work
from feedproof.app.web.access import FormToken
from feedproof.app.web.screen import SCREENS, case_of, page, went_to
from feedproof.core.errors import InputError

router = APIRouter()
WORKING = ("verdict", "plan", "protection", "life", "choice", "report")
"""Screens over long work."""


@router.get("/cases/{case}/jobs/{identity}")
def how_far(
    request: Request,
    case: str,  # noqa: ARG001
    identity: str,
    screen: str = "",
    query: str = "",
) -> Response:
    """Tell how far a piece of work is; a page that waited for it loads itself again at the end."""
    job = work.state(request, case_of(request), identity)
    if job.state.has_ended:
        return Response(status_code=200, headers={"HX-Refresh": "true"})
    return page(
        request,
        "progress.html",
        job=job,
        told=work.told,
        back=_known(screen),
        query=query[:2000],
    )


@router.post("/cases/{case}/jobs")
def begin(
    request: Request,
    case: str,
    _: FormToken,
    screen: Annotated[str, Form()] = "",
    asked: Annotated[str, Form()] = "{}",
    query: Annotated[str, Form()] = "",
) -> Response:
    """Begin the work of a screen."""
    known = _known(screen)
    work.start(request, case_of(request), known, _parameters(asked))
    return went_to(request, _address(case, known, query))


@router.post("/cases/{case}/jobs/{identity}/stop")
def stop(
    request: Request,
    case: str,
    identity: str,
    _: FormToken,
    screen: Annotated[str, Form()] = "",
    query: Annotated[str, Form()] = "",
) -> Response:
    """Stop a piece of work."""
    work.cancel(request, case_of(request), identity)
    return went_to(request, _address(case, _known(screen), query))


def _known(screen: str) -> str:
    """Take only a screen that there is: it becomes part of an address."""
    if screen not in WORKING:
        names = ", ".join(name for address, name in SCREENS if address in WORKING)
        raise InputError.at("screen", f"{screen[:40]!r} is none with work.", f"There are: {names}.")
    return screen


def _parameters(text: str) -> Mapping[str, Any]:
    """Read what a page asks for; the verb checks it."""
    try:
        found = json.loads(text)
    except ValueError as fault:
        raise InputError.at("asked", f"is no JSON: {fault}.", "Load the page again.") from fault
    if not isinstance(found, dict):
        raise InputError.at("asked", "is no list of parameters.", "Load the page again.")
    return found


def _address(case: str, screen: str, query: str) -> str:
    """Give the address of a screen as it was asked."""
    return f"/cases/{case}/{screen}" + (f"?{query[:2000]}" if query else "")
