"""What the database keeps over HTTP: the documents of the command line, who and why with each."""

import pytest

from feedproof.records.store.kinds import ChannelColumn
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store

ANN = {"who": "Ann"}
WHY = {**ANN, "why": "a trial"}
READING = {
    **ANN,
    "vehicle": "Truck 7, invented",
    "at": "80 km/h, full load",
    "on": "2026-03-31",
    "depression": "12 kPa",
    "distance": "45210 km",
    "kits": ["secondary"],
}


@pytest.fixture
def printed(command_line):
    """Give what the command line prints of the same database."""

    def run(*words):
        code, document = command_line(*words)
        assert code == 0
        return document

    return run


def test_readings_are_kept_shown_corrected_withdrawn_and_brought_back(lasting, printed):
    kept = lasting.post("/readings", READING, 201)
    first = kept["readings"][0]["id"]
    assert lasting.get("/readings") == printed("reading", "show")
    better = {**READING, "depression": "13 kPa", "instead_of": first[:6], "why": "misread"}
    told = lasting.post("/readings", better, 201)["readings"]
    assert [each["depression"] for each in told] == ["13 kPa"]
    assert not lasting.get("/readings?vehicle=another")["readings"]

    assert not lasting.post(f"/readings/{first[:8]}/withdraw", WHY)["readings"]
    deleted = lasting.get("/records")
    assert deleted == printed("record", "show")
    assert [each["kind"] for each in deleted["deleted"]] == ["readings"]
    lasting.post("/records/undo", {**ANN, "kind": "readings", "id": first[:8]})
    assert lasting.get("/readings")["readings"]


def test_every_mistake_of_a_reading_is_told_at_once_and_nothing_is_kept(lasting):
    before = lasting.get("/readings")
    wrong = {**READING, "on": "soon", "depression": "12 stone", "distance": "far"}
    assert len(lasting.post("/readings", wrong, 422)["findings"]) == 3
    lasting.post("/readings", {**READING, "instead_of": "0000", "why": "x"}, 404)
    lasting.post("/readings/0000/withdraw", WHY, 404)
    lasting.post("/readings/0000/withdraw", ANN, 422)
    assert lasting.get("/readings") == before


def test_settings_are_somebodys_and_the_screens_follow_the_workshops(lasting, printed):
    values = {"unit.pressure": "inHg", "dark_mode": "yes"}
    lasting.post("/settings", {**ANN, "values": values})
    assert lasting.get("/settings") == printed("settings", "show")
    assert lasting.app.state.preferences.settings.units == {"pressure": "inHg"}
    lasting.post("/settings", {**ANN, "of": "Ben", "values": {"decimal_comma": "yes"}})
    assert lasting.get("/settings?of=Ben")["decimal_comma"]
    assert not lasting.get("/settings")["decimal_comma"]
    told = lasting.post("/settings/unset", {**ANN, "names": ["unit.pressure", "dark_mode"]})
    assert (told["units"], told["dark_mode"]) == ({}, None)
    assert not lasting.app.state.preferences.settings.units
    assert len(lasting.post("/settings/unset", {**ANN, "names": ["a", "b"]}, 422)["findings"]) == 2


def test_a_learned_mapping_is_listed_and_forgotten(lasting, printed):
    channels = {"time": ChannelColumn(column="t", unit="s")}
    with Store.open() as store:
        store.remember_mapping("logger", ("t", "p"), channels, Signed(who="Ann"), dialect={})
    assert lasting.get("/mappings") == printed("mapping", "show")
    assert lasting.get("/mappings?instrument=logger")["mappings"]
    lasting.post("/mappings/none/forget", WHY, 404)
    assert not lasting.post("/mappings/logger/forget", WHY)["mappings"]


def test_an_instrument_is_removed_brought_back_and_what_is_old_is_purged(lasting):
    lasting.ask("PUT", "/instruments/gauge", json={"title": "Gauge", "who": "Ann"})
    told = lasting.post("/instruments/gauge/remove", WHY)
    assert "gauge" in told["did"]
    lasting.get("/instruments/gauge", 404)
    lasting.post("/records/undo", {**ANN, "kind": "instruments", "id": "gauge"})
    assert lasting.get("/instruments/gauge")["instruments"]
    lasting.post("/instruments/none/remove", WHY, 404)
    assert lasting.post("/records/purge", WHY)["did"] == "0 records were purged"


def test_an_archive_goes_into_the_database_and_comes_out_byte_for_byte(
    lasting, tmp_path, monkeypatch
):
    lasting.get("/archive/file", 404)
    monkeypatch.setenv("FEEDPROOF_ARCHIVE", str(tmp_path / "archive.jsonl"))
    lasting.post("/cases/demo/archive", ANN)
    content = (tmp_path / "archive.jsonl").read_bytes()
    file = {"file": ("archive.jsonl", content)}
    told = lasting.ask("POST", "/archive/take-in", files=file, data=ANN).json()
    assert "lines of archive.jsonl were taken in" in told["what"]
    assert lasting.ask("GET", "/archive/file").content == content
    damaged = {"file": ("archive.jsonl", content.replace(b"Ann", b"Ben", 1))}
    lasting.ask("POST", "/archive/take-in", 422, files=damaged, data=ANN)
    lasting.ask("POST", "/archive/take-in", 422, files=file)
    own = lasting.app.state.workspace.own
    assert not list(own.glob("archive-*"))
