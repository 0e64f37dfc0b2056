"""The frame of the screens: first visit, settings that are remembered, failures in words."""

import sys

import pytest
from fastapi.routing import APIRoute

from feedproof.app.web import pages_cases
from feedproof.app.web.access import needs_token, needs_token_of_browsers
from feedproof.app.web.application import ROUTERS, create_app
from feedproof.app.web.guards import HEADERS, SAFE_METHODS
from feedproof.records.names import name_fault


def test_the_first_visit_opens_the_demonstration_with_a_guide(browser):
    answer = browser.get("/", follow_redirects=False)
    assert answer.headers["location"] == "/cases/demo/vehicle"
    assert "feedproof_guide=on" in answer.headers["set-cookie"]
    assert browser.get("/").status_code == 200


def test_settings_are_remembered_by_another_browser_of_the_workshop(browser, settings):
    wanted = {"pressure": "inHg", "decimal": "comma", "mode": "dark", "who": "A. Name"}
    assert browser.send("/settings", wanted).headers["hx-redirect"] == "/settings?kept=true"
    page = browser.get("/settings").text
    assert 'data-theme="dark"' in page
    assert 'value="inHg" selected' in page
    from fastapi.testclient import TestClient

    with TestClient(create_app(settings), base_url="http://localhost") as another:
        page = another.get("/settings").text
    assert 'data-theme="dark"' in page
    assert 'data-decimal="comma"' in page


def test_an_address_without_a_page_is_told_in_words(browser):
    answer = browser.get("/nothing")
    assert answer.status_code == 404
    assert "There is nothing at this address." in answer.text
    assert browser.get("/cases/..%2fetc/vehicle").status_code == 404
    assert "there is no case" in browser.get("/cases/other").text


def test_a_fault_of_the_program_is_told_under_a_number_with_the_headers_of_every_page(
    settings, monkeypatch
):
    from fastapi.testclient import TestClient

    def broken(_request):
        raise RuntimeError("a <b>secret</b> of the inside")

    app = create_app(settings)
    monkeypatch.setattr(pages_cases, "workspace_of", broken)
    with TestClient(app, base_url="http://localhost", raise_server_exceptions=False) as client:
        answer = client.get("/")
    assert answer.status_code == 500
    assert "the program has a fault (number " in answer.text
    assert "secret" not in answer.text
    assert {name: answer.headers.get(name) for name in HEADERS} == HEADERS


@pytest.mark.parametrize("part", [True, False])
def test_what_a_form_sends_never_leaves_the_text_of_a_header(browser, part):
    sent = {"screen": "protection", "query": "bad_fuel=\u20ac\r\nx-more: yes"}
    answer = browser.send("/cases/demo/jobs", sent, part=part)
    to = answer.headers["hx-redirect" if part else "location"]
    assert to == "/cases/demo/protection?bad_fuel=%E2%82%AC%0D%0Ax-more:%20yes"
    assert "x-more" not in answer.headers


def test_a_case_gets_a_name_that_every_machine_can_hold(browser):
    for called in ("CON", "lpt1", "../..", "\u20ac"):
        to = browser.send("/cases", {"name": called}).headers["hx-redirect"]
        assert not name_fault(to.split("/")[2])


@pytest.mark.skipif(sys.platform == "win32", reason="links need a right of their own there")
@pytest.mark.parametrize("which", ["file", "folder"])
def test_a_report_that_is_a_link_is_given_to_nobody(browser, workspace, tmp_path, which):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "report.html").write_text("not of this case")
    report = workspace / "demo" / "report"
    if which == "folder":
        report.symlink_to(elsewhere)
    else:
        report.mkdir()
        (report / "report.html").symlink_to(elsewhere / "report.html")
    for address in ("/cases/demo/report/page", "/cases/demo/report/report.html"):
        assert browser.get(address).status_code == 404
        assert browser.get(f"/api{address}").status_code == 404


def test_no_writing_address_goes_without_the_form_token():
    """One route without it would let any page of the web write here."""
    bare = [
        f"{route.methods} {route.path}"
        for router in ROUTERS
        for route in router.routes
        if isinstance(route, APIRoute)
        and route.methods - SAFE_METHODS
        and not {needs_token, needs_token_of_browsers}
        & {each.call for each in route.dependant.dependencies}
    ]
    assert not bare


def test_no_page_has_style_or_script_in_its_text(browser):
    """The content policy would stop it without a word."""
    for address in ("/", "/settings", "/nothing"):
        text = browser.get(address).text
        assert " style=" not in text
        assert " onclick" not in text
        assert "<style" not in text
        assert "<script>" not in text


def test_a_case_is_taken_away_and_brought_back(browser, workspace):
    before = (workspace / "demo" / "case.toml").read_bytes()
    browser.get("/", follow_redirects=False)
    assert browser.send("/cases/demo/remove").status_code == 204
    assert not (workspace / "demo").exists()
    assert "Bring demo back" in browser.get("/").text
    assert browser.send("/cases/demo/bring-back").status_code == 204
    assert (workspace / "demo" / "case.toml").read_bytes() == before
    assert browser.send("/cases/..%2f..%2fetc/bring-back").status_code == 404


def test_a_bundle_is_taken_in_and_a_broken_one_leaves_nothing(browser, workspace, tmp_path):
    from feedproof.app.api import store_export

    bundle = tmp_path / "truck.zip"
    store_export(workspace / "demo", bundle)
    files = {"bundle": ("truck.zip", bundle.read_bytes())}
    assert browser.send("/bundles", files=files).headers["hx-redirect"] == "/cases/truck/vehicle"
    files = {"bundle": ("broken.zip", bundle.read_bytes()[:-900])}
    assert browser.send("/bundles", files=files).status_code == 422
    assert sorted(each.name for each in workspace.iterdir()) == [".feedproof", "demo", "truck"]


def test_a_new_case_bears_the_title_that_was_typed_and_no_walk_of_the_demonstration(browser):
    browser.get("/")
    answer = browser.send("/cases", {"name": 'Truck "7", 3.0 L, blue'}, part=False)
    where = answer.headers["location"]
    page = browser.get(where).text
    assert "<h1>Truck &#34;7&#34;, 3.0 L, blue</h1>" in page
    assert "first walk" not in page
    browser.send("/demo", part=False)
    browser.send("/guide", {"state": "on"}, part=False)
    assert "first walk" in browser.get("/cases/demo-2/vehicle").text
    assert browser.send("/cases", {"name": "two\nlines"}, part=False).status_code == 422


@pytest.mark.parametrize(
    ("send", "where"),
    [("/cases/demo/logs", "/cases/demo/runs#inbox"), ("/cases/nothing/logs", "/")],
)
def test_back_from_a_failure_leads_to_the_screen_of_the_form(browser, send, where):
    page = browser.send(send, files={"files": ("empty.csv", b"")}, part=False).text
    assert f'<a class="button" href="{where}">Back</a>' in page


def test_a_page_that_is_not_there_leads_back_to_one_that_is(browser):
    assert 'href="/cases/demo/runs">Back' in browser.get("/cases/demo/runs/999").text
    assert 'href="/">Back' in browser.get("/cases/nothing/plan").text
