"""The verb ``plan`` as a function."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from feedproof.app.keeping import Call, keep_result
from feedproof.app.progress import Progress, silent
from feedproof.core.errors import FeedproofError, InputError
from feedproof.records.folder import CaseFolder


def plan(
    path: Path,
    *,
    kits: tuple[str, ...] | None = None,
    chance: float = 90.0,
    runs_each: int | None = None,
    replumbed: bool | None = None,
    sheet: Path | None = None,
    force: bool = False,
    archive: Path | None = None,
    progress: Progress = silent,
) -> Any:
    """
    Plan the test: order, runs, what they can exclude, which step to improve first.

    Parameters
    ----------
    path : Path
        Folder of the case.
    kits : tuple of str, optional
        Configurations to test; every kit that is no positive control when left out.
    chance : float
        Wanted chance of excluding each margin when there is no loss. [%]
    runs_each : int, optional
        Runs of each; the least that reach the chance when left out.
    replumbed : bool, optional
        Every change-over opens the line; when left out, True where a scatter of opening it is
        declared.
    sheet : Path, optional
        Run sheet to write, ``.html`` or ``.pdf``.
    force : bool
        Write over a sheet that is there.
    archive : Path, optional
        Archive of repeatability to look the rig's scatter up in; ``store`` is the database's.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    SessionPlan
        The answer; a copy is kept among the case's results.

    Raises
    ------
    InputError
        Everything in the options that cannot be used, at once.
    WriteError
        The sheet cannot be written.
    """
    from feedproof.app.archive_place import readable

    with readable(archive) as file:
        return _planned(
            path,
            file,
            {
                "kits": kits,
                "chance": chance,
                "runs_each": runs_each,
                "replumbed": replumbed,
                "sheet": sheet,
                "force": force,
            },
            progress,
        )


def _planned(path: Path, archive: Path | None, asked: Mapping[str, Any], progress: Progress) -> Any:
    """Plan with the archive's file, and keep the plan with it."""
    from feedproof.app.archiving import case_with_archive
    from feedproof.app.plan_sheet import check_sheet, write_sheet
    from feedproof.app.planning import plan_case
    from feedproof.evidence.archives.choice import Plumbing

    folder = CaseFolder.open(path)
    loaded = folder.load()
    sheet: Path | None = asked["sheet"]
    # Runs between two change-overs share what was plumbed.
    opened = Plumbing.SHARED if asked["replumbed"] else None
    case, used, looked_up = case_with_archive(loaded.case, archive, opened)
    faults = list(check_sheet(sheet, force=asked["force"])) if sheet is not None else []
    try:
        found = plan_case(
            case,
            kits=asked["kits"],
            chance_percent=asked["chance"],
            runs_each=asked["runs_each"],
            replumbed=asked["replumbed"],
            findings=(*loaded.findings, *looked_up),
            progress=progress,
        )
    except FeedproofError as problem:
        if faults and isinstance(problem, InputError):
            raise InputError([*problem.findings, *faults]) from problem
        raise
    if faults:
        raise InputError(faults)
    found = replace(found, archive=used)
    if sheet is not None:
        found = replace(found, sheet=str(sheet))
        write_sheet(sheet, case, found)
    call = Call(verb="plan", parameters=asked, files={"archive": archive})
    keep_result(folder, loaded, "plan", found, call)
    return found
