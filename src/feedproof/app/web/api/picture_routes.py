"""Pages that verbs write beside their document: run sheet, drawings of four verbs."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from feedproof.app.choose_text import choice_html
from feedproof.app.envelope_page import envelope_page
from feedproof.app.jobs.verbs import VERBS, call, given
from feedproof.app.plan_sheet import run_sheet
from feedproof.app.progress import silent
from feedproof.app.protect_text import protection_html
from feedproof.app.service_text import service_html
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import WRITING, gives_file
from feedproof.app.web.api.requests import body_of, sent_of
from feedproof.app.web.api.strict import StrictRoute
from feedproof.app.web.api.verb_routes import checked
from feedproof.app.web.guards import REPORT_POLICY
from feedproof.app.web.screen import case_of, workspace_of
from feedproof.case.case import Case
from feedproof.records.folder import CaseFolder
from feedproof.report.run_sheet import sheet_html, sheet_pdf
from feedproof.report.run_sheet_model import RunSheet

writes = APIRouter(route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)])
MEDIA = {"html": "text/html", "pdf": "application/pdf"}
Drawn = Callable[[Path, Any, dict[str, Any]], bytes]
"""Draws what a verb found: from the case's folder, its result, and what was asked."""


def _case(path: Path) -> Case:
    """Read the case that was computed."""
    return CaseFolder.open(path).load().case


def _sheet(path: Path, plan: Any) -> RunSheet:
    """Lay a plan out as a run sheet, with the time of this moment."""
    return run_sheet(_case(path), plan, datetime.now(UTC).replace(microsecond=0))


def _maps(path: Path, survey: Any, asked: dict[str, Any]) -> bytes:
    """Draw a survey of the kits that were asked about."""
    return envelope_page(_case(path), survey, asked["kits"]).encode()


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """
    A page that a verb writes.

    Parameters
    ----------
    verb : str
        Of `feedproof.app.jobs.verbs.VERBS`.
    option : str
        The verb's parameter that names the file.
    ending : str
        ``html`` or ``pdf``.
    words : str
        What it is.
    drawn : callable
        Draws it.
    """

    verb: str
    option: str
    ending: str
    words: str
    drawn: Drawn


PAGES = (
    Page(
        verb="plan",
        option="sheet",
        ending="html",
        words="The run sheet as a page.",
        drawn=lambda path, plan, _: sheet_html(_sheet(path, plan)).encode(),
    ),
    Page(
        verb="plan",
        option="sheet",
        ending="pdf",
        words="The run sheet for a printer.",
        drawn=lambda path, plan, _: sheet_pdf(_sheet(path, plan)),
    ),
    Page(
        verb="envelope",
        option="picture",
        ending="html",
        words="Maps of where each kit holds.",
        drawn=_maps,
    ),
    Page(
        verb="protect",
        option="picture",
        ending="html",
        words="What gets through, with and without kits.",
        drawn=lambda _, told, __: protection_html(told).encode(),
    ),
    Page(
        verb="service",
        option="picture",
        ending="html",
        words="When elements are changed, and the gauge until then.",
        drawn=lambda _, told, __: service_html(told).encode(),
    ),
    Page(
        verb="choose",
        option="picture",
        ending="html",
        words="Kits side by side.",
        drawn=lambda _, told, __: choice_html(told).encode(),
    ),
)


def _route(page: Page) -> None:
    """Make the operation of a page."""
    media = MEDIA[page.ending]

    async def draw(request: Request, case: str) -> Response:
        case_of(request)
        sent = await sent_of(request)
        content = await run_in_threadpool(_drawn, request, page, sent)
        # A page needs no script; a browser holds it to that.
        headers = {"content-disposition": f'attachment; filename="{case}-{name}"'}
        headers |= {"content-security-policy": REPORT_POLICY} if page.ending == "html" else {}
        return Response(content, media_type=media, headers=headers)

    name = f"{page.verb}-{page.option}.{page.ending}"
    words = f"{page.words} The same bytes as `feedproof {page.verb} --{page.option}` writes."
    draw.__doc__ = words
    writes.post(
        f"/cases/{{case}}/{page.verb}/{page.option}.{page.ending}",
        name=f"{page.verb}_{page.option}_{page.ending}",
        summary=f"feedproof {page.verb} --{page.option}",
        description=words,
        tags=["pages"],
        openapi_extra=body_of(page.verb),
        **gives_file(media, page.words, faults=WRITING),
    )(draw)


def _drawn(request: Request, page: Page, sent: dict[str, Any]) -> bytes:
    """Call a verb as ever, and draw what it found: no file is written for it."""
    path, verb = case_of(request), VERBS[page.verb]
    found = given(verb, checked(request, page.verb, sent), workspace_of(request).path)
    return page.drawn(path, call(verb, path, found, silent), found)


for _each in PAGES:
    _route(_each)
