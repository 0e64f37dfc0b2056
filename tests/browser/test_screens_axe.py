"""Screens that are used by hand: no barrier in light or dark, nothing leaves the machine."""

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from feedproof.app.api import PACKAGED_DEMO
from feedproof.records.folder import CaseFolder
from tests.browser.conftest import Served
from tests.reliability.rows import trials

SIZES = {"laptop": (1280, 900), "phone": (360, 740)}
EVERY = ("laptop-light", "phone-dark", "laptop-dark", "phone-light")
LOOKS = EVERY[: trials(2, len(EVERY))]
"""Each width and each mode once; every pair at full length."""
PAGES = (
    "/?", "/settings", "/login", "/nothing",
    "/cases/demo/vehicle",
    "/cases/demo/vehicle?with=secondary&edit=line%5Bsteel_line%5D",
    "/cases/demo/vehicle?add=element&beside=steel_line",
    "/cases/demo/vehicle?edit=vehicle.engine.full_load",
    "/cases/demo/what-if?kit=secondary&kit=badly_plumbed",
    "/cases/demo/what-if/map?kit=secondary",
    "/cases/demo/runs", "/cases/demo/runs/15",
)  # fmt: skip


@pytest.fixture(params=LOOKS, scope="module")
def page(chromium: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    name, mode = request.param.split("-")
    width, height = SIZES[name]
    context = chromium.new_context(viewport={"width": width, "height": height}, color_scheme=mode)
    yield context.new_page()
    context.close()


def _barriers(page: Page) -> list[str]:
    found = Axe().run(page).response["violations"]
    return [f"{one['id']}: {[node['target'] for node in one['nodes']]}" for one in found]


@pytest.mark.parametrize("address", PAGES)
def test_a_screen_has_no_barrier_fits_and_asks_nobody_else(
    page: Page, served: Served, address: str
):
    complaints: list[str] = []
    elsewhere: list[str] = []
    page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
    page.on(
        "request", lambda r: None if r.url.startswith(served.address) else elsewhere.append(r.url)
    )
    page.goto(f"{served.address}{address}")
    page.wait_for_load_state("networkidle")
    # What is folded away must be free of barriers too.
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
    assert not _barriers(page)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert not elsewhere
    assert not [text for text in complaints if "404" not in text]


def test_a_log_that_was_dropped_in_is_shown_without_barriers(page: Page, served: Served):
    run = CaseFolder(PACKAGED_DEMO).load().case.runs[1]
    log = run.logs[1]
    page.goto(f"{served.address}/cases/demo/runs")
    content = CaseFolder(PACKAGED_DEMO).raw(log).read_bytes() + b"\n"
    page.get_by_label("Drop logs here, or choose them").set_input_files(
        {"name": log.name, "mimeType": "text/csv", "buffer": content}
    )
    page.get_by_role("button", name="Take them in").click()
    assert not _barriers(page)
    page.get_by_role("link", name=log.name, exact=True).click()
    expect(page.get_by_role("heading", name="Its columns")).to_be_visible()
    assert not _barriers(page)
    page.go_back()
    page.get_by_role("button", name=f"Remove {log.name}").click()
    page.wait_for_load_state("load")


def test_a_slider_redraws_while_it_is_dragged_and_the_address_keeps_the_question(
    page: Page, served: Served
):
    page.goto(f"{served.address}/cases/demo/what-if?kit=secondary")
    page.wait_for_load_state("networkidle")
    says = page.locator("#says-live-staircase")
    before = says.inner_text()
    slider = page.locator("#fuel_temperature_k")
    slider.focus()
    for _ in range(12):
        page.keyboard.press("ArrowLeft")
    expect(says).not_to_have_text(before)
    # The newest question is always asked last, and then stands in the address.
    page.wait_for_url(f"**fuel_temperature_k={slider.input_value()}**")
    after = says.inner_text()
    page.reload()
    page.wait_for_load_state("networkidle")
    expect(page.locator("#says-live-staircase")).to_have_text(after)


def test_a_part_of_the_drawing_opens_by_the_keyboard(page: Page, served: Served):
    page.goto(f"{served.address}/cases/demo/vehicle")
    part = page.locator('svg [data-part="banjos"]:visible').first
    part.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**edit=line**")
    expect(page.locator("#panel").get_by_role("heading").first).to_have_text("banjo fittings")
