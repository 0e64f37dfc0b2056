"""The real verbs as jobs: each can be asked all that it can do, and a stopped one harms no case."""

import importlib
import inspect
import json
import re
import shutil
import time
from pathlib import Path
from typing import Any

import pytest

from feedproof.app import api
from feedproof.app.asking import conditions_asked
from feedproof.app.cold_starting import cold_report
from feedproof.app.documents import to_document
from feedproof.app.jobs.record import State
from feedproof.app.jobs.verbs import VERBS, call, given
from feedproof.app.recomputing import OUTPUTS
from feedproof.records.folder import CaseFolder
from tests.app.jobs.watching import ended, until
from tests.records.documents import case_folder, contents_of

NOT_ASKED = {"path", "case", "folder", "progress", "proof", "out", "data", "duration_s"}
NOT_ASKED |= {"calibrated", "store"}
"""What a server fills in itself, and places outside of a workspace."""
OF_THE_REST = {"cold_start": cold_report}
"""Whose options a verb takes as the rest, where they are not those of conditions."""


def parameters_of(verb: str) -> set[str]:
    """Give what the function of a verb can be asked."""
    room, _, name = VERBS[verb].function.partition(":")
    signature = inspect.signature(getattr(importlib.import_module(room), name))
    names = set(signature.parameters)
    if "asked" in names:
        names -= {"asked"}
        names |= set(inspect.signature(OF_THE_REST.get(verb, conditions_asked)).parameters)
    is_own = VERBS[verb].writes and verb == "publish"
    return names - NOT_ASKED - (set(OUTPUTS) - ({"force"} if is_own else set()))


@pytest.mark.parametrize("verb", VERBS)
def test_a_job_can_be_asked_what_its_verb_can_and_nothing_else(verb) -> None:
    assert set(VERBS[verb].model.model_fields) == parameters_of(verb)


@pytest.mark.parametrize("verb", VERBS)
def test_the_kind_of_a_kept_result_is_the_one_that_the_verb_keeps(verb) -> None:
    room, _, name = VERBS[verb].function.partition(":")
    function = getattr(importlib.import_module(room), name)
    keeps = re.findall(r'keep_result\(\s*folder, loaded, "([^"]+)"', inspect.getsource(function))
    of_room = re.findall(
        r'keep_result\(\s*folder, loaded, "([^"]+)"', inspect.getsource(inspect.getmodule(function))
    )

    assert not VERBS[verb].kind or VERBS[verb].kind in of_room
    assert not keeps or [VERBS[verb].kind] == keeps


@pytest.mark.parametrize("verb", VERBS)
def test_what_is_left_out_is_what_the_verb_takes_for_it(verb) -> None:
    room, _, name = VERBS[verb].function.partition(":")
    known = inspect.signature(getattr(importlib.import_module(room), name)).parameters
    for field, about in VERBS[verb].model.model_fields.items():
        left_out = about.get_default(call_default_factory=True)
        of_verb = known[field].default if field in known else left_out
        if of_verb is inspect.Parameter.empty:
            assert about.is_required(), field
        elif of_verb or left_out:
            assert left_out == of_verb, field


@pytest.fixture
def demo_case(tmp_path: Path) -> Path:
    """Give the demonstration in the workspace."""
    return CaseFolder(api.PACKAGED_DEMO).copy_to(tmp_path / "case").path


def a_run_more(case: Path) -> dict[str, Any]:
    """Give the parameters that add a run, with logs of its own in the workspace."""
    folder = CaseFolder(case)
    logs = {}
    for log in folder.load().case.runs[2].logs:
        target = case.parent / f"new_{log.name}"
        target.write_bytes(folder.raw(log).read_bytes().rstrip(b"\r\n").rsplit(b"\n", 2)[0] + b"\n")
        logs[log.instrument] = target.name
    run = {
        "number": 90,
        "kits": [],
        "session": "later",
        "started": "2026-09-20T09:42:00+02:00",
        "role": "compare",
        "setup": "loop-1",
        "ambient": {"pressure_abs": "91 kPa", "temperature": "19 degC", "humidity": "52 %"},
        "fuel_level": "58 %",
    }
    return {"run": run, "logs": logs}


def whole(case: Path) -> None:
    """Check that a case is as it was written."""
    assert CaseFolder(case).load().case is not None
    assert api.store_verify(case).whole


def test_a_run_is_added_by_a_job_as_by_the_command_line(opened, demo_case) -> None:
    jobs = opened()
    job = ended(jobs, jobs.submit("add_run", demo_case, a_run_more(demo_case)))
    added = next(run for run in CaseFolder(demo_case).load().case.runs if run.number == 90)

    assert (job.state, job.findings) == (State.DONE, ())
    assert len(added.logs) == 2
    whole(demo_case)
    again = ended(jobs, jobs.again(job.id))
    assert (again.state, again.exit_code) == (State.FAILED, 2)
    assert "run number 90 is used before" in str(again.findings[0])


def test_a_file_is_looked_at_with_and_without_an_instrument_of_the_case(demo_case) -> None:
    logs = a_run_more(demo_case)["logs"]
    for asked in ({"files": [logs["cell"]]}, {"files": [logs["cell"]], "instrument": "cell"}):
        found = given(VERBS["look"], asked, demo_case.parent)
        told = to_document(call(VERBS["look"], demo_case, found, lambda *_: None))
        assert [each["file"] for each in told["files"]] == [logs["cell"]]


def test_a_case_goes_out_as_a_bundle_and_comes_in_as_another(opened, demo_case) -> None:
    jobs = opened()
    out = ended(jobs, jobs.submit("store_export", demo_case, {"file": "out.zip"}))
    other = demo_case.parent / "other"
    into = ended(jobs, jobs.submit("store_import", other, {"file": "out.zip"}))
    verified = ended(jobs, jobs.submit("store_verify", other))

    assert [out.state, into.state, verified.state] == [State.DONE] * 3
    assert jobs.result(verified.id)["whole"]
    whole(other)


def test_a_case_that_is_not_usable_has_the_exit_code_of_the_command_line(opened, demo_case) -> None:
    document = demo_case / "case.toml"
    document.write_bytes(document.read_bytes().replace(b"[margins]", b"[margines]"))
    jobs = opened()
    job = ended(jobs, jobs.submit("check", demo_case))

    assert (job.state, job.exit_code) == (State.DONE, 2)
    assert not jobs.result(job.id)["usable"]


@pytest.fixture(scope="module")
def reported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a case with a report, to be copied."""
    case = case_folder(tmp_path_factory.mktemp("reported")).path
    api.publish(case)
    return case


@pytest.mark.parametrize("grace_s", [0.0, 30.0])
def test_a_report_that_is_stopped_is_the_old_one_and_the_case_verifies(
    opened, tmp_path, reported, grace_s
) -> None:
    jobs = opened(grace_s=grace_s)
    case = Path(shutil.copytree(reported, tmp_path / "case"))
    before = contents_of(case / "report")
    job = jobs.submit("publish", case)
    until(lambda: jobs.state(job.id).progress.what == "drawing the report")
    jobs.cancel(job.id)
    job = ended(jobs, job)

    assert job.state is State.CANCELLED
    assert contents_of(case / "report") == before
    assert set(before) == {"report.html", "report.pdf"}
    whole(case)
    assert ended(jobs, jobs.submit("publish", case)).state is State.DONE


def test_proving_that_is_stopped_leaves_no_look_and_no_result(opened, demo_case) -> None:
    jobs = opened(grace_s=30.0)
    before = contents_of(demo_case)
    job = jobs.submit("prove", demo_case)
    until(lambda: jobs.state(job.id).progress.step >= 1)
    jobs.cancel(job.id)

    assert ended(jobs, job).state is State.CANCELLED
    after = contents_of(demo_case)
    # A log that was read may be kept in the form that is read faster.
    changed = {name for name in after if after[name] != before.get(name)}
    assert not {name for name in changed if not name.startswith("raw/")}
    whole(demo_case)


def test_adding_a_run_that_is_stopped_adds_it_whole_or_not_at_all(opened, demo_case) -> None:
    jobs = opened(grace_s=0.0)
    asked = a_run_more(demo_case)
    ended(jobs, jobs.submit("check", demo_case))
    for delay_s in (0.0, 0.05, 0.1, 0.2):
        job = jobs.submit("add_run", demo_case, asked)
        time.sleep(delay_s)
        jobs.cancel(job.id)
        job = ended(jobs, job)
        numbers = [run.number for run in CaseFolder(demo_case).load().case.runs]
        assert 90 in numbers or job.state is State.CANCELLED
    last = ended(jobs, jobs.submit("add_run", demo_case, asked))

    assert last.state is State.DONE or "used before" in str(last.findings)
    lines = [each for each in CaseFolder(demo_case).journal.read()[0] if each.what == "run added"]
    assert [each.data["run"] for each in lines].count(90) == 1
    whole(demo_case)


def test_every_job_can_be_told_as_json(opened, demo_case) -> None:
    jobs = opened()
    for verb in ("predict", "faults", "protect", "plan"):
        job = ended(jobs, jobs.submit(verb, demo_case))
        assert job.state is State.DONE, job.findings
        assert json.loads(json.dumps(to_document(job)))["basis"]["document"]
        assert json.dumps(jobs.result(job.id))
        assert jobs.identical(verb, demo_case).job == job.id
