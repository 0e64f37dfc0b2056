"""The report: write it, look at it, take it along."""

from datetime import UTC, datetime

from fastapi import APIRouter, Request
from starlette.responses import Response

from feedproof.app.report_files import PAGE, PAPER
from feedproof.app.web.carried import given_out, report_part
from feedproof.app.web.guards import REPORT_POLICY
from feedproof.app.web.long_pages import long_page, moment
from feedproof.app.web.pages_results import sent_file
from feedproof.app.web.screen import case_of, workspace_of
from feedproof.core.errors import MissingError

router = APIRouter()
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
    return given_out(workspace_of(request), case)


def _written(request: Request) -> str:
    """Say when the report was written; empty where there is none."""
    try:
        file = report_part(case_of(request), PAGE)
    except MissingError:
        return ""
    return moment(datetime.fromtimestamp(file.stat().st_mtime, UTC).isoformat())


def _content(request: Request, name: str) -> bytes:
    """Read a file of the written report."""
    return report_part(case_of(request), name).read_bytes()
