"""
The trials of the reliability table at full length, and the table.

Run by ``python3 dev.py torture [ROW]``; a ROW is part of the name of rows.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.reliability.rows import LONG, ROWS, Row, table

HERE = Path(__file__).parent
LONGEST_S = 3600


def files_of(row: Row) -> list[Path]:
    """List the test files that count trials of a row."""
    files = sorted(HERE.glob("test_*.py"))
    return [file for file in files if f'"{row.key}' in file.read_text(encoding="utf-8")]


def main(arguments: list[str]) -> int:
    """Try, print the table, and give 1 when a row did not hold or was not tried."""
    wanted = " ".join(arguments)
    rows = [row for row in ROWS if wanted in row.name]
    files = sorted({file for row in rows for file in files_of(row)})
    if not files:
        print("no row with a test is called so; the rows are:", *(r.name for r in ROWS), sep="\n  ")
        return 2
    handle, name = tempfile.mkstemp(prefix="feedproof-torture-")
    os.close(handle)
    counts = Path(name)
    try:
        command = [sys.executable, "-m", "pytest", "-q", "-ra", f"--timeout={LONGEST_S}"]
        code = subprocess.run(
            [*command, *map(str, files)], env={**os.environ, LONG: name}, check=False
        ).returncode
        text = counts.read_text(encoding="utf-8")
    finally:
        counts.unlink()
    lines, held = table(text, {row.key for row in rows if files_of(row)}, wanted)
    print("\n" + "\n".join(lines))
    print("tests passed" if code == 0 else f"tests FAILED ({code})")
    return int(code != 0 or not held)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
