"""A whole job over HTTP: from the demonstration case to its report in another workshop."""

import hashlib
import time

import pytest

RUN = {
    "number": 90,
    "kits": [],
    "session": "secondary",
    "started": "2026-09-18T09:41:00+02:00",
    "role": "compare",
    "setup": "loop-1",
    "ambient": {"pressure_abs": "91.11 kPa", "temperature": "19.0 degC", "humidity": "53 %"},
    "fuel_level": "69.7 %",
    "elements": {"factory_filter": "F-17"},
}


def raw(folder, name):
    return next(folder.glob(f"raw/*/{name}"))


def send(program, folder, *names):
    # A line end more: the same bytes would be the same measurement.
    files = [("files", (name, raw(folder, name).read_bytes() + b"\n")) for name in names]
    told = program.ask("POST", "/cases/demo/logs", 201, files=files).json()
    return {each["name"]: each for each in told["uploads"]}


@pytest.mark.timeout(300)
def test_a_case_is_checked_predicted_proved_published_and_handed_on(program, demo_folder):
    assert [each["name"] for each in program.get("/cases")["cases"]] == ["demo"]
    runs = program.get("/cases/demo/check")["runs"]
    assert len(program.post("/cases/demo/predict")["configurations"]) > 2
    program.get("/cases/demo/report/page", 404)

    sent = send(program, demo_folder, "run02_cell.csv", "run02_logger.csv")
    cell, logger = (sent[f"run02_{each}.csv"]["upload"] for each in ("cell", "logger"))
    looked = program.post("/cases/demo/look", {"files": [cell], "instrument": "cell"})
    assert looked["usable"]
    assert looked["files"][0]["file"] == "run02_cell.csv"
    added = program.post(
        "/cases/demo/runs", {"run": RUN, "logs": {"cell": cell, "logger": logger}}, 201
    )
    assert "run 90" in added["what"]
    assert not program.get("/cases/demo/logs")["uploads"]
    assert program.get("/cases/demo/check")["runs"] == runs + 1
    program.post("/cases/demo/runs/90/exclude", {"who": "A. Name", "reason": "a trial of the way"})
    program.post("/cases/demo/runs/900/exclude", {"who": "A. Name", "reason": "none"}, 404)
    program.post("/cases/demo/runs/90/correct", {"who": "A. Name", "reason": "none"}, 422)
    program.post("/cases/demo/declare", {"who": "A. Name", "source": "workshop's rule"})

    proof = program.post("/cases/demo/prove")
    assert proof["verdicts"]
    assert program.post("/cases/demo/publish")["paths"]
    page = program.ask("GET", "/cases/demo/report/page")
    assert "sandbox" in page.headers["content-security-policy"]
    assert 'filename="demo.html"' in page.headers["content-disposition"]
    assert program.ask("GET", "/cases/demo/report/paper").content.startswith(b"%PDF")
    kept = program.get("/cases/demo/results?kind=proof")
    assert [each["kind"] for each in kept["results"]] == ["proof"]
    again = program.get(f"/cases/demo/results/{kept['results'][0]['id']}")
    assert again["content"]["verdicts"] == proof["verdicts"]
    program.get("/cases/demo/results/0000000000000000", 404)

    bundle = program.ask("GET", "/cases/demo/bundle").content
    taken = program.ask(
        "POST", "/bundles", 201, files={"file": ("demo.zip", bundle)}, data={"name": "From B"}
    )
    assert taken.headers["location"] == "/api/cases/from-b"
    assert program.post("/cases/from-b/verify")["whole"]
    broken = bytearray(bundle)
    broken[len(broken) // 2] ^= 1
    program.ask("POST", "/bundles", 422, files={"file": ("demo.zip", bytes(broken))})

    program.ask("DELETE", "/cases/from-b")
    program.get("/cases/from-b/check", 404)
    program.post("/cases/from-b/undo-removal")
    assert program.get("/cases/from-b/check")["usable"]
    program.post("/cases/from-b/undo-removal", None, 404)


def test_nothing_of_the_server_stands_in_the_way_of_a_bundle(program, settings):
    """Temporary files of a download must go, or the disk fills."""
    program.ask("GET", "/cases/demo/bundle")
    assert not list(settings.workspace.glob(".feedproof/bundle-*"))


def test_a_case_is_begun_from_the_template_and_named_by_its_vehicle(program):
    told = program.ask("POST", "/cases", 201, json={"name": "Grey wagon 2.0"})
    assert told.headers["location"] == "/api/cases/grey-wagon-2-0"
    assert program.get("/cases/grey-wagon-2-0/check")["usable"]
    told = program.ask("POST", "/cases", 201, json={"name": "x", "begin": "demo"})
    assert told.headers["location"] == "/api/cases/demo-2"


def test_settings_instruments_schemas_and_the_index_are_asked_and_kept(program, monkeypatch):
    wanted = {"who": "A. Name", "values": {"unit.pressure": "inHg", "decimal_comma": "yes"}}
    assert program.post("/settings", wanted)["units"] == {"pressure": "inHg"}
    assert program.get("/settings")["decimal_comma"]
    wrong = {"who": "A. Name", "values": {"unit.pressure": "stone", "colour": "red"}}
    assert len(program.post("/settings", wrong, 422)["findings"]) == 2

    said = {"title": "Pressure logger", "who": "A. Name", "due": "2027-01-31"}
    program.ask("PUT", "/instruments/logger", json=said)
    assert program.get("/instruments")["instruments"]
    assert program.get("/instruments/logger")["instruments"]
    program.get("/instruments/none", 404)
    program.ask("PUT", "/instruments/logger", 422, json={**said, "due": "soon", "replace": "x"})

    assert program.get("/schemas/proof")["$defs"]
    assert program.get("/schemas/case")
    assert program.get("/schemas/jobs")["$defs"]
    program.get("/schemas/nothing", 404)
    assert [each["title"] for each in program.post("/index")["cases"]]
    assert len(program.get("/index")["cases"]) == 1

    monkeypatch.delenv("FEEDPROOF_ARCHIVE", raising=False)
    program.get("/archive", 404)


def test_the_archive_of_the_server_is_added_to_shown_and_withdrawn_from(
    program, tmp_path, monkeypatch
):
    monkeypatch.setenv("FEEDPROOF_ARCHIVE", str(tmp_path / "archive.jsonl"))
    program.post("/cases/demo/archive", {"who": "A. Name"})
    assert program.get("/archive")["pools"]
    program.post("/archive/withdraw", {"who": "A. Name", "line": "2", "reason": "a trial"})
    program.post("/archive/withdraw", {"who": "A. Name", "line": "99", "reason": "a trial"}, 404)


def test_a_job_is_watched_repeated_cancelled_and_its_result_fetched(program):
    put_in = program.ask("POST", "/cases/demo/jobs", 202, json={"verb": "predict"})
    job = put_in.json()["id"]
    assert put_in.headers["location"] == f"/api/cases/demo/jobs/{job}"
    told = _ended(program, job)
    assert told["state"] == "done"
    found = program.get(f"/cases/demo/jobs/{job}/result")
    at_once = program.post("/cases/demo/predict")
    assert {**found, "computed": ""} == {**at_once, "computed": ""}

    wrong = {"verb": "predict", "parameters": {"fuel_temp": "cold"}}
    failing = program.post("/cases/demo/jobs", wrong, 202)["id"]
    assert _ended(program, failing)["state"] == "failed"
    assert program.get(f"/cases/demo/jobs/{failing}/result", 422)["findings"]

    long = {"verb": "sensitivity", "parameters": {"samples": 65536}}
    slow = program.post("/cases/demo/jobs", long, 202)["id"]
    program.get(f"/cases/demo/jobs/{slow}/result", 404)
    program.ask("DELETE", f"/cases/demo/jobs/{slow}")
    assert _ended(program, slow)["state"] == "cancelled"
    again = program.post(f"/cases/demo/jobs/{job}/again", None, 202)["id"]
    assert again != job
    _ended(program, again)
    assert len(program.get("/cases/demo/jobs")["jobs"]) == 4

    program.post("/cases", {"name": "Other"}, 201)
    program.get(f"/cases/other/jobs/{job}", 404)
    program.get("/cases/demo/jobs/none", 404)
    for body in (
        {},
        {"verb": "rm"},
        {"verb": "predict", "parameters": []},
        {"verb": "fit", "a": 1},
    ):
        program.post("/cases/demo/jobs", body, 422)


def _ended(program, job):
    """Wait for a job; a loaded machine may need several waits."""
    deadline = time.monotonic() + 100
    while time.monotonic() < deadline:
        told = program.get(f"/cases/demo/jobs/{job}?wait_s=20")
        if told["state"] not in ("queued", "running"):
            return told
    raise AssertionError(f"the job has not ended: {told}")


def test_more_samples_than_a_caller_should_wait_for_are_the_work_of_a_job(program):
    told = program.post("/cases/demo/sensitivity", {"samples": 8192}, 422)
    assert "as a job" in told["findings"][0]["remedy"]


def test_two_editors_lose_nothing(program, demo_folder):
    document = program.ask("GET", "/cases/demo/document")
    revision = document.headers["etag"]
    text = document.content
    assert hashlib.sha256(text).hexdigest() == revision.strip('"')
    first, second = text + b"\n# first\n", text + b"\n# second\n"
    toml = {"content-type": "application/toml", "if-match": revision}
    written = program.ask("PUT", "/cases/demo/document", content=first, headers=toml)
    assert written.json()["usable"]
    late = program.ask("PUT", "/cases/demo/document", 412, content=second, headers=toml)
    assert "changed by somebody else" in late.json()["findings"][0]["message"]
    assert (demo_folder / "case.toml").read_bytes() == first
    toml["if-match"] = written.headers["etag"]
    program.ask("PUT", "/cases/demo/document", content=second, headers=toml)

    toml["if-match"] = f'"{hashlib.sha256(second).hexdigest()}"'
    deep, runless = b"x = " + b"[" * 50_000, second.replace(b"number = 2\n", b"")
    for wrong in (b"title = 3\n", b"\xff\xfe", b"x = [", b"", deep, runless):
        told = program.ask("PUT", "/cases/demo/document", 422, content=wrong, headers=toml)
        assert told.json()["findings"]
    assert (demo_folder / "case.toml").read_bytes() == second
    missing = {"content-type": "application/toml"}
    program.ask("PUT", "/cases/demo/document", 428, content=first, headers=missing)
    as_json = {"content-type": "application/json", "if-match": toml["if-match"]}
    program.ask("PUT", "/cases/demo/document", 415, content=first, headers=as_json)
    for nonsense in ("*", "W/x", '"' + "0" * 64 + '"'):
        toml["if-match"] = nonsense
        program.ask("PUT", "/cases/demo/document", 412, content=first, headers=toml)
