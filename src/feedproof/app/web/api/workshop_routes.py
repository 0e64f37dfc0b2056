"""What belongs to the workshop: instruments, the archive of repeatability, the index of cases."""

from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from feedproof.app import api_archive, api_store_database
from feedproof.app.naming import VARIABLE, named_archive
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import WRITING, answered, gives
from feedproof.app.web.api.strict import StrictRoute
from feedproof.app.web.screen import case_of, workspace_of
from feedproof.core.errors import MissingError

reads = APIRouter(tags=["workshop"])
writes = APIRouter(
    tags=["workshop"], route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)]
)
Text = Annotated[str, Field(max_length=200)]
Who = Annotated[str, Field(min_length=1, max_length=200, description="Who does it.")]
Reason = Annotated[str, Field(max_length=2000)]
Day = Annotated[str, Query(max_length=40, description="Day to judge calibration for.")]


class _Said(BaseModel):
    """What is sent."""

    model_config = ConfigDict(extra="forbid", strict=True)
    who: Who


class NewInstrument(_Said):
    """An instrument with its calibration."""

    title: Annotated[str, Field(min_length=1, max_length=200, description="What it is.")]
    serial: Annotated[Text, Field(description="Serial number.")] = ""
    calibrated: Annotated[Text, Field(description="Day, such as 2026-03-31.")] = ""
    due: Annotated[Text, Field(description="Day by which it must be calibrated again.")] = ""
    certificate: Annotated[Text, Field(description="Number of the certificate.")] = ""
    replace: Annotated[
        Reason, Field(description="Reason for putting this in the place of what is there.")
    ] = ""


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


@reads.get("/instruments", **gives("instruments", "All of them."))
def list_instruments(on: Day = "") -> Response:
    """Say which instruments there are and which are out of calibration."""
    return answered(api_store_database.instrument_show(on=on))


@reads.get("/instruments/{instrument}", **gives("instruments", "Every entry about it."))
def read_instrument(instrument: str, on: Day = "") -> Response:
    """Say everything that was kept about an instrument."""
    return answered(api_store_database.instrument_show(instrument, on=on))


@writes.put("/instruments/{instrument}", **gives("instruments", "Kept.", faults=WRITING))
def keep_instrument(instrument: str, said: NewInstrument) -> Response:
    """Keep an instrument with its calibration; an earlier entry stays and is superseded."""
    return answered(
        api_store_database.instrument_add(
            instrument,
            title=said.title,
            who=said.who,
            serial=said.serial,
            calibrated=said.calibrated,
            due=said.due,
            certificate=said.certificate,
            replace_because=said.replace,
        )
    )


@writes.post("/index", **gives("index", "Every case below the workspace.", faults=WRITING))
def reindex(request: Request) -> Response:
    """Make the index of the workspace's cases anew."""
    return answered(api_store_database.store_reindex(workspace_of(request).path))


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
