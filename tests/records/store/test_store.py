"""
The database, the same tests for a file and for a real server.

Promised: what is kept comes back as it was, with who, when and why; nothing is ever changed, only
superseded; two people who change one record do not overwrite each other; a deletion can be undone
for 30 days and nothing is purged before; an edit behind the program's back is found.
"""

import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.archive import ArchiveFile
from feedproof.records.store import rows
from feedproof.records.store.kinds import (
    FieldReading,
    Instrument,
    Kept,
    Row,
    Settings,
    content_of,
)
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store
from feedproof.records.store.tables import RECORDS
from tests.evidence.archives.archive_sessions import session_data
from tests.records.store.filled import (
    CHANNELS,
    COLUMNS,
    GAUGE,
    UNITS,
    archive_file,
    fill,
    reading,
    signed,
)


def behind_the_back(store: Store, statement: str) -> None:
    """Change the database without the program."""
    with store._database.engine.begin() as connection:
        connection.exec_driver_sql(statement)


def test_an_instrument_comes_back_with_who_when_and_why(store: Store) -> None:
    store.keep_instrument(GAUGE, signed())

    kept = store.instrument("gauge")

    assert kept.record == GAUGE
    assert (kept.row.who, kept.row.why, kept.row.seq) == ("Ann", "first entry", 1)
    assert kept.row.at == "2026-03-01T12:00:00.000000+00:00"
    assert kept.row.supersedes == ""


def test_a_correction_supersedes_and_the_first_entry_stays(store: Store) -> None:
    first = store.keep_instrument(GAUGE, signed())
    again = Instrument(id="gauge", title="Pressure gauge, invented", serial="A-71")
    second = store.keep_instrument(again, signed(2, "Ben", "digits swapped"))

    rows = store.history("instruments", "gauge")

    assert [each.record for each in rows if isinstance(each, Kept)] == [GAUGE, again]
    assert second.supersedes == first.sha256
    assert [kept.record for kept in store.instruments()] == [again]


def test_the_second_of_two_people_is_told_and_nothing_is_lost(store: Store) -> None:
    seen = store.keep_instrument(GAUGE, signed()).sha256
    ben = Instrument(id="gauge", title="as Ben wants it")
    store.keep_instrument(ben, signed(2, "Ben"), seen=seen)

    with pytest.raises(WriteError, match="kept by Ben at 2026-03-02"):
        store.keep_instrument(GAUGE, signed(3), seen=seen)

    assert store.instrument("gauge").record == ben


def test_adding_what_is_there_is_refused(store: Store) -> None:
    store.keep_instrument(GAUGE, signed(), seen="")

    with pytest.raises(WriteError, match="instruments gauge"):
        store.keep_instrument(GAUGE, signed(), seen="")


def test_a_mapping_is_found_by_the_shape_of_the_header(store: Store) -> None:
    store.remember_mapping("gauge", COLUMNS, CHANNELS, signed(), units=UNITS)

    found = store.mapping_for("gauge", (" TIME", "depression "), UNITS)

    assert found is not None
    assert dict(found.record.channels) == CHANNELS
    assert store.mapping_for("gauge", COLUMNS, ("s", "bar")) is None
    assert store.mapping_for("other", COLUMNS, UNITS) is None


def test_a_reading_keeps_si_and_what_was_typed(store: Store) -> None:
    store.keep_reading(reading(), signed())
    store.keep_reading(reading("3 inHg", vehicle="Van 2, invented"), signed())

    kept = store.readings("Van 2, invented")[0].record

    assert kept.depression_pa == pytest.approx(3 * 3386.389, rel=1e-6)
    assert (kept.depression_text, kept.distance_text) == ("3 inHg", "45210 km")
    assert kept.distance_m == 45_210_000.0
    assert kept.fuel_temperature_k == pytest.approx(304.15)
    assert len(store.readings()) == 2


def test_numbers_come_back_to_the_last_bit(store: Store) -> None:
    exact = FieldReading(
        vehicle="v", check_point="c", read_on=date(2026, 1, 1),
        depression_pa=0.1 + 0.2, depression_text="x", distance_m=1 / 3e7,
    )  # fmt: skip
    store.keep_reading(exact, signed())

    assert store.readings()[0].record == exact
    assert store.verify() == ()


def test_all_wrong_values_of_a_reading_are_told_at_once() -> None:
    with pytest.raises(InputError) as told:
        FieldReading.typed(
            vehicle="v", check_point="c", read_on=date(2026, 1, 1),
            depression="12", distance="far", fuel_temperature="3 kPa",
        )  # fmt: skip

    assert [f.place for f in told.value.findings] == ["depression", "distance", "fuel temperature"]


def test_settings_are_ones_own_then_the_workshops_then_the_programs(store: Store) -> None:
    assert store.settings("Ann") == Settings()

    store.keep_settings(Settings(units={"pressure": "psi"}, dark_mode=True), signed())
    store.keep_settings(Settings(decimal_comma=True), signed(), of="Ben")

    assert store.settings("Ann") == Settings(units={"pressure": "psi"}, dark_mode=True)
    assert store.settings("Ben") == Settings(decimal_comma=True)


def test_a_deletion_can_be_undone_for_thirty_days(store: Store) -> None:
    store.keep_instrument(GAUGE, signed())
    store.delete("instruments", "gauge", signed(1, "Ben", "sold"))
    assert store.instruments() == ()
    with pytest.raises(MissingError):
        store.instrument("gauge")

    store.undo("instruments", "gauge", signed(31, "Ann", "not sold after all"))

    assert store.instrument("gauge").record == GAUGE
    assert store.verify() == ()


def test_a_withdrawn_reading_cannot_be_corrected_and_so_brought_back(store: Store) -> None:
    subject = store.keep_reading(reading(), signed()).subject
    store.delete("readings", subject, signed(1, "Ben", "typed twice"))

    with pytest.raises(MissingError, match="no such record"):
        store.keep_reading(reading("13 kPa"), signed(2), instead_of=subject)

    assert store.readings() == ()


def test_after_thirty_days_a_deletion_stands_and_only_then_it_is_purged(store: Store) -> None:
    store.keep_instrument(GAUGE, signed())
    deleted = store.delete("instruments", "gauge", signed(1, "Ben", "sold"))
    last_moment = datetime.fromisoformat(deleted.at) + timedelta(days=30)
    early = Signed(who="Ann", when=last_moment)
    late = Signed(who="Ann", why="tidy", when=last_moment + timedelta(seconds=1))

    assert store.purge(early) == 0
    assert isinstance(store.history("instruments", "gauge")[0], Kept)
    with pytest.raises(InputError, match="more than 30 days ago"):
        store.undo("instruments", "gauge", late)
    assert store.purge(late) == 1

    left = store.history("instruments", "gauge")
    assert all(isinstance(each, Row) for each in left)
    assert [each.action for each in left if isinstance(each, Row)] == ["kept", "deleted", "purged"]
    assert store.verify() == ()
    assert store.purge(late) == 0
    with pytest.raises(MissingError):
        store.undo("instruments", "gauge", late)
    store.keep_instrument(GAUGE, late, seen="")
    assert store.instrument("gauge").record == GAUGE
    assert store.verify() == ()


def test_who_signs_must_be_named(store: Store) -> None:
    with pytest.raises(InputError, match="who"):
        store.keep_instrument(GAUGE, Signed(who=" "))

    assert store.instruments() == ()


def test_text_that_one_database_cannot_hold_is_refused_by_both(store: Store) -> None:
    with pytest.raises(InputError) as told:
        store.keep_instrument(
            Instrument(id="gauge", title="a\x00b", serial="\ud800"), Signed(who="Ann")
        )

    assert len(told.value.findings) == 2


@pytest.mark.parametrize(
    ("statement", "kind"),
    [
        ("UPDATE instruments SET serial = 'A-18'", "instruments"),
        ("UPDATE instruments SET who = 'Eve'", "instruments"),
        ("UPDATE instruments SET certificate = NULL", "instruments"),
        ("UPDATE readings SET depression_pa = 1.0", "readings"),
        ("UPDATE settings SET decimal_comma = 0", "settings"),
        ("DELETE FROM mappings", "mappings"),
        ("DELETE FROM instruments WHERE seq = 1", "instruments"),
        ("DELETE FROM instruments WHERE seq = 2", "instruments"),
        ("DELETE FROM heads WHERE kind = 'readings'", "readings"),
        ("UPDATE instruments SET title=NULL, serial=NULL, calibrated=NULL, due=NULL,"
         " certificate=NULL WHERE seq = 1", "instruments"),
    ],
    # Names without blanks, so that a skip can be listed.
    ids=["serial", "who", "emptied-cell", "number", "switch", "all-rows", "first-row", "last-row",
         "end-of-chain", "purged-by-hand"],
)  # fmt: skip
def test_an_edit_behind_the_programs_back_is_found(store: Store, statement: str, kind: str) -> None:
    fill(store)
    store.keep_instrument(Instrument(id="other", title="Another"), signed())
    assert store.verify() == ()

    behind_the_back(store, statement)

    found = store.verify()
    assert found
    assert all(kind in each.place for each in found)


def test_an_archive_goes_in_and_comes_out_letter_by_letter(store: Store, tmp_path: Path) -> None:
    file = archive_file(tmp_path / "archive.jsonl")
    assert store.take_in_archive(file, signed()) == 2
    ArchiveFile(file).add(session_data(1), who="Ben")

    assert store.take_in_archive(file, signed()) == 1
    assert store.take_in_archive(file, signed()) == 0
    store.give_out_archive(tmp_path / "out.jsonl")

    assert (tmp_path / "out.jsonl").read_bytes() == file.read_bytes()
    assert len(ArchiveFile(tmp_path / "out.jsonl").load().lines) == 2


def test_another_archive_is_refused_and_no_file_overwritten(store: Store, tmp_path: Path) -> None:
    file = archive_file(tmp_path / "archive.jsonl")
    store.take_in_archive(file, signed())
    other = ArchiveFile(tmp_path / "other.jsonl")
    other.add(session_data(3), who="Ben")

    with pytest.raises(InputError, match=r"other.jsonl line 1.*another archive"):
        store.take_in_archive(other.path, signed())
    before = other.path.read_bytes()
    with pytest.raises(WriteError, match="something else"):
        store.give_out_archive(other.path)

    assert other.path.read_bytes() == before


def test_the_tables_are_those_that_the_program_speaks_of(store: Store) -> None:
    inspector = sa.inspect(store._database.engine)

    for table in RECORDS.values():
        made = {each["name"]: each for each in inspector.get_columns(table.name)}
        assert list(made) == [each.name for each in table.columns]
        for column in table.columns:
            assert made[column.name]["nullable"] == column.nullable, column
            assert made[column.name]["type"].python_type is column.type.python_type, column


def test_time_is_kept_in_utc(store: Store) -> None:
    east = datetime.fromisoformat("2026-03-01T12:00:00+05:00")
    row = store.keep_instrument(GAUGE, Signed(who="Ann", when=east))

    assert datetime.fromisoformat(row.at) == east.astimezone(UTC)
    assert row.at.endswith("+00:00")


def test_a_short_patience_gives_up_soon_and_says_so(store: Store, address: str) -> None:
    store.keep_instrument(GAUGE, signed())
    with store._database.writing() as connection:
        other = content_of(Instrument(id="other", title="invented"))
        rows.append(connection, "instruments", "other", other, signed=signed(), seen="")
        begun = time.monotonic()
        with Store.open(address, patience_s=1.0) as hurried:
            assert [kept.record for kept in hurried.instruments()] == [GAUGE]
            with pytest.raises(WriteError, match="nothing was written"):
                hurried.keep_instrument(GAUGE, signed())
        waited = time.monotonic() - begun

    assert waited < 15, "the usual patience is 30 s"
    assert [kept.row.subject for kept in store.instruments()] == ["gauge", "other"]
