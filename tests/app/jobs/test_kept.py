"""The result to show before anything is computed, and when it is the one that would be found."""

import os
import shutil
from collections.abc import Iterator
from contextlib import closing, nullcontext
from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.app.jobs import bases
from feedproof.app.jobs.limits import Limits
from feedproof.app.jobs.record import State
from feedproof.app.jobs.running import Jobs
from feedproof.core.errors import InputError
from feedproof.records.folder import CaseFolder
from tests.app.jobs.slow_verbs import TABLE
from tests.app.jobs.watching import counting, ended
from tests.records.documents import case_folder

ASKED = {"level": "25 %"}


@pytest.fixture(scope="module")
def warm(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Jobs]:
    """Give jobs whose process starts once; each test has a case of its own below them."""
    root = tmp_path_factory.mktemp("workspace")
    with closing(Jobs(root, limits=Limits(processes=1, grace_s=0.3), table=TABLE)) as jobs:
        yield jobs


@pytest.fixture
def jobs(warm: Jobs) -> Iterator[Jobs]:
    """Give the jobs; what a test leaves waiting or running is cancelled at its end."""
    yield warm
    left = [job for job in warm.list() if not job.state.has_ended]
    for job in left:
        warm.cancel(job.id)
    for job in left:
        ended(warm, job)


@pytest.fixture
def case(jobs: Jobs, request: pytest.FixtureRequest) -> Path:
    """Give a case that no other test has, in a folder of its own in the workspace."""
    own = jobs.root / request.node.name
    own.mkdir()
    return case_folder(own).path


def named(jobs: Jobs, file: Path) -> str:
    """Give the name of a file in the workspace."""
    return file.relative_to(jobs.root).as_posix()


def computed(jobs: Jobs, case: Path, **parameters: object) -> str:
    """Have a prediction computed; give its job."""
    job = ended(jobs, jobs.submit("predict", case, parameters))
    assert job.state is State.DONE
    return job.id


def test_nothing_computed_gives_nothing(jobs, case) -> None:

    assert jobs.latest("predict", case) is None
    assert jobs.identical("predict", case, ASKED) is None
    assert jobs.latest("check", case) is None


def test_the_newest_result_is_given_and_says_that_it_is_current(jobs, case) -> None:
    first, second = computed(jobs, case), computed(jobs, case, **ASKED)
    latest = jobs.latest("predict", case)

    assert (latest.job, latest.is_current, latest.changes) == (second, True, ())
    assert latest.result == jobs.result(second)
    assert latest.parameters == ASKED
    assert jobs.latest("predict", case, {}).job == first
    assert jobs.identical("predict", case, ASKED).job == second
    assert jobs.identical("predict", case, {"level": "26 %"}) is None


def test_a_result_of_a_case_that_was_changed_says_so_until_it_is_changed_back(jobs, case) -> None:
    job = computed(jobs, case)
    before = (case / "case.toml").read_bytes()
    (case / "case.toml").write_bytes(before + b"\n# a word more\n")
    latest = jobs.latest("predict", case)

    assert (latest.job, latest.is_current) == (job, False)
    assert latest.changes == ("the case was changed",)
    assert jobs.identical("predict", case) is None
    newer = computed(jobs, case)
    assert jobs.latest("predict", case).job == newer
    (case / "case.toml").write_bytes(before)
    assert jobs.latest("predict", case).job == job
    assert jobs.latest("predict", case).is_current


def test_a_journal_with_a_line_more_is_a_change_and_a_look_is_none(jobs, case) -> None:
    computed(jobs, case)
    folder = CaseFolder(case)
    folder.journal.append("runs judged", {"runs": []}, who="feedproof")
    assert jobs.latest("predict", case).is_current

    folder.declare_margins(who="tester", source="agreed once more")
    assert jobs.latest("predict", case).changes == ("the journal has more lines",)
    lines = folder.journal.path.read_bytes().splitlines(keepends=True)
    folder.journal.path.write_bytes(b"")
    assert jobs.latest("predict", case).changes == ("the journal is another one",)
    folder.journal.path.write_bytes(lines[0])
    assert jobs.latest("predict", case).is_current


def test_a_result_of_another_version_of_the_program_says_so(jobs, case, monkeypatch) -> None:
    computed(jobs, case)
    monkeypatch.setattr(bases, "environment", lambda _: {"code": "another"})

    assert jobs.latest("predict", case).changes == ("the program is another version",)


def test_what_the_command_line_computed_is_a_result_too(jobs, case) -> None:
    direct = api.predict(case, level="25 %")
    latest = jobs.latest("predict", case)

    assert latest.result["format"] == direct.format
    assert (latest.is_current, latest.job) == (True, "")
    assert latest.parameters == ASKED
    assert jobs.identical("predict", case, ASKED) is not None
    assert jobs.identical("predict", case) is None
    file = next((case / "results").glob("*.json"))
    file.write_bytes(file.read_bytes() + b" ")
    assert jobs.latest("predict", case) is None


def test_a_file_that_was_named_counts_by_its_content(jobs, case) -> None:
    one, other = (case.parent / name for name in ("one.csv", "other.csv"))
    packaged = Path(api.__file__).parents[1] / "kits"
    text = next(packaged.glob("**/*.csv")).read_bytes()
    one.write_bytes(text)
    shutil.copyfile(one, other)
    counting(jobs, case)  # The others only wait: their question is all that is asked for.
    keys = [
        jobs.submit("choose", case, {"catalogue": named(jobs, file)}).key for file in (one, other)
    ]
    other.write_bytes(text + b"\n")
    keys.append(jobs.submit("choose", case, {"catalogue": named(jobs, other)}).key)

    assert keys[0] == keys[1] != keys[2]


def test_the_archive_of_the_whole_program_is_part_of_the_question(jobs, case, monkeypatch) -> None:
    counting(jobs, case)
    keys = [jobs.submit("prove", case).key]
    archive = case.parent / "archive.jsonl"
    archive.write_bytes(b"")
    monkeypatch.setenv("FEEDPROOF_ARCHIVE", os.fspath(archive))
    keys.append(jobs.submit("prove", case).key)

    assert keys[0] != keys[1]


def test_a_result_of_a_file_that_is_another_now_says_so(jobs, case) -> None:
    file = case.parent / "named.txt"
    file.write_text("one")
    job = ended(jobs, jobs.submit("read_file", case, {"file": named(jobs, file)}))
    assert jobs.latest("read_file", case).is_current

    file.write_text("other")
    assert jobs.latest("read_file", case).job == job.id
    assert jobs.latest("read_file", case).changes == (
        "a file that it was computed from is another one",
    )


def test_what_the_database_says_of_instruments_counts_for_a_verb_that_asks_it(
    case, monkeypatch
) -> None:
    said = case.parent / "said.json"
    said.write_text("calibrated in March")
    monkeypatch.setattr(bases, "is_there", lambda: True)
    monkeypatch.setattr(bases, "calibrations", lambda *_: nullcontext(said))
    basis = bases.Standing(case, asks_database=True).basis()
    assert bases.Standing(case, asks_database=True).changes_since(basis) == ()
    assert basis.calibrated

    said.write_text("calibrated in April")
    changes = bases.Standing(case, asks_database=True).changes_since(basis)
    assert changes == ("what is known of the instruments' calibration changed",)
    assert bases.Standing(case).basis().calibrated == ""


def test_a_case_that_was_changed_while_it_was_computed_gives_no_current_result(jobs, case) -> None:
    job = ended(jobs, jobs.submit("edit_meanwhile", case))

    assert job.state is State.DONE
    assert job.basis is None
    assert jobs.latest("edit_meanwhile", case).changes == (
        "the case was changed while it was computed",
    )


def test_a_question_that_waits_already_is_not_put_twice(jobs, case) -> None:
    counting(jobs, case)
    first = jobs.submit("predict", case, ASKED)

    assert jobs.submit("predict", case, ASKED).id == first.id
    assert jobs.submit("predict", case).id != first.id
    assert jobs.submit("count", case).id != jobs.submit("count", case).id


def test_mistakes_in_the_question_are_told(jobs, case) -> None:
    with pytest.raises(InputError, match="no parameter"):
        jobs.identical("predict", case, {"lvl": "25 %"})
