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
DEMO = ROOT / "src" / "feedproof" / "demo"
SEED = "1"
DECLARED = datetime(2026, 9, 7, 8, 0, tzinfo=UTC)
"""A week before the first run of the invented scenario."""


def build(target: Path) -> None:
    """
    Build the case folder.

    Parameters
    ----------
    target : Path
        Folder to write; replaced when it exists.
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


if __name__ == "__main__":
    build(Path(sys.argv[1]) if len(sys.argv) > 1 else DEMO / "case")
