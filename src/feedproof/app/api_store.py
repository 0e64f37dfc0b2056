"""The verbs that keep, check, move and restore what was recorded, as functions."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from feedproof.app.progress import Progress, silent
from feedproof.app.store_told import Recomputed, StoreVerified, VerifiedCase
from feedproof.app.told import Written
from feedproof.core.errors import FeedproofError, MissingError
from feedproof.core.findings import has_errors
from feedproof.records.bundle import read_bundle, write_bundle
from feedproof.records.folder import CASE, CaseFolder
from feedproof.records.trash import KEPT, remove_case, undo_removal


def store_verify(
    path: Path | None = None,
    *,
    recompute: bool = False,
    store: str | Path | None = None,
    progress: Progress = silent,
) -> StoreVerified:
    """
    Hash again all that was recorded, and compute results again where asked.

    Parameters
    ----------
    path : Path, optional
        A case, a bundle, or a folder that holds cases; the database when left out.
    recompute : bool
        Compute every result again from what it was made from.
    store : str or Path, optional
        Database, where no path is given.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    StoreVerified
        What is not as it was written.

    Raises
    ------
    MissingError
        There is no case, or no database.
    """
    if path is None:
        return _database_verified(store)
    cases = []
    for name, place in _cases(path):
        with _opened(place) as folder:
            cases.append(_verified(name, folder, recompute=recompute, progress=progress))
    whole = all(case.whole for case in cases)
    return StoreVerified(format="feedproof-verified", version=1, whole=whole, cases=tuple(cases))


def _database_verified(address: str | Path | None) -> StoreVerified:
    """Hash every record of the database again."""
    from feedproof.records.store.address import address_of, is_there, spoken
    from feedproof.records.store.store import Store

    if not is_there(address):
        name = spoken(address_of(address))
        raise MissingError.at(name, "there is no database.", "Name it: --store, FEEDPROOF_STORE.")
    with Store.open(address) as opened:
        found, name = opened.verify(), opened.name
    return StoreVerified(
        format="feedproof-verified",
        version=1,
        whole=not found,
        cases=(),
        store=name,
        findings=found,
    )


def _cases(path: Path) -> list[tuple[str, Path]]:
    """List the cases of a place by name."""
    if path.is_file() or (path / CASE).is_file():
        return [(str(path), path)]
    found = sorted(path.glob("**/case.toml")) if path.is_dir() else []
    visible = [
        f.parent for f in found if not any(p.startswith(".") for p in f.relative_to(path).parts)
    ]
    if not visible:
        raise MissingError.at(
            str(path), f"there is no {CASE} in it or below it.", "Check the path."
        )
    return [(str(folder), folder) for folder in visible]


@contextmanager
def _opened(place: Path) -> Iterator[CaseFolder]:
    """Open a case; a bundle is unpacked into a folder that goes away."""
    if place.is_dir() or place.name == CASE:
        yield CaseFolder.open(place)
        return
    with tempfile.TemporaryDirectory(prefix="feedproof-") as name:
        target = Path(name) / "case"
        read_bundle(place, target)
        yield CaseFolder.open(target)


def _verified(
    name: str, folder: CaseFolder, *, recompute: bool, progress: Progress
) -> VerifiedCase:
    """Verify one case."""
    from feedproof.records.verifying import verify_folder

    found = verify_folder(folder, lambda what: progress(0, 1, what))
    again, old = _again(folder, progress) if recompute else ([], 0)
    return VerifiedCase(
        case=name,
        whole=not has_errors(found.findings) and all(each.equal for each in again),
        raw=found.raw,
        channels=found.channels,
        documents=found.documents,
        results=found.results,
        lines=found.lines,
        recomputed=tuple(again),
        not_recomputable=old,
        findings=found.findings,
    )


def _again(folder: CaseFolder, progress: Progress) -> tuple[list[Recomputed], int]:
    """Compute the results of a case again, and count those that do not say how."""
    from feedproof.app.recomputing import recompute

    found, old = [], 0
    identities = folder.results.all()
    for done, identity in enumerate(identities):
        progress(done, len(identities), "computing results again")
        try:
            read = folder.results.read(identity)
        except FeedproofError:
            continue  # Told when it was hashed.
        if "made" in read:
            found.append(recompute(folder, identity, read))
        else:
            old += 1
    progress(len(identities), len(identities), "computing results again")
    return found, old


def store_export(path: Path, file: Path) -> Written:
    """
    Write a case as one zip.

    Parameters
    ----------
    path : Path
        Folder of the case.
    file : Path
        The zip; it must not exist yet.

    Returns
    -------
    Written
        What was written.
    """
    count = write_bundle(CaseFolder.open(path).path, file)
    return Written(
        format="feedproof-written",
        version=1,
        what=f"a bundle of {count} files",
        paths=(str(file),),
        next_step=f"Elsewhere: feedproof store import {file.name} FOLDER",
    )


def store_import(file: Path, folder: Path) -> Written:
    """
    Unpack a bundle, every hash checked.

    Parameters
    ----------
    file : Path
        The zip.
    folder : Path
        Folder to make; it must not exist yet.

    Returns
    -------
    Written
        What was written.
    """
    count = read_bundle(file, folder)
    return Written(
        format="feedproof-written",
        version=1,
        what=f"a case of {count} files, each with the hash that the bundle states",
        paths=(str(folder),),
        next_step=f"feedproof store verify {folder} --recompute",
    )


def store_remove(path: Path) -> Written:
    """
    Take a case away; it can be brought back.

    Parameters
    ----------
    path : Path
        Folder of the case.

    Returns
    -------
    Written
        Where it is now.
    """
    moved = remove_case(path)
    return Written(
        format="feedproof-written",
        version=1,
        what="the case was moved away; nothing of it was deleted",
        paths=(str(moved),),
        next_step=f"Within {KEPT.days} days: feedproof store undo {path}",
    )


def store_undo(path: Path) -> Written:
    """
    Bring a removed case back.

    Parameters
    ----------
    path : Path
        Folder that it had.

    Returns
    -------
    Written
        The folder.
    """
    back = undo_removal(path)
    return Written(
        format="feedproof-written", version=1, what="the case is back", paths=(str(back),)
    )
