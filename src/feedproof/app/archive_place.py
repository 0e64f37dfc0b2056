"""
Where an archive of repeatability lies: a file, or the database, which is named by one word.

What reads or adds to an archive works on a file.  For the database's own that file is written for
the moment of the work; what was added to it goes into the database, all of it or nothing.
"""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store

STORE = "store"
"""The word that names the database's archive in the place of a file; a file is ``./store``."""
FILE = "archive-of-the-database.jsonl"


def is_store(place: Path | None) -> bool:
    """
    Say whether the database's archive is meant.

    Parameters
    ----------
    place : Path or None
        As it was named.

    Returns
    -------
    bool
        True for the word alone.
    """
    # A path forgets the dot of ./store, so an existing file of that name is told, never guessed.
    return place is not None and str(place) == STORE


@contextmanager
def readable(place: Path | None) -> Iterator[Path | None]:
    """
    Give the file of an archive for as long as it is read.

    Parameters
    ----------
    place : Path or None
        A file, or the database's by its word.

    Yields
    ------
    Path or None
        The file.

    Raises
    ------
    MissingError
        The database holds no archive.
    InputError
        A file has the name that means the database's.
    """
    if not is_store(place):
        yield place
        return
    with tempfile.TemporaryDirectory(prefix="feedproof-") as folder:
        file = _given_out(Path(folder))
        if not file.read_bytes():
            raise MissingError.at(
                "the database",
                "holds no archive of repeatability.",
                "Take one in: feedproof archive take-in FILE; or begin one with a case:"
                " feedproof archive add CASE --file store.",
            )
        yield file


@contextmanager
def changeable(place: Path, signed: Signed) -> Iterator[Path]:
    """
    Give the file of an archive, and keep what was added to it.

    Parameters
    ----------
    place : Path
        A file, or the database's by its word.
    signed : Signed
        Who adds to it, and why.

    Yields
    ------
    Path
        The file; it need not exist yet.

    Raises
    ------
    InputError
        A file has the name that means the database's.
    WriteError
        Somebody else added to the database's archive meanwhile; nothing was written.
    """
    if not is_store(place):
        yield place
        return
    with tempfile.TemporaryDirectory(prefix="feedproof-") as folder:
        file = _given_out(Path(folder))
        if not file.read_bytes():
            file.unlink()
        yield file
        with Store.open() as store:
            try:
                store.take_in_archive(file, signed)
            except InputError as fault:
                raise WriteError.at(
                    "the archive in the database",
                    "was added to by somebody else meanwhile; nothing was written.",
                    "Look at it and do it again: feedproof archive show --file store.",
                ) from fault


def _given_out(folder: Path) -> Path:
    """Write the database's archive as a file; empty where there is none."""
    if Path(STORE).is_file():
        raise InputError.at(
            "--file or --archive",
            f"{STORE!r} means the archive in the database, and there is a file of that name here.",
            "Rename the file, or name it with its whole path.",
        )
    file = folder / FILE
    with Store.open() as store:
        store.give_out_archive(file)
    return file
