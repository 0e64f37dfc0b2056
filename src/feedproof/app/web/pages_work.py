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
VERBS = {
    "verdict": "prove",
    "plan": "plan",
    "protection": "protect",
    "life": "service",
    "choice": "choose",
    "report": "publish",
}
"""Verb of each screen over long work."""


@router.get("/cases/{case}/work/{identity}")
def how_far(
    request: Request, case: str, identity: str, screen: str = "", query: str = ""
) -> Response:
    """Tell how far a piece of work is; a page that waited for it loads itself again at the end."""
    case_of(request)
    piece = work.state(request, identity)
    if not piece.is_open:
        return Response(status_code=200, headers={"HX-Refresh": "true"})
    return page(
        request, "working.html", piece=piece, back=_known(screen), query=query[:2000], at=case
    )


@router.post("/cases/{case}/work")
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
    path, parameters = case_of(request), _parameters(asked)
    latest = work.latest(request, path, VERBS[known], parameters)
    if latest is None or not latest.is_open:
        work.start(request, path, VERBS[known], parameters)
    return went_to(request, _address(case, known, query))


@router.post("/cases/{case}/work/{identity}/stop")
def stop(
    request: Request,
    case: str,
    identity: str,
    _: FormToken,
    screen: Annotated[str, Form()] = "",
    query: Annotated[str, Form()] = "",
) -> Response:
    """Stop a piece of work."""
    case_of(request)
    work.cancel(request, identity)
    return went_to(request, _address(case, _known(screen), query))


def _known(screen: str) -> str:
    """Take only a screen that there is: it becomes part of an address."""
    if screen not in VERBS:
        names = ", ".join(name for address, name in SCREENS if address in VERBS)
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
