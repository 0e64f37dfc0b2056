"""A server that ends in any way, and the next one that opens the same jobs folder."""

import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from feedproof.app.jobs.record import State
from feedproof.app.jobs.shelf import JOB, Shelf
from feedproof.core.errors import WriteError
from tests.app.jobs.watching import counting, ended, is_alive, until
from tests.house.tree import ROOT

pytestmark = pytest.mark.skipif(os.name != "posix", reason="processes are killed by signals")
FOLDER = Path(".feedproof") / "jobs"


def server(root: Path, how: str) -> tuple[subprocess.Popen[str], int, str, str]:
    """Start a server; give it, the id of its process, and of the jobs that run and wait."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.app.jobs.serving", str(root), how],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
        # Its own group, to which a console sends an interrupt as a whole.
        start_new_session=True,
    )
    assert process.stdout is not None
    pid, first, second = process.stdout.readline().split()
    return process, int(pid), first, second


@pytest.mark.parametrize("how", ["closes", "dies"])
def test_an_interrupt_at_the_console_ends_the_server_and_its_processes_in_two_seconds(
    case, opened, how
) -> None:
    process, pid, first, second = server(case.parent, how)
    with process:
        os.killpg(process.pid, signal.SIGINT)
        started = time.monotonic()
        process.wait(30)
        until(lambda: not is_alive(pid))
        took_s = time.monotonic() - started

    assert took_s < 2.0
    assert process.returncode == 0
    jobs = opened()
    assert jobs.state(first).state is State.INTERRUPTED
    assert ended(jobs, jobs.state(second)).state is State.DONE


def test_after_kill_9_of_the_server_the_next_one_knows_every_job(case, opened) -> None:
    process, pid, first, second = server(case.parent, "dies")
    with process:
        process.kill()
    took_s = until(lambda: not is_alive(pid))
    jobs = opened()
    job = jobs.state(first)

    assert took_s < 2.0
    assert job.state is State.INTERRUPTED
    assert "server ended while it ran" in job.findings[0].message
    assert job.progress.done > 0
    assert ended(jobs, jobs.state(second)).state is State.DONE
    again = jobs.again(first)
    until(lambda: jobs.state(again.id).progress.done > 2)


def test_a_job_that_ended_after_its_server_is_done(opened, case) -> None:
    jobs = opened()
    job = ended(jobs, jobs.submit("count", case))
    jobs.close()
    # As the server left it that never heard of the end.
    Shelf(case.parent / FOLDER).write(replace(job, state=State.RUNNING, ended="", exit_code=None))
    later = opened()

    assert later.state(job.id).state is State.DONE
    assert later.result(job.id)["counted"] == 3


def test_one_folder_has_one_server(opened) -> None:
    jobs = opened()
    with pytest.raises(WriteError, match="another process"):
        opened()
    jobs.close()
    opened()


def test_a_damaged_job_costs_no_other_and_is_left_where_it_is(opened, case) -> None:
    jobs = opened()
    good = ended(jobs, jobs.submit("count", case))
    jobs.close()
    damages = (b"", b"{", b"[]", b"null", b'{"format": "x"}', b"\xff", b"[" * 99999)
    for number, content in enumerate(damages):
        (case.parent / FOLDER / f"damaged-{number}").mkdir()
        (case.parent / FOLDER / f"damaged-{number}" / JOB).write_bytes(content)
    # Under a name that is not its own: it would answer for another.
    shutil.copytree(case.parent / FOLDER / good.id, case.parent / FOLDER / "copied")
    later = opened()

    assert later.list() == (good,)
    for number, content in enumerate(damages):
        assert (case.parent / FOLDER / f"damaged-{number}" / JOB).read_bytes() == content


def test_a_waiting_job_of_a_verb_that_is_gone_is_told(opened, case) -> None:
    jobs = opened()
    counting(jobs, case)
    job = jobs.submit("count", case)
    jobs.close()
    Shelf(case.parent / FOLDER).write(replace(job, verb="long gone"))
    later = opened()

    assert later.state(job.id).state is State.INTERRUPTED
    assert "no such verb" in later.state(job.id).findings[0].message
    assert ended(later, later.submit("count", case)).state is State.DONE


def test_a_folder_of_jobs_that_goes_away_fails_the_job_and_not_the_server(opened, case) -> None:
    jobs = opened()
    counting(jobs, case)
    second = jobs.submit("count", case)
    shutil.rmtree(case.parent / FOLDER / second.id)
    jobs.cancel(jobs.list()[1].id)

    assert ended(jobs, second).state is State.FAILED
    assert ended(jobs, jobs.submit("count", case)).state is State.DONE
