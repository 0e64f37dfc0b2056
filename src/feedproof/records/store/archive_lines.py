"""The archive of repeatability in the database, letter by letter as its file holds it."""

import hashlib
import os
from pathlib import Path

import sqlalchemy as sa

from feedproof.core.errors import InputError, WriteError
from feedproof.records.archive import ArchiveFile
from feedproof.records.durable import write_whole
from feedproof.records.store.kinds import ArchiveLine, content_of
from feedproof.records.store.rows import Signed, append, standing


def lines_in(connection: sa.Connection) -> list[str]:
    """
    Give the lines that the database holds.

    Parameters
    ----------
    connection : Connection
        In a transaction.

    Returns
    -------
    list of str
        In the order of the file that they came from.
    """
    return [kept.record.line for kept in standing(connection, "archive_lines")]


def take_in(connection: sa.Connection, file: Path, signed: Signed) -> int:
    """
    Add the lines of an archive that are not there yet.

    Parameters
    ----------
    connection : Connection
        In a transaction that writes.
    file : Path
        The archive; its chain of hashes is checked first.
    signed : Signed
        Who takes it in.

    Returns
    -------
    int
        Lines added.

    Raises
    ------
    MissingError
        There is no such file.
    InputError
        It is damaged, or another archive than the one that is there.
    """
    whole = ArchiveFile(file).load().entries
    # Not splitlines: a name may hold a character that it takes for the end of a line.
    lines = file.read_text(encoding="utf-8").split("\n")[:whole]
    there = lines_in(connection)
    common = min(len(lines), len(there))
    if lines[:common] != there[:common]:
        number = next(n for n in range(common) if lines[n] != there[n]) + 1
        raise InputError.at(
            f"{file.name} line {number}",
            "differs from the same line in the database: it is another archive.",
            "Keep one archive in one database.",
        )
    for line in lines[common:]:
        subject = hashlib.sha256(line.encode()).hexdigest()
        append(
            connection,
            "archive_lines",
            subject,
            content_of(ArchiveLine(line=line)),
            signed=signed,
            seen="",
        )
    return len(lines) - common


def give_out(lines: list[str], file: Path) -> None:
    """
    Write the archive as its file.

    Parameters
    ----------
    lines : list of str
        As `lines_in` gives them.
    file : Path
        Must not exist, or hold the beginning of the same archive.

    Raises
    ------
    WriteError
        The file holds something else, or nothing could be written.
    """
    content = "".join(f"{line}\n" for line in lines).encode()
    if file.exists() and not content.startswith(file.read_bytes().replace(b"\r\n", b"\n")):
        raise WriteError.at(
            os.fspath(file), "holds something else.", "Name a file that does not exist yet."
        )
    write_whole(file, content)
