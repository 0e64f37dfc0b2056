"""What if, and one run as it was recorded: what the screens show, as documents."""

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from feedproof.app.run_reading import run_reading
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import WRITING, answered, gives
from feedproof.app.web.api.strict import StrictRoute
from feedproof.app.web.screen import case_of
from feedproof.app.what_if_asked import MOST_KITS, REFERENCE, WhatIf
from feedproof.app.what_if_document import what_if

reads = APIRouter(tags=["what if"])
writes = APIRouter(
    tags=["what if"], route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)]
)
Name = Annotated[str, Field(min_length=1, max_length=200)]
Kits = Annotated[
    list[Name],
    Field(max_length=MOST_KITS, description="Configurations beside the baseline."),
]


def _number(words: str) -> Any:
    """Describe a number that may be left out."""
    return Field(default=None, description=words, allow_inf_nan=False)


class Question(BaseModel):
    """A question: what is left out stays as the case says."""

    model_config = ConfigDict(extra="forbid", strict=True)
    kits: Kits = []
    base: Annotated[
        Name, Field(description="reference, or worst-1 for the first of the worst conditions.")
    ] = REFERENCE
    fuel: Annotated[Name | None, Field(description="Of the case, or a grade.")] = None
    blend_with: Annotated[Name | None, Field(description="Fuel that is blended in.")] = None
    blend_fraction: float = Field(default=0.0, description="Of it, by volume. [-]")
    fuel_temperature_k: float | None = _number("At the pump inlet. [K]")
    altitude_m: float | None = _number("In the standard atmosphere. [m]")
    fuel_level_fraction: float | None = _number("Fuel in the tank over its capacity. [-]")
    road_pitch_rad: float | None = _number("Climb of the road. [rad]")
    loading_share: float | None = _number("Dirt in all elements over the scale of each. [-]")
    loading_shares: dict[Name, float] = Field(
        default={}, max_length=100, description="The same for single elements, by id. [-]"
    )
    speed_m_per_s: float | None = _number("Road speed of the figures; the pull's top. [m/s]")
    ranges: bool = Field(default=True, description="False leaves the ranges out: faster.")

    def asked(self) -> WhatIf:
        """Give it as the program asks it."""
        return WhatIf(**{**self.model_dump(), "kits": tuple(self.kits)})


@reads.get("/cases/{case}/what-if", **gives("what-if", "With what else can be asked."))
def begin_what_if(
    request: Request,
    case: str,  # noqa: ARG001
    kit: Annotated[
        list[Name],
        Query(max_length=MOST_KITS, description="Configurations beside the baseline."),
    ] = [],  # noqa: B006
) -> Response:
    """Answer for the reference conditions, with the choices and sliders of the case."""
    return answered(what_if(case_of(request), WhatIf(kits=tuple(kit))))


@writes.post("/cases/{case}/what-if", **gives("what-if", "The answer.", faults=WRITING))
def ask_what_if(request: Request, case: str, said: Question) -> Response:  # noqa: ARG001
    """Answer under any conditions: figures, curves, staircase; nothing is kept of it."""
    return answered(what_if(case_of(request), said.asked()))


@reads.get("/cases/{case}/runs/{number}", tags=["runs"], **gives("run", "As it is judged."))
def read_run(
    request: Request,
    case: str,  # noqa: ARG001
    number: Annotated[int, Path(ge=0, le=1_000_000, description="Number of the run.")],
) -> Response:
    """Read one run: its window, its channels with their faults, the steps of cleaning."""
    return answered(run_reading(case_of(request), number))
