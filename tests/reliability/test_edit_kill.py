"""
Kill -9 and a full disk while a case document is edited, and steps are taken back and made again.

Promised: the document is the old one or the new one; an acknowledged edit is there; the steps say
where the document stands, so that taking all of them back gives the first document to the byte; a
full disk changes nothing and says what to do.
"""

import random
import subprocess
import sys
from pathlib import Path

import pytest

from feedproof.app import api_edit
from feedproof.core.errors import WriteError
from tests.house.tree import ROOT
from tests.records.documents import VEHICLE, case_folder
from tests.reliability.rows import tally, trials
from tests.reliability.test_case_full import no_file_longer_than

SEED = 20260914
FIRST = "Mountain delivery truck: fine secondary filter, with and without a primary"

EDITS_FOR_EVER = """
import os, random, signal, sys, time
from pathlib import Path
from feedproof.app import api_edit
from tests.records.documents import case_folder
dice = random.Random(int(sys.argv[3]))
for trial in range(int(sys.argv[2])):
    own = Path(sys.argv[1]) / str(trial)
    own.mkdir()
    path = case_folder(own).path
    child = os.fork()
    if child == 0:
        said = os.open(own / "said", os.O_CREAT | os.O_APPEND | os.O_WRONLY)
        revision = api_edit.edit_state(path).revision
        for number in range(1, 1000):
            if number % 4 == 0:
                revision = api_edit.undo(path, revision).revision
            else:
                edit = {"kind": "set_value", "path": "title", "value": f"title {number}"}
                revision = api_edit.edit(path, revision, edit).revision
            os.write(said, f"{revision}\\n".encode())
        os._exit(0)
    waited = time.monotonic() + 30
    while not ((own / "said").exists() and (own / "said").stat().st_size) and time.monotonic() < waited:
        time.sleep(0.001)
    time.sleep(dice.uniform(0.0, 0.6))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
"""

DIES = """
import os, sys
from pathlib import Path
from feedproof.app import api_edit
from tests.records.documents import case_folder
name, what = sys.argv[2], sys.argv[3]
true = getattr(os, name)
last = code = 0
while code == 9 or not last:
    last += 1
    own = Path(sys.argv[1]) / str(last - 1)
    own.mkdir()
    path = case_folder(own).path
    revision = api_edit.edit_state(path).revision
    edit = lambda words: {"kind": "set_value", "path": "title", "value": words}
    for words in ("one", "two"):
        revision = api_edit.edit(path, revision, edit(words)).revision
    if what == "redo":
        revision = api_edit.undo(path, revision).revision
    child = os.fork()
    if child == 0:
        calls = 0
        def dying(*a, **k):
            global calls
            calls += 1
            if calls == last:
                os._exit(9)
            return true(*a, **k)
        setattr(os, name, dying)
        if what == "edit":
            api_edit.edit(path, revision, edit("three"))
        else:
            getattr(api_edit, what)(path, revision)
        os._exit(0)
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    print(code, flush=True)
"""


def fault_of(own: Path, titles: list[str]) -> str:
    """Say what is wrong with a case after its editor was killed; empty when nothing is."""
    path = own / "case"
    state = api_edit.edit_state(path)
    if not state.usable or state.document["title"] not in titles:
        return f"title {state.document.get('title')}, not one of {titles}"
    edit = {"kind": "set_value", "path": "title", "value": "after all"}
    back = api_edit.undo(path, api_edit.edit(path, state.revision, edit).revision)
    if back.revision != state.revision:
        return "a step back gave another document"
    while back.undo:
        back = api_edit.undo(path, back.revision)
    content = (path / "case.toml").read_bytes()
    return "" if content == VEHICLE.encode() else "all steps back gave another document"


def title_after(count: int) -> str:
    """Give the title after so many of the edits that are made for ever."""
    titles = [FIRST]
    for number in range(1, count + 1):
        titles = titles[:-1] if number % 4 == 0 else [*titles, f"title {number}"]
    return titles[-1]


def test_kill_9_while_editing_loses_no_acknowledged_edit_and_no_step(tmp_path: Path) -> None:
    count = trials(5, 120)
    command = [sys.executable, "-c", EDITS_FOR_EVER, str(tmp_path), str(count), str(SEED)]
    subprocess.run(command, cwd=ROOT, check=True)
    told = [len((tmp_path / str(trial) / "said").read_text().split()) for trial in range(count)]
    faults = [
        fault_of(tmp_path / str(trial), [title_after(each), title_after(each + 1)])
        for trial, each in enumerate(told)
    ]
    tally("kill -9 during import, edits of a case", count, sum(map(bool, faults)))

    assert not list(filter(None, faults))
    assert any(told)


@pytest.mark.parametrize(
    ("what", "titles"),
    [("edit", ["two", "three"]), ("undo", ["two", "one"]), ("redo", ["one", "two"])],
)
def test_a_process_that_dies_at_any_step_of_an_edit_leaves_a_whole_case(
    what: str, titles: list[str], tmp_path: Path
) -> None:
    command = [sys.executable, "-c", DIES, str(tmp_path), "replace", what]
    done = subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True)
    codes = [int(line) for line in done.stdout.split()]
    faults = [fault_of(tmp_path / str(number), titles) for number in range(len(codes))]
    tally("kill -9 during import, at each step of an edit", len(codes), sum(map(bool, faults)))

    assert not list(filter(None, faults))
    assert codes == [9] * (len(codes) - 1) + [0]
    assert len(codes) > 2


def test_a_full_disk_while_editing_changes_nothing_and_editing_goes_on(tmp_path: Path) -> None:
    count, dice, faults, refused = trials(6, 60), random.Random(SEED), [], 0
    for trial in range(count):
        own = tmp_path / str(trial)
        own.mkdir()
        path = case_folder(own).path
        before = (path / "case.toml").read_bytes()
        seen = api_edit.edit_state(path).revision
        edit = {"kind": "set_value", "path": "note", "value": "x" * dice.choice((1, 400))}
        try:
            with no_file_longer_than(dice.randrange(len(before) + 600)):
                seen = api_edit.edit(path, seen, edit).revision
        except WriteError as fault:
            refused += 1
            if "Free some space" not in str(fault) or (path / "case.toml").read_bytes() != before:
                faults.append(str(fault))
            seen = api_edit.edit(path, seen, edit).revision
        api_edit.undo(path, seen)
        if (path / "case.toml").read_bytes() != before:
            faults.append("did not go on")
    tally("disk full, edits of a case", count, len(faults))

    assert not faults
    assert refused
