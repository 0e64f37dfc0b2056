"""The verbs that keep, check, move and restore what was recorded, as commands."""

from pathlib import Path

from feedproof.app import api_store as api
from feedproof.app.api_runs import correct as correct_run
from feedproof.app.progress import bar
from feedproof.app.saying import say
from feedproof.core.errors import InputError


def verify(
    place: Path | None = None,
    /,
    *,
    recompute: bool = False,
    store: str | None = None,
    json: bool = False,
) -> int:
    """
    Hash again all that was recorded; compute results again where asked.

    Parameters
    ----------
    place : Path
        A case, a bundle, or a folder that holds cases; the database when left out.
    recompute : bool
        Compute every result again from the document, parameters and journal it was made from.
    store : str
        Database, where no place is given; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        0 when all is as it was written, 2 otherwise.
    """
    with bar() as progress:
        told = api.store_verify(place, recompute=recompute, store=store, progress=progress)
    say(told, told.text(), as_json=json)
    return 0 if told.whole else InputError.exit_code


def export(case: Path, file: Path, /, *, json: bool = False) -> int:
    """
    Write a case as one plain zip for another workshop.

    Parameters
    ----------
    case : Path
        Folder of the case.
    file : Path
        The zip; it must not exist yet.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.store_export(case, file)
    say(told, told.text(), as_json=json)
    return 0


def import_(file: Path, folder: Path, /, *, json: bool = False) -> int:
    """
    Unpack a bundle into a new folder, every hash checked.

    Parameters
    ----------
    file : Path
        The zip.
    folder : Path
        Folder to make; it must not exist yet.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.store_import(file, folder)
    say(told, told.text(), as_json=json)
    return 0


def remove(case: Path, /, *, json: bool = False) -> int:
    """
    Take a case away; nothing is deleted, and it can be brought back.

    Parameters
    ----------
    case : Path
        Folder of the case.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.store_remove(case)
    say(told, told.text(), as_json=json)
    return 0


def undo(case: Path, /, *, json: bool = False) -> int:
    """
    Bring back a case that was removed within 30 days.

    Parameters
    ----------
    case : Path
        Folder that it had.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.store_undo(case)
    say(told, told.text(), as_json=json)
    return 0


def correct(case: Path, /, *, run: int, who: str, why: str, json: bool = False) -> int:
    """
    Record that a run's table was corrected, with who and why.

    Parameters
    ----------
    case : Path
        Folder of the case, its document already corrected.
    run : int
        Number of the run.
    who : str
        Who corrected it.
    why : str
        Why.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = correct_run(case, run, who=who, why=why)
    say(told, told.text(), as_json=json)
    return 0
