"""Compute a verb and all that its screen shows, in one go, away from the server's own process."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from feedproof.app.jobs import parameters as of
from feedproof.app.jobs.verbs import VERBS, Verb
from feedproof.app.progress import Progress, silent

Shown = dict[str, Any]
_HERE = f"{__name__}:"
DRAWING = "drawing"


def verdict(path: Path, *, progress: Progress = silent, **asked: Any) -> Shown:
    """
    Judge the runs, for the screen.

    Parameters
    ----------
    path : Path
        Folder of the case.
    progress : Progress
        Told how far the work is.
    **asked
        As `feedproof.app.api.prove` takes it.

    Returns
    -------
    dict
        What the screen shows.
    """
    from feedproof.app.api_prove import prove
    from feedproof.app.web.shown.prove import shown_of

    proof = prove(path, progress=progress, **asked)
    progress(0, 1, DRAWING)
    return shown_of(path, proof)


def plan(path: Path, *, progress: Progress = silent, **asked: Any) -> Shown:
    """
    Plan the test, for the screen.

    Parameters
    ----------
    path : Path
        Folder of the case.
    progress : Progress
        Told how far the work is.
    **asked
        As `feedproof.app.api.plan` takes it.

    Returns
    -------
    dict
        What the screen shows.
    """
    from feedproof.app.api_plan import plan as planned
    from feedproof.app.web.shown.plan import shown_of

    found = planned(path, progress=progress, **asked)
    progress(0, 1, DRAWING)
    return shown_of(path, found)


def protection(path: Path, *, progress: Progress = silent, **asked: Any) -> Shown:
    """
    Say what reaches the pump, for the screen.

    Parameters
    ----------
    path : Path
        Folder of the case.
    progress : Progress
        Told how far the work is.
    **asked
        As `feedproof.app.api.protect` takes it.

    Returns
    -------
    dict
        What the screen shows.
    """
    from feedproof.app.api_kits import protect
    from feedproof.app.web.shown.protect import shown_of

    progress(0, 2, "following particles and water")
    found = protect(path, **asked)
    progress(1, 2, DRAWING)
    return shown_of(found)


def life(path: Path, *, progress: Progress = silent, **asked: Any) -> Shown:
    """
    Say when elements are changed, for the screen.

    Parameters
    ----------
    path : Path
        Folder of the case.
    progress : Progress
        Told how far the work is.
    **asked
        As `feedproof.app.api.service` takes it.

    Returns
    -------
    dict
        What the screen shows.
    """
    from feedproof.app.api_kits import service
    from feedproof.app.web.shown.service import shown_of

    found = service(path, progress=progress, **asked)
    progress(0, 1, DRAWING)
    return shown_of(found)


def choice(path: Path, *, progress: Progress = silent, **asked: Any) -> Shown:
    """
    Say which kit is right, for the screen.

    Parameters
    ----------
    path : Path
        Folder of the case.
    progress : Progress
        Told how far the work is.
    **asked
        As `feedproof.app.api.choose` takes it.

    Returns
    -------
    dict
        What the screen shows.
    """
    from feedproof.app.api_choose import choose
    from feedproof.app.web.shown.choose import shown_of

    found = choose(path, progress=progress, **asked)
    progress(0, 1, DRAWING)
    return shown_of(found)


def report(path: Path, *, progress: Progress = silent, **asked: Any) -> Shown:
    """
    Write the report into the case, for the screen.

    Parameters
    ----------
    path : Path
        Folder of the case.
    progress : Progress
        Told how far the work is.
    **asked
        As `feedproof.app.api.publish` takes it.

    Returns
    -------
    dict
        What the screen shows.
    """
    from feedproof.app.api import publish
    from feedproof.app.web.shown.common import told

    written = publish(path, progress=progress, **asked)
    return {"findings": told(written.findings)}


SCREEN_VERBS: Mapping[str, Verb] = {
    **VERBS,
    # A judgement leaves a look in the journal, and so does a report that judges.
    "show_verdict": Verb(
        function=f"{_HERE}verdict", model=of.OfProve, writes=True, kind="shown-verdict"
    ),
    "show_plan": Verb(function=f"{_HERE}plan", model=of.OfPlan, kind="shown-plan"),
    "show_protection": Verb(
        function=f"{_HERE}protection", model=of.OfProtect, kind="shown-protection"
    ),
    "show_life": Verb(function=f"{_HERE}life", model=of.OfService, kind="shown-life"),
    "show_choice": Verb(function=f"{_HERE}choice", model=of.OfChoose, kind="shown-choice"),
    "show_report": Verb(
        function=f"{_HERE}report", model=of.OfPublish, writes=True, kind="shown-report"
    ),
}
"""All verbs, and those that also draw what a screen shows."""
TABLE = f"{__name__}:SCREEN_VERBS"
