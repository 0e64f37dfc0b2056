"""Three ways to use a page: a mouse, a keyboard alone, a finger on a phone."""

from datetime import datetime
from pathlib import Path
from typing import Protocol

from playwright.sync_api import Locator, Page

MOST_TABS = 600


class Hand(Protocol):
    """What somebody can do with a page."""

    def press(self, what: Locator) -> None: ...
    def write(self, where: Locator, text: str) -> None: ...
    def choose(self, where: Locator, value: str) -> None: ...
    def say_when(self, where: Locator, when: datetime) -> None: ...
    def give(self, where: Locator, files: list[Path]) -> None: ...


class Mouse:
    """Points and clicks."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def press(self, what: Locator) -> None:
        what.click()

    def write(self, where: Locator, text: str) -> None:
        where.click()
        where.press("ControlOrMeta+a")
        where.press_sequentially(text)

    def choose(self, where: Locator, value: str) -> None:
        where.select_option(value)

    def say_when(self, where: Locator, when: datetime) -> None:
        where.fill(when.isoformat(timespec="seconds"))

    def give(self, where: Locator, files: list[Path]) -> None:
        with self.page.expect_file_chooser() as chooser:
            where.click()
        chooser.value.set_files(files)


class Finger(Mouse):
    """Taps."""

    def press(self, what: Locator) -> None:
        what.tap()

    def write(self, where: Locator, text: str) -> None:
        where.tap()
        where.fill(text)

    def give(self, where: Locator, files: list[Path]) -> None:
        with self.page.expect_file_chooser() as chooser:
            where.tap()
        chooser.value.set_files(files)


class Keyboard:
    """Tabs to everything and never touches a mouse."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def _reach(self, what: Locator) -> None:
        """Tab until an element has the focus: one that cannot be reached fails here."""
        what.wait_for()
        for _ in range(MOST_TABS):
            if what.evaluate("each => each === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{what} cannot be reached by the keyboard")

    def press(self, what: Locator) -> None:
        self._reach(what)
        is_box = what.evaluate("each => each.type === 'checkbox' || each.type === 'radio'")
        self.page.keyboard.press("Space" if is_box else "Enter")

    def write(self, where: Locator, text: str) -> None:
        self._reach(where)
        self.page.keyboard.press("ControlOrMeta+a")
        self.page.keyboard.type(text)

    def choose(self, where: Locator, value: str) -> None:
        self._reach(where)
        self.page.keyboard.press("Home")
        for _ in range(200):
            if where.input_value() == value:
                return
            self.page.keyboard.press("ArrowDown")
        raise AssertionError(f"{value} cannot be chosen by the keyboard")

    def say_when(self, where: Locator, when: datetime) -> None:
        self._reach(where)
        self.page.keyboard.type(f"{when:%m%d%Y}")
        self.page.keyboard.press("ArrowRight")
        self.page.keyboard.type(f"{when:%I%M%S%p}")
        assert where.input_value() == when.isoformat(timespec="seconds")

    def give(self, where: Locator, files: list[Path]) -> None:
        self._reach(where)
        with self.page.expect_file_chooser() as chooser:
            self.page.keyboard.press("Enter")
        chooser.value.set_files(files)
