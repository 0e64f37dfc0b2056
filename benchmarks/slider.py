"""
The slider in a real browser: from the turn of a slider to the redrawn picture on the screen.

A server as a workshop starts it, the packaged, invented demonstration with two kits, Chromium
without a window.  Each step sets the slider and waits for the frame after the new pictures are in
the page; steps never repeat a value, so no answer is one that was kept.
"""

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from benchmarks.measure import Report

STEPS, WARM_UP = 200, 10
GOAL_P95_MS = 60.0
WIDTHS = {"laptop, 1280 px": (1280, 900), "phone, 360 px": (360, 740)}
DRAG = """
async ([name, steps]) => {
  const field = document.getElementById(name);
  const low = Number(field.min), high = Number(field.max);
  const frame = () => new Promise((done) =>
    requestAnimationFrame(() => requestAnimationFrame(done)));
  const took = [];
  for (let i = 0; i < steps; i++) {
    const drawn = new Promise((done) =>
      document.addEventListener("feedproof:drawn", done, { once: true }));
    const share = (i * 0.6180339887) % 1;
    const began = performance.now();
    field.value = String(low + share * (high - low));
    field.dispatchEvent(new Event("input", { bubbles: true }));
    await drawn;
    await frame();
    took.push(performance.now() - began);
  }
  return took;
}
"""
"""Golden-section steps: they reach every part of the slider and repeat none."""


def main(report: Report) -> None:
    """
    Measure and print.

    Parameters
    ----------
    report : Report
        Where the tables go.
    """
    report.say("", "", "## Slider to redrawn picture, in Chromium", "")
    report.say(
        "What-if screen of the demonstration, baseline and two kits: staircase and two curves drawn"
        " anew. Two frames of the browser are part of each time; without a window they come every"
        " 16.7 ms.",
        "",
    )
    rows = []
    for window, name, took in measured():
        median, p95 = np.percentile(took, [50, 95])
        met = "met" if p95 < GOAL_P95_MS else "MISSED"
        cells = (window, name, f"{len(took)}", f"{median:.0f}", f"{p95:.0f}", f"{max(took):.0f}")
        rows.append((*cells, f"< {GOAL_P95_MS:.0f}", met))
    head = ("window", "slider", "steps", "median ms", "p95 ms", "worst ms", "goal p95", "")
    report.table(head, rows)


def measured(steps: int = STEPS) -> list[tuple[str, str, list[float]]]:
    """
    Drag sliders of a page.

    Parameters
    ----------
    steps : int
        Steps of each slider.

    Returns
    -------
    list of (str, str, list of float)
        Window, slider, and the time of each step after the first few. [ms]
    """
    from playwright.sync_api import sync_playwright

    found = shutil.which("chromium") or shutil.which("chromium-browser")
    rows = []
    with tempfile.TemporaryDirectory() as place, sync_playwright() as driver:
        process, address = _served(Path(place))
        try:
            browser = driver.chromium.launch(executable_path=found, args=["--no-sandbox"])
            for window, (width, height) in WIDTHS.items():
                page = browser.new_page(viewport={"width": width, "height": height})
                page.set_default_timeout(120_000)
                page.goto(f"{address}/cases/demo/what-if?kit=secondary&kit=badly_plumbed")
                page.wait_for_load_state("networkidle")
                for slider in ("fuel_temperature_k", "altitude_m"):
                    took = page.evaluate(DRAG, [slider, steps + WARM_UP])
                    rows.append((window, slider, took[WARM_UP:]))
                page.close()
            browser.close()
        finally:
            process.send_signal(signal.SIGINT)
            process.wait(10)
    return rows


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
