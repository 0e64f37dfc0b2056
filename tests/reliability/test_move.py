"""
A case that moves to another machine, and a database that is backed up and restored there.

Promised: what was exported, imported in another folder with another database, and computed again
gives every result to the last digit, and so does a verdict that is asked for anew with the restored
database.  Each trial is another case: other runs left out, with and without the archive of the
database and registered instruments.
"""

import random
import shutil
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.app.api_store_database import store_backup, store_restore
from feedproof.app.keeping import exact_hash
from feedproof.records.archive import ArchiveFile
from feedproof.records.folder import CaseFolder
from feedproof.records.store.address import VARIABLE
from feedproof.records.store.kinds import Instrument
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store
from tests.evidence.archives.archive_sessions import session_data
from tests.reliability.rows import tally, trials

ROW = "move to another machine"
PAST = Path(__file__).parents[1] / "formats_past"
IN_STORE = Path("store")


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A folder with a database of its own."""

    folder: Path

    def used(self, patched: pytest.MonkeyPatch) -> "Machine":
        """Work on this machine from here on."""
        self.folder.mkdir(exist_ok=True)
        patched.setenv(VARIABLE, str(self.folder / "data" / "store.sqlite"))
        patched.chdir(self.folder)
        return self


def varied(folder: CaseFolder, dice: random.Random) -> None:
    """Leave some runs out and word the document otherwise, so that each trial is another case."""
    numbers = [run.number for run in folder.load().case.runs if run.role == "compare"]
    for number in dice.sample(numbers, dice.randint(0, 2)):
        folder.exclude_run(number, who="tester", reason="a hose was loose (invented)")
    path = folder.path / "case.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(f"# trial {dice.random()}\n{text}", encoding="utf-8")


def filled(dice: random.Random) -> None:
    """Put an archive and an instrument into the database."""
    archive = ArchiveFile(Path("bench.jsonl"))
    for day in range(dice.randint(1, 4)):
        archive.add(session_data(day), who="tester")
    api.archive_take_in(archive.path, who="tester")
    day = date(2025, dice.randint(1, 12), 1)
    with Store.open() as store:
        logger = Instrument(id="logger", title="invented", calibrated=day, due=date(2026, 6, 1))
        store.keep_instrument(logger, Signed(who="tester"))


def moved(bundle: Path, target: Path, wanted: int) -> bool:
    """Import a bundle; say whether each of its results comes out again to the last digit."""
    api.store_import(bundle, target)
    told = api.store_verify(target, recompute=True)
    (case,) = told.cases
    return (
        told.whole
        and len(case.recomputed) >= wanted
        and all(each.equal and each.environment_equal for each in case.recomputed)
    )


def holds(trial: int, here: Machine, there: Machine, patched: pytest.MonkeyPatch) -> bool:
    """Move one case, and give False where a digit of it is another afterwards."""
    dice = random.Random(trial)
    here.used(patched)
    folder = CaseFolder(api.PACKAGED_DEMO).copy_to(here.folder / "case")
    varied(folder, dice)
    with_store = trial % 2 == 0
    archive = IN_STORE if with_store else None
    if with_store:
        filled(dice)
        store_backup(here.folder / "backup.sqlite")
    api.predict(folder.path, altitude=f"{dice.randint(0, 2500)} m")
    journal = folder.journal.path.read_bytes()
    proof = api.prove(folder.path, archive=archive)
    api.store_export(folder.path, there.folder.parent / f"{trial}.zip")

    there.used(patched)
    if not moved(there.folder.parent / f"{trial}.zip", there.folder / "case", 2):
        return False
    if (there.folder / "data").exists():
        return False  # Computing again asks no database and makes none.
    if with_store:
        store_restore(here.folder / "backup.sqlite")
    # Asked anew, before the look that the first answer left: the same question, the same answer.
    (there.folder / "case" / "journal.jsonl").write_bytes(journal)
    shutil.rmtree(there.folder / "case" / "results")
    again = api.prove(there.folder / "case", archive=archive)
    return exact_hash(again) == exact_hash(proof)


def test_a_moved_case_gives_every_result_to_the_last_digit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted, failed = trials(1, 20), []
    for trial in range(wanted):
        place = tmp_path / str(trial)
        place.mkdir()
        here, there = Machine(folder=place / "here"), Machine(folder=place / "there")
        if not holds(trial, here, there, monkeypatch):
            failed.append(trial)
        shutil.rmtree(place)
    tally(ROW, wanted, len(failed))

    assert failed == []


def test_a_moved_case_whose_digits_differ_would_be_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = Machine(folder=tmp_path / "here").used(monkeypatch)
    folder = CaseFolder(api.PACKAGED_DEMO).copy_to(here.folder / "case")
    api.predict(folder.path)
    (identity,) = folder.results.all()
    # Whole by every hash, and wrong.
    found = folder.results.read(identity)
    (folder.results.path / f"{identity}.json").unlink()
    folder.results.write(
        "prediction", {**found["content"], "version": 99}, {**found["made"], "exact": "0" * 64}
    )
    api.store_export(folder.path, tmp_path / "case.zip")

    assert not moved(tmp_path / "case.zip", tmp_path / "there", 1)


@pytest.mark.parametrize("bundle", sorted(PAST.glob("bundle-*.zip")), ids=lambda file: file.stem)
def test_the_bundle_of_each_release_moves_whole(bundle: Path, tmp_path: Path) -> None:
    api.store_import(bundle, tmp_path / "case")
    api.store_export(tmp_path / "case", tmp_path / "again.zip")
    api.store_import(tmp_path / "again.zip", tmp_path / "elsewhere")
    told = api.store_verify(tmp_path / "elsewhere", recompute=True)
    (case,) = told.cases
    bad = [each for each in case.recomputed if not each.equal and each.environment_equal]
    tally(f"{ROW}, a bundle of each release", 1, len(bad))

    assert not [each for each in case.findings if each.level == "error"], told.text()
    assert bad == []
