"""Two people at one case, each in a process: the second is told and nothing is lost."""

import hashlib
import subprocess
import sys
from pathlib import Path

import pytest

from feedproof.core.errors import InputError, WriteError
from feedproof.records.editing.whole import replace_document
from feedproof.records.folder import CaseFolder
from tests.records.documents import LOG, case_folder, contents_of, run_table

EDITOR = """
import hashlib, sys
from pathlib import Path
from feedproof.core.errors import WriteError
from feedproof.records.editing.whole import replace_document
from feedproof.records.folder import CaseFolder
folder = CaseFolder.open(Path(sys.argv[1]))
told = done = 0
print("ready", flush=True)
sys.stdin.readline()
while done < 5:
    before = (folder.path / "case.toml").read_bytes()
    mark = f"# edit {done + 1}\\n".encode()
    try:
        replace_document(folder, mark + before, hashlib.sha256(before).hexdigest())
        done += 1
    except WriteError:
        told += 1
print(told)
"""


def test_a_run_that_is_added_while_another_process_edits_is_there_with_all_edits(
    tmp_path: Path,
) -> None:
    folder = case_folder(tmp_path)
    editor = subprocess.Popen(
        [sys.executable, "-c", EDITOR, str(folder.path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert editor.stdout.readline() == "ready\n"
    for number in range(1, 6):
        log = tmp_path / f"run{number}.csv"
        log.write_bytes(LOG + b"0.2,%d\n" % (1500 + number))
        if number == 1:
            editor.stdin.write("go\n")
            editor.stdin.flush()
        folder.add_run(run_table(number), {"cell": log})
    rest, _ = editor.communicate(timeout=60)

    assert editor.returncode == 0, rest
    text = (folder.path / "case.toml").read_text(encoding="utf-8")
    assert [run.number for run in folder.load().case.runs] == [1, 2, 3, 4, 5]
    assert all(f"# edit {number}\n" in text for number in range(1, 6))


def test_the_second_editor_is_told_and_the_first_ones_words_stand(tmp_path: Path) -> None:
    folder = case_folder(tmp_path)
    path = folder.path / "case.toml"
    before = path.read_bytes()
    revision = hashlib.sha256(before).hexdigest()
    replace_document(folder, b"# first\n" + before, revision)

    with pytest.raises(WriteError, match="somebody else"):
        replace_document(folder, b"# second\n" + before, revision)
    assert path.read_bytes() == b"# first\n" + before
    assert folder.documents.read(f"{revision}.toml") == before


def test_an_edit_with_mistakes_or_without_a_recorded_run_changes_no_byte(tmp_path: Path) -> None:
    folder = case_folder(tmp_path)
    log = tmp_path / "run01.csv"
    log.write_bytes(LOG)
    bare = (folder.path / "case.toml").read_bytes()
    folder.add_run(run_table(), {"cell": log})
    now = contents_of(folder.path)
    revision = hashlib.sha256(now["case.toml"]).hexdigest()

    for content, words in (
        (bare, "no longer in"),
        (b"x = ", "cannot be read"),
        (b"x = 1", "format"),
    ):
        with pytest.raises(InputError, match=words):
            replace_document(CaseFolder(folder.path), content, revision)
    assert contents_of(folder.path) == now
