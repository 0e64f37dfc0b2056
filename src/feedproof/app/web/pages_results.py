"""What reads a case and answers: plan, protection, life, choice."""

from collections.abc import Callable

from fastapi import APIRouter, Request
from starlette.responses import Response

from feedproof.app.web import work
from feedproof.app.web.asked import Asked
from feedproof.app.web.long_pages import long_page
from feedproof.app.web.screen import case_of, preferences_of
from feedproof.app.web.shown.plan import sheet_from
from feedproof.core.errors import FeedproofError, MissingError
from feedproof.records.folder import CaseFolder
from feedproof.report.run_sheet import sheet_html, sheet_pdf
from feedproof.report.run_sheet_model import RunSheet

router = APIRouter()
YES_NO = {"yes": True, "no": False}
SHEETS: dict[str, tuple[str, Callable[[RunSheet], bytes]]] = {
    "html": ("text/html; charset=utf-8", lambda sheet: sheet_html(sheet).encode()),
    "pdf": ("application/pdf", sheet_pdf),
}


@router.get("/cases/{case}/plan")
def plan(request: Request, case: str) -> Response:  # noqa: ARG001
    """Show the plan of a test."""
    asked = _plan_asked(request)
    return long_page(
        request,
        screen="plan",
        parameters=asked.parameters,
        faults=asked.faults,
        sent=asked.sent,
        kits=_kits(request),
        chosen=request.query_params.getlist("kit"),
    )


@router.get("/cases/{case}/plan/run-sheet.{ending}")
def run_sheet(request: Request, case: str, ending: str) -> Response:
    """Give the run sheet of the plan that is shown, as a page or as paper."""
    if ending not in SHEETS:
        raise MissingError.at("run sheet", f"is not made as {ending[:20]!r}.", "Take html or pdf.")
    last = work.last(request, case_of(request), "plan", _plan_asked(request).parameters)
    if last is None:
        raise MissingError.at("run sheet", "there is no such plan yet.", "Open the plan first.")
    kind, drawn = SHEETS[ending]
    return sent_file(drawn(sheet_from(last.result["sheet"])), kind, f"{case}-run-sheet.{ending}")


def sent_file(content: bytes, kind: str, name: str) -> Response:
    """
    Send a file to be saved.

    Parameters
    ----------
    content : bytes
        Of the file.
    kind : str
        Media type.
    name : str
        Letters, digits, dashes and dots only.

    Returns
    -------
    Response
        Never shown in place.
    """
    return Response(
        content,
        media_type=kind,
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )


@router.get("/cases/{case}/protection")
def protection(request: Request, case: str) -> Response:  # noqa: ARG001
    """Show what reaches the pump with and without kits."""
    asked = _form(request)
    asked.text("bad_fuel")
    return long_page(
        request, screen="protection", parameters=asked.parameters, faults=asked.faults,
        sent=asked.sent,
    )  # fmt: skip


@router.get("/cases/{case}/life")
def life(request: Request, case: str) -> Response:  # noqa: ARG001
    """Show when elements are changed, and what a gauge may read until then."""
    return long_page(request, screen="life")


@router.get("/cases/{case}/choice")
def choice(request: Request, case: str) -> Response:  # noqa: ARG001
    """Show which kit is right for the vehicle."""
    asked = _form(request)
    for field in ("at_least", "space", "baseline_share"):
        asked.quantity(field)
    asked.text("currency")
    for field, label in (
        ("most_cost", "Most cost"),
        ("joint_cost", "Cost of a joint"),
        ("change_cost", "Cost of a visit"),
        ("halving_worth", "Worth of a halving"),
    ):
        asked.number(field, label)
    asked.choice("water", "Free water", {"yes": True})
    return long_page(
        request, screen="choice", parameters=asked.parameters, faults=asked.faults, sent=asked.sent
    )


def _form(request: Request) -> Asked:
    """Give the form of an address, as this workshop writes numbers."""
    has_comma = preferences_of(request).settings.decimal_comma
    return Asked(request.query_params, has_comma=has_comma)


def _plan_asked(request: Request) -> Asked:
    """Read what a plan is asked for."""
    asked = _form(request)
    asked.number("chance", "Chance")
    asked.number("runs_each", "Runs of each", whole=True)
    asked.choice("replumbed", "Line opened", YES_NO)
    if chosen := request.query_params.getlist("kit"):
        asked.parameters["kits"] = [kit[:100] for kit in chosen[:50]]
    return asked


def _kits(request: Request) -> dict[str, str]:
    """List the kits that can be planned for."""
    try:
        case = CaseFolder.open(case_of(request)).load().case
    except FeedproofError:
        return {}
    return {kit.id: kit.title for kit in case.kits.values() if not kit.control}
