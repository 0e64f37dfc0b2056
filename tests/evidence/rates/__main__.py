"""
The long form of the rates: every printed figure with many sessions, as a table.

    python3 dev.py rates            1,000,000 sessions each
    python3 dev.py rates 200000     as many as said

Exit code 1 when a figure is further off than both simulations allow.
"""

import sys
import time
from collections.abc import Sequence

from tests.evidence.rates.breaking_figures import ARCHIVE_FIGURES, SETUP_FIGURES, SHAPE_FIGURES
from tests.evidence.rates.decision_figures import (
    GAUGE_FIGURES,
    LOOK_FIGURES,
    PAIR_FIGURES,
    POWER_FIGURES,
)
from tests.evidence.rates.false_accept_figures import FALSE_ACCEPT_FIGURES
from tests.evidence.rates.figure import Figure
from tests.evidence.rates.wrong_figures import SAME_TABLE_FIGURES, WRONG_FIGURES

SESSIONS = 1_000_000
LEAST = 1000
GROUPS = {
    "a loss of the margin passes, our way (0.045 to 0.054)": FALSE_ACCEPT_FIGURES,
    "our way, the first table": SAME_TABLE_FIGURES,
    "power": POWER_FIGURES,
    "looks": LOOK_FIGURES,
    "one of each with declared drift": PAIR_FIGURES,
    "instruments": GAUGE_FIGURES,
    "where it breaks: disturbances": SHAPE_FIGURES,
    "where it breaks: archive too small": ARCHIVE_FIGURES,
    "plumbing": SETUP_FIGURES,
    "wrong ways": WRONG_FIGURES,
}


def show(figures: Sequence[Figure], repeats: int) -> int:
    """Print a group, and give how many of its figures do not come out."""
    off = 0
    for figure in figures:
        found, behind = figure.measure(repeats)
        good = abs(found - figure.printed) <= figure.allowance(behind)
        off += not good
        print(
            f"  {'' if good else 'OFF ':4}{figure.name:<58} {found:8.4f}  printed"
            f" {figure.printed:<6g} +-{figure.allowance(behind):.4f}  ({behind} sessions)",
            flush=True,
        )
    return off


def main(arguments: Sequence[str]) -> int:
    """Print all groups and give the exit code."""
    if len(arguments) > 1 or not all(each.isdecimal() for each in arguments):
        print(f"rates takes one whole number of sessions, not: {' '.join(arguments)}")
        return 2
    repeats = int(arguments[0]) if arguments else SESSIONS
    if repeats < LEAST:
        print(f"{repeats} sessions: at least {LEAST}")
        return 2
    off = 0
    for name, figures in GROUPS.items():
        started = time.monotonic()
        print(name)
        off += show(figures, repeats)
        print(f"  {time.monotonic() - started:.0f} s")
    total = sum(map(len, GROUPS.values()))
    print(f"{total - off} of {total} figures come out")
    return int(off > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
