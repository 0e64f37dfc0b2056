"""What stands above single cases: the list, bundles in and out, settings, schemas."""

import shutil
import tempfile
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, File, Form, Request, UploadFile
from pydantic import BaseModel, ConfigDict, Field
from starlette.background import BackgroundTask
from starlette.responses import FileResponse, Response

from feedproof.app import api
from feedproof.app.schemas import KINDS, schema
from feedproof.app.told import Written
from feedproof.app.web import numbers
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import READING, WRITING, answered, described, gives, gives_file
from feedproof.app.web.api.strict import FilesRoute, StrictRoute
from feedproof.app.web.api.told_here import CaseList, SettingsTold
from feedproof.app.web.preferences import Preferences
from feedproof.app.web.screen import case_of, preferences_of, workspace_of
from feedproof.core.errors import InputError, MissingError
from feedproof.core.findings import error

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


class NewSettings(BaseModel):
    """How the workshop wants things shown."""

    model_config = ConfigDict(extra="forbid", strict=True)
    who: Annotated[str, Field(min_length=1, max_length=100, description="Who changes them.")]
    units: Annotated[
        dict[str, str], Field(description="Unit by kind of quantity.", max_length=20)
    ] = {}
    decimal_comma: Annotated[bool, Field(description="Write 1,5 for 1.5.")] = False
    dark_mode: Annotated[bool | None, Field(description="None follows the system.")] = None


@reads.get("/cases", **gives("cases", "Every case, also those that cannot be used."))
def list_cases(request: Request) -> Response:
    """List the cases."""
    lines = workspace_of(request).lines()
    return answered(CaseList(format="feedproof-cases", version=1, cases=lines))


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
    workspace = workspace_of(request)
    with tempfile.TemporaryDirectory(dir=workspace.own, prefix="bundle-") as scratch:
        kept = Path(scratch) / "bundle.zip"
        with kept.open("wb") as target:
            shutil.copyfileobj(file.file, target)
        wanted = workspace.free_name(name or Path(file.filename or "case").stem)
        told = api.store_import(kept, workspace.path / wanted)
    return answered(told, 201, {"location": f"/api/cases/{wanted}"})


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
    folder = case_of(request)
    scratch = Path(tempfile.mkdtemp(dir=workspace_of(request).own, prefix="bundle-"))

    def clear() -> None:
        shutil.rmtree(scratch, ignore_errors=True)

    try:
        api.store_export(folder, scratch / "bundle.zip")
    except BaseException:
        clear()
        raise
    return FileResponse(
        scratch / "bundle.zip",
        media_type="application/zip",
        filename=f"{case}.zip",
        background=BackgroundTask(clear),
    )


@writes.delete("/cases/{case}", **gives("written", "Moved away.", faults=(*READING, 409)))
def remove_case(request: Request, case: str) -> Response:  # noqa: ARG001
    """Take a case away; nothing is deleted, and it can be brought back within 30 days."""
    return answered(api.store_remove(case_of(request)))


@writes.post("/cases/{case}/undo-removal", **gives("written", "Back.", faults=WRITING))
def undo_removal(request: Request, case: str) -> Response:
    """Bring back a case that was removed within 30 days."""
    return answered(api.store_undo(workspace_of(request).place(case)))


@reads.get("/settings", **gives("settings", "As they hold."))
def read_settings(request: Request) -> Response:
    """Say how the workshop likes things shown."""
    return answered(_told(preferences_of(request)))


@writes.put("/settings", **gives("settings", "As they hold now.", faults=WRITING))
def keep_settings(request: Request, wanted: NewSettings) -> Response:
    """Keep how the workshop likes things shown."""
    faults = [
        error(
            f"units.{kind}",
            f"{unit!r} is no unit of it.",
            f"There are: {', '.join(numbers.UNIT_CHOICES.get(kind, ())) or 'none'}.",
        )
        for kind, unit in wanted.units.items()
        if unit not in numbers.UNIT_CHOICES.get(kind, ())
    ]
    if faults:
        raise InputError(faults)
    preferences = preferences_of(request)
    preferences.keep(
        wanted.who,
        units=wanted.units,
        decimal_comma=wanted.decimal_comma,
        dark_mode=wanted.dark_mode,
    )
    return answered(_told(preferences))


def _told(preferences: Preferences) -> SettingsTold:
    """Put settings into a document."""
    chosen = preferences.settings
    return SettingsTold(
        format="feedproof-settings",
        version=1,
        units=chosen.units,
        decimal_comma=chosen.decimal_comma,
        dark_mode=chosen.dark_mode,
        fault=preferences.fault,
    )


_SCHEMA: Any = {"application/json": {"schema": {"type": "object"}}}


@reads.get("/schemas/{document}", **described("JSON Schema, draft 2020-12.", _SCHEMA))
def read_schema(document: str) -> Response:
    """Give the JSON Schema of a document."""
    if document not in ("case", *KINDS):
        raise MissingError.at(
            "schemas", f"there is no document {document!r}.", f"There are: {', '.join(KINDS)}."
        )
    return answered(schema(document))
