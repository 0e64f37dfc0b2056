"""What all benchmarks share: timing side by side, facts of the run, tables in words and text."""

import importlib.metadata
import math
import os
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

REPEATS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """
    One of the programs that are compared.

    Parameters
    ----------
    name : str
        What the table calls it.
    run : callable
        Solves `points` points, all different, and gives the sum of its answers, so that nothing
        can be left out unseen.
    points : int
        How many.
    goal : float
        Least ratio of its time to ours that is aimed at; 0 where none is.
    beside : int
        Which of the sides is ours in that ratio.
    """

    name: str
    run: Callable[[], float]
    points: int
    goal: float = 0.0
    beside: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """
    Time of one side.

    Parameters
    ----------
    side : Side
        Whose.
    least_us, greatest_us : float
        Microseconds a point, least and greatest of the repeats.
    checksum : float
        Sum of the answers.
    """

    side: Side
    least_us: float
    greatest_us: float
    checksum: float


@dataclass(slots=True)
class Report:
    """Lines that are printed as they come and kept for the document."""

    lines: list[str] = field(default_factory=list)

    def say(self, *lines: str) -> None:
        """Print lines and keep them."""
        for line in lines:
            print(line, flush=True)
            self.lines.append(line)

    def title(self, text: str) -> None:
        """Begin a part."""
        self.say("", f"## {text}", "")

    def paragraph(self, text: str) -> None:
        """Print a paragraph."""
        self.say("", text, "")

    def table(self, head: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        """Print a table, its first column to the left and all others to the right."""
        widths = [max(len(row[i]) for row in (head, *rows)) for i in range(len(head))]
        rule = ["-" * widths[0], *("-" * (width - 1) + ":" for width in widths[1:])]
        for row in (head, rule, *rows):
            cells = [row[0].ljust(widths[0])]
            cells += [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
            self.say("| " + " | ".join(cells) + " |")


def time_side_by_side(sides: Sequence[Side], repeats: int = REPEATS) -> list[Timing]:
    """
    Time all sides in turn, again and again, so that a busy moment hits no side alone.

    Parameters
    ----------
    sides : sequence of Side
        The first one is ours.
    repeats : int
        How often.

    Returns
    -------
    list of Timing
        In the same order.
    """
    sums = [side.run() for side in sides]
    times: list[list[float]] = [[] for _ in sides]
    for _ in range(repeats):
        for index, side in enumerate(sides):
            started = time.perf_counter()
            again = side.run()
            times[index].append(1e6 * (time.perf_counter() - started) / side.points)
            if not math.isclose(again, sums[index], rel_tol=1e-6):
                raise RuntimeError(f"{side.name}: sum {again!r}, before {sums[index]!r}")
    return [
        Timing(side=side, least_us=min(each), greatest_us=max(each), checksum=total)
        for side, each, total in zip(sides, times, sums, strict=True)
    ]


def timing_table(report: Report, timings: Sequence[Timing]) -> None:
    """
    Print times, ratios and goals; the first one is ours.

    Parameters
    ----------
    report : Report
        Where to.
    timings : sequence of Timing
        What was measured.
    """
    rows = []
    for timing in timings:
        ratio = timing.least_us / timings[timing.side.beside].least_us
        goal = timing.side.goal
        verdict = "" if goal == 0.0 else "met" if ratio >= goal else "MISSED"
        rows.append(
            (
                timing.side.name,
                f"{timing.side.points:,}",
                f"{timing.least_us:,.4g}",
                f"{timing.greatest_us:,.4g}",
                f"{ratio:,.2f}" if ratio < 10.0 else f"{ratio:,.0f}",
                f"{goal:g}" if goal else "",
                verdict,
                f"{timing.checksum / timing.side.points:.6g}",
            )
        )
    head = ("who", "points", "µs a point", "worst", "times ours", "goal", "", "mean answer")
    report.table(head, rows)


def first_call(report: Report, module: str, name: str) -> None:
    """
    Time a module's function once in a fresh process, machine code to be compiled or at hand.

    Parameters
    ----------
    report : Report
        Where to.
    module, name : str
        The function; it takes nothing.
    """
    code = (
        "import time, warnings; warnings.filterwarnings('ignore')\n"
        f"from {module} import {name}\n"
        f"started = time.perf_counter(); {name}(); print(time.perf_counter() - started)\n"
    )
    with tempfile.TemporaryDirectory() as empty:
        variables = {**os.environ, "FEEDPROOF_CACHE": empty}
        cold, warm = (
            float(
                subprocess.run(
                    [sys.executable, "-c", code],
                    env=variables,
                    cwd=Path(__file__).parents[1],
                    check=True,
                    capture_output=True,
                    text=True,
                ).stdout
            )
            for _ in range(2)
        )
    report.say(
        f"First call in a fresh process: {cold:.2f} s where all must be compiled, {warm:.2f} s with"
        " the machine code at hand; not part of the times below."
    )


def load_words() -> str:
    """
    Say how busy the machine is.

    Returns
    -------
    str
        The load averages, where the system tells them.
    """
    if not hasattr(os, "getloadavg"):
        return "unknown"
    return " ".join(f"{each:.2f}" for each in os.getloadavg())


def facts(report: Report, packages: Sequence[str]) -> None:
    """
    Print date, versions and load.

    Parameters
    ----------
    report : Report
        Where to.
    packages : sequence of str
        Whose versions to print.
    """
    versions = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in packages)
    report.say(
        f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC; {os.cpu_count()} CPUs, {platform.machine()};"
        f" load before (1, 5, 15 min): {load_words()}.",
        f"Python {platform.python_version()}, {versions}.",
    )
