"""What is wrong with runs that somebody is about to add: all of it, before any log is read."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from feedproof.app.run_table import with_fuel
from feedproof.records.editing.marks import Mark, marks_of
from feedproof.records.folder import CASE, CaseFolder
from feedproof.records.raw import with_logs
from feedproof.records.writing import with_runs

Run = tuple[Mapping[str, Any], Mapping[str, Path]]
"""Table and logs of a run, as `feedproof.app.api.add_run` takes them."""


def run_mistakes(path: Path, runs: Sequence[Run]) -> tuple[Mark, ...]:
    """
    Check runs together, as the case's own reading checks them when they are added one by one.

    Parameters
    ----------
    path : Path
        Folder of the case.
    runs : sequence of (mapping, mapping of str to Path)
        Tables and logs.

    Returns
    -------
    tuple of Mark
        Mistakes with their paths in the document as it would be; nothing is written.

    Raises
    ------
    InputError, MissingError
        The case itself has mistakes, or a log cannot be taken at all.
    """
    folder = CaseFolder.open(path)
    case = folder.load().case
    text = (folder.path / CASE).read_bytes().decode("utf-8-sig")
    tables = [with_logs(with_fuel(table, case), logs) for table, logs in runs]
    reading = folder.examine(with_runs(text, tables).encode())
    return marks_of(each for each in reading.findings if each.level == "error")
