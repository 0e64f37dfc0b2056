"""
The verbs of field readings, settings, learned mappings and deleted records.

Promised: what goes in comes out, with who, when and why; every mistake at once and nothing written;
what is deleted comes back for 30 days and is gone for good only by a purge; documents fit their
schemas; the database can be verified by the command that its messages name.
"""

import json
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import feedproof as fp
from feedproof.app.cli import main
from feedproof.app.schemas import schema
from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.store.address import VARIABLE
from feedproof.records.store.kinds import ChannelColumn, Settings
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store

TRUCK = "Truck 7, invented"
READING = [
    "reading", "add", TRUCK, "--at", "80 km/h, full load", "--on", "2026-03-31",
    "--depression", "12 kPa", "--who", "Ann",
]  # fmt: skip


@pytest.fixture(autouse=True)
def own_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Name a database of the test's own."""
    file = tmp_path / "data" / "store.sqlite"
    monkeypatch.setenv(VARIABLE, str(file))
    return file


def said(capsys: pytest.CaptureFixture[str], document: str, *words: str) -> dict[str, Any]:
    """Give the document that a command prints."""
    assert main([*words, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, schema(document))
    return found


def refused(capsys: pytest.CaptureFixture[str], code: int, *words: str) -> str:
    """Give what a command says on standard error when it refuses."""
    assert main(list(words)) == code
    return capsys.readouterr().err


def learn(instrument: str, *columns: str, who: str = "Ann") -> None:
    """Remember a mapping."""
    channels = {"time": ChannelColumn(column=columns[0], unit="s")}
    with Store.open() as store:
        signed = Signed(who=who, why="case 'invented', run 1")
        store.remember_mapping(instrument, columns, channels, signed, dialect={"decimal": "comma"})


def long_ago(kind: str, subject: str, days: int) -> None:
    """Delete a record some days ago."""
    when = datetime.now(UTC) - timedelta(days=days)
    with Store.open() as store:
        store.delete(kind, subject, Signed(who="Ann", why="sold", when=when))


def test_a_reading_comes_back_in_si_and_as_it_was_typed(capsys) -> None:
    more = ["--distance", "45210 km", "--fuel-temp", "31 degC", "--gauge", "gauge-1"]
    kits = ["--kit", "primary", "--kit", "secondary", "--element", "E-3"]
    (entry,) = said(capsys, "readings", *READING, *more, *kits)["readings"]

    assert entry["depression_pa"] == 12_000.0
    assert (entry["depression"], entry["distance"]) == ("12 kPa", "45210 km")
    assert (entry["kits"], entry["gauge"], entry["who"]) == ("primary+secondary", "gauge-1", "Ann")
    assert entry["fuel_temperature_k"] == pytest.approx(304.15)
    (again,) = said(capsys, "readings", "reading", "show", TRUCK)["readings"]
    assert again == entry
    assert said(capsys, "readings", "reading", "show", "another")["readings"] == []
    assert main(["reading", "show"]) == 0
    text = capsys.readouterr().out
    assert "Truck 7, invented: 12 kPa at 80 km/h, full load; after 45210 km; fuel 31 degC" in text


def test_every_mistake_in_a_reading_is_told_at_once_and_nothing_is_written(
    capsys, own_store
) -> None:
    words = [
        "reading", "add", " ", "--at", "", "--on", "31.3.2026", "--depression", "12",
        "--who", " ", "--distance=-5 km", "--fuel-temp", "31 kPa",
    ]  # fmt: skip
    told = refused(capsys, 2, *words)

    for place in ("vehicle", "--at", "--on", "depression", "--who", "distance", "fuel temperature"):
        assert f"error: {place}: " in told
    assert not own_store.exists()


@pytest.mark.parametrize(
    ("depression", "message"),
    [("120 kPa", "not between -5 kPa and 100 kPa"), ("-6 kPa", "not between"), ("", "is empty")],
)
def test_a_reading_that_no_gauge_can_show_is_refused(capsys, depression, message) -> None:
    words = [f"--depression={depression}" if w == "12 kPa" else w for w in READING]
    words.remove("--depression")

    assert message in refused(capsys, 2, *words)


def test_a_reading_is_corrected_by_its_id_and_the_first_stays_in_the_history(capsys) -> None:
    (first,) = said(capsys, "readings", *READING)["readings"]
    words = [w if w != "12 kPa" else "13 kPa" for w in READING]
    assert "--why" in refused(capsys, 2, *words, "--instead-of", first["id"][:6])
    correction = ["--instead-of", first["id"][:6], "--why", "misread"]
    (second,) = said(capsys, "readings", *words, *correction)["readings"]

    assert (second["id"], second["depression"], second["why"]) == (first["id"], "13 kPa", "misread")
    with Store.open() as store:
        assert len(store.history("readings", first["id"])) == 2
    assert "no reading with this id" in refused(
        capsys, 3, *words, "--instead-of", "ffffff", "--why", "x"
    )


def test_what_does_not_go_together_is_told_and_kept(capsys) -> None:
    fp.instrument_add("g", title="invented", who="Ann", calibrated="2025-01-01", due="2026-01-01")
    said(capsys, "readings", *READING, "--distance", "45210 km")
    later = [w if w != "2026-03-31" else "2026-04-30" for w in READING]
    found = said(capsys, "readings", *later, "--distance", "4521 km", "--gauge", "g")
    told = " ".join(each["message"] for each in found["findings"])

    assert "4521 km on 2026-04-30 does not go with 45210 km on 2026-03-31" in told
    assert "due for calibration on 2026-01-01" in told
    assert len(found["readings"]) == 2
    fine = said(capsys, "readings", *later, "--distance", "46000 km", "--gauge", "nobody's")
    assert fine["findings"] == [], "of a gauge that is not registered nothing is said"


def test_a_withdrawn_reading_comes_back(capsys) -> None:
    (entry,) = said(capsys, "readings", *READING)["readings"]
    short = entry["id"][:8]
    assert refused(capsys, 2, "reading", "withdraw", short, "--who", "Ben", "--why", " ")
    words = ["reading", "withdraw", short, "--who", "Ben", "--why", "another truck"]
    assert said(capsys, "readings", *words)["readings"] == []
    (gone,) = said(capsys, "records", "record", "show")["deleted"]
    assert (gone["kind"], gone["who"], gone["why"]) == ("readings", "Ben", "another truck")
    assert gone["title"] == f"12 kPa on {TRUCK}, 2026-03-31"
    back = said(capsys, "records", "record", "undo", "readings", short, "--who", "Ann")

    assert back["did"] == f"readings {entry['id']} is back"
    assert back["deleted"] == []
    assert [each["id"] for each in said(capsys, "readings", "reading", "show")["readings"]] == [
        entry["id"]
    ]


def test_too_few_digits_name_no_reading(capsys) -> None:
    said(capsys, "readings", *READING)

    for word in ("", "abc"):
        with pytest.raises(MissingError, match="four digits"):
            fp.reading_withdraw(word, who="Ann", why="x")
    assert len(fp.reading_show().readings) == 1


def test_settings_are_set_shown_and_unset(capsys) -> None:
    begins = said(capsys, "settings", "settings", "show")
    words = ["settings", "set", "unit.pressure=inHg", "decimal_comma=yes", "dark_mode=no"]
    now = said(capsys, "settings", *words, "--who", "Ann")

    assert (begins["units"], begins["decimal_comma"], begins["dark_mode"]) == ({}, False, None)
    assert now["units"] == {"pressure": "inHg"}
    assert (now["decimal_comma"], now["dark_mode"]) == (True, False)
    with Store.open() as store:
        assert store.settings() == Settings(
            units={"pressure": "inHg"}, decimal_comma=True, dark_mode=False
        )
    # Of another person until he has his own; a change of one leaves the others.
    assert said(capsys, "settings", "settings", "show", "--of", "Ben") == {**now, "of": "Ben"}
    own = ["settings", "set", "dark_mode=system", "--of", "Ben", "--who", "Ben"]
    assert said(capsys, "settings", *own)["units"] == {"pressure": "inHg"}
    assert said(capsys, "settings", "settings", "show")["dark_mode"] is False
    left = ["settings", "unset", "unit.pressure", "dark_mode", "--who", "Ann"]
    now = said(capsys, "settings", *left)
    assert (now["units"], now["decimal_comma"], now["dark_mode"]) == ({}, True, None)


def test_every_wrong_setting_is_told_at_once_and_nothing_is_written(capsys, own_store) -> None:
    words = ["unit.pressure=degC", "unit.nonsense=kPa", "decimal_comma=1", "colour=red"]
    told = refused(capsys, 2, "settings", "set", *words, "--who", "Ann")

    assert "'degC' is no unit of" in told
    assert "setting unit.nonsense" in told
    assert "none of yes, no" in told
    assert "setting colour" in told
    assert "unit.nothing" in refused(capsys, 2, "settings", "unset", "unit.nothing", "--who", "A")
    with pytest.raises(InputError, match="none is named"):
        fp.settings_set({}, who="Ann")
    with pytest.raises(InputError):
        fp.settings_set({"dark_mode": "no"}, who=" ")
    assert not own_store.exists()


def test_two_who_change_settings_at_once_the_second_is_told(monkeypatch) -> None:
    fp.settings_set({"dark_mode": "no"}, who="Ann")
    plain = Store.settings

    def while_ben_changes(self: Store, of: str = "workshop") -> Settings:
        found = plain(self, of)
        monkeypatch.setattr(Store, "settings", plain)
        self.keep_settings(Settings(decimal_comma=True), Signed(who="Ben"), of=of)
        return found

    monkeypatch.setattr(Store, "settings", while_ben_changes)
    with pytest.raises(WriteError, match="by Ben"):
        fp.settings_set({"dark_mode": "yes"}, who="Ann")
    assert fp.settings_show().decimal_comma


def test_mappings_are_shown_and_forgotten_one_by_one(capsys) -> None:
    learn("logger", "t", "p")
    learn("logger", "t", "p", "T")
    learn("cell", "Time")
    found = said(capsys, "mappings", "mapping", "show", "logger")["mappings"]
    assert [(e["who"], e["why"]) for e in found] == [("Ann", "case 'invented', run 1")] * 2
    assert 'decimal = "comma"' in found[0]["block"]

    forget = ["mapping", "forget", "logger", "--who", "Ben", "--why", "sold"]
    told = refused(capsys, 2, *forget)
    assert "--which DIGITS" in told
    left = said(capsys, "mappings", *forget, "--which", found[0]["sha256"][:8])["mappings"]
    assert sorted(each["instrument"] for each in left) == ["cell", "logger"]
    assert refused(capsys, 3, *forget, "--which", found[0]["sha256"][:8])
    said(capsys, "records", "record", "undo", "mappings", "logger/", "--who", "Ben")
    assert len(fp.mapping_show("logger").mappings) == 2


def test_an_instrument_is_removed_and_comes_back(capsys) -> None:
    fp.instrument_add("gauge", title="invented gauge", who="Ann")
    gone = said(capsys, "records", "instrument", "remove", "gauge", "--who", "B", "--why", "lost")

    assert [(e["id"], e["title"]) for e in gone["deleted"]] == [("gauge", "invented gauge")]
    assert fp.instrument_show().instruments == ()
    assert refused(capsys, 3, "instrument", "remove", "gauge", "--who", "B", "--why", "again")
    said(capsys, "records", "record", "undo", "instruments", "gauge", "--who", "Ann")
    assert fp.instrument_show("gauge").instruments[0].action == "undone"


def test_an_undo_of_nothing_says_what_there_is(capsys) -> None:
    fp.instrument_add("gauge", title="invented gauge", who="Ann")

    assert "none of instruments, mappings, readings" in refused(
        capsys, 2, "record", "undo", "settings", "x", "--who", "Ann"
    )
    assert "is not deleted" in refused(
        capsys, 2, "record", "undo", "instruments", "gauge", "--who", "Ann"
    )
    assert refused(capsys, 3, "record", "undo", "instruments", "other", "--who", "Ann")


def test_after_thirty_days_a_record_cannot_come_back_and_a_purge_takes_it(capsys) -> None:
    for name in ("old", "young"):
        fp.instrument_add(name, title=f"{name}, invented", who="Ann")
    long_ago("instruments", "old", 31)
    long_ago("instruments", "young", 29)

    shown = said(capsys, "records", "record", "show")["deleted"]
    assert [each["id"] for each in shown] == ["young"]
    assert "more than 30 days ago" in refused(
        capsys, 2, "record", "undo", "instruments", "old", "--who", "Ann"
    )
    assert refused(capsys, 2, "record", "purge", "--who", " ", "--why", "tidy")
    assert said(capsys, "records", "record", "purge", "--who", "A", "--why", "tidy")["did"] == (
        "1 records were purged"
    )
    with Store.open() as store:
        assert store.verify() == ()
        assert [row.action for row in store.history("instruments", "old")][-1] == "purged"
    said(capsys, "records", "record", "undo", "instruments", "young", "--who", "Ann")


def test_the_database_is_verified_by_the_command_that_its_messages_name(capsys, own_store) -> None:
    assert "there is no database" in refused(capsys, 3, "store", "verify")
    assert not own_store.exists()
    fp.instrument_add("gauge", title="invented gauge", who="Ann")
    found = said(capsys, "verified", "store", "verify")
    assert (found["whole"], found["store"], found["cases"]) == (True, str(own_store), [])

    with closing(sqlite3.connect(own_store)) as connection, connection:
        connection.execute("UPDATE instruments SET title = 'forged'")
    assert main(["store", "verify"]) == 2
    assert "its content was changed" in capsys.readouterr().out
