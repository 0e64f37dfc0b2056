"""
Kill -9 while runs are added to a case folder, and while a report is published.

Promised: a run that was acknowledged is there with its logs and its line; a run is there whole or
not at all once the next one was added; temporary files that stay are never read as anything, and
are removed when they are an hour old; a report is the old one or the new one, file by file.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from feedproof.records import interrupted
from feedproof.records.folder import CaseFolder
from tests.house.tree import ROOT
from tests.records.documents import case_folder
from tests.reliability.adding import add
from tests.reliability.rows import tally, trials

SEED = 20260914


def fault_of(own: Path) -> str:
    """Say what is wrong with a case after its writer was killed; empty when nothing is."""
    case = CaseFolder(own / "case")
    said = own / "said"
    told = [int(line) for line in said.read_text().split()] if said.exists() else []
    before = [run.number for run in case.load().case.runs]
    if before not in (told, [*told, len(told) + 1]):
        return f"acknowledged {told}, held {before}"
    following = len(before) + 1
    add(case, following)
    loaded = case.load()
    entries, findings = case.journal.read()
    lines = [each.data["run"] for each in entries if each.what == "run added"]
    if lines != [run.number for run in loaded.case.runs] or lines[-1] != following:
        return f"runs {[run.number for run in loaded.case.runs]}, lines {lines}"
    if findings or loaded.findings != case_folder(own / "fresh").load().findings:
        return f"findings {findings} {loaded.findings}"
    return "the note stayed" if (case.path / interrupted.NOTE).exists() else ""


def test_kill_9_while_runs_are_added_loses_no_acknowledged_run(tmp_path: Path) -> None:
    count = trials(8, 120)
    command = [sys.executable, "-m", "tests.reliability.adding", str(tmp_path), str(count)]
    subprocess.run([*command, str(SEED)], cwd=ROOT, check=True)
    faults = [fault_of(tmp_path / str(trial)) for trial in range(count)]
    told = [(tmp_path / str(trial) / "said").exists() for trial in range(count)]
    tally("kill -9 during import, runs added to a case", count, sum(map(bool, faults)))

    assert not list(filter(None, faults))
    assert any(told)


DIES = """
import os, sys
from pathlib import Path
from tests.records.documents import case_folder
from tests.reliability.adding import add
name = sys.argv[2]
true = getattr(os, name)
last = code = 0
while code == 9 or not last:
    last += 1
    own = Path(sys.argv[1]) / str(last)
    own.mkdir()
    case = case_folder(own)
    add(case, 1)
    (own / "said").write_text("1\\n")
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
        add(case, 2)
        (own / "said").write_text("1\\n2\\n")
        os._exit(0)
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    print(code, flush=True)
"""


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_process_that_dies_at_any_step_of_adding_leaves_a_whole_case(
    step: str, tmp_path: Path
) -> None:
    command = [sys.executable, "-c", DIES, str(tmp_path), step]
    done = subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True)
    codes = [int(line) for line in done.stdout.split()]
    faults = [fault_of(tmp_path / str(number + 1)) for number in range(len(codes))]
    tally("kill -9 during import, at each step of adding", len(codes), sum(map(bool, faults)))

    assert not list(filter(None, faults))
    assert codes == [9] * (len(codes) - 1) + [0]
    assert len(codes) > 3


def test_temporary_files_that_stay_are_harmless_and_go_when_they_are_old(tmp_path: Path) -> None:
    case = case_folder(tmp_path)
    add(case, 1)
    folder = next((case.path / "raw").iterdir())
    own = case.path / ".my-settings"
    left = [case.path / ".case.toml-abcdefgh", folder / ".run1.csv-abcdefgh"]
    young = case.path / ".case.toml-ijklmnop"
    for file in (own, *left, young):
        file.write_bytes(b"half")
    for file in (own, *left):
        os.utime(file, (0, 0))

    assert [run.number for run in case.load().case.runs] == [1]
    add(case, 2)
    assert [file.exists() for file in (own, *left, young)] == [True, False, False, True]


PUBLISHES = """
import hashlib, os, random, signal, sys, time
from pathlib import Path
from feedproof.app import api, publishing
from feedproof.report import page, paper, seal
path, dice = Path(sys.argv[1]), random.Random(int(sys.argv[3]))
api.publish(path)
report = path / "report"
first = [(report / name).read_bytes() for name in ("report.html", "report.pdf")]
plain = seal._TAG.sub("", first[0].decode(), count=1)
# What is drawn is not what is tried here, so it is drawn once and marked with a number.
predicted = api.predict_case(api.CaseFolder(path).load().case)
publishing.build_publication = lambda *a: None
api.predict_case = lambda case: predicted
number = [0]
page.page_html = lambda publication: plain + f"<!-- {number[0]:06d} -->"
paper.paper_pdf = lambda publication: first[1] + f"% {number[0]:06d}   ".encode()
for trial in range(int(sys.argv[2])):
    child = os.fork()
    if child == 0:
        try:
            for _ in range(10000):
                number[0] += 1
                api.publish(path)
        finally:
            os._exit(1)
    waited = time.monotonic() + 20
    while "<!-- " not in (report / "report.html").read_text()[-20:] and time.monotonic() < waited:
        time.sleep(0.001)
    time.sleep(dice.uniform(0.0, 0.05))
    os.kill(child, signal.SIGKILL)
    assert os.WIFSIGNALED(os.waitpid(child, 0)[1])
    found = [(report / name).read_bytes() for name in ("report.html", "report.pdf")]
    # The page's own mark says that it is whole, and which two papers may stand beside it.
    held = seal.seal_of(found[0].decode())
    papers = (held.paper_sha256, held.replaced_sha256) if held else ()
    whole = hashlib.sha256(found[1]).hexdigest() in papers
    print(int(whole), int(b"<!-- " in found[0][-20:]), flush=True)
api.publish(path)
"""


def test_kill_9_while_publishing_leaves_the_old_files_or_the_new(tmp_path: Path) -> None:
    count = trials(8, 80)
    case = case_folder(tmp_path)
    command = [sys.executable, "-c", PUBLISHES, str(case.path), str(count), str(SEED)]
    done = subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True)
    seen = [tuple(map(int, line.split())) for line in done.stdout.splitlines()]
    tally("kill -9 during publish", count, sum(1 - whole for whole, _ in seen))

    assert len(seen) == count
    assert all(whole for whole, _ in seen)
    assert any(new for _, new in seen)
    assert case.load().case is not None


def test_a_lost_run_would_be_seen(tmp_path: Path) -> None:
    add(case_folder(tmp_path), 1)
    (tmp_path / "said").write_text("1\n2\n")

    assert fault_of(tmp_path) == "acknowledged [1, 2], held [1]"
