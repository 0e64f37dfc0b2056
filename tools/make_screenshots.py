"""
Pictures of every screen, at the width of a laptop and of a phone, in light and dark.

Run by ``python3 dev.py screens FOLDER``: a server of its own, a workspace of its own, the
demonstration case with all its work done first, so that what is seen is what a workshop sees.
"""

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

SIZES = {"1280": (1280, 900), "360": (360, 740)}
MODES = ("light", "dark")
WORK_MS = 180_000
CASE = "/cases/demo"
ADDRESSES = {
    "cases": "/?",
    "settings": "/settings",
    "vehicle": f"{CASE}/vehicle",
    "vehicle-part": f"{CASE}/vehicle?with=secondary&edit=line%5Bsteel_line%5D",
    "what-if": f"{CASE}/what-if?kit=secondary&kit=badly_plumbed",
    "what-if-map": f"{CASE}/what-if/map?kit=secondary",
    "plan": f"{CASE}/plan",
    "runs": f"{CASE}/runs",
    "run": f"{CASE}/runs/15",
    "verdict": f"{CASE}/verdict",
    "verdict-customer": f"{CASE}/verdict?reader=customer",
    "protection": f"{CASE}/protection",
    "life": f"{CASE}/life",
    "choice": f"{CASE}/choice",
    "report": f"{CASE}/report",
    "not-found": "/nothing",
}
"""Every screen; a new one is added here and is then looked at like the others."""
BUTTONS = ("Judge these runs", "Write the report")


def main(folder: Path) -> int:
    """
    Make the pictures.

    Parameters
    ----------
    folder : Path
        Where they go, as ``<screen>-<width>-<mode>.png``.

    Returns
    -------
    int
        0, or 1 when a page complained or was wider than its window.
    """
    folder.mkdir(parents=True, exist_ok=True)
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as place, sync_playwright() as driver:
        process, address = _served(Path(place))
        try:
            browser = driver.chromium.launch(executable_path=found, args=["--no-sandbox"])
            faults = [
                fault
                for width, size in SIZES.items()
                for mode in MODES
                for fault in _pictures(browser, address, folder, (width, size, mode))
            ]
            browser.close()
        finally:
            process.send_signal(signal.SIGINT)
            process.wait(10)
    for fault in faults:
        print(fault, file=sys.stderr)
    print(f"{len(ADDRESSES) * len(SIZES) * len(MODES)} pictures in {folder}")
    return int(bool(faults))


def _served(place: Path) -> tuple[subprocess.Popen[str], str]:
    """Start a server with a workspace of its own."""
    command = [sys.executable, "-m", "feedproof", "serve", str(place / "cases"), "--port", "0"]
    process = subprocess.Popen(
        [*command, "--no-browser"],
        env={**os.environ, "FEEDPROOF_STORE": str(place / "store.sqlite")},
        stdout=subprocess.PIPE,
        text=True,
    )
    if process.stdout is None:
        raise RuntimeError("the server has no output")
    address = re.search(r"http://[0-9.:]+", process.stdout.readline())
    if address is None:
        raise RuntimeError("the server did not say where it is")
    return process, address[0]


def _pictures(
    browser: object, address: str, folder: Path, how: tuple[str, tuple[int, int], str]
) -> list[str]:
    """Take all pictures of one size and mode, and say what is wrong with a page."""
    name, (width, height), mode = how
    context = browser.new_context(  # type: ignore[attr-defined]
        viewport={"width": width, "height": height}, color_scheme=mode
    )
    page: Page = context.new_page()
    page.set_default_timeout(WORK_MS)
    faults: list[str] = []
    for screen, path in ADDRESSES.items():
        heard: list[str] = []
        page.on("console", lambda m, heard=heard: heard.append(m.text))  # type: ignore[misc]
        page.goto(f"{address}{path}")
        for label in BUTTONS:
            button = page.get_by_role("button", name=label, exact=True)
            if button.count() and not page.locator(".release, iframe").count():
                button.click()
                page.wait_for_load_state("load")
        page.locator("#working").wait_for(state="detached")
        page.wait_for_load_state("networkidle")
        page.wait_for_timeout(300)
        page.screenshot(path=folder / f"{screen}-{name}-{mode}.png", full_page=True)
        if page.evaluate("document.documentElement.scrollWidth > window.innerWidth"):
            faults.append(f"{screen} at {name}: wider than its window")
        expected = screen == "not-found"
        faults += [f"{screen} at {name}, {mode}: {text}" for text in heard if not expected]
    context.close()
    return faults


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1] if len(sys.argv) > 1 else "screens")))
