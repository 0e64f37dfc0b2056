"""Compute a verb and all that its screen shows, in one go, away from the server's own process."""

import importlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from feedproof.app.progress import Progress, silent

Shown = dict[str, Any]

ROOMS = {
    "prove": "prove",
    "plan": "plan",
    "protect": "protect",
    "service": "service",
    "choose": "choose",
    "publish": "publish",
}
"""Verbs that have a screen, by their module in this room."""


def shown_for(
    verb: str, path: Path, parameters: Mapping[str, Any], progress: Progress = silent
) -> Shown:
    """
    Compute a verb and put what its screen shows into words, tables and pictures.

    Parameters
    ----------
    verb : str
        One of `ROOMS`.
    path : Path
        Folder of the case.
    parameters : mapping
        Of the verb, by name.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    dict
        What JSON can hold.

    Raises
    ------
    FeedproofError
        What the verb could not use or write.
    """
    room = importlib.import_module(f"feedproof.app.web.shown.{ROOMS[verb]}")
    result = room.called(path, dict(parameters), progress)
    progress(0, 1, "drawing")
    shown: Shown = room.shown_of(path, result)
    progress(1, 1, "drawing")
    return shown
