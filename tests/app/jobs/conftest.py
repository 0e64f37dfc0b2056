"""A workspace with a small case, and its jobs."""

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from pathlib import Path
from typing import Any

import pytest

from feedproof.app.jobs.limits import Limits
from feedproof.app.jobs.running import Jobs
from tests.app.jobs.slow_verbs import TABLE
from tests.house.tree import ROOT
from tests.records.documents import case_folder

Opened = Callable[..., Jobs]


@pytest.fixture(scope="session", autouse=True)
def reach_of_the_processes() -> Iterator[None]:
    """Let the processes find the verbs of the tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYTHONPATH", os.pathsep.join((os.environ.get("PYTHONPATH", ""), str(ROOT))))
        yield


@pytest.fixture
def case(tmp_path: Path) -> Path:
    """Give a case in a workspace."""
    return case_folder(tmp_path).path


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Opened]:
    """Give what opens the jobs of the workspace; all are closed at the end."""
    with ExitStack() as stack:

        def open_jobs(**limits: Any) -> Jobs:
            limits = {"processes": 1, "grace_s": 0.3, **limits}
            return stack.enter_context(
                closing(Jobs(tmp_path, limits=Limits(**limits), table=TABLE))
            )

        yield open_jobs


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Jobs]:
    """Give jobs on a case at ``case`` that tests share, so that a process starts only once."""
    root = tmp_path_factory.mktemp("workspace")
    case_folder(root)
    with closing(Jobs(root, limits=Limits(processes=1, memory_mb=300), table=TABLE)) as jobs:
        yield jobs
