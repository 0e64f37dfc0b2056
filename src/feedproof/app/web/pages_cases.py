"""The list of cases: open, begin, take in, bring back."""

from typing import Annotated

from fastapi import APIRouter, Form, Request, UploadFile
from starlette.responses import RedirectResponse, Response

from feedproof.app.api import store_remove, store_undo
from feedproof.app.web import carried
from feedproof.app.web.access import FormToken
from feedproof.app.web.screen import A_YEAR_S, GUIDE_COOKIE, page, went_to, workspace_of

router = APIRouter()


@router.get("/")
def cases(request: Request) -> Response:
    """List the cases; the first visit goes straight to the demonstration."""
    workspace = workspace_of(request)
    lines = workspace.lines()
    if request.app.state.is_first_visit and len(lines) == 1:
        request.app.state.is_first_visit = False
        response = RedirectResponse(f"/cases/{lines[0].name}/vehicle", status_code=303)
        response.set_cookie(GUIDE_COOKIE, "on", max_age=A_YEAR_S, httponly=True, samesite="strict")
        return response
    return page(request, "cases.html", lines=lines, removed=workspace.removed())


@router.post("/cases")
def begin(request: Request, _: FormToken, name: Annotated[str, Form()] = "") -> Response:
    """Begin a case from the template."""
    return went_to(request, f"/cases/{workspace_of(request).add_case(name)}/vehicle")


@router.post("/demo")
def demo(request: Request, _: FormToken) -> Response:
    """Copy the demonstration case once more."""
    return went_to(request, f"/cases/{workspace_of(request).add_demo()}/vehicle")


@router.post("/bundles")
def take_in(request: Request, token: FormToken, bundle: UploadFile) -> Response:  # noqa: ARG001
    """Unpack a bundle of another workshop, every hash checked."""
    name, _ = carried.take_in(workspace_of(request), bundle.file, bundle.filename or "case.zip")
    return went_to(request, f"/cases/{name}/vehicle")


@router.post("/cases/{case}/remove")
def remove(request: Request, case: str, _: FormToken) -> Response:
    """Take a case away; it can be brought back for 30 days."""
    store_remove(workspace_of(request).case(case))
    return went_to(request, "/")


@router.post("/cases/{case}/bring-back")
def bring_back(request: Request, case: str, _: FormToken) -> Response:
    """Bring a case back that was taken away."""
    workspace = workspace_of(request)
    store_undo(workspace.place(case))
    return went_to(request, f"/cases/{case}/vehicle")


@router.get("/cases/{case}")
def open_case(request: Request, case: str) -> Response:
    """Open a case at its first screen."""
    workspace_of(request).case(case)
    return RedirectResponse(f"/cases/{case}/vehicle", status_code=303)


@router.post("/guide")
def guide(request: Request, _: FormToken, state: Annotated[str, Form()] = "off") -> Response:
    """Show the guided path, or put it away."""
    response = went_to(request, "/")
    response.set_cookie(
        GUIDE_COOKIE,
        "on" if state == "on" else "off",
        max_age=A_YEAR_S,
        httponly=True,
        samesite="strict",
    )
    return response
