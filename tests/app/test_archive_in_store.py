"""
The archive of repeatability in the database, which is then the truth of it.

Promised: a file goes in and comes out letter by letter; every verb of the archive takes the word
``store`` for it; a proof with it keeps the figures and comes out again where no database is; two
who add at once lose nothing; a file of that name is never mistaken for it.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.app.archive_place import STORE, changeable
from feedproof.app.cli import main
from feedproof.app.keeping import exact_hash
from feedproof.app.naming import VARIABLE as ARCHIVE
from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.archive import ArchiveFile
from feedproof.records.folder import CaseFolder
from feedproof.records.store.address import VARIABLE
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store
from tests.app.conftest import copied
from tests.evidence.archives.archive_sessions import session_data

IN_STORE = Path(STORE)


@pytest.fixture(autouse=True)
def own_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Name a database of the test's own, and work in a folder without a file called store."""
    file = tmp_path / "data" / "store.sqlite"
    monkeypatch.setenv(VARIABLE, str(file))
    monkeypatch.delenv(ARCHIVE, raising=False)
    monkeypatch.chdir(tmp_path)
    return file


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    """Write an archive of two invented sessions."""
    file = ArchiveFile(tmp_path / "bench.jsonl")
    for day in range(2):
        file.add(session_data(day), who="Ann \u2028 with a line separator")
    return file.path


@pytest.fixture
def folder(demo, tmp_path: Path) -> CaseFolder:
    """Copy the demonstration."""
    return copied(demo.folder, tmp_path / "case")


def test_a_file_goes_in_and_comes_out_letter_by_letter(archive, tmp_path) -> None:
    assert "3 lines" in api.archive_take_in(archive, who="Ann").what
    assert "0 lines" in api.archive_take_in(archive, who="Ann").what
    api.archive_give_out(tmp_path / "out.jsonl")

    assert (tmp_path / "out.jsonl").read_bytes() == archive.read_bytes()


def test_show_and_withdraw_take_the_word_for_the_file(archive, tmp_path, capsys) -> None:
    api.archive_take_in(archive, who="Ann")
    assert api.archive_show(IN_STORE).sessions == 2

    words = ["archive", "withdraw", "2", "--file", STORE, "--who", "Ben", "--reason", "gauge broke"]
    assert main(words) == 0
    assert "store" in capsys.readouterr().out
    assert api.archive_show(IN_STORE).sessions == 1
    api.archive_give_out(tmp_path / "out.jsonl")
    assert (tmp_path / "out.jsonl").read_bytes().startswith(archive.read_bytes())
    with Store.open() as store:
        assert store.verify() == ()


def test_a_case_is_added_and_a_proof_with_it_comes_out_again_without_the_database(
    folder, own_store, monkeypatch, tmp_path
) -> None:
    told = api.archive_add(folder.path, file=IN_STORE, who="Ann")
    assert told.paths == (STORE,)
    assert told.next_step.endswith("--file store")
    api.archive_give_out(tmp_path / "out.jsonl")

    monkeypatch.setenv(ARCHIVE, STORE)
    assert main(["prove", str(folder.path)]) == 0
    (identity,) = folder.results.of_kind("proof")
    read = folder.results.read(identity)
    used = read["content"]["archive"]
    assert used["sha256"] == ArchiveFile(tmp_path / "out.jsonl").load().sha256
    assert read["made"]["files"]["archive"]

    for left in own_store.parent.iterdir():
        left.unlink()
    told = api.store_verify(folder.path, recompute=True)
    assert told.whole, told.text()
    assert [each.verb for each in told.cases[0].recomputed] == ["prove"]


def test_the_answer_is_the_one_that_the_file_gives(folder, archive, tmp_path) -> None:
    api.archive_take_in(archive, who="Ann")
    other = copied(folder, tmp_path / "other")
    by_file = api.prove(folder.path, archive=archive)
    by_store = api.prove(other.path, archive=IN_STORE)

    assert by_file.archive.figures == by_store.archive.figures
    assert by_file.archive.sha256 == by_store.archive.sha256
    assert by_file.verdicts == by_store.verdicts
    assert exact_hash(by_file.verdicts[0]) == exact_hash(by_store.verdicts[0])


def test_nothing_is_looked_up_where_the_database_is_not_named(folder, archive) -> None:
    api.archive_take_in(archive, who="Ann")

    assert api.prove(folder.path).archive is None


@pytest.mark.parametrize("words", [["prove"], ["plan"]])
def test_an_empty_database_says_how_to_begin(folder, words, capsys) -> None:
    assert main([*words, str(folder.path), "--archive", STORE]) == 3
    assert "feedproof archive take-in FILE" in capsys.readouterr().err
    with pytest.raises(MissingError, match="holds no archive"):
        api.archive_give_out(folder.path / "out.jsonl")


def test_two_who_add_at_once_lose_nothing(archive) -> None:
    api.archive_take_in(archive, who="Ann")

    def while_ben_adds() -> None:
        with changeable(IN_STORE, Signed(who="Ann")) as mine:
            with changeable(IN_STORE, Signed(who="Ben")) as his:
                ArchiveFile(his).add(session_data(5), who="Ben")
            ArchiveFile(mine).add(session_data(6), who="Ann")

    with pytest.raises(WriteError, match="somebody else"):
        while_ben_adds()

    assert api.archive_show(IN_STORE).sessions == 3


def test_another_archive_is_refused(archive, tmp_path) -> None:
    api.archive_take_in(archive, who="Ann")
    other = ArchiveFile(tmp_path / "other.jsonl")
    other.add(session_data(0), who="Ben")

    with pytest.raises(InputError, match="another archive"):
        api.archive_take_in(other.path, who="Ben")


def test_a_file_of_that_name_is_never_mistaken_for_it(archive) -> None:
    archive.rename("store")

    with pytest.raises(InputError, match="there is a file of that name"):
        api.archive_show(IN_STORE)
    assert api.archive_show(Path("store").absolute()).sessions == 2


def test_nobody_cannot_take_an_archive_in(archive, own_store) -> None:
    with pytest.raises(InputError):
        api.archive_take_in(archive, who=" ")
    assert not own_store.exists()
