"""Where the database stands: a file of the user's, or what one variable names."""

import os
from pathlib import Path

import platformdirs
import sqlalchemy as sa

from feedproof.core.errors import InputError

VARIABLE = "FEEDPROOF_STORE"
SERVER = "postgresql+psycopg"


def address_of(named: str | Path | None = None) -> sa.URL:
    """
    Give the address of the database.

    Parameters
    ----------
    named : str or Path, optional
        A file, or an address that begins with ``postgresql+psycopg://``; when left out the
        variable ``FEEDPROOF_STORE`` counts, and without it the user's data folder.

    Returns
    -------
    sqlalchemy.URL
        Of SQLite or PostgreSQL.

    Raises
    ------
    InputError
        Another kind of address.
    """
    text = str(named) if named is not None else os.environ.get(VARIABLE, "").strip()
    if not text:
        text = str(Path(platformdirs.user_data_dir("feedproof", False)) / "store.sqlite")
    if "://" not in text:
        return sa.URL.create("sqlite+pysqlite", database=str(Path(text).expanduser().absolute()))
    try:
        url = sa.make_url(text)
    except sa.exc.ArgumentError:
        url = None
    if url is None or url.drivername != SERVER:
        # The address may hold a password, so it is not repeated.
        raise InputError.at(
            VARIABLE,
            "is neither a file nor an address of PostgreSQL.",
            f"Give a path, or {SERVER}://USER@HOST/DATABASE.",
        )
    return url


def spoken(url: sa.URL) -> str:
    """
    Name a database in a message, without its password.

    Parameters
    ----------
    url : sqlalchemy.URL
        Its address.

    Returns
    -------
    str
        A path or an address.
    """
    if url.get_backend_name() == "sqlite":
        return str(url.database)
    return url.render_as_string(hide_password=True)


def is_there(named: str | Path | None = None) -> bool:
    """
    Say whether there is a database to ask, without making one.

    Parameters
    ----------
    named : str or Path, optional
        As for `address_of`.

    Returns
    -------
    bool
        False for a file that does not exist; a server is taken to be there.

    Raises
    ------
    InputError
        Another kind of address.
    """
    url = address_of(named)
    return url.get_backend_name() != "sqlite" or Path(str(url.database)).exists()
