"""Run benchmarks: see `python3 dev.py bench`."""

import argparse
import logging
import sys
import warnings
from pathlib import Path

from benchmarks import (
    envelope_grid,
    ingest,
    line_fit,
    network_line,
    series_line,
    service_life,
    slider,
    what_if,
)
from benchmarks.measure import Report, facts, load_words

BENCHMARKS = {
    "series": series_line.main,
    "network": network_line.main,
    "envelope": envelope_grid.main,
    "fit": line_fit.main,
    "service": service_life.main,
    "ingest": ingest.main,
    "what-if": what_if.main,
    "slider": slider.main,
}
PACKAGES = ("feedproof", "numpy", "scipy", "numba", "fluids", "wntr", "pandapipes", "emcee")
DOCUMENT = Path(__file__).resolve().parents[1] / "docs" / "benchmark.md"


def main(arguments: list[str]) -> int:
    """
    Run the benchmarks that are named, or all.

    Parameters
    ----------
    arguments : list of str
        Names, and --write.

    Returns
    -------
    int
        Exit code.
    """
    parser = argparse.ArgumentParser(prog="dev.py bench", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="|".join(BENCHMARKS))
    parser.add_argument("--write", action="store_true", help="write docs/benchmark.md")
    asked = parser.parse_args(arguments)
    unknown = [name for name in asked.names if name not in BENCHMARKS]
    if unknown:
        parser.error(f"no benchmark {', '.join(unknown)}; known are {', '.join(BENCHMARKS)}")
    if asked.write and asked.names:
        parser.error("--write writes all benchmarks of one run: leave the names out")
    # Peers warn of their own dependencies; a benchmark prints tables.
    warnings.filterwarnings("ignore")
    logging.disable(logging.WARNING)
    report = Report()
    report.say("# Benchmarks side by side", "")
    report.say(
        "Times of one run on one machine; read the ratios, not the times. A ratio is a peer's time"
        " over ours. The mean answer guards against work that is left out; it is of a side's own"
        " points, so sides with fewer points have another mean. Made by `python3 dev.py bench"
        " --write`.",
        "",
    )
    facts(report, PACKAGES)
    for name in asked.names or BENCHMARKS:
        BENCHMARKS[name](report)
    report.say("", f"Load after (1, 5, 15 min): {load_words()}.")
    if asked.write:
        DOCUMENT.write_text("\n".join(report.lines) + "\n", encoding="utf-8")
        print(f"wrote docs/{DOCUMENT.name}", file=sys.stderr)
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
