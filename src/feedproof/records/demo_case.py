"""Lay out a case folder from a description, run tables and logs, with a journal of past dates."""

from datetime import datetime, timedelta
from pathlib import Path

import tomlkit

from feedproof.core.errors import MissingError
from feedproof.records.folder import CASE, CaseFolder

_RUNS_BEGIN = "# Runs follow"


def assemble_case(
    target: Path, *, head: str, runs: str, logs: Path, declared: datetime
) -> CaseFolder:
    """
    Make the folder of an invented case.

    Parameters
    ----------
    target : Path
        Must not exist yet.
    head : str
        The description; everything from its line "# Runs follow" on is left out.
    runs : str
        The ``[[run]]`` tables, with logs that name file and instrument only.
    logs : Path
        Folder of the logs.
    declared : datetime
        Date of the margins' declaration, with offset.

    Returns
    -------
    CaseFolder
        The case, checked.

    Raises
    ------
    MissingError
        A log that is not there.
    InputError
        What `CaseFolder.load` refuses.
    """
    description = head.split(_RUNS_BEGIN, maxsplit=1)[0].rstrip() + "\n"
    folder = CaseFolder.create(target, description)
    folder.declare_margins(
        who="workshop (invented)", source="agreed before the test", when=declared
    )
    tables = tomlkit.parse(runs)
    added = []
    for run in tables["run"]:
        for log in run["logs"]:
            source = logs / log["file"]
            if not source.is_file():
                raise MissingError.at(str(source.name), "the generator did not write it.")
            log["sha256"] = folder.raw_logs.add(source, str(log["instrument"])).sha256
        added.append((run["number"], run["started"], [log["sha256"] for log in run["logs"]]))
    text = f"{description}\n{tomlkit.dumps(tables)}"
    (target / CASE).write_text(text, encoding="utf-8", newline="\n")
    for number, started, hashes in added:
        folder.journal.append(
            "run added",
            {"run": int(number), "logs": [str(each) for each in hashes]},
            who="workshop (invented)",
            when=started + timedelta(minutes=5),
        )
    folder.load()
    return folder
