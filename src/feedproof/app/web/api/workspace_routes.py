"""What stands above single cases: the list, bundles in and out, schemas."""

from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, File, Form, Request, UploadFile
from fastapi import Path as PathParameter
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from feedproof.app import api
from feedproof.app.documents import schema_of
from feedproof.app.schemas import KINDS, schema
from feedproof.app.told import Written
from feedproof.app.web import carried
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import READING, WRITING, answered, described, gives, gives_file
from feedproof.app.web.api.strict import FilesRoute, StrictRoute
from feedproof.app.web.api.told_here import HERE, WorkspaceCases
from feedproof.app.web.screen import case_of, workspace_of
from feedproof.core.errors import MissingError

reads = APIRouter(tags=["workspace"])
files_in = APIRouter(
    tags=["workspace"], route_class=FilesRoute, dependencies=[Depends(needs_token_of_browsers)]
)
writes = APIRouter(
    tags=["workspace"], route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)]
)
LOCATION = {"location": "Address of the case."}


class NewCase(BaseModel):
    """A case to begin."""

    model_config = ConfigDict(extra="forbid", strict=True)
    name: Annotated[str, Field(min_length=1, max_length=200, description="What it is about.")]
    begin: Annotated[
        Literal["template", "demo"],
        Field(description="From the commented template, or a copy of the invented demonstration."),
    ] = "template"


@reads.get("/cases", **gives("workspace", "Every case, also those that cannot be used."))
def list_cases(request: Request) -> Response:
    """List the cases."""
    lines = workspace_of(request).lines()
    return answered(WorkspaceCases(format="feedproof-workspace", version=1, cases=lines))


@writes.post("/cases", **gives("written", "Begun.", status=201, faults=WRITING, headers=LOCATION))
def begin_case(request: Request, wanted: NewCase) -> Response:
    """Begin a case, from the template or as a copy of the demonstration."""
    workspace = workspace_of(request)
    if wanted.begin == "demo":
        name = workspace.add_demo()
        told = _copied(workspace.path / name)
    else:
        name = workspace.free_name(wanted.name)
        told = api.new(workspace.path / name)
    return answered(told, 201, {"location": f"/api/cases/{name}"})


@files_in.post(
    "/bundles", **gives("written", "Taken in.", status=201, faults=WRITING, headers=LOCATION)
)
def import_bundle(
    request: Request,
    file: Annotated[UploadFile, File(description="A bundle, from the other workshop's export.")],
    name: Annotated[
        str, Form(max_length=200, description="For the case; left out, the file's.")
    ] = "",
) -> Response:
    """Take in a case from a bundle, every hash checked."""
    called = file.filename or "case.zip"
    taken, told = carried.take_in(workspace_of(request), file.file, called, name)
    return answered(told, 201, {"location": f"/api/cases/{taken}"})


def _copied(path: Path) -> Written:
    """Say that the demonstration was copied."""
    return Written(
        format="feedproof-written",
        version=1,
        what="a copy of the invented demonstration",
        paths=(str(path),),
        next_step=f"feedproof prove {path}",
    )


@reads.get("/cases/{case}/bundle", **gives_file("application/zip", "One plain zip."))
def export_bundle(request: Request, case: str) -> Response:
    """Download a case as one zip for another workshop."""
    return carried.given_out(workspace_of(request), case)


@writes.delete("/cases/{case}", **gives("written", "Moved away.", faults=(*READING, 409)))
def remove_case(request: Request, case: str) -> Response:  # noqa: ARG001
    """Take a case away; nothing is deleted, and it can be brought back within 30 days."""
    return answered(api.store_remove(case_of(request)))


@writes.post("/cases/{case}/undo-removal", **gives("written", "Back.", faults=WRITING))
def undo_removal(request: Request, case: str) -> Response:
    """Bring back a case that was removed within 30 days."""
    return answered(api.store_undo(workspace_of(request).place(case)))


_SCHEMA: Any = {"application/json": {"schema": {"type": "object"}}}


NAMES = ("case", "edit", *KINDS, *HERE)
"""Documents that have a schema: those of the command line, and those of this interface alone."""


@reads.get("/schemas/{document}", **described("JSON Schema, draft 2020-12.", _SCHEMA))
def read_schema(
    document: Annotated[
        str, PathParameter(json_schema_extra={"enum": [*NAMES]}, description="Its name.")
    ],
) -> Response:
    """Give the JSON Schema of a document."""
    if document not in NAMES:
        raise MissingError.at(
            "schemas", f"there is no document {document!r}.", f"There are: {', '.join(NAMES)}."
        )
    return answered(schema_of(HERE[document]) if document in HERE else schema(document))
