"""
Bundles of earlier versions keep loading.

Each file here was written by the version in its name and is never written again; the vehicle in it
is invented.  The first also holds a result as versions before it kept them, without how it was
made.
"""

from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.records.folder import CaseFolder

BUNDLES = sorted(Path(__file__).parent.glob("bundle-*.zip"))


def test_there_is_a_bundle_of_the_first_version_that_wrote_them() -> None:
    assert BUNDLES[0].name == "bundle-0.1.zip"


@pytest.mark.parametrize("bundle", BUNDLES, ids=lambda file: file.stem)
def test_a_bundle_of_an_earlier_version_loads_whole(bundle: Path, tmp_path: Path) -> None:
    api.store_import(bundle, tmp_path / "case")
    folder = CaseFolder.open(tmp_path / "case")
    told = api.store_verify(folder.path)

    assert told.whole, told.text()
    assert [run.number for run in folder.load().case.runs] == [1]
    assert [entry.what for entry in folder.journal.read()[0]] == ["margins declared", "run added"]


def test_results_with_and_without_how_they_were_made_are_read(tmp_path: Path) -> None:
    api.store_import(BUNDLES[0], tmp_path / "case")
    results = CaseFolder.open(tmp_path / "case").results
    read = [results.read(identity) for identity in results.of_kind("prediction")]

    assert sorted("made" in each for each in read) == [False, True]


def test_an_old_result_is_counted_as_one_that_cannot_be_computed_again(tmp_path: Path) -> None:
    api.store_import(BUNDLES[0], tmp_path / "case")
    (case,) = api.store_verify(tmp_path / "case", recompute=True).cases

    assert case.not_recomputable == 1
    (again,) = case.recomputed
    assert again.equal or again.why, "one that comes out otherwise says what is another than then"
