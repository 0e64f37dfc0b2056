"""
A program that adds runs to cases until it is killed; its own forks, so that it starts only once.

Called with a folder, the number of trials and a seed.  Each trial has its own case; a run that was
acknowledged is a line in ``said`` beside it.
"""

import os
import random
import signal
import sys
import time
from pathlib import Path

from feedproof.records.folder import CaseFolder
from tests.records.documents import LOG, case_folder, run_table

LONGEST_S = 0.12


def add(case: CaseFolder, number: int) -> None:
    """Add a run with a log of its own."""
    log = case.path.parent / f"run{number}.csv"
    log.write_bytes(LOG + f"0.2,{1500 + number}\n".encode() * 400)
    case.add_run(run_table(number), {"cell": log})


def add_for_ever(case: CaseFolder) -> None:
    """Add run after run and say so after each."""
    said = os.open(case.path.parent / "said", os.O_CREAT | os.O_APPEND | os.O_WRONLY)
    for number in range(1, 50):
        add(case, number)
        os.write(said, f"{number}\n".encode())


def main(folder: Path, trials: int, seed: int) -> None:
    """Kill one adding process after another."""
    dice = random.Random(seed)
    for trial in range(trials):
        own = folder / str(trial)
        own.mkdir()
        case = case_folder(own)
        child = os.fork()
        if child == 0:
            try:
                add_for_ever(case)
            finally:
                os._exit(1)
        time.sleep(dice.uniform(0.0, LONGEST_S))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        assert os.WIFSIGNALED(status), "the process ended before it was killed"


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
