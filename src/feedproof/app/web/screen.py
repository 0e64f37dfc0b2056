"""Pages from templates: one frame, one set of words for every screen."""

import functools
import json
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from fastapi import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from feedproof import __version__
from feedproof.app.web import numbers
from feedproof.app.web.access import access_of
from feedproof.app.web.place_names import PlaceNames
from feedproof.app.web.preferences import Preferences
from feedproof.app.web.sessions import TOKEN_HEADER
from feedproof.app.web.workspace import Workspace, is_demo
from feedproof.core.errors import FeedproofError
from feedproof.records.folder import CASE
from feedproof.report.notation import Notation

HERE = Path(__file__).parent
WHO_COOKIE = "feedproof_who"
GUIDE_COOKIE = "feedproof_guide"
A_YEAR_S = 365 * 24 * 3600
SCREENS = (
    ("vehicle", "Vehicle and kits"),
    ("what-if", "What if"),
    ("plan", "Plan"),
    ("runs", "Runs"),
    ("verdict", "Verdict"),
    ("protection", "Protection"),
    ("life", "Life"),
    ("choice", "Choice"),
    ("report", "Report"),
)
"""Screens of a case in the order of the job: address, name."""


def workspace_of(request: Request) -> Workspace:
    """Give the server's workspace, for a route."""
    workspace: Workspace = request.app.state.workspace
    return workspace


def preferences_of(request: Request) -> Preferences:
    """Give the workshop's preferences, for a route."""
    preferences: Preferences = request.app.state.preferences
    return preferences


def notation_of(request: Request) -> Notation:
    """Give the units that pictures for this workshop are written in, for a route."""
    return numbers.notation_for(dict(preferences_of(request).settings.units))


def case_of(request: Request) -> Path:
    """
    Give the folder of the case that an address names.

    Raises
    ------
    MissingError
        There is none.
    """
    return workspace_of(request).case(request.path_params["case"])


def who_of(request: Request) -> str:
    """Give the name that this browser signed with last; empty where it never did."""
    return unquote(request.cookies.get(WHO_COOKIE, ""))[:100]


def is_fragment(request: Request) -> bool:
    """Say whether a page asks for a part of itself."""
    return request.headers.get("hx-request") == "true"


def page(
    request: Request, template: str, *, status: int = 200, screen: str = "", **content: Any
) -> HTMLResponse:
    """
    Answer with a page, or a part of one.

    Parameters
    ----------
    request : Request
        Who asks.
    template : str
        File in ``templates``.
    status : int
        HTTP status.
    screen : str
        Address of the screen, one of `SCREENS`; empty outside a case.
    **content : object
        What the template fills in.

    Returns
    -------
    HTMLResponse
        With the session's cookie where it is new.
    """
    access = access_of(request)
    session = request.state.session
    preferences = preferences_of(request)
    settings = preferences.settings
    text = (
        _environment()
        .get_template(template)
        .render(
            **content,
            version=__version__,
            screens=SCREENS,
            screen=screen,
            case=request.path_params.get("case", ""),
            who=who_of(request),
            is_fragment=is_fragment(request),
            has_password=access.needs_password,
            is_known=session.is_known,
            token=access.sessions.token(session),
            token_header=json.dumps({TOKEN_HEADER: access.sessions.token(session)}),
            theme={None: "", True: "dark", False: "light"}[settings.dark_mode],
            decimal_comma=settings.decimal_comma,
            lettered=numbers.lettered if settings.decimal_comma else str,
            # The walk speaks of invented data: beside a real vehicle that would be false.
            guide=request.cookies.get(GUIDE_COOKIE, "")
            if is_demo(request.path_params.get("case", ""))
            else "",
            named=_place_names(request),
            preferences_fault=preferences.fault,
            words=numbers.with_comma if settings.decimal_comma else str,
            unit=functools.partial(numbers.unit_for, dict(settings.units)),
            quantity=_quantity(dict(settings.units), is_comma=settings.decimal_comma),
        )
    )
    response = HTMLResponse(text, status_code=status)
    if request.state.session_is_new:
        response.set_cookie(**access.cookie(session))
    return response


def _place_names(request: Request) -> PlaceNames:
    """Name places of the case that a page is about; an address may name one that is not there."""
    try:
        file = case_of(request) / CASE if "case" in request.path_params else None
    except FeedproofError:
        file = None
    return PlaceNames(file)


def went_to(request: Request, address: str) -> Response:
    """
    Send a browser on after a form, with or without script.

    Parameters
    ----------
    request : Request
        The form.
    address : str
        Path on this server.

    Returns
    -------
    Response
        A redirect that both understand.
    """
    redirect = RedirectResponse(address, status_code=303)
    if is_fragment(request):
        # Written as in a redirect: what was sent with the form must not write a header's text.
        return Response(status_code=204, headers={"HX-Redirect": redirect.headers["location"]})
    return redirect


def signed_by(response: Response, who: str) -> Response:
    """Remember on this browser who signed."""
    response.set_cookie(
        WHO_COOKIE, quote(who[:100]), max_age=A_YEAR_S, httponly=True, samesite="strict"
    )
    return response


def _quantity(units: dict[str, str], *, is_comma: bool) -> Any:
    """Give what writes a quantity in the workshop's unit."""

    def written(value_si: float, kind: str, decimals: int | None = None) -> str:
        unit = numbers.unit_for(units, kind)
        places = numbers.DECIMALS.get(unit, 1) if decimals is None else decimals
        text = numbers.shown(value_si, kind, unit, places)
        return numbers.with_comma(text) if is_comma else text

    return written


@functools.cache
def _environment() -> Any:
    """Find templates, with escaping on and missing names an error."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
