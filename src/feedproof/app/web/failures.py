"""What a browser or a program is told when something is wrong: the findings, never a trace."""

import logging
import secrets

from fastapi import Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from feedproof.app.documents import to_document
from feedproof.app.told import refused as nothing_done
from feedproof.app.web.guards import HEADERS
from feedproof.app.web.refusing import API
from feedproof.app.web.screen import SCREENS, page, workspace_of
from feedproof.core.errors import (
    ConflictError,
    FeedproofError,
    InputError,
    MissingError,
    WriteError,
)
from feedproof.core.findings import Finding, error

_LOG = logging.getLogger("feedproof.web")
STATUS: dict[type[FeedproofError], int] = {InputError: 422, MissingError: 404, WriteError: 409}
"""HTTP status by error; the command line's exit codes stand beside them in the body."""
FORMS = {"logs": "runs#inbox", "margins": "verdict", "bundle.zip": "report"}
"""Screen that forms of another address stand on."""


def status_of(problem: FeedproofError) -> int:
    """
    Give the HTTP status of an error.

    Parameters
    ----------
    problem : FeedproofError
        The error.

    Returns
    -------
    int
        422 where it is of no listed class.
    """
    return next((code for kind, code in STATUS.items() if isinstance(problem, kind)), 422)


async def told(request: Request, problem: Exception) -> Response:
    """Tell all findings of an error that a user can mend."""
    if not isinstance(problem, FeedproofError):
        raise problem
    status = status_of(problem)
    if isinstance(problem, ConflictError) and request.url.path.startswith(API):
        # A program sends its revision as a condition, and has it judged as one.
        status = 412
    return answer(request, problem.findings, status, problem.exit_code)


async def refused(request: Request, problem: Exception) -> Response:
    """Tell why a request was refused."""
    if not isinstance(problem, HTTPException):
        raise problem
    words = str(problem.detail)
    if problem.status_code == 404 and words == "Not Found":
        words = "There is nothing at this address."
    if problem.status_code == 405:
        words = "This address does not take that method."
    finding = error(request.url.path, words)
    response = answer(request, (finding,), problem.status_code, 2)
    response.headers.update(problem.headers or {})
    return response


async def not_understood(request: Request, problem: Exception) -> Response:
    """Tell every field that was not understood."""
    if not isinstance(problem, RequestValidationError):
        raise problem
    findings = tuple(
        error(".".join(str(step) for step in fault["loc"]), f"{fault['msg']}.")
        for fault in problem.errors()
    )
    return answer(request, findings, 422, 2)


async def unexpected(request: Request, problem: Exception) -> Response:
    """Tell that the program is at fault, with a number that its log has too."""
    number = secrets.token_hex(4)
    _LOG.error("fault %s at %s", number, request.url.path, exc_info=problem)
    finding = error(
        request.url.path,
        f"the program has a fault (number {number}); nothing that was kept is lost.",
        "Go back and try again; the trace stands in the console under this number.",
    )
    response = answer(request, (finding,), 500, 1)
    # This answer is given outside of every guard.
    response.headers.update(HEADERS)
    return response


def answer(
    request: Request, findings: tuple[Finding, ...], status: int, exit_code: int
) -> Response:
    """
    Tell findings in the form that was asked for.

    Parameters
    ----------
    request : Request
        Who asks.
    findings : tuple of Finding
        What is wrong.
    status : int
        HTTP status.
    exit_code : int
        Of the command line, for the same error.

    Returns
    -------
    Response
        JSON below ``/api/``, else a page or a part of one.
    """
    if request.url.path.startswith(API) or not hasattr(request.state, "session"):
        body = to_document(nothing_done(findings, exit_code))
        return JSONResponse(body, status_code=status)
    return page(
        request,
        "failure.html",
        status=status,
        findings=findings,
        status_code=status,
        back=back_of(request),
    )


def back_of(request: Request) -> str:
    """
    Give the page that a form stands on: what was begun there is gone on with there.

    Parameters
    ----------
    request : Request
        The form.

    Returns
    -------
    str
        Path on this server.
    """
    case = request.path_params.get("case", "")
    if case not in set(workspace_of(request).names()):
        return "/"
    step = request.url.path.removeprefix(f"/cases/{case}").strip("/").partition("/")[0]
    known = {address for address, _ in SCREENS}
    back = f"/cases/{case}/{step if step in known else FORMS.get(step, '')}".rstrip("/")
    # A page that fails itself would lead back to itself.
    return f"/cases/{case}" if request.method == "GET" and back == request.url.path else back
