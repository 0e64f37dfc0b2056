"""Cases taken away: moved into a hidden folder beside them, and back."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

from feedproof.core.errors import MissingError, WriteError
from feedproof.records.durable import sync_folder
from feedproof.records.folder import CaseFolder

TRASH = ".removed"
KEPT = timedelta(days=30)
_NAME = re.compile(r"^(?P<name>.+)-(?P<when>\d{8}T\d{12}Z)$")
_FORM = "%Y%m%dT%H%M%S%fZ"


def remove_case(path: Path, now: datetime | None = None) -> Path:
    """
    Move a case into the trash beside it.

    Parameters
    ----------
    path : Path
        Its folder.
    now : datetime, optional
        When, in UTC.

    Returns
    -------
    Path
        Where it is now.

    Raises
    ------
    MissingError
        There is no case.
    WriteError
        It could not be moved; it is where it was.
    """
    folder = CaseFolder.open(path).path.resolve()
    moment = now or datetime.now(UTC)
    target = folder.parent / TRASH / f"{folder.name}-{moment.strftime(_FORM)}"
    _move(folder, target)
    return target


def undo_removal(path: Path, now: datetime | None = None) -> Path:
    """
    Bring a removed case back to where it was.

    Parameters
    ----------
    path : Path
        Folder that it had.
    now : datetime, optional
        When, in UTC.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    MissingError
        Nothing of that name was removed within 30 days; older ones are still in the trash folder.
    WriteError
        Something else is in its place, or it could not be moved.
    """
    place = path.resolve()
    trash = place.parent / TRASH
    found = []
    for each in trash.iterdir() if trash.is_dir() else ():
        match = _NAME.match(each.name)
        if match and match["name"] == place.name:
            when = datetime.strptime(match["when"], _FORM).replace(tzinfo=UTC)
            found.append((when, each))
    if not found:
        raise MissingError.at(str(path), f"nothing of that name is in {TRASH}.", "Check the path.")
    when, newest = max(found)
    if (now or datetime.now(UTC)) - when > KEPT:
        raise MissingError.at(
            str(path),
            f"was removed on {when:%Y-%m-%d}, more than {KEPT.days} days ago.",
            f"It is still at {newest}: move it back by hand.",
        )
    if place.exists():
        raise WriteError.at(str(path), "is there already.", "Move it away first.")
    _move(newest, place)
    return place


def removed_cases(folder: Path, now: datetime | None = None) -> tuple[tuple[str, datetime], ...]:
    """
    List the cases that can be brought back.

    Parameters
    ----------
    folder : Path
        Folder that held them.
    now : datetime, optional
        When, in UTC.

    Returns
    -------
    tuple of (str, datetime)
        Name, and when it was taken away last; only names that are free again.
    """
    trash = folder.resolve() / TRASH
    latest: dict[str, datetime] = {}
    for each in sorted(trash.iterdir()) if trash.is_dir() else ():
        match = _NAME.match(each.name)
        if match and not (folder / match["name"]).exists():
            when = datetime.strptime(match["when"], _FORM).replace(tzinfo=UTC)
            if (now or datetime.now(UTC)) - when <= KEPT:
                latest[match["name"]] = when
    return tuple(sorted(latest.items()))


def _move(source: Path, target: Path) -> None:
    """Rename a folder on one disk: whole or not at all."""
    try:
        target.parent.mkdir(exist_ok=True)
        source.rename(target)
    except OSError as fault:
        raise WriteError.at(
            str(source), f"could not be moved: {fault.strerror}.", "Mend the permissions."
        ) from fault
    sync_folder(target.parent)
    sync_folder(source.parent)
