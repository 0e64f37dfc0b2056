"""The screens of results: no barrier in light or dark, nothing wider than a phone."""

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.browser.conftest import Served, settled
from tests.reliability.rows import trials

SIZES = {"laptop": (1280, 900), "phone": (360, 740)}
EVERY = ("laptop-light", "phone-dark", "laptop-dark", "phone-light")
LOOKS = EVERY[: trials(2, len(EVERY))]
"""Each width and each mode once; every pair at full length."""
BUTTONS = {"verdict": "Judge these runs", "report": "Write the report"}
PAGES = (
    "verdict",
    "verdict?reader=customer",
    "plan",
    "protection",
    "life",
    "choice",
    "report",
)


@pytest.fixture(params=LOOKS, scope="module")
def page(chromium: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    name, mode = request.param.split("-")
    width, height = SIZES[name]
    context = chromium.new_context(viewport={"width": width, "height": height}, color_scheme=mode)
    yield context.new_page()
    context.close()


def _opened(page: Page, served: Served, address: str) -> list[str]:
    """Open a screen with its result, and give what its console complained of."""
    complaints: list[str] = []
    page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
    page.goto(f"{served.address}/cases/demo/{address}")
    button = page.get_by_role("button", name=BUTTONS.get(address.partition("?")[0], "-"))
    if button.count() and not page.locator(".release, iframe").count():
        with page.expect_navigation():
            button.click()
    settled(page)
    return complaints


def _barriers(page: Page) -> list[str]:
    """List what keeps somebody out."""
    found = Axe().run(page).response["violations"]
    return [f"{one['id']}: {[node['target'] for node in one['nodes']]}" for one in found]


@pytest.mark.parametrize("address", PAGES)
def test_a_screen_of_results_has_no_barrier_and_fits(page: Page, served: Served, address: str):
    complaints = _opened(page, served, address)
    assert page.locator("main h2").count(), "no result is shown"
    assert not page.locator(".failure").count()
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    assert not _barriers(page)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert not complaints


def test_a_barrier_would_be_found(page: Page, served: Served):
    _opened(page, served, "verdict")
    page.evaluate("document.querySelector('.glance a').removeAttribute('href')")
    page.evaluate("document.querySelector('.glance').setAttribute('role', 'nothing')")
    assert _barriers(page)
