"""
A program that has jobs and waits, as a server does.

Called with the workspace and ``closes`` or ``dies``: whether it ends its jobs in good order when it
is interrupted.  It prints the ids of its processes and of the job that runs.
"""

import sys
import time
from pathlib import Path

from feedproof.app.jobs.limits import Limits
from feedproof.app.jobs.running import Jobs
from tests.app.jobs.slow_verbs import TABLE


def main(root: Path, how: str) -> None:
    """Run until interrupted."""
    jobs = Jobs(root, limits=Limits(processes=1), table=TABLE)
    job = jobs.submit("write", root / "case", {"to": 6000, "each_s": 0.01})
    waiting = jobs.submit("count", root / "case")
    while jobs.state(job.id).progress.done < 5:
        time.sleep(0.01)
    time.sleep(1.2)
    try:
        # An interrupt may come as soon as the line is read.
        print(*jobs.pids, job.id, waiting.id, flush=True)
        time.sleep(60)
    except KeyboardInterrupt:
        if how == "closes":
            jobs.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
