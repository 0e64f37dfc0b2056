"""The verbs of the archive of repeatability as commands."""

from pathlib import Path

from feedproof.app import api_archive as api
from feedproof.app.archive_text import archive_text
from feedproof.app.naming import VARIABLE, named_archive
from feedproof.app.progress import bar
from feedproof.app.saying import say
from feedproof.core.errors import MissingError


def _needed(file: Path | None) -> Path:
    """Give the archive, or say how to name one."""
    found = named_archive(file)
    if found is None:
        raise MissingError.at(
            "--file", "no archive is named.", f"Give --file FILE, or set {VARIABLE}."
        )
    return found


def add(
    case: Path,
    /,
    *,
    who: str,
    file: Path | None = None,
    session: str | None = None,
    replace: str = "",
    json: bool = False,
) -> int:
    """
    Add the baseline repeats of a case, session by session; a session counts once.

    Parameters
    ----------
    case : Path
        Folder of the case; it names its rig and procedure.
    who : str
        Who adds them.
    file : Path
        The archive, begun where there is none; FEEDPROOF_ARCHIVE when left out.
    session : str
        Only this session of the case.
    replace : str
        Reason for putting the session's figures in the place of those that are there.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    place = _needed(file)
    with bar() as progress:
        told = api.archive_add(
            case,
            file=place,
            who=who,
            session=session,
            replace_because=replace,
            progress=progress,
        )
    say(told, told.text(), as_json=json)
    return 0


def show(*, file: Path | None = None, json: bool = False) -> int:
    """
    Say how well each rig repeats, how well that is known, and whether it is getting worse.

    Parameters
    ----------
    file : Path
        The archive; FEEDPROOF_ARCHIVE when left out.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.archive_show(_needed(file))
    say(told, archive_text(told), as_json=json)
    return 0


def withdraw(
    line: str, /, *, who: str, reason: str, file: Path | None = None, json: bool = False
) -> int:
    """
    Withdraw a session: its line stays and no longer counts.

    Parameters
    ----------
    line : str
        Number of the line as shown, or the first eight digits or more of its hash.
    who : str
        Who withdraws it.
    reason : str
        Why; it is kept and shown.
    file : Path
        The archive; FEEDPROOF_ARCHIVE when left out.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.archive_withdraw(_needed(file), line, who=who, reason=reason)
    say(told, told.text(), as_json=json)
    return 0
