"""Jobs that are cancelled, die, take too long, wait for each other, or see their server stop."""

import os
import signal
import time

import pytest

from feedproof.app.jobs import hand
from feedproof.app.jobs.record import State
from feedproof.core.errors import MissingError, WriteError
from tests.app.jobs.watching import counting, ended, is_alive, running, until

pytestmark = pytest.mark.skipif(os.name != "posix", reason="processes are killed by signals")


def test_a_running_job_is_cancelled_where_it_tells_how_far_it_is(opened, case) -> None:
    jobs = opened(grace_s=30.0)
    job = counting(jobs, case, mark="mark")
    before = jobs.pids
    took_s = -time.monotonic()
    jobs.cancel(job.id)
    job = ended(jobs, job)
    took_s += time.monotonic()

    assert (job.state, job.is_stopping, job.exit_code) == (State.CANCELLED, True, None)
    assert took_s < 1.0
    # The process is as warm as it was.
    assert jobs.pids == before
    assert (case.parent / "mark.txt").read_text() == "began"
    with pytest.raises(MissingError, match="it is cancelled"):
        jobs.result(job.id)


def test_a_job_that_does_not_stop_by_itself_is_ended_and_says_so(opened, case) -> None:
    jobs = opened()
    job = jobs.submit("deaf", case, {"to": 600, "each_s": 0.1})
    until(lambda: running(jobs, job) and bool(jobs.pids))
    before = jobs.pids
    time.sleep(0.5)
    jobs.cancel(job.id)
    job = ended(jobs, job)

    assert job.state is State.CANCELLED
    assert "was ended" in job.findings[0].message
    assert "look at the case" in job.findings[0].remedy
    assert ended(jobs, jobs.submit("count", case)).state is State.DONE
    assert not set(before) & set(jobs.pids)


def test_a_job_that_waits_is_cancelled_at_once_and_never_begins(opened, case) -> None:
    jobs = opened()
    first = counting(jobs, case)
    second = jobs.submit("count", case, {"mark": "never"})

    assert jobs.cancel(second.id).state is State.CANCELLED
    jobs.cancel(first.id)
    assert ended(jobs, jobs.submit("count", case)).state is State.DONE
    assert not (case.parent / "never.txt").exists()
    assert jobs.state(second.id).started == ""


def test_a_job_that_has_ended_stays_as_it_ended(opened, case) -> None:
    jobs = opened()
    job = ended(jobs, jobs.submit("count", case))

    assert jobs.cancel(job.id) == job


@pytest.mark.parametrize("verb", ["count", "deaf"])
def test_a_job_that_takes_too_long_is_stopped_and_told_so(opened, case, verb) -> None:
    jobs = opened(time_s=2.0)
    job = ended(jobs, jobs.submit(verb, case, {"to": 3000, "each_s": 0.02}))

    assert (job.state, job.exit_code) == (State.FAILED, 1)
    assert "took longer than 2 s" in job.findings[0].message


@pytest.mark.parametrize(
    ("fault", "words"), [("exit", "exit code 7"), ("segfault", "killed by signal 11")]
)
def test_a_process_that_dies_is_told_and_a_new_one_takes_the_next_job(
    opened, case, fault, words
) -> None:
    jobs = opened()
    waiting = []
    job = jobs.submit("count", case, {"fault": fault, "to": 20, "each_s": 0.02})
    waiting = [jobs.submit("count", case), jobs.submit("count", case)]

    assert ended(jobs, job).state is State.INTERRUPTED
    assert words in jobs.state(job.id).findings[0].message
    assert {ended(jobs, each).state for each in waiting} == {State.DONE}


def test_kill_9_of_the_process_is_told_and_the_job_starts_again_with_one_call(opened, case) -> None:
    jobs = opened()
    job = counting(jobs, case, "write")
    os.kill(jobs.pids[0], signal.SIGKILL)
    job = ended(jobs, job)

    assert job.state is State.INTERRUPTED
    assert "killed by signal 9" in job.findings[0].message
    assert "look at the case" in job.findings[0].remedy
    again = jobs.again(job.id)
    assert (again.verb, again.parameters, again.again_of) == (job.verb, job.parameters, job.id)
    until(lambda: jobs.state(again.id).progress.done > 2)


def test_a_process_that_died_while_it_had_nothing_to_do_costs_no_job(opened, case) -> None:
    jobs = opened()
    ended(jobs, jobs.submit("count", case))
    before = jobs.pids
    os.kill(before[0], signal.SIGKILL)
    until(lambda: not is_alive(before[0]))

    assert ended(jobs, jobs.submit("count", case)).state is State.DONE
    assert jobs.pids != before


def test_a_process_that_dies_before_it_hears_of_its_job_costs_no_job(opened, case) -> None:
    jobs = opened()
    ended(jobs, jobs.submit("count", case))
    before = jobs.pids
    os.kill(before[0], signal.SIGSTOP)
    job = jobs.submit("count", case)
    until(lambda: running(jobs, job))
    time.sleep(0.2)
    os.kill(before[0], signal.SIGKILL)

    assert ended(jobs, job).state is State.DONE
    assert jobs.pids != before


def test_no_process_at_all_is_told_and_not_waited_for(opened, case, monkeypatch) -> None:
    def none(*_: object, **__: object) -> None:
        raise OSError("no more processes")

    monkeypatch.setattr(hand.subprocess, "Popen", none)
    jobs = opened()
    job = ended(jobs, jobs.submit("count", case))

    assert job.state is State.FAILED
    assert "no more processes" in job.findings[0].message
    monkeypatch.undo()
    assert ended(jobs, jobs.submit("count", case)).state is State.DONE


def test_two_that_write_to_one_case_wait_for_each_other_and_readers_for_nobody(
    opened, case
) -> None:
    jobs = opened(processes=2)
    first = counting(jobs, case, "write")
    second = jobs.submit("write", case)
    reader = ended(jobs, jobs.submit("count", case))

    assert reader.state is State.DONE
    assert running(jobs, first)
    assert jobs.state(second.id).state is State.QUEUED
    other = ended(jobs, jobs.submit("write", case.parent))
    assert other.state is State.DONE
    assert running(jobs, first)
    jobs.cancel(first.id)
    second = ended(jobs, second)
    assert second.state is State.DONE
    assert second.started >= jobs.state(first.id).ended


def test_closing_interrupts_what_runs_and_the_next_server_does_what_waited(opened, case) -> None:
    jobs = opened()
    first = counting(jobs, case, "write")
    second = jobs.submit("count", case)
    pids = jobs.pids
    took_s = -time.monotonic()
    jobs.close()
    took_s += time.monotonic()

    assert took_s < 1.5
    assert not any(map(is_alive, pids))
    assert jobs.state(first.id).state is State.INTERRUPTED
    with pytest.raises(WriteError, match="stopping"):
        jobs.submit("count", case)
    later = opened()
    assert later.state(first.id) == jobs.state(first.id)
    assert "server was stopped" in later.state(first.id).findings[0].message
    assert ended(later, second).state is State.DONE


def test_closing_ends_a_process_that_does_not_listen(opened, case) -> None:
    jobs = opened()
    job = jobs.submit("deaf", case, {"to": 600, "each_s": 0.1})
    until(lambda: running(jobs, job) and bool(jobs.pids))
    time.sleep(0.5)
    pids = jobs.pids
    took_s = -time.monotonic()
    jobs.close()
    took_s += time.monotonic()

    assert took_s < 1.8
    assert not any(map(is_alive, pids))
    assert jobs.state(job.id).state is State.INTERRUPTED
