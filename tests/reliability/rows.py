"""How many trials a row of the reliability table gets, and where their count is kept."""

import json
import os
from pathlib import Path

LONG = "FEEDPROOF_TORTURE"
"""Variable that `dev.py torture` sets: the file that takes the counts."""


def trials(short: int, full: int) -> int:
    """Give the number of trials: the short one unless the long form was asked for."""
    return full if os.environ.get(LONG) else short


def tally(row: str, done: int, failed: int = 0) -> None:
    """
    Add a count to the table that the long form prints; the test itself judges.

    Parameters
    ----------
    row : str
        The fault, in the words of the table.
    done, failed : int
        Trials made, and those that did not hold.
    """
    if path := os.environ.get(LONG):
        with Path(path).open("a", encoding="utf-8") as file:
            file.write(json.dumps({"row": row, "done": done, "failed": failed}) + "\n")
