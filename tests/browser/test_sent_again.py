"""A page whose session has gone: what was typed into it is shown again and sent by hand."""

import shutil
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from feedproof.app.api import PACKAGED_DEMO
from feedproof.app.web.passwords import PasswordFile
from feedproof.records.folder import CaseFolder
from tests.browser.conftest import Served, serving

PASSWORD = "four words of nothing"
TYPED = 'steel, "measured" <by> hand & twice'


def _barriers(page: Page) -> list[str]:
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
    found = Axe().run(page).response["violations"]
    return [f"{one['id']}: {[node['target'] for node in one['nodes']]}" for one in found]


def _title(folder: Path) -> str:
    line = CaseFolder.open(folder).load().case.vehicle.line.parts
    return next(part.title for part in line if part.id == "steel_line")


def _typed(page: Page, address: str) -> None:
    """Type a title into the form of a part, and lose the session."""
    page.goto(f"{address}/cases/typed/vehicle?edit=line%5Bsteel_line%5D")
    page.locator("#panel").get_by_label("Title", exact=True).fill(TYPED)
    page.context.clear_cookies()


@pytest.mark.parametrize(("width", "mode"), [(1280, "light"), (360, "dark")])
def test_a_form_whose_cookie_is_gone_is_shown_again_and_waits(
    chromium: Browser, served: Served, width: int, mode: str
):
    folder = served.workspace / "typed"
    CaseFolder(PACKAGED_DEMO).copy_to(folder)
    context = chromium.new_context(
        viewport={"width": width, "height": 800},
        color_scheme="dark" if mode == "dark" else "light",
    )
    page = context.new_page()
    try:
        before = (folder / "case.toml").read_bytes()
        _typed(page, served.address)
        page.locator("#panel").get_by_role("button", name="Save").click()
        expect(page.get_by_role("heading", name="Nothing was done yet")).to_be_visible()
        expect(page.get_by_label("Title", exact=True)).to_have_value(TYPED)
        page.wait_for_timeout(1000)
        # It is not sent by itself.
        assert (folder / "case.toml").read_bytes() == before
        assert not _barriers(page)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        page.get_by_role("button", name="Send it again").click()
        expect(page.locator(".parts").get_by_role("link", name=TYPED)).to_be_visible()
        assert _title(folder) == TYPED
        page.get_by_role("button", name="Undo: ").click()
        expect(page.get_by_role("button", name="Redo: ")).to_be_visible()
        assert (folder / "case.toml").read_bytes() == before
    finally:
        context.close()
        shutil.rmtree(folder)


def test_under_a_password_what_was_typed_waits_until_it_was_given(
    chromium: Browser, tmp_path: Path
):
    folder = tmp_path / "cases" / "typed"
    (tmp_path / "cases" / ".feedproof").mkdir(parents=True)
    PasswordFile(tmp_path / "cases" / ".feedproof" / "password").set(PASSWORD)
    CaseFolder(PACKAGED_DEMO).copy_to(folder)
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    try:
        with serving(tmp_path) as server:
            page.goto(f"{server.address}/")
            page.get_by_label("Password of this server").fill(PASSWORD)
            page.get_by_role("button", name="Enter").click()
            page.get_by_role("link", name="Settings").wait_for()
            before = (folder / "case.toml").read_bytes()
            _typed(page, server.address)
            page.locator("#panel").get_by_role("button", name="Save").click()
            expect(page.get_by_role("heading", name="Password")).to_be_visible()
            expect(page.get_by_text(TYPED)).to_have_count(0)
            assert not _barriers(page)
            page.get_by_label("Password of this server").fill("wrong")
            page.get_by_role("button", name="Enter").click()
            expect(page.get_by_role("alert")).to_contain_text("not the password")
            page.get_by_label("Password of this server").fill(PASSWORD)
            page.get_by_role("button", name="Enter").click()
            expect(page.get_by_label("Title", exact=True)).to_have_value(TYPED)
            assert (folder / "case.toml").read_bytes() == before
            page.get_by_role("button", name="Send it again").click()
            expect(page.locator(".parts").get_by_role("link", name=TYPED)).to_be_visible()
            assert _title(folder) == TYPED
    finally:
        context.close()
