"""
Build the packaged demonstration case from its generator; for maintainers.

It runs ``make_logs.py`` with the committed seed, joins the vehicle's description with the run
tables, and lays out the case folder with hashes and a journal whose dates lie before the runs.
The result is committed; ``tests/demo`` rebuilds it and compares.

Usage: ``python tools/build_demo.py [OUTDIR]``
"""

import shutil
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "src" / "feedproof" / "scenario"
SEED = "1"
DECLARED = datetime(2026, 9, 7, 8, 0, tzinfo=UTC)
"""A week before the first run of the invented scenario."""


def build(target: Path, truth: Path) -> None:
    """
    Build the case folder.

    Parameters
    ----------
    target : Path
        Folder to write; replaced when it exists.
    truth : Path
        File for the planted truth, which only tests read.
    """
    from feedproof.records.demo_case import assemble_case

    with tempfile.TemporaryDirectory() as scratch:
        made = Path(scratch)
        subprocess.run(
            [sys.executable, str(DEMO / "make_logs.py"), str(made), "--seed", SEED], check=True
        )
        shutil.rmtree(target, ignore_errors=True)
        assemble_case(
            target,
            head=(DEMO / "vehicle.toml").read_text(encoding="utf-8"),
            runs=(made / "runs.toml").read_text(encoding="utf-8"),
            logs=made / "logs",
            declared=DECLARED,
        )
        shutil.copyfile(made / "truth.json", truth)


if __name__ == "__main__":
    if len(sys.argv) > 1:
        build(Path(sys.argv[1]) / "case", Path(sys.argv[1]) / "truth.json")
    else:
        build(DEMO / "case", ROOT / "tests" / "demo" / "truth.json")
