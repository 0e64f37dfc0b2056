"""Runs: drop logs in, see what is concluded, make runs of them, look at each, leave one out."""

from collections.abc import Mapping, Sequence
from typing import Annotated

from fastapi import APIRouter, Form, Request, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from feedproof.app.api import exclude
from feedproof.app.run_view import run_lines, run_view
from feedproof.app.web.access import FormToken
from feedproof.app.web.adding import adding_of, begin, stop
from feedproof.app.web.api.upload_routes import uploads_of
from feedproof.app.web.inbox import Inbox
from feedproof.app.web.run_form import ROLES, offers, sent_runs, suggested
from feedproof.app.web.screen import (
    case_of,
    notation_of,
    page,
    preferences_of,
    signed_by,
    went_to,
    who_of,
)
from feedproof.app.web.sessions import TOKEN_FIELD
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding
from feedproof.records.folder import CaseFolder

router = APIRouter(prefix="/cases/{case}")


def inbox_of(request: Request) -> Inbox:
    """Give the inbox of the case that an address names."""
    return Inbox(uploads_of(request), case_of(request).name)


@router.get("/runs")
def runs(request: Request) -> Response:
    """List the runs, and the logs that wait for one."""
    return _runs_page(request)


def _runs_page(
    request: Request,
    findings: tuple[Finding, ...] = (),
    said: Mapping[str, str] | None = None,
    ticked: Mapping[str, Sequence[str]] | None = None,
) -> Response:
    """Fill the page of runs, with what was wrong and what was typed where there is any."""
    path = case_of(request)
    under_way = None if findings else adding_of(request, inbox_of(request))
    if under_way is not None and not under_way.is_open:
        findings, said, ticked = under_way.findings, under_way.typed, under_way.kits
    reading = CaseFolder.open(path).read()
    case = reading.case
    logs = inbox_of(request).logs()
    fits = {log.key: suggested(case, log) for log in logs} if case else {}
    by_instrument = {
        name: [log for log in logs if fits.get(log.key) == name]
        for name in (case.instruments if case else {})
    }
    return page(
        request,
        "runs.html",
        status=422 if findings and under_way is None else 200,
        screen="runs",
        adding=under_way if under_way is not None and under_way.is_open else None,
        ticked=ticked or {},
        lines=run_lines(case.runs) if case else (),
        instruments=dict(case.instruments) if case else {},
        kits=dict(case.kits) if case else {},
        fuels=dict(case.fuels) if case else {},
        reference_fuel=case.reference.fuel if case else "",
        last=case.runs[-1] if case and case.runs else None,
        mistakes=() if case else reading.findings,
        logs=logs,
        fits=fits,
        by_instrument=by_instrument,
        offers=offers(case, by_instrument) if case else (),
        roles=ROLES,
        findings=findings,
        is_some_added=under_way is not None,
        said=said or {},
    )


@router.post("/logs")
async def drop(request: Request, _: FormToken, files: list[UploadFile]) -> Response:
    """Take logs into the inbox."""
    inbox = inbox_of(request)
    wrong: list[Finding] = []
    for file in files:
        try:
            await run_in_threadpool(inbox.add, file.file, file.filename or "")
        except InputError as fault:
            wrong += fault.findings
    if wrong:
        raise InputError(wrong)
    return went_to(request, f"/cases/{request.path_params['case']}/runs#inbox")


@router.post("/logs/{key}/remove")
def put_out(request: Request, key: str, _: FormToken) -> Response:
    """Take a log out of the inbox."""
    inbox_of(request).remove(key)
    return went_to(request, f"/cases/{request.path_params['case']}/runs#inbox")


@router.post("/runs")
async def add(request: Request, _: FormToken) -> Response:
    """Make runs of logs: each is whole or not there, and what was typed is not lost."""
    sent = await request.form()
    form = {name: value for name, value in sent.items() if isinstance(value, str)}
    kits = {
        name.removeprefix("kits-"): [str(each) for each in sent.getlist(name)]
        for name in form
        if name.startswith("kits-")
    }
    return await run_in_threadpool(_add, request, form, kits)


def _add(request: Request, form: dict[str, str], kits: dict[str, list[str]]) -> Response:
    """Put the runs in as work; what cannot be put in is told at once."""
    inbox, path = inbox_of(request), case_of(request)
    typed = {name: value for name, value in form.items() if name != TOKEN_FIELD}
    who = typed.get("who", "").strip() or who_of(request) or "operator"
    try:
        has_comma = preferences_of(request).settings.decimal_comma
        wanted = sent_runs(typed, kits, inbox, path, has_comma=has_comma)
        begin(request, path, inbox, wanted, typed, kits, who)
    except FeedproofError as fault:
        return _runs_page(request, fault.findings, typed, kits)
    return signed_by(went_to(request, f"/cases/{request.path_params['case']}/runs"), who)


@router.get("/runs/adding")
def adding(request: Request) -> Response:
    """Tell how far the adding is; the page loads itself again at its end."""
    found = adding_of(request, inbox_of(request))
    if found is None or not found.is_open:
        return Response(status_code=200, headers={"HX-Refresh": "true"})
    return page(request, "adding.html", adding=found)


@router.post("/runs/stop")
def stop_adding(request: Request, _: FormToken) -> Response:
    """Stop what has not begun yet."""
    stop(request, inbox_of(request))
    return went_to(request, f"/cases/{request.path_params['case']}/runs")


@router.post("/runs/forget")
def forget(request: Request, _: FormToken) -> Response:
    """Put away what was typed for runs that were not added."""
    inbox_of(request).keep_draft(None)
    return went_to(request, f"/cases/{request.path_params['case']}/runs#inbox")


@router.get("/runs/{number}")
def one(request: Request, number: int) -> Response:
    """Show a run as it was recorded."""
    path = case_of(request)
    return page(
        request,
        "run.html",
        screen="runs",
        view=run_view(path, number, notation_of(request)),
        title=CaseFolder.open(path).load().case.title,
    )


@router.post("/runs/{number}/exclude")
def leave_out(
    request: Request,
    number: int,
    _: FormToken,
    who: Annotated[str, Form()] = "",
    reason: Annotated[str, Form()] = "",
) -> Response:
    """Leave a run out, with a reason that is kept and printed."""
    who = who.strip() or who_of(request)
    exclude(case_of(request), number, who=who, reason=reason)
    return signed_by(went_to(request, f"/cases/{request.path_params['case']}/runs/{number}"), who)
