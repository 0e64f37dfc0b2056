"""A newcomer's whole way, from an empty template to a paper: by mouse, by keyboard, on a phone."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Served, settled
from tests.browser.hands import Finger, Hand, Keyboard, Mouse

HANDS = {"mouse": (Mouse, 1280, False), "keyboard": (Keyboard, 1280, False),
         "phone": (Finger, 360, True)}  # fmt: skip


@pytest.fixture(params=tuple(HANDS))
def hand(chromium: Browser, request: pytest.FixtureRequest) -> Iterator[Hand]:
    kind, width, has_touch = HANDS[request.param]
    context = chromium.new_context(
        viewport={"width": width, "height": 800}, has_touch=has_touch, locale="en-US",
        accept_downloads=True,
    )  # fmt: skip
    page = context.new_page()
    page.set_default_timeout(60_000)
    yield kind(page)
    context.close()


def write_log(file: Path, loss: float, seed: int) -> None:
    """Write a pull as a roller cell would: idle, a ramp at full load, lift-off."""
    noise = np.random.default_rng(seed)
    time_s = np.arange(0.0, 24.0, 0.05)
    speed = np.interp(time_s, [0, 4, 5, 20, 24], [45, 45, 45, 118, 110])
    share = np.interp(time_s, [0, 4.0, 5.0, 19.8, 20.2, 24], [0.1, 0.1, 1.0, 1.0, 0.05, 0.0])
    full = 60.0 + 35.0 * np.sin(np.pi * np.clip((speed - 30.0) / 130.0, 0, 1))
    power = full * share * (1.0 - loss) * (1.0 + 0.002 * noise.standard_normal())
    power += 0.15 * noise.standard_normal(time_s.size)
    rows = zip(time_s, speed, speed * 32.0, power, strict=True)
    lines = [f"{t:.2f},{v:.2f},{n:.0f},{p:.2f}" for t, v, n, p in rows]
    file.write_text("Time (s),Speed (km/h),Engine (rpm),Power (kW)\n" + "\n".join(lines) + "\n")


@pytest.mark.timeout(400)
def test_a_newcomer_gets_from_the_template_to_the_paper(hand: Hand, served: Served, tmp_path: Path):
    page: Page = hand.page
    title = f"Wagon {type(hand).__name__} {datetime.now():%H%M%S}"
    screens = page.get_by_role("navigation", name="Screens of this case")
    # A vehicle from the template.
    # The first visit of all goes to the demonstration; the list is one step further.
    page.goto(f"{served.address}/")
    page.goto(f"{served.address}/")
    hand.write(page.get_by_label("Which vehicle is it about?"), title)
    hand.press(page.get_by_role("button", name="Begin from the template"))
    expect(page.get_by_role("heading", name="Parts, tank to pump")).to_be_visible()
    case = page.url.split("/cases/")[1].split("/")[0]

    # A value of the vehicle.
    hand.press(page.locator("#part-steel_line, .parts a").first)
    hand.write(page.locator("#panel").get_by_label("Title", exact=True), "measured by hand")
    hand.press(page.locator("#panel").get_by_role("button", name="Save"))
    expect(page.locator(".parts").get_by_role("link", name="measured by hand")).to_be_visible()

    # A kit, dropped in at its place.
    hand.press(page.get_by_text("Add a kit", exact=True))
    hand.write(page.get_by_label("Short name", exact=True), "fine_kit")
    hand.choose(page.get_by_label("Where", exact=True), "after factory_filter")
    hand.press(page.get_by_role("button", name="Put it into the line"))
    expect(page.locator(".parts .of-kit").first).to_be_visible()

    # The margins, before the first run with the kit.
    hand.press(screens.get_by_role("link", name="Verdict", exact=True))
    hand.write(page.get_by_label("Who declares them"), "A. Newcomer")
    hand.write(page.get_by_label("What they come from"), "agreed with the customer")
    hand.press(page.get_by_role("button", name="Declare the margins"))

    # Six logs.
    files = [tmp_path / f"run{n}.csv" for n in range(1, 7)]
    for n, file in enumerate(files):
        write_log(file, 0.002 * (n % 2), seed=100 * len(title) + n)
    hand.press(screens.get_by_role("link", name="Runs", exact=True))
    hand.give(page.get_by_label("Drop logs here, or choose them"), files)
    hand.press(page.get_by_role("button", name="Take them in"))
    expect(page.get_by_text("fits the instrument")).to_have_count(6)
    for label, value in (
        ("Air pressure in the cell", "99.8 kPa"), ("Air temperature", "19 degC"),
        ("Relative humidity", "50 %"),
    ):  # fmt: skip
        hand.write(page.get_by_label(label, exact=True), value)
    hand.write(page.locator("#level"), "60 %")
    began = datetime.now().replace(microsecond=0) + timedelta(minutes=2)
    for i in range(1, 7):
        when = began + timedelta(minutes=10 * i)
        hand.say_when(page.locator(f"#started-{i}"), when)
        if i % 2 == 0:
            hand.press(page.locator(f'input[name="kits-{i}"][value="fine_kit"]'))
    hand.press(page.get_by_role("button", name="Add these runs"))
    expect(page.get_by_role("link", name="Run 6", exact=True)).to_be_visible(timeout=120_000)

    # The verdict, read.
    hand.press(screens.get_by_role("link", name="Verdict", exact=True))
    page.wait_for_url("**/verdict")
    hand.press(page.get_by_role("button", name="Judge these runs"))
    page.locator("#working, .release").first.wait_for()
    settled(page)
    expect(page.locator(".release").first).to_be_visible(timeout=120_000)
    told = page.locator("main").inner_text()
    assert "not tested" in told.lower()

    # The paper, downloaded.
    hand.press(screens.get_by_role("link", name="Report", exact=True))
    page.wait_for_url("**/report")
    hand.press(page.get_by_role("button", name="Write the report"))
    page.locator("#working, iframe").first.wait_for()
    settled(page)
    with page.expect_download(timeout=120_000) as download:
        hand.press(page.get_by_role("link", name="Paper (PDF)"))
    paper = Path(download.value.path()).read_bytes()
    assert paper.startswith(b"%PDF-")
    assert len(paper) > 50_000
    assert (served.workspace / case / "case.toml").is_file()
    # Nothing on a phone is wider than the phone.
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
