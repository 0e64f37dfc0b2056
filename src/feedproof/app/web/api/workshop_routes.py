"""What belongs to the workshop: its instruments, and the index of the workspace's cases."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from feedproof.app import api_store_database
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import WRITING, answered, gives
from feedproof.app.web.api.strict import StrictRoute
from feedproof.app.web.screen import workspace_of

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


@reads.get("/index", **gives("cases", "Every case as it is now."))
def index_of_cases(request: Request) -> Response:
    """List cases with what they came to; only those that have changed are read."""
    return answered(api_store_database.store_cases(workspace_of(request).path))


@writes.post("/index", **gives("index", "Every case below the workspace.", faults=WRITING))
def reindex(request: Request) -> Response:
    """Make the index of the workspace's cases anew."""
    return answered(api_store_database.store_reindex(workspace_of(request).path))
