"""A server that goes away under an open page, and comes back: nothing is lost."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from playwright.sync_api import Browser, expect


def _start(folder: Path, port: int) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-m", "feedproof", "serve", str(folder / "cases"), "--port", str(port),
         "--no-browser"],
        env={**os.environ, "FEEDPROOF_STORE": str(folder / "store.sqlite")},
        stdout=subprocess.PIPE,
        text=True,
    )  # fmt: skip
    assert re.search(r"http://", process.stdout.readline())
    for _ in range(300):
        try:
            urllib.request.urlopen(f"http://localhost:{port}/favicon.ico", timeout=5).close()
            return process
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the server does not answer")


def test_a_form_that_was_typed_before_a_restart_is_sent_after_it(chromium: Browser, tmp_path: Path):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = _start(tmp_path, port)
    page = chromium.new_context().new_page()
    try:
        page.goto(f"http://localhost:{port}/cases/demo/vehicle?edit=line%5Bsteel_line%5D")
        page.locator("#panel").get_by_label("Title", exact=True).fill("typed before")
        # Long work is under way as well.
        other = page.context.new_page()
        other.goto(f"http://localhost:{port}/cases/demo/protection")
        other.locator("#working").wait_for()
        server.send_signal(signal.SIGKILL)
        server.wait()
        server.stdout.close()
        server = _start(tmp_path, port)
        page.locator("#panel").get_by_role("button", name="Save").click()
        expect(page.locator(".parts").get_by_role("link", name="typed before")).to_be_visible()
        assert "typed before" in (tmp_path / "cases" / "demo" / "case.toml").read_text()
        # The other page finds its work again, or begins it anew, and comes to its answer.
        other.reload()
        other.locator("#working").wait_for(state="detached", timeout=110_000)
        expect(other.locator("main h2").first).to_be_visible()
    finally:
        page.context.close()
        server.send_signal(signal.SIGINT)
        server.wait(10)
        server.stdout.close()
