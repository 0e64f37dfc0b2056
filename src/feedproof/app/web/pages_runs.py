"""Runs: drop logs in, see what is concluded, make runs of them, look at each, leave one out."""

from typing import Annotated

from fastapi import APIRouter, Form, Request, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from feedproof.app.api import add_run, exclude
from feedproof.app.run_view import run_lines, run_view
from feedproof.app.web.access import FormToken
from feedproof.app.web.inbox import Inbox
from feedproof.app.web.run_form import ROLES, offers, sent_runs, suggested
from feedproof.app.web.screen import case_of, page, signed_by, went_to, who_of, workspace_of
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding
from feedproof.records.folder import CaseFolder

router = APIRouter(prefix="/cases/{case}")


def inbox_of(request: Request) -> Inbox:
    """Give the inbox of the case that an address names."""
    workspace = workspace_of(request)
    return Inbox(workspace.own / "inbox" / workspace.case(request.path_params["case"]).name)


@router.get("/runs")
def runs(request: Request) -> Response:
    """List the runs, and the logs that wait for one."""
    return _runs_page(request)


def _runs_page(
    request: Request, findings: tuple[Finding, ...] = (), said: dict[str, str] | None = None
) -> Response:
    """Fill the page of runs, with what was wrong and what was typed where there is any."""
    path = case_of(request)
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
        status=422 if findings else 200,
        screen="runs",
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
    """Add runs one by one."""
    inbox, path = inbox_of(request), case_of(request)
    try:
        wanted = sent_runs(form, kits, inbox)
    except FeedproofError as fault:
        return _runs_page(request, fault.findings, form)
    wrong: list[Finding] = []
    for table, logs in wanted:
        try:
            add_run(path, table, {name: str(file) for name, file in logs.items()})
        except FeedproofError as fault:
            wrong += [_of_run(table["number"], finding) for finding in fault.findings]
            continue
        for file in logs.values():
            inbox.remove(file.parent.name)
    if wrong:
        return _runs_page(request, tuple(wrong), form)
    return went_to(request, f"/cases/{request.path_params['case']}/runs")


def _of_run(number: int, finding: Finding) -> Finding:
    """Say which run a finding is about."""
    return Finding(
        level=finding.level,
        place=f"run {number}, {finding.place}",
        message=finding.message,
        remedy=finding.remedy,
    )


@router.get("/runs/{number}")
def one(request: Request, number: int) -> Response:
    """Show a run as it was recorded."""
    path = case_of(request)
    return page(
        request,
        "run.html",
        screen="runs",
        view=run_view(path, number),
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
    exclude(case_of(request), number, who=who or who_of(request), reason=reason)
    return signed_by(went_to(request, f"/cases/{request.path_params['case']}/runs/{number}"), who)
