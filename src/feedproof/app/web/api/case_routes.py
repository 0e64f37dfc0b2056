"""What a case is made of: its text, what is wrong with it, kept results, the report's files."""

import hashlib
import re
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Header, HTTPException, Query, Request
from starlette.responses import FileResponse, Response

from feedproof.app import api
from feedproof.app.report_files import PAGE, PAPER
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import WRITING, answered, gives, gives_file
from feedproof.app.web.api.strict import kind_of
from feedproof.app.web.api.told_here import KeptResult, ResultLine, ResultList
from feedproof.app.web.carried import report_part
from feedproof.app.web.guards import REPORT_POLICY
from feedproof.app.web.screen import case_of
from feedproof.core.errors import FeedproofError, WriteError
from feedproof.records.editing.whole import replace_document
from feedproof.records.folder import CASE, CaseFolder
from feedproof.records.results import Results

reads = APIRouter(tags=["case"])
writes = APIRouter(tags=["case"], dependencies=[Depends(needs_token_of_browsers)])
TOML = "application/toml"
ETAG = {"etag": "Revision of the document, in quotes."}
_REVISION = re.compile(r'"?([0-9a-f]{64})"?')


@reads.get("/cases/{case}/check", **gives("check", "All findings."))
def check(request: Request, case: str) -> Response:  # noqa: ARG001
    """Say everything that is wrong with a case, all at once."""
    return answered(api.check(case_of(request)))


@reads.get(
    "/cases/{case}/document",
    **gives_file(TOML, "Text of `case.toml`, comments and all.", headers=ETAG),
)
def read_document(request: Request, case: str) -> Response:  # noqa: ARG001
    """Read the text of a case with its revision."""
    content = (case_of(request) / CASE).read_bytes()
    return Response(content, media_type=f"{TOML}; charset=utf-8", headers=_etag(content))


@writes.put(
    "/cases/{case}/document",
    openapi_extra={
        "requestBody": {
            "required": True,
            "description": "The whole text of the case, in UTF-8.",
            "content": {TOML: {"schema": {"type": "string"}}},
        }
    },
    **gives(
        "check",
        "What is to be said of the new text; it was written.",
        faults=(*WRITING, 412, 428),
        headers=ETAG,
    ),
)
async def write_document(
    request: Request,
    case: str,  # noqa: ARG001
    if_match: Annotated[str, Header(description="Revision that was changed, from `etag`.")] = "",
) -> Response:
    """Put a new text in the place of the one that was read; one with mistakes is not written."""
    from starlette.concurrency import run_in_threadpool

    path = case_of(request)
    if kind_of(request) != TOML:
        raise HTTPException(415, f"The body must come as {TOML}.")
    if not if_match:
        raise HTTPException(428, "Say which revision you changed: If-Match, from the ETag.")
    revision = _REVISION.fullmatch(if_match)
    folder = CaseFolder.open(path)
    current = (path / CASE).read_bytes()
    if revision is None or revision[1] != _revision(current):
        raise HTTPException(412, _MEANWHILE)
    content = await request.body()
    try:
        await run_in_threadpool(replace_document, folder, content, revision[1])
    except WriteError as fault:
        if "changed by somebody else" in str(fault):
            raise HTTPException(412, _MEANWHILE) from fault
        raise
    told = await run_in_threadpool(api.check, path)
    return answered(told, headers=_etag(content))


_MEANWHILE = (
    "case.toml was changed by somebody else meanwhile; what they wrote stands and nothing of yours"
    " was written. Read it again and make your change once more."
)


def _revision(content: bytes) -> str:
    """Name a text by its bytes."""
    return hashlib.sha256(content).hexdigest()


def _etag(content: bytes) -> dict[str, str]:
    """Give the revision as a header."""
    return {"etag": f'"{_revision(content)}"'}


@reads.get("/cases/{case}/results", **gives("results", "The newest first."))
def list_results(
    request: Request,
    case: str,  # noqa: ARG001
    kind: Annotated[str, Query(description="Only this kind, such as proof.", max_length=40)] = "",
    most: Annotated[int, Query(ge=1, le=1000, description="So many at most.")] = 100,
) -> Response:
    """List the results that are kept with a case."""
    results = CaseFolder.open(case_of(request)).results
    identities = results.all()
    found = []
    for identity in reversed(identities):
        line = _line(results, identity)
        if kind in ("", line.kind):
            found.append(line)
        if len(found) == most:
            break
    return answered(
        ResultList(
            format="feedproof-results", version=1, total=len(identities), results=tuple(found)
        )
    )


def _line(results: Results, identity: str) -> ResultLine:
    """Say what a result is; one that was damaged says so."""
    kept = datetime.fromtimestamp((results.path / f"{identity}.json").stat().st_mtime, UTC)
    when = kept.isoformat(timespec="seconds")
    try:
        kind = str(results.read(identity)["kind"])
    except FeedproofError as fault:
        return ResultLine(id=identity, kind="", kept=when, fault=str(fault.findings[0]))
    return ResultLine(id=identity, kind=kind, kept=when, fault="")


@reads.get("/cases/{case}/results/{result}", **gives("result", "The result."))
def read_result(request: Request, case: str, result: str) -> Response:  # noqa: ARG001
    """Read a kept result with how it was made."""
    read = CaseFolder.open(case_of(request)).results.read(result)
    return answered(
        KeptResult(
            format="feedproof-result",
            version=1,
            id=result,
            kind=str(read["kind"]),
            content=read["content"],
            made=read.get("made", {}),
        )
    )


@reads.get("/cases/{case}/report/page", **gives_file("text/html", "One page, whole in itself."))
def report_page(request: Request, case: str) -> Response:
    """Download the report as a page."""
    headers = {"content-security-policy": REPORT_POLICY}
    return _report(request, PAGE, "text/html", f"{case}.html", headers)


@reads.get("/cases/{case}/report/paper", **gives_file("application/pdf", "For a printer."))
def report_paper(request: Request, case: str) -> Response:
    """Download the report as a PDF."""
    return _report(request, PAPER, "application/pdf", f"{case}.pdf", {})


def _report(
    request: Request, file: str, media: str, name: str, headers: dict[str, str]
) -> Response:
    """Give a file of the report."""
    path = report_part(case_of(request), file)
    return FileResponse(path, media_type=media, filename=name, headers=headers)
