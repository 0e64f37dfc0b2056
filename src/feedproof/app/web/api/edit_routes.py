"""A case edited in steps: its state, one edit, steps taken back and made again, forms."""

import re
from collections.abc import Callable
from typing import Annotated

from fastapi import APIRouter, Depends, Header, HTTPException, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from feedproof.app import api_edit
from feedproof.app.edit_result import EditResult
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import WRITING, answered, gives, reference
from feedproof.app.web.api.requests import sent_of
from feedproof.app.web.api.strict import StrictRoute
from feedproof.app.web.api.told_here import FormList
from feedproof.app.web.screen import case_of

reads = APIRouter(tags=["editing"])
writes = APIRouter(
    tags=["editing"], route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)]
)
ETAG = {"etag": "Revision of the document, in quotes."}
CHANGING = (*WRITING, 412, 428)
Revision = Annotated[
    str, Header(description="Revision that the editor saw, from `etag` or `revision`.")
]
Who = Annotated[str, Query(min_length=1, max_length=200, description="Who edits.")]
_BODY = {
    "requestBody": {
        "required": True,
        "description": "The document `edit`: one edit by its `kind`, several as one step with"
        " `together`.",
        "content": {"application/json": {"schema": reference("edit")}},
    }
}
_REVISION = re.compile(r'"?([0-9a-f]{64})"?')


@reads.get("/cases/{case}/edit", **gives("edit-state", "As it stands.", headers=ETAG))
def read_edit_state(request: Request, case: str) -> Response:  # noqa: ARG001
    """Give a case document as it stands: values, places, mistakes where they are, steps."""
    state = api_edit.edit_state(case_of(request))
    return answered(state, headers=_etag(state.revision))


@writes.post(
    "/cases/{case}/edit",
    openapi_extra=_BODY,
    **gives("edited", "Written, with its mistakes.", faults=CHANGING, headers=ETAG),
)
async def make_edit(
    request: Request,
    case: str,  # noqa: ARG001
    who: Who = "operator",
    if_match: Revision = "",
) -> Response:
    """Make one edit of the document that was seen; what somebody else changed first is told."""
    path = case_of(request)
    seen = seen_revision(if_match)
    operation = await sent_of(request)

    def edit() -> EditResult:
        return api_edit.edit(path, seen, operation, who=who)

    return await _changed(edit)


@writes.post(
    "/cases/{case}/edit/undo",
    **gives("edited", "Byte for byte what it was before.", faults=CHANGING, headers=ETAG),
)
async def undo_edit(request: Request, case: str, if_match: Revision = "") -> Response:  # noqa: ARG001
    """Take the last step back."""
    path, seen = case_of(request), seen_revision(if_match)
    return await _changed(lambda: api_edit.undo(path, seen))


@writes.post(
    "/cases/{case}/edit/redo",
    **gives("edited", "Byte for byte what it was after the step.", faults=CHANGING, headers=ETAG),
)
async def redo_edit(request: Request, case: str, if_match: Revision = "") -> Response:  # noqa: ARG001
    """Make the step again that was taken back last."""
    path, seen = case_of(request), seen_revision(if_match)
    return await _changed(lambda: api_edit.redo(path, seen))


@reads.get("/forms", **gives("forms", "Kinds of parts first."))
def list_forms() -> Response:
    """List the kinds of tables that there are forms for."""
    return answered(FormList(format="feedproof-forms", version=1, kinds=api_edit.forms()))


@reads.get("/forms/{kind}", **gives("form", "Fields with label, help, units, range."))
def read_form(kind: str) -> Response:
    """Describe what a form for one kind of table asks."""
    return answered(api_edit.form_of(kind))


def seen_revision(if_match: str) -> str:
    """
    Read the revision that an edit was made from.

    Parameters
    ----------
    if_match : str
        Header, in quotes or not.

    Returns
    -------
    str
        Hash of the document.

    Raises
    ------
    HTTPException
        428 where it is missing, 412 where it can be no revision.
    """
    if not if_match:
        raise HTTPException(428, "Say which revision you changed: If-Match, from the ETag.")
    found = _REVISION.fullmatch(if_match)
    if found is None:
        raise HTTPException(412, "If-Match names no revision; read the state for the one now.")
    return found[1]


async def _changed(change: Callable[[], EditResult]) -> Response:
    """Make a change and answer with the revision that it left."""
    told = await run_in_threadpool(change)
    return answered(told, headers=_etag(told.revision))


def _etag(revision: str) -> dict[str, str]:
    """Give the revision as a header."""
    return {"etag": f'"{revision}"'}
