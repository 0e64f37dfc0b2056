"""The verdict: what the runs say of each kit."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from feedproof.app.api_runs import declare
from feedproof.app.looking import look_book, looks_of_case
from feedproof.app.spoken import configuration_words
from feedproof.app.web.access import FormToken
from feedproof.app.web.long_pages import long_page
from feedproof.app.web.screen import case_of, page, signed_by, went_to, who_of
from feedproof.core.errors import FeedproofError
from feedproof.records.folder import CaseFolder

router = APIRouter()
READERS = {"engineer": "Engineer", "customer": "Customer"}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Standing:
    """What a case has to be judged: comparisons that nobody judged yet, runs, margins."""

    pending: tuple[str, ...]
    has_runs: bool
    is_declared: bool


@router.get("/cases/{case}/verdict")
def verdict(request: Request, case: str, reader: str = "engineer") -> Response:
    """Show the verdicts; judging runs that nobody judged yet is asked for first."""
    case_of(request)
    standing = _standing(request)
    return long_page(
        request,
        screen="verdict",
        verb="prove",
        starts_itself=standing.has_runs and not standing.pending,
        reader=reader if reader in READERS else "engineer",
        readers=READERS,
        standing=standing,
    )


@router.post("/cases/{case}/margins")
def declare_margins(
    request: Request,
    case: str,
    _: FormToken,
    who: Annotated[str, Form()] = "",
    source: Annotated[str, Form()] = "",
) -> Response:
    """Put the margins on record, with who declares them and what they come from."""
    try:
        declare(case_of(request), who=who, source=source)
    except FeedproofError as fault:
        return page(
            request,
            "declare.html",
            screen="verdict",
            status=422,
            findings=fault.findings,
            given_who=who,
            given_source=source,
        )
    return signed_by(went_to(request, f"/cases/{case}/verdict"), who.strip() or who_of(request))


def _standing(request: Request) -> _Standing:
    """Say which judgements would be new, and whether there is anything to judge."""
    try:
        loaded = CaseFolder.open(case_of(request)).load()
    except FeedproofError:
        # The page tells these mistakes itself.
        return _Standing(pending=(), has_runs=False, is_declared=True)
    book, now = look_book(loaded.journal), looks_of_case(loaded.case)
    return _Standing(
        pending=tuple(
            f"{configuration_words(loaded.case, look.configuration).short}"
            f" ({look.counted} {'run' if look.counted == 1 else 'runs'} with it)"
            for look in now
            if not any(look.same_runs(other) for other in book.earlier)
        ),
        has_runs=bool(now),
        is_declared=loaded.case.margins.declared is not None,
    )
