"""
The archive of repeatability from a case and back, on the invented demonstration.

Promised: only counted baseline runs of one session, fuel and factory element are repeats; a case
never uses its own sessions nor anything written after its first run with a kit; the figures used
are in the result with the hashes of their lines; every document fits its schema.
"""

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import statsmodels.api as sm

from feedproof.app import api
from feedproof.app.archive_baselines import baselines, mark_of
from feedproof.app.archiving import asked_of, case_with_archive, plumbing_of
from feedproof.app.cli import main
from feedproof.app.naming import VARIABLE
from feedproof.app.schemas import schema
from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.case.rig import Rig
from feedproof.case.run import Role
from feedproof.core.errors import InputError
from feedproof.evidence.archives.choice import Plumbing
from feedproof.evidence.archives.lines import SessionData
from feedproof.records.archive import ArchiveFile
from feedproof.records.folder import CaseFolder
from tests.app.conftest import copied as copied_whole
from tests.app.conftest import judged
from tests.evidence.archives.archive_sessions import figure_of, session_data

RIG = Rig(name="roller cell", procedure="full-load pull in 4th gear, 5 km/h per s")
TABLE = f'[rig]\nname = "{RIG.name}"\nprocedure = "{RIG.procedure}"\n\n'
EARLY = datetime(2026, 6, 1, tzinfo=UTC)


def with_rig(folder: CaseFolder) -> CaseFolder:
    """Name the rig of a copied case."""
    path = folder.path / "case.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[pull]", f"{TABLE}[pull]", 1), encoding="utf-8")
    return folder


def copied(folder: CaseFolder, target: Path) -> CaseFolder:
    """Copy the demonstration without the rig that it names."""
    made = copied_whole(folder, target)
    path = made.path / "case.toml"
    text = path.read_text(encoding="utf-8")
    start = text.index("[rig]")
    path.write_text(text[:start] + text[text.index("\n#", start) + 1 :], encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def case(demo) -> Case:
    """Give the demonstration with its rig named."""
    return replace(demo.case, rig=RIG)


@pytest.fixture(autouse=True)
def _no_archive_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the tests from an archive that somebody's environment names."""
    monkeypatch.delenv(VARIABLE, raising=False)


@pytest.fixture(scope="module")
def early(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make an archive of eight sessions of other cases, written before the demonstration."""
    archive = ArchiveFile(tmp_path_factory.mktemp("archive") / "archive.jsonl")
    rng = np.random.default_rng(11)
    for day in range(8):
        figures = [
            figure_of((scale * rng.normal(size=3)).tolist(), measure)
            for measure, scale in (
                (Measure.WHEEL_POWER, 0.5),
                (Measure.CAUGHT_RETURN, 1.1),
                (Measure.INLET_DEPRESSION, 250.0),
            )
        ]
        data = session_data(day, figures, rig=RIG.name, procedure=RIG.procedure)
        archive.add(data, who="tester", when=EARLY)
    return archive.path


def without_runs(case: Case, reason: str, *numbers: int) -> Case:
    """Exclude runs."""
    runs = tuple(
        replace(run, excluded=reason) if run.number in numbers else run for run in case.runs
    )
    return replace(case, runs=runs)


def named(sessions: tuple[SessionData, ...]) -> list[str]:
    """Give the names of sessions."""
    return [each.session for each in sessions]


def test_only_sessions_of_three_counted_baseline_runs_have_a_figure(demo, case: Case) -> None:
    """Statsmodels on the reduced runs: residual scatter of a straight line over the places."""
    found, told = baselines(case, demo.proof.runs, "0" * 64)
    data = found[0]
    figure = next(each for each in data.figures if each.measure is Measure.WHEEL_POWER)
    runs = [run for run in demo.proof.runs if run.number in (2, 4, 6)]
    peer = sm.OLS(
        np.array([run.power_loss_log_percent for run in runs]),
        sm.add_constant(np.array([run.position for run in runs])),
    ).fit()

    assert named(found) == ["secondary", "bad"]
    assert figure.runs == (2, 4, 6)
    assert figure.standard_deviation == pytest.approx(float(np.sqrt(peer.mse_resid)), rel=1e-9)
    assert figure.degrees_of_freedom == 1
    assert data.left_out == ((1, "warm-up"),)
    for session in ("both", "loaded", "control"):
        assert any(session in each.place and "2 baseline runs" in each.message for each in told)


def test_an_excluded_run_and_a_run_of_another_role_never_count(demo, case: Case) -> None:
    excluded = without_runs(case, "tyre slipped", 4)
    found, told = baselines(excluded, demo.proof.runs, "0" * 64)
    loaded = tuple(
        replace(run, role=Role.LOADED) if run.number == 4 else run for run in demo.proof.runs
    )

    assert named(found) == ["bad"]
    assert any("secondary" in each.place for each in told)
    assert named(baselines(case, loaded, "0" * 64)[0]) == ["bad"]


def test_runs_on_another_fuel_or_with_another_factory_element_are_no_repeats(demo, case) -> None:
    for change, words in (
        ({"fuel": "winter"}, "different fuels"),
        ({"elements": {"factory_filter": "F-99"}}, "not the same one"),
    ):
        runs = tuple(replace(r, **change) if r.number == 4 else r for r in case.runs)
        found, told = baselines(replace(case, runs=runs), demo.proof.runs, "0" * 64)

        assert named(found) == ["bad"]
        assert any(words in each.message for each in told)


def test_a_censored_depression_is_no_repeat(demo, case: Case) -> None:
    reduced = [
        replace(run, depression_censored=True) if run.number == 4 else run
        for run in demo.proof.runs
    ]
    found, _ = baselines(case, reduced, "0" * 64)

    assert Measure.INLET_DEPRESSION not in {each.measure for each in found[0].figures}
    assert Measure.WHEEL_POWER in {each.measure for each in found[0].figures}


def test_a_start_without_offset_is_refused_where_it_matters(demo, case: Case) -> None:
    runs = tuple(replace(run, started=run.started.replace(tzinfo=None)) for run in case.runs)
    with pytest.raises(InputError, match="offset"):
        baselines(replace(case, runs=runs), demo.proof.runs, "0" * 64)
    with pytest.raises(InputError, match="offset"):
        asked_of(replace(case, runs=runs))


def test_how_often_the_line_was_opened_is_read_from_the_set_ups(case: Case) -> None:
    assert plumbing_of(case) is Plumbing.ONE
    each = tuple(replace(run, setup=f"s{run.number}") for run in case.runs)
    assert plumbing_of(replace(case, runs=each)) is Plumbing.EACH
    some = tuple(replace(run, setup=f"s{len(run.kits)}") for run in case.runs)
    assert plumbing_of(replace(case, runs=some)) is Plumbing.SHARED


def test_the_archive_takes_the_place_of_what_is_not_declared(case: Case, early: Path) -> None:
    bare = replace(case, repeatability={})
    changed, use, told = case_with_archive(bare, early)
    stands, _, also_told = case_with_archive(case, early)

    assert use is not None
    assert all(figure.used and len(figure.lines) == 8 for figure in use.figures)
    assert changed.repeatability[Measure.WHEEL_POWER].degrees_of_freedom == 8
    assert changed.repeatability[Measure.WHEEL_POWER].source.startswith("the archive")
    assert all("used, for the case declares none" in each.message for each in told)
    assert stands.repeatability == case.repeatability
    assert all("not used" in each.message for each in also_told)


def test_its_own_sessions_and_later_ones_never_count(case, demo, early: Path, tmp_path) -> None:
    archive = ArchiveFile(tmp_path / "a.jsonl")
    own, _ = baselines(case, demo.proof.runs, "0" * 64)
    archive.add(own[0], who="tester", when=EARLY)
    _, use, told = case_with_archive(replace(case, repeatability={}), archive.path)

    assert use is not None
    assert all(figure.standard_deviation is None for figure in use.figures)
    assert any("this case's own" in each.message for each in told)
    assert use.before == min(run.started for run in case.runs if run.kits)

    late = replace(case, runs=tuple(replace(r, started=r.started.replace(year=2025))
                                    for r in case.runs))  # fmt: skip
    _, use, told = case_with_archive(replace(late, repeatability={}), early)
    assert use is not None
    assert not any(figure.used for figure in use.figures)
    assert any("after its first run" in each.message for each in told)


def test_an_answer_that_rests_on_the_archive_says_so(demo, case: Case, early: Path) -> None:
    """The control's session is A-B-A: its answer has no scatter of its own."""
    changed, _, _ = case_with_archive(replace(case, repeatability={}), early)
    proof = judged(changed, demo.logs)
    verdict = next(each for each in proof.verdicts if "control" in each.configuration)
    power = next(each for each in verdict.outcomes if each.measure is Measure.WHEEL_POWER)

    assert "rests_on_declared_repeatability" in power.tags
    assert any("the archive of this rig and procedure (8 sessions" in r for r in power.reasons)
    assert power.degrees_of_freedom is not None


def test_a_limit_that_uses_invented_sessions_says_so(case: Case, tmp_path: Path) -> None:
    archive = ArchiveFile(tmp_path / "archive.jsonl")
    for day in range(2):
        figure = figure_of((0.1, 0.7, -0.3), Measure.WHEEL_POWER)
        facts = {"rig": RIG.name, "procedure": RIG.procedure, "invented": day == 1}
        archive.add(session_data(day, [figure], **facts), who="tester", when=EARLY)
    assert [line.data.invented for line in archive.read().lines if line.data] == [False, True]
    changed, use, told = case_with_archive(replace(case, repeatability={}), archive.path)

    source = changed.repeatability[Measure.WHEEL_POWER].source
    assert "2 sessions" in source
    assert "1 of them INVENTED" in source
    assert use is not None
    assert [len(each.invented) for each in use.figures] == [1, 0, 0]
    assert any("INVENTED: what rests on the figure is invented too" in f.message for f in told)


def test_the_demonstration_is_marked_as_invented_in_the_archive(journey) -> None:
    _, file, _ = journey
    assert all(line.data is None or line.data.invented for line in ArchiveFile(file).read().lines)


@pytest.mark.parametrize(
    "words", [["archive", "add"], ["archive", "withdraw", "2", "--reason", "x"], ["exclude", "4"]]
)
def test_nobody_cannot_stand_for_a_line(words: list[str], journey, capsys) -> None:
    folder, file, _ = journey
    before = file.read_bytes(), folder.journal.path.read_bytes()
    where = [str(folder.path)] if words[-1] == "add" else []
    if words[0] == "exclude":
        words = ["exclude", str(folder.path), "4", "--reason", "pedal"]
    else:
        words = [*words, *where, "--file", str(file)]
    for nobody in ("", "  "):
        assert main([*words, "--who", nobody]) == 2
        assert "--who: is empty" in capsys.readouterr().err
    assert (file.read_bytes(), folder.journal.path.read_bytes()) == before


def test_a_run_has_the_same_mark_in_every_copy(case: Case) -> None:
    run = case.runs[1]
    moved = replace(run, number=99, session="elsewhere", note="copied")

    assert mark_of(moved).sha256 == mark_of(run).sha256
    assert mark_of(case.runs[2]).sha256 != mark_of(run).sha256


@pytest.fixture(scope="module")
def journey(demo, tmp_path_factory: pytest.TempPathFactory):
    """Copy the demonstration, name its rig, and add it to a new archive."""
    home = tmp_path_factory.mktemp("journey")
    folder = with_rig(copied(demo.folder, home / "case"))
    file = home / "archive.jsonl"
    told = api.archive_add(folder.path, file=file, who="tester")
    return folder, file, told


def test_a_case_is_added_once(journey, capsys: pytest.CaptureFixture[str]) -> None:
    folder, file, told = journey
    before = file.read_bytes()

    assert "secondary (line 2), bad (line 3)" in told.what
    words = ["archive", "add", str(folder.path), "--file", str(file), "--who", "x", "--json"]
    assert main(words) == 2
    found = json.loads(capsys.readouterr().out)["findings"]
    assert "is there already: archive.jsonl line 2" in found[0]["message"]
    assert file.read_bytes() == before


def test_show_says_everything_and_fits_its_schema(journey, monkeypatch, capsys) -> None:
    _, file, _ = journey
    monkeypatch.setenv(VARIABLE, str(file))
    assert main(["archive", "show"]) == 0
    text = capsys.readouterr().out
    assert main(["archive", "show", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, schema("archive"))

    for words in (
        f"{RIG.name}: {RIG.procedure}",
        "wheel power, one plumbing: s0 = ",
        "2 degrees of freedom (95 %: ",
        "2 sessions, 2026-09-14 to 2026-09-16",
        "cannot tell",
        "one more baseline session of three runs would give 3 degrees of freedom",
        "/ secondary (INVENTED): 3 runs",
        "lines 2, 3: come from cases that say that their data are INVENTED",
    ):
        assert words in text
    assert len(document["pools"]) == 3


def test_withdraw_takes_a_session_out_and_names_it(journey, tmp_path: Path, capsys) -> None:
    _, file, _ = journey
    mine = tmp_path / "archive.jsonl"
    mine.write_bytes(file.read_bytes())
    place = ["--file", str(mine)]

    assert main(["archive", "withdraw", "9", "--who", "x", "--reason", "y", *place]) == 3
    assert main(["archive", "withdraw", "3", "--who", "me", "--reason", "gauge", *place]) == 0
    capsys.readouterr()
    assert main(["archive", "show", *place]) == 0
    text = capsys.readouterr().out
    assert "1 session stand" in text
    assert "line 3" in text.split("Not counted:")[1]
    assert "by me: gauge" in text


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["archive", "show"], 3, "FEEDPROOF_ARCHIVE"),
        (["archive", "show", "--file", "nowhere.jsonl"], 3, "there is no archive"),
        (["archive", "bogus"], 2, ""),
    ],
)
def test_an_archive_must_be_named_and_be_there(words, code, said, capsys) -> None:
    assert main(words) == code
    assert said in "".join(capsys.readouterr())


def test_a_case_without_a_rig_cannot_be_pooled(demo, tmp_path: Path, capsys) -> None:
    file = tmp_path / "a.jsonl"
    folder = copied(demo.folder, tmp_path / "case")
    words = ["archive", "add", str(folder.path), "--file", str(file), "--who", "x"]

    assert main(words) == 2
    assert "Add [rig] with name and procedure" in capsys.readouterr().err
    assert not file.exists()
    assert main(["prove", str(folder.path), "--archive", str(file)]) == 3


def test_a_source_that_is_the_archive_needs_a_rig(demo, tmp_path: Path, capsys) -> None:
    folder = copied(demo.folder, tmp_path / "case")
    path = folder.path / "case.toml"
    text = path.read_text(encoding="utf-8")
    old = 'source = "11 baseline repeats on this rig in three sessions, invented"'
    path.write_text(text.replace(old, 'source = "archive"', 1), encoding="utf-8")

    assert main(["check", str(folder.path)]) == 2
    assert "the case names neither" in capsys.readouterr().out
    with_rig(folder)
    case = folder.load().case
    _, use, told = case_with_archive(case, None)
    assert use is None
    assert ["no archive is given" in each.message for each in told] == [True]


@pytest.mark.parametrize("name", ["", " padded", "two  blanks", "line\nbreak", "x" * 200])
def test_a_rig_has_a_name_that_cannot_be_mistaken(demo, tmp_path: Path, name: str) -> None:
    folder = with_rig(copied(demo.folder, tmp_path / "case"))
    path = folder.path / "case.toml"
    text = path.read_text(encoding="utf-8").replace(f'"{RIG.name}"', json.dumps(name), 1)
    path.write_text(text, encoding="utf-8")

    with pytest.raises(InputError, match=r"rig\.name"):
        folder.load()


def test_prove_keeps_the_figures_that_it_used(journey, early: Path, capsys) -> None:
    folder, _, _ = journey
    assert main(["prove", str(folder.path), "--archive", str(early), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, schema("proof"))
    archive = document["archive"]

    assert archive["sha256"] == ArchiveFile(early).read().sha256
    assert archive["before"] == "2026-09-14T09:52:00+02:00"
    assert [each["used"] for each in archive["figures"]] == [False] * 3
    assert all(len(each["lines"]) == 8 for each in archive["figures"])
    assert any("goes before the archive" in each["message"] for each in document["findings"])


def test_a_damaged_archive_stops_a_proof_at_its_line(journey, early, tmp_path, capsys) -> None:
    folder, _, _ = journey
    damaged = tmp_path / "archive.jsonl"
    damaged.write_bytes(early.read_bytes().replace(b"roller cell", b"roller bell", 1))

    assert main(["prove", str(folder.path), "--archive", str(damaged)]) == 2
    assert "archive.jsonl line 2" in capsys.readouterr().err


def test_plan_takes_its_repeatability_from_the_archive(demo, early, tmp_path, capsys) -> None:
    """A figure of the archive with 8 degrees of freedom, in the plan as in its findings."""
    folder = with_rig(copied(demo.folder, tmp_path / "case"))
    path = folder.path / "case.toml"
    text = path.read_text(encoding="utf-8")
    old = 'source = "11 baseline repeats on this rig in three sessions, invented"'
    path.write_text(text.replace(old, 'source = "archive"', 1), encoding="utf-8")

    words = ["plan", str(folder.path), "--kit", "secondary", "--archive", str(early), "--json"]
    assert main(words) == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, schema("plan"))
    figures = {each["measure"]: each for each in document["archive"]["figures"]}
    power = next(each for each in document["measures"] if each["measure"] == "wheel_power")

    assert [figures[name]["used"] for name in ("wheel_power", "caught_return")] == [True, False]
    assert power["repeatability"] == pytest.approx(
        figures["wheel_power"]["standard_deviation"], rel=1e-9
    )
    assert power["degrees_of_freedom"] == 8
