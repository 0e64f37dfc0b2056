"""The verbs of the database of what crosses cases as commands."""

from pathlib import Path

from feedproof.app import api_store_database as api
from feedproof.app.api_records import instrument_remove
from feedproof.app.saying import say


def reindex(folder: Path, /, *, store: str | None = None, json: bool = False) -> int:
    """
    Read every case below a folder and make the index of cases anew; the folders are the truth.

    Parameters
    ----------
    folder : Path
        Folder of cases.
    store : str
        Database: a file, or an address that begins with postgresql+psycopg://; FEEDPROOF_STORE
        or a file in the user's data folder when left out.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.store_reindex(folder, store=store)
    say(told, told.text(), as_json=json)
    return 0


def cases(folder: Path | None = None, /, *, store: str | None = None, json: bool = False) -> int:
    """
    List cases with what they came to; only those that have changed are read.

    Parameters
    ----------
    folder : Path
        Folder of cases; all that the index knows when left out.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.store_cases(folder, store=store)
    say(told, told.text(), as_json=json)
    return 0


def backup(file: Path, /, *, store: str | None = None, json: bool = False) -> int:
    """
    Check every record and copy the database, also while others write to it.

    Parameters
    ----------
    file : Path
        File that does not exist yet.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.store_backup(file, store=store)
    say(told, told.text(), as_json=json)
    return 0


def restore(file: Path, /, *, store: str | None = None, json: bool = False) -> int:
    """
    Put a backup in the place of what the database holds, and keep what was there.

    Parameters
    ----------
    file : Path
        A backup of this or an earlier version.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.store_restore(file, store=store)
    say(told, told.text(), as_json=json)
    return 0


def add(
    instrument: str,
    /,
    *,
    title: str,
    who: str,
    serial: str = "",
    calibrated: str = "",
    due: str = "",
    certificate: str = "",
    replace: str = "",
    store: str | None = None,
    json: bool = False,
) -> int:
    """
    Keep an instrument with its calibration; an earlier entry stays and is superseded.

    Parameters
    ----------
    instrument : str
        Its name, as cases use it.
    title : str
        What it is.
    who : str
        Who enters it.
    serial : str
        Serial number.
    calibrated : str
        Day of the last calibration, such as 2026-03-31.
    due : str
        Day by which it must be calibrated again.
    certificate : str
        Number of the certificate.
    replace : str
        Reason for putting this in the place of the entry that is there.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.instrument_add(
        instrument,
        title=title,
        who=who,
        serial=serial,
        calibrated=calibrated,
        due=due,
        certificate=certificate,
        replace_because=replace,
        store=store,
    )
    say(told, told.text(), as_json=json)
    return 0


def show(
    instrument: str | None = None,
    /,
    *,
    on: str = "",
    store: str | None = None,
    json: bool = False,
) -> int:
    """
    Say which instruments there are and which are out of calibration.

    Parameters
    ----------
    instrument : str
        Only this one, with every earlier entry.
    on : str
        Day for which calibration is judged, such as 2026-03-31; today when left out.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.instrument_show(instrument, on=on, store=store)
    say(told, told.text(), as_json=json)
    return 0


def remove(
    instrument: str,
    /,
    *,
    who: str,
    why: str,
    store: str | None = None,
    json: bool = False,
) -> int:
    """
    Remove an instrument; feedproof record undo brings it back for 30 days.

    Parameters
    ----------
    instrument : str
        Its name.
    who : str
        Who removes it.
    why : str
        Why; it is kept.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = instrument_remove(instrument, who=who, why=why, store=store)
    say(told, told.text(), as_json=json)
    return 0
