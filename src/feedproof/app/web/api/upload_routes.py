"""Logs that are sent to a case and wait there for a look or a run."""

from typing import Annotated

from fastapi import APIRouter, Depends, File, HTTPException, Request, UploadFile
from starlette.responses import Response

from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import READING, WRITING, answered, gives
from feedproof.app.web.api.strict import FilesRoute, StrictRoute
from feedproof.app.web.api.told_here import Upload, UploadList
from feedproof.app.web.api.uploads import Uploads
from feedproof.app.web.screen import case_of

reads = APIRouter(tags=["runs"])
files_in = APIRouter(
    tags=["runs"], route_class=FilesRoute, dependencies=[Depends(needs_token_of_browsers)]
)
writes = APIRouter(
    tags=["runs"], route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)]
)
MOST_AT_ONCE = 50
SHARE = 4
"""All files that wait may be so many times as large as the largest one."""


def uploads_of(request: Request) -> Uploads:
    """Give the server's uploads, for a route."""
    state = request.app.state
    return Uploads(state.workspace.own, SHARE * state.settings.upload_limit_bytes)


def listed(uploads: tuple[Upload, ...]) -> UploadList:
    """Put uploads into a document."""
    return UploadList(format="feedproof-uploads", version=1, uploads=uploads)


@reads.get("/cases/{case}/logs", **gives("uploads", "Files that wait."))
def list_logs(request: Request, case: str) -> Response:
    """List the files that were sent to a case and wait to be used."""
    case_of(request)
    return answered(listed(uploads_of(request).of_case(case)))


@files_in.post("/cases/{case}/logs", **gives("uploads", "Kept.", status=201, faults=WRITING))
def send_logs(request: Request, case: str, files: Annotated[list[UploadFile], File()]) -> Response:
    """Send logs; each is kept for seven days until a run takes it."""
    case_of(request)
    if len(files) > MOST_AT_ONCE:
        raise HTTPException(422, f"{len(files)} files at once; at most {MOST_AT_ONCE} are taken.")
    uploads = uploads_of(request)
    kept: list[Upload] = []
    try:
        for each in files:
            kept.append(uploads.take(case, each.filename or "", each.file))
    except BaseException:
        # All or none: who sends again must not find half of them twice.
        for taken in kept:
            uploads.remove(case, taken.upload)
        raise
    return answered(listed(tuple(kept)), 201)


@writes.delete(
    "/cases/{case}/logs/{upload}",
    **gives("uploads", "Files that still wait.", faults=(*READING, 409)),
)
def remove_log(request: Request, case: str, upload: str) -> Response:
    """Take a file away that waits; a run that has it already keeps it."""
    case_of(request)
    uploads_of(request).remove(case, upload)
    return answered(listed(uploads_of(request).of_case(case)))
