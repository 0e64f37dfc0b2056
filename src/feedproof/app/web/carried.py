"""What is carried in and out as files: bundles and the written report, for screens and programs."""

import shutil
import tempfile
from pathlib import Path
from typing import BinaryIO

from starlette.background import BackgroundTask
from starlette.responses import FileResponse, Response

from feedproof.app.api import store_export, store_import
from feedproof.app.told import Written
from feedproof.app.web.workspace import Workspace
from feedproof.core.errors import MissingError
from feedproof.records.names import safe_name

REPORT = "report"


def take_in(
    workspace: Workspace, bundle: BinaryIO, called: str, wanted: str = ""
) -> tuple[str, Written]:
    """
    Unpack a bundle as a new case, every hash checked.

    Parameters
    ----------
    workspace : Workspace
        Where the case goes.
    bundle : binary file
        As it came.
    called : str
        Its name as it came: never used as a path.
    wanted : str
        For the case; the bundle's own name where it is empty.

    Returns
    -------
    name : str
        Of the case.
    told : Written
        What was written.

    Raises
    ------
    InputError, WriteError
        It cannot be used or kept; nothing of it stays.
    """
    with tempfile.TemporaryDirectory(dir=workspace.own, prefix="bundle-") as scratch:
        kept = Path(scratch) / safe_name(called)
        with kept.open("wb") as target:
            shutil.copyfileobj(bundle, target, 1 << 20)
        name = workspace.free_name(wanted or kept.stem)
        return name, store_import(kept, workspace.path / name)


def given_out(workspace: Workspace, case: str) -> Response:
    """
    Give a case as one zip.

    Parameters
    ----------
    workspace : Workspace
        Where the case is.
    case : str
        From an address: never trusted.

    Returns
    -------
    Response
        The file, which is taken away once it was sent.

    Raises
    ------
    MissingError
        There is no such case.
    WriteError
        No space.
    """
    folder = workspace.case(case)
    scratch = Path(tempfile.mkdtemp(dir=workspace.own, prefix="bundle-"))

    def clear() -> None:
        shutil.rmtree(scratch, ignore_errors=True)

    try:
        store_export(folder, scratch / "bundle.zip")
    except BaseException:
        clear()
        raise
    return FileResponse(
        scratch / "bundle.zip",
        media_type="application/zip",
        filename=f"{case}.zip",
        background=BackgroundTask(clear),
    )


def report_part(path: Path, name: str) -> Path:
    """
    Find a file of the written report.

    Parameters
    ----------
    path : Path
        Folder of the case.
    name : str
        One of `feedproof.app.report_files`.

    Returns
    -------
    Path
        The file, inside the case.

    Raises
    ------
    MissingError
        It is not written yet.
    """
    file = path / REPORT / name
    # A link could lead anywhere.
    if not file.is_file() or file.resolve().parent.parent != path.resolve():
        raise MissingError.at(
            f"{REPORT}/{name}", "is not written yet.", "Publish the case first; the screen can."
        )
    return file
