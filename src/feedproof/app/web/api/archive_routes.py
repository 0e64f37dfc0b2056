"""The archive of repeatability over HTTP: shown, added to, withdrawn from, taken in, given out."""

import shutil
import tempfile
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Depends, File, Form, Request, UploadFile
from pydantic import BaseModel, ConfigDict, Field
from starlette.background import BackgroundTask
from starlette.responses import FileResponse, Response

from feedproof.app import api_archive
from feedproof.app.naming import VARIABLE, named_archive
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import WRITING, answered, gives, gives_file
from feedproof.app.web.api.strict import FilesRoute, StrictRoute
from feedproof.app.web.screen import case_of, workspace_of
from feedproof.core.errors import MissingError
from feedproof.records.names import safe_name

reads = APIRouter(tags=["workshop"])
writes = APIRouter(
    tags=["workshop"], route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)]
)
files_in = APIRouter(
    tags=["workshop"], route_class=FilesRoute, dependencies=[Depends(needs_token_of_browsers)]
)
LINES = "application/x-ndjson"
Reason = Annotated[str, Field(max_length=2000)]


class _Said(BaseModel):
    """What is sent."""

    model_config = ConfigDict(extra="forbid", strict=True)
    who: Annotated[str, Field(min_length=1, max_length=200, description="Who does it.")]


class ToArchive(_Said):
    """Baseline repeats that are added to the archive."""

    session: Annotated[str | None, Field(max_length=200, description="Only this session.")] = None
    replace: Annotated[
        Reason, Field(description="Reason for putting figures in the place of those there.")
    ] = ""


class Withdrawal(_Said):
    """A session that no longer counts."""

    line: Annotated[
        str, Field(min_length=1, max_length=80, description="Its number, or its hash's beginning.")
    ]
    reason: Annotated[str, Field(min_length=1, max_length=2000, description="Why.")]


def _archive() -> Path:
    """Give the archive that the server was started with."""
    found = named_archive(None)
    if found is None:
        raise MissingError.at(
            "archive", "the server was started without one.", f"Set {VARIABLE} and start it again."
        )
    return found


@reads.get("/archive", **gives("archive", "Every rig."))
def read_archive() -> Response:
    """Say how well each rig repeats, how well that is known, and whether it is getting worse."""
    return answered(api_archive.archive_show(_archive()))


@writes.post("/cases/{case}/archive", **gives("written", "Added.", faults=WRITING))
def add_to_archive(request: Request, case: str, said: ToArchive) -> Response:  # noqa: ARG001
    """Add a case's baseline repeats to the workshop's archive of repeatability."""
    told = api_archive.archive_add(
        case_of(request),
        file=_archive(),
        who=said.who,
        session=said.session,
        replace_because=said.replace,
    )
    return answered(told)


@writes.post("/archive/withdraw", **gives("written", "Withdrawn.", faults=WRITING))
def withdraw(said: Withdrawal) -> Response:
    """Withdraw a session: its line stays and no longer counts."""
    told = api_archive.archive_withdraw(_archive(), said.line, who=said.who, reason=said.reason)
    return answered(told)


@files_in.post("/archive/take-in", **gives("written", "Taken in.", faults=WRITING))
def take_in_archive(
    request: Request,
    file: Annotated[UploadFile, File(description="An archive's file, all its lines.")],
    who: Annotated[str, Form(min_length=1, max_length=200, description="Who takes it in.")],
) -> Response:
    """Take an archive's file into the database, whose archive it then is."""
    with tempfile.TemporaryDirectory(dir=workspace_of(request).own, prefix="archive-") as scratch:
        kept = Path(scratch) / safe_name(file.filename or "archive.jsonl")
        with kept.open("wb") as target:
            shutil.copyfileobj(file.file, target)
        told = api_archive.archive_take_in(kept, who=who)
    return answered(told)


@reads.get(
    "/archive/file",
    **gives_file(LINES, "The archive in the database, letter by letter.", faults=WRITING),
)
def give_out_archive(request: Request) -> Response:
    """Download the archive in the database as a file, letter by letter."""
    scratch = Path(tempfile.mkdtemp(dir=workspace_of(request).own, prefix="archive-"))

    def clear() -> None:
        shutil.rmtree(scratch, ignore_errors=True)

    file = scratch / "archive.jsonl"
    try:
        api_archive.archive_give_out(file)
    except BaseException:
        clear()
        raise
    return FileResponse(
        file, media_type=LINES, filename="archive.jsonl", background=BackgroundTask(clear)
    )
