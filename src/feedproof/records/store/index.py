"""The index of cases: made from the folders at any time, and never the truth."""

import hashlib
import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from feedproof.core.errors import FeedproofError, MissingError
from feedproof.records.folder import CASE, JOURNAL, RESULTS, CaseFolder
from feedproof.records.store.checks import case_hash
from feedproof.records.store.kinds import IndexedCase
from feedproof.records.store.rows import Signed
from feedproof.records.store.tables import CASES


def cases_below(folder: Path) -> Iterator[Path]:
    """
    Find the folders of cases.

    Parameters
    ----------
    folder : Path
        Where to look; links are not followed, hidden folders and those in a case not entered.

    Yields
    ------
    Path
        Folder of a case.

    Raises
    ------
    MissingError
        There is no such folder.
    """
    if not folder.is_dir():
        raise MissingError.at(str(folder), "there is no such folder.", "Name a folder of cases.")
    for place, inner, names in os.walk(folder):
        if CASE in names:
            inner.clear()
            yield Path(place)
        else:
            inner[:] = sorted(each for each in inner if not each.startswith("."))


def described(folder: Path, indexed: str) -> IndexedCase:
    """
    Read what the index keeps of one case, whatever its state.

    Parameters
    ----------
    folder : Path
        Of the case.
    indexed : str
        When, in UTC.

    Returns
    -------
    IndexedCase
        With its fault where it cannot be used.
    """
    fault, title, vehicle, kits, sha256 = "", "", "", "", ""
    proof, answer = "", ""
    try:
        opened = CaseFolder(folder)
        reading = opened.read()
        sha256 = reading.sha256
        if reading.case is None:
            errors = [f for f in reading.findings if f.level == "error"]
            fault = str(errors[0]) if len(errors) == 1 else f"{len(errors)} errors: {errors[0]}"
        else:
            title, vehicle = reading.case.title, reading.case.vehicle.name
            kits = " ".join(reading.case.kits)
        proof, answer = _last_proof(opened)
    except (FeedproofError, OSError, ValueError) as problem:
        fault = fault or " ".join(str(problem).split())
    return IndexedCase(
        path=str(folder.resolve()),
        title=title,
        vehicle=vehicle,
        document_sha256=sha256,
        kits=kits,
        proof=proof,
        answer=answer,
        fault=fault,
        indexed=indexed,
    )


def stands(folder: Path, known: IndexedCase) -> bool:
    """
    Say whether what the index knows of a case is still so.

    Parameters
    ----------
    folder : Path
        Of the case.
    known : IndexedCase
        What the index says.

    Returns
    -------
    bool
        True where the document has the same hash and nothing was written to journal or results
        since; False also where that cannot be told, so that the case is read anew.
    """
    if known.fault:
        return False  # Whatever was wrong may lie outside of what is looked at here.
    try:
        digest = hashlib.sha256((folder / CASE).read_bytes()).hexdigest()
        results = folder / RESULTS
        places = [folder / JOURNAL, *([results, *results.iterdir()] if results.is_dir() else [])]
        newest = max((each.stat().st_mtime for each in places if each.exists()), default=0.0)
    except OSError:
        return False
    # A file system may round the time of a change down by two seconds.
    read = datetime.fromisoformat(known.indexed).timestamp() - 2.0
    return digest == known.document_sha256 and newest < read


def looked_up(
    folder: Path | None, known: tuple[IndexedCase, ...], at: str
) -> tuple[tuple[IndexedCase, ...], tuple[str, ...]]:
    """
    Give cases as they are, by the index where it still says so and by reading them elsewhere.

    Parameters
    ----------
    folder : Path or None
        Where to look; None for the cases that the index knows.
    known : tuple of IndexedCase
        What the index says.
    at : str
        When, in UTC.

    Returns
    -------
    cases : tuple of IndexedCase
        Every case that is there.
    anew : tuple of str
        Paths of those that were read.

    Raises
    ------
    MissingError
        There is no such folder.
    """
    by_path = {case.path: case for case in known}
    places = (
        [Path(path) for path in by_path if (Path(path) / CASE).is_file()]
        if folder is None
        else cases_below(folder)
    )
    cases, anew = [], []
    for place in places:
        before = by_path.get(str(place.resolve()))
        if before is not None and stands(place, before):
            cases.append(before)
            continue
        cases.append(described(place, at))
        anew.append(cases[-1].path)
    return tuple(cases), tuple(anew)


def replace_below(connection: sa.Connection, folder: Path, found: tuple[IndexedCase, ...]) -> int:
    """
    Put what was found below a folder in the place of what the index knew of it.

    Parameters
    ----------
    connection : Connection
        In a transaction that writes.
    folder : Path
        The folder.
    found : tuple of IndexedCase
        Every case below it.

    Returns
    -------
    int
        Cases that the index knew and that are no longer there.
    """
    root = folder.resolve()
    known = [
        path
        for path in connection.execute(sa.select(CASES.c.path)).scalars()
        if Path(path).is_relative_to(root)
    ]
    put(connection, set(known), found)
    return len(set(known) - {case.path for case in found})


def put(connection: sa.Connection, gone: set[str], found: Iterable[IndexedCase]) -> None:
    """
    Take cases out of the index and put others in.

    Parameters
    ----------
    connection : Connection
        In a transaction that writes.
    gone : set of str
        Paths to take out.
    found : iterable of IndexedCase
        To put in, each in the place of what is known of its path.
    """
    found = tuple(found)
    for path in gone | {case.path for case in found}:
        connection.execute(CASES.delete().where(CASES.c.path == path))
    for case in found:
        row = asdict(case)
        connection.execute(CASES.insert().values({**row, "sha256": case_hash(row)}))


def indexed_cases(connection: sa.Connection) -> tuple[IndexedCase, ...]:
    """
    Give what the index knows.

    Parameters
    ----------
    connection : Connection
        In a transaction.

    Returns
    -------
    tuple of IndexedCase
        By path.
    """
    rows = connection.execute(sa.select(CASES).order_by(CASES.c.path)).mappings()
    return tuple(IndexedCase(**{k: v for k, v in row.items() if k != "sha256"}) for row in rows)


def read_all(folder: Path, signed: Signed) -> tuple[IndexedCase, ...]:
    """
    Read every case below a folder.

    Parameters
    ----------
    folder : Path
        The folder.
    signed : Signed
        Its time is noted.

    Returns
    -------
    tuple of IndexedCase
        By path.
    """
    at = signed.at
    return tuple(described(each, at) for each in cases_below(folder))


def _last_proof(folder: CaseFolder) -> tuple[str, str]:
    """Give the id of the last proof and what it came to."""
    proofs = folder.results.of_kind("proof")
    if not proofs:
        return "", ""
    content: Mapping[str, Any] = folder.results.read(proofs[-1])["content"]
    answers = [f"{each['configuration']}: {each['release']}" for each in content["verdicts"]]
    return proofs[-1], "; ".join(answers)
