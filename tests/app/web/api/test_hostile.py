"""What a careless or hostile caller sends: refused in words, nothing written, no fault of ours."""

import json
import re
from datetime import UTC, datetime, timedelta
from io import BytesIO
from urllib.parse import quote

import pytest
from fastapi.routing import iter_route_contexts
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.routers import router
from feedproof.app.web.api.uploads import KEPT, Uploads
from feedproof.app.web.application import create_app
from feedproof.app.web.guards import SAFE_METHODS
from feedproof.app.web.passwords import PasswordFile
from feedproof.app.web.serve_settings import ServeSettings
from feedproof.core.errors import MissingError, WriteError
from feedproof.records.names import name_fault, safe_name

PASSWORD = "four words of nothing"
NAMES = st.one_of(
    st.text(max_size=300),
    st.text(alphabet="./\\:aC %\0\r\n\u202e", max_size=40),
    st.sampled_from(["con", "NUL.csv", "..", ".", "", "a" * 500 + ".csv", ".hidden", "\ud800.csv"]),
)
RUBBISH = [
    b"{",
    b"\xff\xfe",
    b'{"kits": [NaN]}',
    b'{"kits": Infinity}',
    b'{"samples": 1e999}',
    b'{"samples": ' + b"9" * 5000 + b"}",
    b'{"fuel": "\\ud800"}',
    b"[" * 100_000,
    b'{"run": ' + b"[" * 100 + b"]" * 100 + b"}",
    b'{"a":' * 100_000,
]
NOT_MEANT = [
    [],
    "text",
    3,
    {"unknown": 1},
    {"kits": "secondary"},
    {"kits": [3]},
    {"kits": [""]},
    {"fuel_temp": 10},
    {"fuel_temp": "10 degC" * 1000},
    {"level": "-25%"},
    {"altitude": "1e400 m"},
    {"loading": ["factory_filter=NaN g"]},
    {"fuel": "\x00"},
]


@given(NAMES)
@settings(max_examples=300)
def test_a_name_that_is_made_safe_is_one_that_every_machine_can_hold(name):
    safe = safe_name(name)
    assert not name_fault(safe)
    assert safe_name(safe) == safe


def test_a_safe_name_keeps_what_it_can():
    assert safe_name("run 02 čerpadlo.csv") == "run 02 čerpadlo.csv"
    assert safe_name("x" * 300 + ".xlsx").endswith("x.xlsx")


@given(st.lists(NAMES, min_size=1, max_size=3))
@settings(max_examples=40)
def test_whatever_its_name_an_upload_stays_in_its_folder(tmp_path_factory, names):
    own = tmp_path_factory.mktemp("own")
    uploads = Uploads(own, 1000)
    for name in names:
        kept = uploads.take("demo", name, BytesIO(b"x"))
        file = uploads.file("demo", kept.upload).resolve()
        assert file.is_relative_to(own / "uploads" / kept.upload)
        assert file.read_bytes() == b"x"
    assert len(uploads.of_case("demo")) == len(names)
    assert not uploads.of_case("other")


def test_an_upload_of_another_case_or_of_a_made_up_id_is_not_there(tmp_path):
    uploads = Uploads(tmp_path, 1000)
    kept = uploads.take("demo", "a.csv", BytesIO(b"x"))
    for case, identity in [
        ("other", kept.upload),
        ("demo", "0" * 32),
        ("demo", ".."),
        ("demo", f"{kept.upload}/../{kept.upload}"),
        ("demo", ""),
        ("demo", "\0"),
    ]:
        with pytest.raises(MissingError):
            uploads.file(case, identity)


def test_uploads_are_pruned_after_a_week_and_never_take_more_than_they_may(tmp_path):
    uploads = Uploads(tmp_path, 10)
    now = datetime.now(UTC)
    old = uploads.take("demo", "a.csv", BytesIO(b"12345678"), now - KEPT - timedelta(seconds=2))
    assert uploads.take("demo", "b.csv", BytesIO(b"12345678"), now)
    assert not (tmp_path / "uploads" / old.upload).exists()
    with pytest.raises(WriteError):
        uploads.take("demo", "c.csv", BytesIO(b"12345678"), now)
    assert len(list((tmp_path / "uploads").iterdir())) == 1


@pytest.mark.parametrize("body", RUBBISH, ids=range(len(RUBBISH)))
def test_what_is_no_json_is_refused(program, body):
    headers = {"content-type": "application/json"}
    for address in ("/cases/demo/predict", "/cases", "/cases/demo/declare", "/cases/demo/jobs"):
        told = program.ask("POST", address, 400, content=body, headers=headers).json()
        assert "no JSON" in told["findings"][0]["message"]


@pytest.mark.parametrize("body", NOT_MEANT, ids=range(len(NOT_MEANT)))
def test_what_is_json_and_not_meant_is_refused(program, body):
    told = program.post("/cases/demo/predict", body, 422)
    assert told["findings"]


def test_only_json_that_says_so_is_read(program):
    for kind in ("text/plain", "application/x-www-form-urlencoded", "application/xml", "x"):
        headers = {"content-type": kind}
        program.ask("POST", "/cases/demo/predict", 415, content=b"{}", headers=headers)
        program.ask("POST", "/cases", 415, content=b'{"name": "x"}', headers=headers)
        program.ask("POST", "/cases/demo/logs", 415, content=b"x", headers=headers)
    headers = {"content-type": "application/json; charset=utf-8"}
    program.ask("POST", "/cases/demo/predict", 200, content=b"{}", headers=headers)


def test_a_form_that_is_cut_off_is_refused(program):
    headers = {"content-type": "multipart/form-data; boundary=b"}
    for body in (
        b"",
        b"--b",
        b"--b\r\nx",
        b"--b\r\nContent-Disposition: form-data\r\n\r\nx\r\n--b--",
    ):
        answer = program.client.post("/api/cases/demo/logs", content=body, headers=headers)
        assert answer.status_code in (400, 422)
        program.check("POST", "/api/cases/demo/logs", answer)


@pytest.mark.parametrize(
    "case",
    ["..", "%2e%2e", "..%2f..%2fetc", "demo%00", "demo%2f", ".feedproof", "CON", "é", "a" * 200],
)
def test_an_address_reaches_only_cases_of_the_workspace(program, case):
    for below in ("check", "document", "report/page", "bundle"):
        answer = program.client.get(f"/api/cases/{case}/{below}")
        assert answer.status_code == 404, answer.text
        assert answer.json()["findings"]
    assert program.client.post(f"/api/cases/{case}/undo-removal").status_code == 404


@pytest.mark.parametrize("upload", ["../secret", ".feedproof/secret", "/etc/passwd", "0" * 32])
def test_files_are_named_by_what_was_sent_and_never_by_a_path(program, upload):
    status = 404 if upload == "0" * 32 else 422
    program.post("/cases/demo/look", {"files": [upload]}, status)
    program.post("/cases/demo/choose", {"catalogue": upload}, status)
    job = {"verb": "look", "parameters": {"files": [upload]}}
    program.post("/cases/demo/jobs", job, status)
    for verb in ("prove", "plan", "publish"):
        program.post(f"/cases/demo/{verb}", {"archive": upload}, 422)


@pytest.mark.parametrize(
    "run",
    [
        {},
        {"number": 10**29},
        {"number": "x", "started": "yesterday"},
        {"number": 91, "started": "0001-01-01T00:00:00+14:00"},
        {"number": 91, "started": "9999-12-31T23:59:59-14:00"},
        {"number": 91, "note": None, "kits": [[[]]]},
        {"number": 91, "a\u0000b": {"c": [{"d": None}]}},
        {"number": True, "fuel": {"a": 1}, "ambient": [1], "logs": []},
    ],
)
def test_a_run_that_is_none_is_refused_and_nothing_is_added(program, demo_folder, run):
    from tests.app.web.api.test_journey import send

    sent = send(program, demo_folder, "run02_cell.csv")
    before = (demo_folder / "case.toml").read_bytes()
    body = {"run": run, "logs": {"cell": sent["run02_cell.csv"]["upload"]}}
    assert program.post("/cases/demo/runs", body, 422)["findings"]
    assert (demo_folder / "case.toml").read_bytes() == before
    assert len(program.get("/cases/demo/logs")["uploads"]) == 1


def test_a_file_without_bytes_is_not_kept_nor_what_came_with_it(program):
    files = [("files", ("a.csv", b"1")), ("files", ("b.csv", b""))]
    program.ask("POST", "/cases/demo/logs", 422, files=files)
    assert not program.get("/cases/demo/logs")["uploads"]


def test_an_upload_larger_than_taken_is_refused_in_a_document(workspace):
    small = ServeSettings(workspace=workspace, upload_limit_bytes=1000)
    with TestClient(create_app(small), base_url="http://localhost") as client:
        answer = client.post("/api/cases/demo/logs", files={"files": ("a.csv", b"x" * 2000)})
    assert answer.status_code == 413
    assert answer.json()["format"] == "feedproof-findings"


def test_a_browser_needs_its_token_and_a_program_needs_none(browser):
    body = {"fuel_temp": "10 degC"}
    assert browser.client.post("/api/cases/demo/predict", json=body).status_code == 200
    token = browser.token()
    assert browser.client.post("/api/cases/demo/predict", json=body).status_code == 403
    headers = {"x-csrf-token": token}
    answer = browser.client.post("/api/cases/demo/predict", json=body, headers=headers)
    assert answer.status_code == 200


def test_every_writing_operation_asks_browsers_for_their_token():
    contexts = list(iter_route_contexts(router.routes))
    bare = [
        f"{each.methods} {each.path}"
        for each in contexts
        if set(each.methods or ()) - SAFE_METHODS
        and needs_token_of_browsers
        not in {dependency.call for dependency in each.dependant.dependencies}
    ]
    assert len(contexts) > 30
    assert not bare


def test_a_page_of_another_site_is_refused_in_a_document(program):
    headers = {"origin": "http://evil.example"}
    told = program.post("/cases/demo/predict", {}, 403, headers=headers)
    assert "another site" in told["findings"][0]["message"]
    answer = program.client.get("/api/cases", headers={"host": "evil.example"})
    assert (answer.status_code, answer.json()["exit_code"]) == (403, 2)


def test_beyond_this_machine_every_operation_needs_the_password(workspace):
    (workspace / ".feedproof").mkdir(parents=True)
    PasswordFile(workspace / ".feedproof" / "password").set(PASSWORD)
    guarded = ServeSettings(workspace=workspace, host="0.0.0.0", names=("bench",))
    app = create_app(guarded)
    with TestClient(app, base_url="http://bench") as client:
        for path, operations in app.openapi()["paths"].items():
            for method in operations:
                address = re.sub(r"{\w+}", "demo", path)
                answer = client.request(method, address)
                assert answer.status_code == 401, address
                assert answer.json()["findings"]
                assert answer.headers["www-authenticate"].startswith("Basic")
        assert client.get("/api/openapi.json").status_code == 401
        assert client.get("/api/cases", auth=("any", PASSWORD)).status_code == 200
        wrong = [client.get("/api/cases", auth=("any", "x")).status_code for _ in range(6)]
        assert wrong == [401] * 5 + [429]
        assert client.get("/api/cases", auth=("any", PASSWORD)).status_code == 429


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**20), 10**20) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=12,
)


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patched:
        place = tmp_path_factory.mktemp("shared")
        patched.setenv("FEEDPROOF_STORE", str(place / "store.sqlite"))
        settings_here = ServeSettings(
            workspace=place / "cases", requests_per_s=1e9, burst=1_000_000_000
        )
        with TestClient(create_app(settings_here), base_url="http://localhost") as client:
            yield client


@given(name=NAMES.filter(lambda text: "\ud800" not in text))
@settings(max_examples=100)
def test_no_name_in_an_address_is_a_fault(shared, name):
    for path in (
        "/api/cases/{}/check",
        "/api/cases/demo/results/{}",
        "/api/cases/demo/jobs/{}",
        "/api/schemas/{}",
        "/api/instruments/{}",
        "/api/cases/{}/undo-removal",
    ):
        method = "POST" if path.endswith("removal") else "GET"
        # A client would walk dots up by itself.
        text = quote(name.encode("utf-8", "replace"), safe="").replace(".", "%2E")
        answer = shared.request(method, path.format(text))
        assert answer.status_code < 500, (path, name)
        assert answer.status_code == 200 or answer.json()["findings"]


@given(
    run=st.dictionaries(st.sampled_from(["number", "kits", "started", "ambient", "x"]), JSON_VALUES)
)
@settings(max_examples=30)
def test_no_run_is_a_fault(shared, run):
    sent = shared.post("/api/cases/demo/logs", files={"files": ("a.csv", b"time,x\n1,2\n")})
    assert sent.status_code == 201, sent.text
    upload = sent.json()["uploads"][0]["upload"]
    body = json.dumps({"run": run, "logs": {"cell": upload}})
    answer = shared.post(
        "/api/cases/demo/runs", content=body, headers={"content-type": "application/json"}
    )
    shared.delete(f"/api/cases/demo/logs/{upload}")
    assert answer.status_code == 422, answer.text
