"""Parts are moved by dragging: by mouse, by finger and by keys; what is let go elsewhere stays."""

import secrets
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, CDPSession, Locator, Page, expect

from feedproof.app.api import PACKAGED_DEMO
from feedproof.records.folder import CaseFolder
from tests.browser.conftest import Served


class Shop:
    """A copy of the demonstration that is dragged about, as the browser and as the file."""

    def __init__(self, page: Page, served: Served) -> None:
        self.page = page
        self.folder = served.workspace / f"dragged-{secrets.token_hex(4)}"
        CaseFolder(PACKAGED_DEMO).copy_to(self.folder)
        page.goto(f"{served.address}/cases/{self.folder.name}/vehicle")
        self.before = self.bytes()

    def bytes(self) -> bytes:
        return (self.folder / "case.toml").read_bytes()

    def line(self) -> list[str]:
        return [part.id for part in CaseFolder.open(self.folder).load().case.vehicle.line.parts]

    def handle(self, part: str) -> Locator:
        return self.page.locator(f'[data-row="{part}"] [data-handle]')

    def undone(self) -> bytes:
        """Take the step back and give the file."""
        self.page.get_by_role("button", name="Undo: ").click()
        expect(self.page.get_by_role("button", name="Redo: ")).to_be_visible()
        return self.bytes()

    def unchanged(self) -> bool:
        """Say, after the page was loaded anew, whether nothing was sent."""
        self.page.wait_for_timeout(300)
        return self.bytes() == self.before and not self.page.locator(".carried").count()


class Fingertip:
    """A finger on the glass, as the browser gets it from the glass."""

    def __init__(self, page: Page) -> None:
        self._session: CDPSession = page.context.new_cdp_session(page)

    def touch(self, kind: str, *fingers: tuple[float, float]) -> None:
        points = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(fingers)]
        self._session.send(
            "Input.dispatchTouchEvent", {"type": f"touch{kind}", "touchPoints": points}
        )

    def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        self.touch("Start", start)
        for share in (step / 8 for step in range(1, 9)):
            x, y = (a + share * (b - a) for a, b in zip(start, end, strict=True))
            self.touch("Move", (x, y))


def middle(what: Locator) -> tuple[float, float]:
    box = what.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def top_of(what: Locator) -> tuple[float, float]:
    box = what.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + 4


@pytest.fixture
def shop(chromium: Browser, served: Served) -> Iterator[Shop]:
    context = chromium.new_context(viewport={"width": 1280, "height": 1400})
    yield Shop(context.new_page(), served)
    context.close()


@pytest.fixture
def phone(chromium: Browser, served: Served) -> Iterator[Shop]:
    context = chromium.new_context(viewport={"width": 360, "height": 740}, has_touch=True,
                                   is_mobile=True, color_scheme="dark")  # fmt: skip
    yield Shop(context.new_page(), served)
    context.close()


def carry(shop: Shop, part: str, to: tuple[float, float]) -> None:
    """Hold a part by its handle over a place."""
    shop.page.mouse.move(*middle(shop.handle(part)))
    shop.page.mouse.down()
    shop.page.mouse.move(*to, steps=6)


def test_a_mouse_drags_a_part_and_undo_brings_the_file_back_byte_for_byte(shop: Shop):
    target = shop.page.locator('[data-row="pickup_tube"]')
    shop.handle("bends").scroll_into_view_if_needed()
    carry(shop, "bends", top_of(target))
    # Where it would land is marked and said before it is let go.
    expect(target).to_have_class("part drop-before")
    title = target.locator("a").inner_text()
    expect(shop.page.locator("#drag-told")).to_have_text(f"bends: goes before {title}")
    assert shop.bytes() == shop.before
    shop.page.mouse.up()
    shop.page.get_by_role("button", name="Undo: ").wait_for()
    line = shop.line()
    assert line.index("bends") == line.index("pickup_tube") - 1
    assert shop.undone() == shop.before


def test_escape_a_place_outside_and_its_own_place_move_nothing(shop: Shop):
    page = shop.page
    shop.handle("bends").scroll_into_view_if_needed()
    target = page.locator('[data-row="pickup_tube"]')
    carry(shop, "bends", top_of(target))
    page.keyboard.press("Escape")
    expect(target).to_have_class("part")
    expect(page.locator("#drag-told")).to_be_hidden()
    page.mouse.up()
    assert shop.unchanged()
    outside = page.get_by_role("heading", name="Parts, tank to pump").bounding_box()
    assert outside
    carry(shop, "bends", (1200, outside["y"]))
    expect(page.locator("#drag-told")).to_contain_text("nothing moves")
    page.mouse.up()
    assert shop.unchanged()
    carry(shop, "bends", (middle(shop.handle("bends"))[0] + 60, middle(shop.handle("bends"))[1]))
    expect(page.locator("#drag-told")).to_contain_text("stays where it is")
    page.mouse.up()
    assert shop.unchanged()
    # The same gesture to another place is taken: the cancelled ones left nothing behind.
    carry(shop, "bends", top_of(target))
    page.mouse.up()
    page.get_by_role("button", name="Undo: ").wait_for()
    assert shop.line() != []
    assert shop.bytes() != shop.before


def test_a_finger_drags_at_the_handle_and_scrolls_everywhere_else(phone: Shop):
    page, finger = phone.page, Fingertip(phone.page)
    phone.handle("bends").scroll_into_view_if_needed()
    page.evaluate("scrollBy(0, 200)")
    scrolled = page.evaluate("scrollY")
    # Beside the handle a finger scrolls the page.
    name = page.locator('[data-row="bends"] .part-share')
    start = middle(name)
    finger.drag(start, (start[0], start[1] - 160))
    # A finger that rests before it is lifted gives the page no swing.
    page.wait_for_timeout(300)
    finger.touch("Move", (start[0], start[1] - 161))
    finger.touch("End")
    page.wait_for_function(f"scrollY > {scrolled} + 80")
    assert phone.unchanged()
    # At the handle it carries the part; the page stands still.
    page.evaluate(f"scrollTo(0, {scrolled})")
    target = page.locator('[data-row="quick_connectors"]')
    phone.handle("bends").evaluate("each => each.scrollIntoView({block: 'center'})")
    stands = page.evaluate("scrollY")
    finger.drag(middle(phone.handle("bends")), top_of(target))
    expect(page.locator(".drop-before, .drop-after")).to_have_count(1)
    assert page.evaluate("scrollY") == stands
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    finger.touch("End")
    page.get_by_role("button", name="Undo: ").wait_for()
    line = phone.line()
    assert line.index("bends") == line.index("quick_connectors") - 1
    assert phone.undone() == phone.before


def test_a_second_finger_and_a_cancelled_touch_move_nothing(phone: Shop):
    page, finger = phone.page, Fingertip(phone.page)
    phone.handle("bends").evaluate("each => each.scrollIntoView({block: 'center'})")
    target = top_of(page.locator('[data-row="quick_connectors"]'))
    for undecided in ("second finger", "cancelled"):
        finger.drag(middle(phone.handle("bends")), target)
        expect(page.locator(".drop-before")).to_have_count(1)
        if undecided == "cancelled":
            finger.touch("Cancel")
        else:
            finger.touch("Start", target, (target[0], target[1] + 200))
            finger.touch("End")
        assert phone.unchanged()


def test_keys_pick_a_part_up_choose_its_place_and_let_it_go(shop: Shop):
    page, handle = shop.page, shop.handle("bends")
    before = shop.line()
    handle.focus()
    page.keyboard.press("Enter")
    expect(handle).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#said")).to_contain_text("picked up")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Escape")
    expect(handle).to_have_attribute("aria-pressed", "false")
    assert shop.unchanged()
    page.keyboard.press("Space")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Undo: ").wait_for()
    assert shop.line().index("bends") == before.index("bends") - 2
    assert shop.undone() == shop.before


def test_who_drags_on_a_page_that_somebody_else_has_overtaken_is_told(shop: Shop):
    # Somebody else edits the case after this page was loaded.
    file: Path = shop.folder / "case.toml"
    file.write_bytes(shop.before + b"\n# another hand\n")
    shop.handle("bends").scroll_into_view_if_needed()
    carry(shop, "bends", top_of(shop.page.locator('[data-row="pickup_tube"]')))
    shop.page.mouse.up()
    expect(shop.page.get_by_role("alert")).to_contain_text("changed by somebody else")
    assert shop.bytes() == shop.before + b"\n# another hand\n"


def test_who_wants_less_motion_sees_only_the_mark_move(chromium: Browser, served: Served):
    size = {"width": 1280, "height": 1400}
    context = chromium.new_context(viewport=size, reduced_motion="reduce")
    calm = Shop(context.new_page(), served)
    calm.handle("bends").scroll_into_view_if_needed()
    row = calm.page.locator('[data-row="bends"]')
    stood = row.bounding_box()
    carry(calm, "bends", top_of(calm.page.locator('[data-row="pickup_tube"]')))
    expect(calm.page.locator('[data-row="pickup_tube"]')).to_have_class("part drop-before")
    assert row.bounding_box() == stood
    calm.page.keyboard.press("Escape")
    context.close()


def test_a_kit_is_dragged_to_its_place(shop: Shop):
    page = shop.page
    grip = page.locator('[data-kit="secondary"] [data-handle]')
    grip.scroll_into_view_if_needed()
    page.mouse.move(*middle(grip))
    page.mouse.down()
    page.mouse.move(*top_of(page.locator('[data-row="primer"]')), steps=6)
    page.mouse.up()
    page.wait_for_url("**with=secondary**")
    kit = CaseFolder.open(shop.folder).load().case.kits["secondary"]
    assert (kit.insertions[0].side, kit.insertions[0].place) == ("before", "primer")
    assert shop.undone() == shop.before


def test_paper_and_a_page_without_script_show_no_handle(chromium: Browser, served: Served):
    shop = Shop(chromium.new_page(), served)
    expect(shop.handle("bends")).to_be_visible()
    shop.page.emulate_media(media="print")
    expect(shop.handle("bends")).to_be_hidden()
    context = chromium.new_context(java_script_enabled=False)
    still = context.new_page()
    still.goto(shop.page.url)
    expect(still.locator('[data-row="bends"]')).to_be_visible()
    expect(still.locator('[data-row="bends"] [data-handle]')).to_be_hidden()
    context.close()
    shop.page.context.close()
