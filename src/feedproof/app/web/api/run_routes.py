"""What is put on record about runs and margins: declared, left out, corrected."""

from typing import Annotated

from fastapi import APIRouter, Depends, Path, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from feedproof.app import api
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import WRITING, answered, gives
from feedproof.app.web.api.strict import StrictRoute
from feedproof.app.web.screen import case_of

writes = APIRouter(
    tags=["runs"], route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)]
)
Number = Annotated[int, Path(ge=0, le=1_000_000, description="Number of the run.")]
Who = Annotated[str, Field(min_length=1, max_length=200, description="Who decides it.")]
Why = Annotated[
    str, Field(min_length=1, max_length=2000, description="Why; it is kept and printed.")
]


class Declared(BaseModel):
    """Margins that are declared."""

    model_config = ConfigDict(extra="forbid", strict=True)
    who: Who
    source: Annotated[str, Field(min_length=1, max_length=2000, description="What they come from.")]


class Reasoned(BaseModel):
    """A decision with its reason."""

    model_config = ConfigDict(extra="forbid", strict=True)
    who: Who
    reason: Why


@writes.post("/cases/{case}/declare", **gives("written", "On record.", faults=WRITING))
def declare(request: Request, case: str, said: Declared) -> Response:  # noqa: ARG001
    """Declare the case's margins in its journal, before the first run with a kit."""
    return answered(api.declare(case_of(request), who=said.who, source=said.source))


@writes.post(
    "/cases/{case}/runs/{number}/exclude", **gives("written", "On record.", faults=WRITING)
)
def exclude(request: Request, case: str, number: Number, said: Reasoned) -> Response:  # noqa: ARG001
    """Leave a run out, with the reason that will be printed."""
    return answered(api.exclude(case_of(request), number, who=said.who, reason=said.reason))


@writes.post(
    "/cases/{case}/runs/{number}/correct", **gives("written", "On record.", faults=WRITING)
)
def correct(request: Request, case: str, number: Number, said: Reasoned) -> Response:  # noqa: ARG001
    """Record that a run's table was corrected after it was added: who and why."""
    return answered(api.correct(case_of(request), number, who=said.who, why=said.reason))
