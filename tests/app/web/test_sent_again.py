"""A form that came too late is shown again with all that was typed, and never sent by itself."""

import html
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from starlette.datastructures import FormData

from feedproof.app.web.application import create_app
from feedproof.app.web.kept import Kept, travelled
from feedproof.app.web.passwords import PasswordFile
from feedproof.app.web.serve_settings import ServeSettings
from feedproof.records.editing.editor import revision_of

PASSWORD = "four words of nothing"
PAGE = "/cases/demo/vehicle"
COOKIE = "feedproof_session"
NASTY = '"><script>alert(1)</script>&amp;\r\n\r\nlast \u00e9'


class Form(HTMLParser):
    """The form of a page, read as a browser reads it and filled in as it stands."""

    def __init__(self, text: str, action: str) -> None:
        super().__init__()
        self.fields: list[tuple[str, str]] = []
        self.kinds: dict[str, str] = {}
        self.scripts = 0
        self._wanted, self._inside, self._area = action, False, ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form":
            self._inside = given.get("action") == self._wanted
        self.scripts += tag == "script"
        name = given.get("name")
        if not self._inside or not name:
            return
        self.kinds[name] = given.get("type", tag)
        if tag == "textarea":
            self._area = name
            self.fields.append((name, ""))
        elif tag == "input" and given.get("type") != "file":
            self.fields.append((name, given.get("value", "")))

    def handle_data(self, data):
        if self._area:
            name, text = self.fields[-1]
            self.fields[-1] = (name, text + data)

    def handle_endtag(self, tag):
        if tag == "textarea" and self._area:
            name, text = self.fields[-1]
            # A browser drops the first line break and sends the others in full.
            text = text.removeprefix("\n").replace("\r\n", "\n").replace("\n", "\r\n")
            self.fields[-1] = (name, text)
            self._area = ""
        if tag == "form":
            self._inside = False

    def sent(self) -> dict[str, list[str]]:
        """Give the fields as a client sends them."""
        told: dict[str, list[str]] = {}
        for name, text in self.fields:
            told.setdefault(name, []).append(text)
        return told


def _post(browser, address, data, **more):
    return browser.client.post(address, data=data, follow_redirects=False, **more)


def _edit(browser) -> dict[str, str]:
    browser.get(PAGE)
    file = browser.workspace / "demo" / "case.toml"
    return {
        "act": "save", "edit": "line[steel_line]", "revision": revision_of(file.read_bytes()),
        "v-title": "typed before the cookie went", "v-note": "",
    }  # fmt: skip


@pytest.mark.parametrize("loss", ["cookie deleted", "secret changed", "token of another server"])
def test_what_was_typed_is_shown_again_and_done_when_it_is_sent_again(browser, loss):
    form = {**_edit(browser), "csrf_token": browser.token()}
    file: Path = browser.workspace / "demo" / "case.toml"
    before = file.read_bytes()
    if loss == "cookie deleted":
        browser.client.cookies.clear()
    elif loss == "secret changed":
        browser.client.cookies.set(COOKIE, "0.1.0.0", domain="localhost.local")
    else:
        form["csrf_token"] = "0" * 64
    refused = _post(browser, PAGE, form)
    assert refused.status_code == 403
    assert file.read_bytes() == before
    again = Form(refused.text, PAGE)
    kept = again.sent()
    token = kept.pop("csrf_token")
    assert token != [form["csrf_token"]]
    assert kept == {name: [text] for name, text in form.items() if name != "csrf_token"}
    assert again.kinds["v-title"] == "input" or again.kinds["v-title"] == "text"
    assert _post(browser, PAGE, {**kept, "csrf_token": token}).status_code == 303
    assert b"typed before the cookie went" in file.read_bytes()


def test_every_value_is_escaped_and_comes_back_as_it_was_typed(browser):
    browser.get("/settings")
    plain = Form(browser.get("/settings").text, "").scripts
    name = 'odd" onfocus="x'
    sent = {"name": [NASTY], "who": ["a", "b"], name: ["'<b>"], "empty": [""]}
    address = '/cases?a="><script>'
    refused = _post(browser, address, {**sent, "csrf_token": "0", "password": PASSWORD})
    assert refused.status_code == 403
    assert PASSWORD not in refused.text
    assert "alert(1)</script>" not in refused.text
    action = html.unescape(
        re.search(r'<form method="post" action="(/cases[^"]*)"', refused.text)[1]
    )
    again = Form(refused.text, action)
    assert again.scripts == plain
    kept = again.sent()
    kept.pop("csrf_token")
    assert kept == sent


def test_a_file_is_not_kept_and_that_is_said(browser):
    _edit(browser)
    browser.client.cookies.clear()
    files = [("files", ("run.csv", b"secret bytes"))]
    refused = _post(browser, "/cases/demo/logs", {"csrf_token": "0"}, files=files)
    assert refused.status_code == 403
    assert "Files cannot be kept" in refused.text
    assert 'name="files" type="file"' in refused.text
    assert 'enctype="multipart/form-data"' in refused.text
    assert "secret bytes" not in refused.text
    token = Form(refused.text, "/cases/demo/logs").sent()["csrf_token"][0]
    again = _post(browser, "/cases/demo/logs", {"csrf_token": token}, files=files)
    assert again.status_code == 303
    assert "run.csv" in browser.get("/cases/demo/runs").text


def test_another_site_sees_no_form_again_and_a_program_is_told_in_words(browser):
    browser.get("/settings")
    for headers in ({"origin": "http://evil.example"}, {"sec-fetch-site": "cross-site"}):
        refused = _post(browser, "/cases", {"name": "their words"}, headers=headers)
        assert refused.status_code == 403
        assert "their words" not in refused.text
        assert "csrf_token" not in refused.text
    told = browser.client.post("/api/cases", json={"name": "x"})
    assert told.status_code == 403
    assert told.headers["content-type"] == "application/json"


@pytest.fixture
def guarded(workspace) -> Iterator[TestClient]:
    settings = ServeSettings(workspace=workspace, host="0.0.0.0", names=("bench",))
    (workspace / ".feedproof").mkdir(parents=True)
    PasswordFile(workspace / ".feedproof" / "password").set(PASSWORD)
    with TestClient(create_app(settings), base_url="http://bench") as client:
        yield client


def _login(client, page: str, password: str):
    fields = Form(page, "/login").sent()
    assert fields["password"] == [""]
    return client.post("/login", data={**fields, "password": password}, follow_redirects=False)


def test_who_is_logged_out_gives_the_password_first_and_finds_what_was_typed(guarded, workspace):
    first = guarded.get("/login").text
    assert _login(guarded, first, PASSWORD).status_code == 303
    token = re.search(r'name="csrf_token" value="(\w+)"', guarded.get("/").text)[1]
    guarded.cookies.clear()
    form = {"name": "Wagon <b>\u00e9", "csrf_token": token}
    asked = guarded.post("/cases", data=form, follow_redirects=False)
    cases = set(workspace.iterdir())
    assert asked.status_code == 403
    assert "Send it again" not in asked.text
    assert "<b>" not in asked.text
    # Without the password nothing is shown and nothing is done, whatever is sent.
    wrong = _login(guarded, asked.text, "wrong")
    assert wrong.status_code == 403
    assert "Send it again" not in wrong.text
    fields = Form(wrong.text, "/login").sent()
    stolen = {**form, "csrf_token": fields["csrf_token"]}
    assert guarded.post("/cases", data=stolen, follow_redirects=False).status_code == 403
    shown = _login(guarded, wrong.text, PASSWORD)
    assert shown.status_code == 200
    assert set(workspace.iterdir()) == cases
    kept = Form(shown.text, "/cases").sent()
    assert kept["name"] == [form["name"]]
    assert guarded.post("/cases", data=kept, follow_redirects=False).status_code == 303
    assert set(workspace.iterdir()) > cases


def test_the_password_itself_never_comes_back_and_a_late_one_loses_nothing(guarded):
    asked = guarded.post("/cases", data={"name": "Wagon"}, follow_redirects=False)
    guarded.cookies.clear()
    late = _login(guarded, asked.text, PASSWORD)
    assert late.status_code == 403
    assert PASSWORD not in late.text
    shown = _login(guarded, late.text, PASSWORD)
    assert Form(shown.text, "/cases").sent()["name"] == ["Wagon"]


def test_what_a_stranger_uploads_is_not_read(guarded):
    files = [("files", ("run.csv", b"x" * 3_000_000))]
    answer = guarded.post("/cases/demo/logs", files=files, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/login")


@pytest.mark.parametrize(
    "address", ["", "//evil.example/", "/\\evil.example", "https://evil.example/", "/a b", "cases"]
)
def test_a_form_travels_to_an_address_of_this_server_only(address):
    assert travelled(FormData([("kept-to", address), ("kept:name", "x")])) is None
    ours = travelled(
        FormData([("kept-to", "/cases?x=1"), ("kept:name", "x"), ("kept:csrf_token", "t")])
    )
    assert ours == Kept(address="/cases?x=1", fields=(("name", "x"),))
