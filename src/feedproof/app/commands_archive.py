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
            "--file",
            "no archive is named.",
            f"Give --file FILE, or --file store for the database's, or set {VARIABLE}.",
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
        The archive, begun where there is none; store for the one in the database;
        FEEDPROOF_ARCHIVE when left out.
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
        The archive, or store for the one in the database; FEEDPROOF_ARCHIVE when left out.
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
        The archive, or store for the one in the database; FEEDPROOF_ARCHIVE when left out.
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


def take_in(file: Path, /, *, who: str, store: str | None = None, json: bool = False) -> int:
    """
    Take an archive's file into the database, whose archive it then is.

    Parameters
    ----------
    file : Path
        The archive; it stays as it is.
    who : str
        Who takes it in.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.archive_take_in(file, who=who, store=store)
    say(told, told.text(), as_json=json)
    return 0


def give_out(file: Path, /, *, store: str | None = None, json: bool = False) -> int:
    """
    Write the archive in the database as a file, letter by letter.

    Parameters
    ----------
    file : Path
        File that does not exist yet, or the beginning of the same archive.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.archive_give_out(file, store=store)
    say(told, told.text(), as_json=json)
    return 0
