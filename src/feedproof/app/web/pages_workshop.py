"""What is the workshop's and not a case's: how things are shown, and the password."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from feedproof.app.web import numbers
from feedproof.app.web.access import FormToken, access_of
from feedproof.app.web.again import ENTERED, shown_again
from feedproof.app.web.guards import asker
from feedproof.app.web.kept import travelled
from feedproof.app.web.screen import page, preferences_of, signed_by, went_to, who_of
from feedproof.app.web.sessions import COOKIE

router = APIRouter()
KIND_NAMES = {
    "pressure": "Pressure",
    "temperature": "Temperature",
    "flow": "Flow",
    "length": "Altitude and length",
    "speed": "Road speed",
    "power": "Power",
}
MODES = {"system": None, "light": False, "dark": True}


@router.get("/settings")
def settings(request: Request, kept: bool = False) -> Response:
    """Show how things are shown."""
    return page(
        request,
        "settings.html",
        choices=numbers.UNIT_CHOICES,
        kind_names=KIND_NAMES,
        chosen=preferences_of(request).settings,
        kept=kept,
    )


@router.post("/settings")
async def keep_settings(request: Request, _: FormToken) -> Response:
    """Keep how things are shown."""
    form = {name: str(value) for name, value in (await request.form()).items()}
    units = {
        kind: form[kind]
        for kind in numbers.UNIT_CHOICES
        if form.get(kind) in numbers.UNIT_CHOICES[kind]
    }
    who = form.get("who", "").strip() or who_of(request) or "this browser"
    preferences_of(request).keep(
        who,
        units=units,
        decimal_comma=form.get("decimal") == "comma",
        dark_mode=MODES.get(form.get("mode", "")),
    )
    return signed_by(went_to(request, "/settings?kept=true"), who)


@router.get("/login")
def login(request: Request) -> Response:
    """Ask for the password."""
    return page(request, "login.html", fault="", kept=None)


@router.post("/login")
async def check_password(
    request: Request, _: FormToken, password: Annotated[str, Form()] = ""
) -> Response:
    """Let in who knows the password, under a new session; what was typed before waits for it."""
    access = access_of(request)
    kept = travelled(await request.form())
    # Made to be slow: all others would wait for it here.
    fits = await run_in_threadpool(access.fits, asker(request.scope), password)
    if not fits:
        wait = "Too many wrong passwords; wait a minute."
        fault = wait if fits is None else "That is not the password."
        status = 429 if fits is None else 403
        return page(request, "login.html", status=status, fault=fault, kept=kept)
    session = access.sessions.begin(is_known=True)
    if kept is not None:
        request.state.session, request.state.session_is_new = session, True
        return shown_again(request, kept, ENTERED)
    response = went_to(request, "/")
    response.set_cookie(**access.cookie(session))
    return response


@router.post("/logout")
def leave(request: Request, _: FormToken) -> Response:
    """End the session."""
    response = went_to(request, "/login")
    response.delete_cookie(COOKIE)
    return response
