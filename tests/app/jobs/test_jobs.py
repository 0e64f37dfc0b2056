"""What a job gives, what it tells meanwhile, and what it says of mistakes."""

import asyncio
import json
import os
import sys
import time
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from feedproof.app import api
from feedproof.app.documents import to_document
from feedproof.app.jobs.record import State, job_from
from feedproof.app.jobs.running import Jobs
from feedproof.app.jobs.shelf import JOB
from feedproof.app.jobs.worker import own_formulas
from feedproof.core.compiled import source_fingerprint
from feedproof.core.errors import FeedproofError, InputError, MissingError, WriteError
from tests.app.jobs.watching import PATIENCE_S, until


def done(jobs: Jobs, verb: str, parameters: dict[str, Any] | None = None) -> Any:
    """Submit a job and wait for its end."""
    job = jobs.submit(verb, jobs.root / "case", parameters)
    return jobs.wait(job.id, PATIENCE_S)


def test_a_job_gives_the_document_of_its_verb(shared) -> None:
    job = done(shared, "predict", {"level": "25 %"})
    direct = to_document(api.predict(shared.root / "case", level="25 %"))

    assert (job.state, job.exit_code, job.findings) == (State.DONE, 0, ())
    assert {**shared.result(job.id), "computed": 0} == {**direct, "computed": 0}


def test_a_job_on_disk_is_the_job_that_is_told(shared) -> None:
    job = done(shared, "count", {"to": 2})
    held = (shared.root / ".feedproof" / "jobs" / job.id / JOB).read_text(encoding="utf-8")
    assert job_from(json.loads(held)) == job
    assert job_from(json.loads(json.dumps(to_document(job)))) == job


def test_progress_only_grows_and_ends_at_the_end(shared) -> None:
    job = shared.submit("count", shared.root / "case", {"to": 60, "each_s": 0.01})
    seen = [job.progress]
    while not (now := shared.state(job.id)).state.has_ended:
        seen.append(now.progress)
        time.sleep(0.005)
    steps = list(dict.fromkeys((far.step, far.done) for far in [*seen, now.progress]))

    assert steps == sorted(steps)
    # Told ten times a second at most, and more than once.
    assert 3 <= len(steps) <= 15
    assert (now.progress.done, now.progress.total, now.progress.what) == (60, 60, "counting")


def test_a_verb_with_several_pieces_of_work_counts_them(shared) -> None:
    assert done(shared, "pieces").progress.step == 3


def test_a_piece_of_work_that_takes_long_is_told_before_it_is_done(opened, case) -> None:
    jobs = opened()
    job = jobs.submit("linger", case)
    until(lambda: jobs.state(job.id).progress.what == "long")

    assert jobs.state(job.id).progress.step == 2


def test_two_processes_have_compiled_formulas_of_their_own(tmp_path, monkeypatch) -> None:
    common = tmp_path / f"formulas-{source_fingerprint()}"
    common.mkdir()
    (common / "one").write_text("code")
    own = []
    with ExitStack() as stack:
        for _ in range(2):
            monkeypatch.setenv("FEEDPROOF_CACHE", str(tmp_path))
            stack.enter_context(own_formulas())
            own.append(Path(os.environ["FEEDPROOF_CACHE"]))
    monkeypatch.setenv("FEEDPROOF_CACHE", str(tmp_path))
    (own[0] / "formulas-of-before").mkdir()
    own_formulas().close()

    assert own == [tmp_path / "jobs-0", tmp_path / "jobs-1"]
    assert all((each / common.name / "one").read_text() == "code" for each in own)
    assert os.environ["FEEDPROOF_CACHE"] == str(own[0])
    assert not (own[0] / "formulas-of-before").exists()


def test_what_a_verb_raises_is_told_as_the_command_line_tells_it(shared) -> None:
    asked = {"fuel": "none such", "level": "3 apples"}
    job = done(shared, "predict", asked)
    with pytest.raises(InputError) as direct:
        api.predict(shared.root / "case", **asked)

    assert (job.state, job.exit_code) == (State.FAILED, 2)
    assert job.findings == direct.value.findings
    with pytest.raises(InputError) as told:
        shared.result(job.id)
    assert told.value.findings == direct.value.findings


def test_what_is_missing_has_the_exit_code_of_what_is_missing(shared) -> None:
    job = shared.submit("predict", shared.root / "nowhere")

    assert shared.wait(job.id, PATIENCE_S).exit_code == MissingError.exit_code
    with pytest.raises(MissingError, match=r"no case\.toml"):
        shared.result(job.id)


def test_a_fault_of_the_program_is_told_as_one_and_its_trace_is_kept(shared) -> None:
    job = done(shared, "count", {"fault": "type"})
    logs = (shared.root / ".feedproof" / "jobs").glob("*.log")

    assert (job.state, job.exit_code) == (State.FAILED, 1)
    assert "TypeError: one thing too many" in job.findings[0].message
    assert any("in count" in file.read_text() for file in logs)
    with pytest.raises(FeedproofError):
        shared.result(job.id)


@pytest.mark.skipif(sys.platform != "linux", reason="memory is limited on Linux only")
def test_a_job_that_takes_too_much_memory_is_told_so_and_the_next_one_is_not(shared) -> None:
    job = done(shared, "count", {"mib": 400})

    assert "needs more than the 300 MiB" in job.findings[0].message
    assert done(shared, "count", {"mib": 200}).state is State.DONE


def test_words_that_a_verb_prints_do_not_get_between_the_lines(shared) -> None:
    assert done(shared, "chatter").state is State.DONE


def test_all_mistakes_of_form_are_told_at_once_and_no_job_is_made(shared) -> None:
    before = shared.list()
    rubbish = {"fuel": 3, "loading": "x", "kits": [1, ""], "nix": {}, "samples": True}
    with pytest.raises(InputError) as told:
        shared.submit("sensitivity", shared.root / "case", rubbish)
    places = {each.place for each in told.value.findings}

    assert places == {
        "parameters.fuel",
        "parameters.loading",
        "parameters.kits.0",
        "parameters.kits.1",
        "parameters.nix",
        "parameters.samples",
    }
    assert all(each.remedy for each in told.value.findings)
    assert shared.list() == before


@pytest.mark.parametrize(
    ("verb", "parameters", "words"),
    [
        ("no such", {}, "there is no verb"),
        ("__class__", {}, "there is no verb"),
        ("add_run", {}, "is missing"),
        ("choose", {"most_cost": float("nan")}, "are no JSON"),
        ("choose", {"most_cost": {1, 2}}, "are no JSON"),
        ("store_import", {"file": "../elsewhere.zip"}, "outside of the workspace"),
        ("store_import", {"file": "/etc/passwd"}, "outside of the workspace"),
        ("store_import", {"file": "a\0b"}, "outside of the workspace"),
        ("look", {"files": ["ok.csv", "../a.csv"]}, "parameters.files.1"),
        ("add_run", {"run": {}, "logs": {"cell": "../a.csv"}}, "parameters.logs.cell"),
        ("look", {"files": ["a.csv"], "hints": {"dbc": "/etc/passwd"}}, "parameters.hints.dbc"),
        ("store_import", {"file": ".feedproof/secret"}, "the server's own"),
        ("prove", {"archive": "link/a.jsonl"}, "outside of the workspace"),
    ],
)
def test_what_is_no_question_to_a_verb_is_refused(shared, verb, parameters, words) -> None:
    link = shared.root / "link"
    if not link.is_symlink():
        link.symlink_to(Path(__file__).parent)
    with pytest.raises(InputError, match=words):
        shared.submit(verb, shared.root / "case", parameters)


@pytest.mark.parametrize("identity", ["", "../case", "0123456789abcdef", "\0"])
def test_a_job_that_there_is_not_is_missing(shared, identity) -> None:
    for ask in (shared.state, shared.result, shared.wait, shared.cancel, shared.again):
        with pytest.raises(MissingError, match="no job"):
            ask(identity)


def test_a_run_that_started_at_no_moment_is_told_before_it_is_added(shared) -> None:
    asked = {"run": {"number": 1, "started": "yesterday"}, "logs": {"cell": "a.csv"}}

    assert done(shared, "add_run", asked).findings[0].place == "parameters.run.started"


def test_a_loop_of_events_goes_on_while_it_waits(shared) -> None:
    async def waiting() -> tuple[int, State]:
        job = shared.submit("count", shared.root / "case", {"to": 30, "each_s": 0.01})
        turns = 0

        async def turning() -> None:
            nonlocal turns
            while True:
                turns += 1
                await asyncio.sleep(0.005)

        beside = asyncio.create_task(turning())
        early = await shared.ended(job.id, 0.01)
        assert not early.state.has_ended
        ended = await shared.ended(job.id, PATIENCE_S)
        beside.cancel()
        return turns, ended.state

    turns, state = asyncio.run(waiting())
    assert state is State.DONE
    assert turns > 20


def test_jobs_are_listed_by_case_and_the_newest_first(shared) -> None:
    first, second = (done(shared, "count", {"to": 1}) for _ in range(2))
    other = shared.submit("count", shared.root / "other", {"to": 1})
    shared.wait(other.id, PATIENCE_S)

    assert [job.id for job in shared.list(shared.root / "case")][:2] == [second.id, first.id]
    assert shared.list()[0].id == other.id


def test_old_jobs_are_removed_and_their_folders_with_them(opened, case) -> None:
    jobs = opened(kept=3)
    made = [jobs.wait(jobs.submit("count", case).id, PATIENCE_S) for _ in range(5)]
    # The last one's end is told before the oldest goes.
    deadline = time.monotonic() + PATIENCE_S
    while len(jobs.list()) > 3 and time.monotonic() < deadline:
        time.sleep(0.01)
    jobs.close()
    folders = {each.name for each in (case.parent / ".feedproof/jobs").iterdir() if each.is_dir()}

    assert [job.id for job in jobs.list()] == [job.id for job in reversed(made[2:])]
    assert folders == {job.id for job in made[2:]}


def test_large_results_are_removed_before_their_number_is_reached(opened, case) -> None:
    jobs = opened(kept_mb=0)
    for _ in range(3):
        last = jobs.wait(jobs.submit("count", case).id, PATIENCE_S)
    jobs.close()

    assert [job.id for job in jobs.list()] == [last.id]


def test_more_jobs_than_may_wait_are_refused(opened, case) -> None:
    jobs = opened(waiting=2)
    first = jobs.submit("count", case, {"to": 1000, "each_s": 0.01})
    while jobs.state(first.id).state is not State.RUNNING:
        time.sleep(0.01)
    for _ in range(2):
        jobs.submit("count", case)
    with pytest.raises(WriteError, match="2 jobs wait already"):
        jobs.submit("count", case)


def test_a_disk_that_is_full_refuses_a_job_and_leaves_nothing(opened, case, monkeypatch) -> None:
    from feedproof.app.jobs import shelf

    jobs = opened()

    def full(*_: Any) -> None:
        raise WriteError.at("job.json", "could not be written: no space left.", "Free some space.")

    monkeypatch.setattr(shelf, "write_whole", full)
    with pytest.raises(WriteError, match="no space"):
        jobs.submit("count", case)
    assert jobs.list() == ()
    assert not [each for each in (case.parent / ".feedproof/jobs").iterdir() if each.is_dir()]


def test_a_job_whose_end_cannot_be_written_says_so(opened, case) -> None:
    jobs = opened()
    job = jobs.wait(jobs.submit("full", case).id, PATIENCE_S)

    assert (job.state, job.exit_code) == (State.FAILED, WriteError.exit_code)
    assert "could not be kept" in job.findings[0].message
