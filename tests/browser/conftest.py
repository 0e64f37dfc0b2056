"""A server in a process of its own, as a workshop starts it, and a browser that looks at it."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Playwright, sync_playwright

ARGUMENTS = (
    "--headless",
    # Continuous integration runs as root, where there is no sandbox.
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
WORK_MS = 110_000
"""How long one piece of work may take on a machine that does other things too."""


@dataclass(frozen=True, slots=True)
class Served:
    """A running server."""

    address: str
    workspace: Path
    process: subprocess.Popen[str]


@contextmanager
def serving(folder: Path) -> Iterator[Served]:
    """Serve the workspace of a folder on a free port, until nobody needs it any more."""
    environment = {**os.environ, "FEEDPROOF_STORE": str(folder / "store.sqlite")}
    process = subprocess.Popen(
        [sys.executable, "-m", "feedproof", "serve", str(folder / "cases"), "--port", "0",
         "--no-browser"],
        env=environment,
        stdout=subprocess.PIPE,
        text=True,
    )  # fmt: skip
    try:
        assert process.stdout is not None
        found = re.search(r"http://[0-9.:]+", process.stdout.readline())
        assert found, "the server did not say where it is"
        address = found[0].replace("127.0.0.1", "localhost")
        _answering(address)
        yield Served(address, folder / "cases", process)
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        if process.stdout is not None:
            process.stdout.close()


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Serve a new workspace, which holds the demonstration."""
    with serving(tmp_path_factory.mktemp("served")) as server:
        yield server


def _answering(address: str) -> None:
    """Wait until a server that has its port also answers."""
    for _ in range(300):
        try:
            urllib.request.urlopen(f"{address}/favicon.ico", timeout=5).close()
            return
        except urllib.error.URLError:
            time.sleep(0.1)
    raise AssertionError("the server does not answer")


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """Start what drives the browser."""
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    """Start the browser that the machine has, else the driver's own."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    browser = playwright.chromium.launch(executable_path=found, args=list(ARGUMENTS))
    yield browser
    browser.close()


def settled(page: Page) -> None:
    """Wait until a page waits for no work any more."""
    page.locator("#working").wait_for(state="detached", timeout=WORK_MS)
    page.wait_for_load_state("load")
