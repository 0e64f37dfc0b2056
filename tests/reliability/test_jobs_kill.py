"""
Kill -9 of the process that computes a job while it adds runs, and ends by force.

Promised: as for `test_case_kill`; and the job says that it was interrupted or cancelled, and the
next job is computed.
"""

import os
import random
import signal
import time
from contextlib import closing
from pathlib import Path

import pytest

from feedproof.app.jobs.limits import Limits
from feedproof.app.jobs.record import State
from feedproof.app.jobs.running import Jobs
from tests.house.tree import ROOT
from tests.records.documents import case_folder
from tests.reliability.rows import tally, trials
from tests.reliability.test_case_kill import fault_of

SEED = 20261126
LONGEST_S = 0.4
PATIENCE_S = 60.0


def stopped(jobs: Jobs, own: Path, *, kills: bool, delay_s: float) -> State:
    """Have a job add runs and end it by force; give how it says that it ended."""
    job = jobs.submit("add_runs", own / "case")
    waited = time.monotonic() + PATIENCE_S
    while not jobs.state(job.id).progress.step and time.monotonic() < waited:
        time.sleep(0.002)
    time.sleep(delay_s)
    if kills:
        os.kill(jobs.pids[0], signal.SIGKILL)
    else:
        jobs.cancel(job.id)
    return jobs.wait(job.id, PATIENCE_S).state


@pytest.mark.skipif(os.name != "posix", reason="processes are killed by signals")
def test_a_job_that_is_killed_or_ended_by_force_loses_no_acknowledged_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = os.pathsep.join((os.environ.get("PYTHONPATH", ""), str(ROOT)))
    monkeypatch.setenv("PYTHONPATH", path)
    count, dice = trials(4, 60), random.Random(SEED)
    faults, told = [], []
    limits = Limits(processes=1, grace_s=0.0)
    with closing(Jobs(tmp_path, limits=limits, table="tests.app.jobs.slow_verbs:SLOW")) as jobs:
        for trial in range(count):
            own, kills = tmp_path / str(trial), trial % 2 == 0
            own.mkdir()
            case_folder(own)
            state = stopped(jobs, own, kills=kills, delay_s=dice.uniform(0.0, LONGEST_S))
            wanted = State.INTERRUPTED if kills else State.CANCELLED
            fault = fault_of(own) if state is wanted else f"the job is {state.value}"
            faults.append(fault)
            told.append((own / "said").exists())
    tally("kill -9 during a job that adds runs", count, sum(map(bool, faults)))

    assert not list(filter(None, faults))
    assert any(told)
