"""
Instruments that were out of calibration when they were used.

Promised: only of registered ones is anything said; the day of the run counts, with the calibration
that was in force then; a proof keeps what it was told and comes out again with another database,
or none; a database that cannot be asked is told and stops nothing.
"""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from feedproof.app import api
from feedproof.app.calibration import calibration_findings, days_of, taken_down
from feedproof.core.errors import InputError
from feedproof.records.folder import CaseFolder
from feedproof.records.store.address import VARIABLE
from feedproof.records.store.kinds import Instrument
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store
from tests.app.conftest import copied


@pytest.fixture(autouse=True)
def own_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Name a database of the test's own."""
    file = tmp_path / "data" / "store.sqlite"
    monkeypatch.setenv(VARIABLE, str(file))
    return file


def register(*dates: tuple[str, str], name: str = "logger") -> None:
    """Keep an instrument, once for each pair of days of calibration and of the next."""
    with Store.open() as store:
        for number, (calibrated, due) in enumerate(dates, start=1):
            instrument = Instrument(
                id=name,
                title="invented",
                calibrated=date.fromisoformat(calibrated) if calibrated else None,
                due=date.fromisoformat(due) if due else None,
            )
            when = datetime(2027, 1, number, tzinfo=UTC)
            store.keep_instrument(instrument, Signed(who="Ann", when=when))


def told(demo: Any) -> list[str]:
    """Give what is said of the demonstration, driven on one day of September 2026."""
    document, unasked = taken_down(demo.case)
    assert unasked == ()
    return [str(each) for each in calibration_findings(demo.case, document)]


def test_the_demonstration_is_driven_on_known_days(demo) -> None:
    days = days_of(demo.case)

    assert {"cell", "logger", "jug", "cell_air"} <= set(days)
    assert {f"{day:%Y-%m}" for day in days["logger"].values()} == {"2026-09"}


@pytest.mark.parametrize(
    ("dates", "said"),
    [
        ((("2026-01-10", "2027-01-10"),), ""),
        ((("2026-01-10", ""),), ""),
        ((("", ""),), ""),
        ((("2025-06-01", "2026-06-01"),), "its calibration of 2025-06-01 was due again on 2026-06"),
        ((("", "2026-06-01"),), "it was due on 2026-06-01"),
        ((("2026-12-01", "2027-12-01"),), "first known calibration is of 2026-12-01, after the"),
        # Calibrated again since: the one that was in force then counts.
        ((("2026-01-10", "2027-01-10"), ("2026-12-01", "2027-12-01")), ""),
        ((("2025-06-01", "2026-06-01"), ("2026-12-01", "2027-12-01")), "due again on 2026-06-01"),
        # A corrected slip of the pen does not cover a run.
        ((("2026-08-01", "2027-08-01"), ("2025-08-01", "2026-08-01")), "due again on 2026-08-01"),
    ],
)
def test_the_calibration_in_force_on_the_day_counts(demo, dates, said: str) -> None:
    register(*dates)
    found = told(demo)

    if not said:
        assert found == []
        return
    (text,) = found
    assert said in text
    assert text.startswith("warning: instrument logger: was out of calibration in runs 1, 2, 3")


def test_what_is_read_by_hand_counts_on_the_runs_that_used_it(demo) -> None:
    register(("2025-06-01", "2026-06-01"), name="jug")
    (text,) = told(demo)
    caught = [run.number for run in demo.case.runs if run.caught_return and not run.excluded]

    assert f"in runs {', '.join(map(str, caught))}: " in text


def test_nothing_is_said_of_what_is_not_registered_or_not_used(demo, own_store) -> None:
    assert told(demo) == []
    assert not own_store.exists(), "asking makes no database"
    register(("2020-01-01", "2021-01-01"), name="somebody else's")
    assert told(demo) == []


def test_a_deleted_instrument_is_not_registered(demo) -> None:
    register(("2025-06-01", "2026-06-01"))
    with Store.open() as store:
        store.delete("instruments", "logger", Signed(who="Ann", why="sold"))

    assert told(demo) == []


def test_a_run_that_is_left_out_needs_no_calibration(demo) -> None:
    register(("2025-06-01", "2026-06-01"))
    runs = tuple(replace(run, excluded="hose was loose") for run in demo.case.runs)
    case = replace(demo.case, runs=runs)

    assert calibration_findings(case, taken_down(demo.case)[0]) == ()


def test_check_and_prove_say_it_and_the_proof_comes_out_again_elsewhere(
    demo, tmp_path, own_store, monkeypatch
) -> None:
    folder = copied(demo.folder, tmp_path / "case")
    register(("2025-06-01", "2026-06-01"))
    checked = api.check(folder.path)
    proof = api.prove(folder.path)

    assert checked.usable
    assert "was due again on 2026-06-01" in checked.text()
    assert "was due again on 2026-06-01" in str(proof.findings)
    again = api.store_verify(folder.path, recompute=True)
    assert again.whole, again.text()
    # Calibrated meanwhile, and then on a machine without a database.
    register(("2026-01-01", "2027-01-01"))
    assert api.store_verify(folder.path, recompute=True).whole
    monkeypatch.setenv(VARIABLE, str(tmp_path / "nowhere" / "store.sqlite"))
    assert api.store_verify(folder.path, recompute=True).whole
    assert not (tmp_path / "nowhere").exists()
    monkeypatch.setenv(VARIABLE, str(own_store))
    assert "out of calibration" not in str(api.prove(folder.path).findings)


def test_a_proof_without_registered_instruments_comes_out_again_after_one_is_registered(
    demo, tmp_path
) -> None:
    folder = copied(demo.folder, tmp_path / "case")
    api.prove(folder.path)
    register(("2025-06-01", "2026-06-01"))

    told = api.store_verify(folder.path, recompute=True)
    assert told.whole, told.text()


def test_a_database_that_cannot_be_asked_is_told_and_stops_nothing(
    demo, tmp_path, own_store
) -> None:
    folder = copied(demo.folder, tmp_path / "case")
    own_store.parent.mkdir()
    own_store.write_text("no database " * 100, encoding="utf-8")
    checked = api.check(folder.path)
    proof = api.prove(folder.path)

    assert checked.usable
    assert str(own_store) in checked.text(), "whoever can mend it is told which"
    (said,) = [each for each in proof.findings if each.place == "calibration"]
    assert "could not be asked" in said.message
    assert str(tmp_path) not in str(proof.findings), "a result travels; its owner's folders do not"
    assert api.store_verify(folder.path, recompute=True).whole


def test_a_document_that_is_none_is_refused(demo, tmp_path) -> None:
    wrong = tmp_path / "wrong.json"
    wrong.write_text('{"format": "other"}', encoding="utf-8")

    with pytest.raises(InputError, match="no document of calibrations"):
        api.prove(CaseFolder(demo.folder.path).path, calibrated=wrong)
