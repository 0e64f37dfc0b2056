"""The report: write it, look at it, take it along."""

import tempfile
from datetime import UTC, datetime
from pathlib import Path

from fastapi import APIRouter, Request
from starlette.background import BackgroundTask
from starlette.responses import FileResponse, Response

from feedproof.app.report_files import PAGE, PAPER
from feedproof.app.web.guards import REPORT_POLICY
from feedproof.app.web.long_pages import long_page, moment
from feedproof.app.web.pages_results import sent_file
from feedproof.app.web.screen import case_of
from feedproof.core.errors import MissingError
from feedproof.records.bundle import write_bundle

router = APIRouter()
FOLDER = "report"
KINDS = {"html": (PAGE, "text/html; charset=utf-8"), "pdf": (PAPER, "application/pdf")}


@router.get("/cases/{case}/report")
def report(request: Request, case: str) -> Response:  # noqa: ARG001
    """Show the report that was written last, and offer to write it anew."""
    # Asked for by the template, after the work: what is written in between must not be missed.
    return long_page(
        request, screen="report", starts_itself=False, when_written=lambda: _written(request)
    )


@router.get("/cases/{case}/report/page")
def report_page(request: Request, case: str) -> Response:  # noqa: ARG001
    """Show the written report itself, the same bytes as are taken along."""
    return Response(
        _content(request, PAGE),
        media_type="text/html; charset=utf-8",
        headers={"content-security-policy": REPORT_POLICY},
    )


@router.get("/cases/{case}/report/report.{ending}")
def report_file(request: Request, case: str, ending: str) -> Response:
    """Give the written report as a file."""
    if ending not in KINDS:
        raise MissingError.at("report", f"is not written as {ending[:20]!r}.", "Take html or pdf.")
    name, kind = KINDS[ending]
    return sent_file(_content(request, name), kind, f"{case}-report.{ending}")


@router.get("/cases/{case}/bundle.zip")
def bundle(request: Request, case: str) -> Response:
    """Give the whole case as one zip, for another workshop or another machine."""
    path = case_of(request)
    folder = tempfile.TemporaryDirectory(prefix="feedproof-")
    try:
        target = Path(folder.name) / f"{case}.zip"
        write_bundle(path, target)
    except BaseException:
        folder.cleanup()
        raise
    return FileResponse(
        target,
        media_type="application/zip",
        filename=f"{case}.zip",
        background=BackgroundTask(folder.cleanup),
    )


def _written(request: Request) -> str:
    """Say when the report was written; empty where there is none."""
    file = case_of(request) / FOLDER / PAGE
    if not file.is_file():
        return ""
    return moment(datetime.fromtimestamp(file.stat().st_mtime, UTC).isoformat())


def _content(request: Request, name: str) -> bytes:
    """Read a file of the written report."""
    try:
        return (case_of(request) / FOLDER / name).read_bytes()
    except OSError as fault:
        raise MissingError.at(
            "report", "is not written yet.", "Write it on the report screen."
        ) from fault
