"""
The case folder: the truth of a case.

Laid out as::

    case.toml          what is meant: vehicle, kits, margins, runs
    raw/<sha256>/name  logs as they came
    results/<id>.json  results, never changed
    documents/<sha256> what results were made from, never changed
    journal.jsonl      what was declared, added, corrected and left out

Nothing is written before everything was checked, and what is written is whole or not there.
"""

import hashlib
import shutil
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from feedproof.case.case import Case
from feedproof.case.run import LogFile, Run
from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.core.findings import Finding, error, has_errors
from feedproof.records.corrections import amended, run_tables, vanished
from feedproof.records.documents import Documents
from feedproof.records.durable import locked, write_whole
from feedproof.records.interrupted import put_right, replace_and_tell
from feedproof.records.journal import Entry, Journal, cut_tail, require_words
from feedproof.records.loaded import Loaded
from feedproof.records.raw import RawLogs, with_logs
from feedproof.records.reading import (
    MARGINS_DECLARED,
    RUN_EXCLUDED,
    Reading,
    margins_digest,
    read_case,
    read_content,
    read_document,
)
from feedproof.records.results import Results
from feedproof.records.writing import with_run

CASE, RAW, RESULTS, JOURNAL = "case.toml", "raw", "results", "journal.jsonl"
DOCUMENTS = "documents"


class CaseFolder:
    """
    A folder that holds a case.

    Parameters
    ----------
    path : Path
        The folder.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.journal = Journal(path / JOURNAL)
        self.results = Results(path / RESULTS)
        self.raw_logs = RawLogs(path / RAW)
        self.documents = Documents(path / DOCUMENTS)

    @classmethod
    def open(cls, path: Path) -> "CaseFolder":
        """
        Open a case.

        Parameters
        ----------
        path : Path
            Its folder, or the document in it.

        Returns
        -------
        CaseFolder
            Not yet read.

        Raises
        ------
        MissingError
            There is no case.
        """
        folder = path.parent if path.name == CASE else path
        if not (folder / CASE).is_file():
            raise MissingError.at(
                str(path),
                f"there is no {CASE}.",
                "Name the folder of a case, or start one: feedproof new CASE.",
            )
        return cls(folder)

    @classmethod
    def create(cls, path: Path, document: str) -> "CaseFolder":
        """
        Make a folder for a new case.

        Parameters
        ----------
        path : Path
            Must not exist yet, or be empty.
        document : str
            Text of ``case.toml``.

        Returns
        -------
        CaseFolder
            With the document and empty places for the rest.

        Raises
        ------
        WriteError
            Something is there already, or nothing can be written.
        """
        if path.exists() and (not path.is_dir() or any(path.iterdir())):
            raise WriteError.at(
                str(path), "is there already.", "Name a folder that does not exist."
            )
        try:
            for folder in (path, path / RAW, path / RESULTS):
                folder.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise WriteError.at(
                str(path), f"cannot be made: {fault.strerror}.", "Name another folder."
            ) from fault
        write_whole(path / CASE, document.encode())
        return cls(path)

    def read(self) -> Reading:
        """
        Read document and journal with all their mistakes.

        Returns
        -------
        Reading
            Of the document; errors of the journal and of raw logs are among the findings.
        """
        return self._read()[0]

    def _read(self) -> tuple[Reading, tuple[Entry, ...]]:
        """Read document and journal once, and give the lines that the reading rests on."""
        entries, journal_findings = self.journal.read()
        reading = read_case(self.path / CASE, entries)
        findings = (*reading.findings, *journal_findings)
        if reading.case is not None:
            findings += tuple(self._raw_findings(reading.case))
            findings += tuple(vanished(entries, reading.case))
            findings += tuple(amended(entries, reading.content))
        if not has_errors(journal_findings):
            findings += cut_tail(JOURNAL, entries, self.results.journals_seen())
        usable = reading.case if not has_errors(findings) else None
        return replace(reading, case=usable, findings=findings), entries

    def examine(self, content: bytes) -> Reading:
        """
        Read a document that may take the place of the one that stands here.

        Parameters
        ----------
        content : bytes
            Of the document.

        Returns
        -------
        Reading
            With all findings but those of raw logs, which no document changes.
        """
        entries, findings = self.journal.read()
        reading = read_content(content, CASE, entries)
        findings = (*reading.findings, *findings, *amended(entries, content))
        if reading.case is not None:
            findings += tuple(vanished(entries, reading.case))
        usable = None if has_errors(findings) else reading.case
        return replace(reading, case=usable, findings=findings)

    def load(self) -> Loaded:
        """
        Read a case that must be usable.

        Returns
        -------
        Loaded
            The case with its warnings.

        Raises
        ------
        InputError
            All mistakes.
        """
        reading, entries = self._read()
        if reading.case is None:
            raise InputError([f for f in reading.findings if f.level == "error"])
        return Loaded(
            case=reading.case,
            findings=reading.findings,
            sha256=reading.sha256,
            content=reading.content,
            journal=entries,
        )

    def _raw_findings(self, case: Case) -> list[Finding]:
        """Find raw logs that are missing or are not what their hash says."""
        findings = []
        for run in case.runs:
            for position, log in enumerate(run.logs):
                place = f"{CASE}: run[{run.number}].logs[{position}]"
                fault = self.raw_logs.fault(log)
                if fault:
                    findings.append(error(place, fault, "Put the original file back."))
        return findings

    def raw(self, log: LogFile) -> Path:
        """
        Give the path of a raw log.

        Parameters
        ----------
        log : LogFile
            As a run names it.

        Returns
        -------
        Path
            Inside the folder.
        """
        return self.raw_logs.path_of(log)

    def add_run(
        self,
        table: Mapping[str, Any],
        logs: Mapping[str, Path],
        *,
        who: str = "operator",
        when: datetime | None = None,
        revision: str = "",
    ) -> Run:
        """
        Add a run: its logs to raw, its table to the document, a line to the journal.

        Parameters
        ----------
        table : mapping
            The run as ``case.toml`` holds it, without ``logs``.
        logs : mapping of str to Path
            Files by instrument.
        who : str
            Who adds it.
        when : datetime, optional
            For the journal; now when left out.
        revision : str
            Hash of the document that the caller read; empty to take it as it stands.

        Returns
        -------
        Run
            As the case now holds it.

        Raises
        ------
        InputError
            Everything that is wrong; nothing was written.
        MissingError
            A log that is not there; nothing was written.
        WriteError
            Changed by somebody else meanwhile, or no space.
        """
        with locked(self.path / CASE):
            put_right(self.path / CASE, self.journal)
            before = self._document_bytes()
            if revision and hashlib.sha256(before).hexdigest() != revision:
                raise WriteError.at(
                    CASE, "was changed by somebody else meanwhile.", "Check it and try again."
                )
            _, journal_findings = self.journal.read()
            if has_errors(journal_findings):
                raise InputError([f for f in journal_findings if f.level == "error"])
            text, found = self._with(before, table, logs)
            for instrument, source in logs.items():
                self.raw_logs.add(source, instrument)
            # An editor takes no lock: look once more before replacing the document.
            if self._document_bytes() != before:
                raise WriteError.at(
                    CASE, "was changed by somebody else meanwhile.", "Check it and try again."
                )
            data = {
                "run": found.number,
                "logs": {log.name: log.sha256 for log in found.logs},
                "table": run_tables(text.encode()).get(found.number, {}),
            }
            replace_and_tell(
                self.path / CASE, before, text.encode(), self.journal, data, who=who, when=when
            )
        return found

    def preview_run(self, table: Mapping[str, Any], logs: Mapping[str, Path]) -> Run:
        """
        Check a run as `add_run` would, without writing anything.

        Parameters
        ----------
        table, logs
            As for `add_run`.

        Returns
        -------
        Run
            As the case would hold it.

        Raises
        ------
        InputError, MissingError
            Everything that is wrong.
        """
        return self._with(self._document_bytes(), table, logs)[1]

    def _with(
        self, before: bytes, table: Mapping[str, Any], logs: Mapping[str, Path]
    ) -> tuple[str, Run]:
        """Give the document with a run added, checked, and the run."""
        text = with_run(before.decode("utf-8-sig"), with_logs(table, logs))
        return text, self._checked(text, table.get("number"))

    def _document_bytes(self) -> bytes:
        """Read the document as it stands."""
        return (self.path / CASE).read_bytes()

    def _checked(self, text: str, number: object) -> Run:
        """Check a document that is about to be written, and give the run that is new in it."""
        journal, _ = self.journal.read()
        try:
            document = tomllib.loads(text.replace("\r\n", "\n"))
        except tomllib.TOMLDecodeError as fault:
            raise InputError.at(
                CASE, f"cannot take the run: {fault}.", "Write runs as [[run]] tables."
            ) from fault
        reading = read_document(document, text, CASE, journal)
        if reading.case is None:
            raise InputError([f for f in reading.findings if f.level == "error"])
        return next(run for run in reading.case.runs if run.number == number)

    def declare_margins(self, *, who: str, source: str, when: datetime | None = None) -> Entry:
        """
        Declare the margins of the document in the journal.

        Parameters
        ----------
        who, source : str
            Who declares them, and what they come from.
        when : datetime, optional
            Now when left out.

        Returns
        -------
        Entry
            The line.
        """
        require_words({"who": who, "source": source})
        margins = self.load().case.margins
        data = {
            "digest": margins_digest(margins),
            "wheel_power_fraction": margins.wheel_power_fraction,
            "caught_return_fraction": margins.caught_return_fraction,
            "return_do_not_release_fraction": margins.return_do_not_release_fraction,
            "rail_deviation_pa": margins.rail_deviation_pa,
            "rail_deviation_s": margins.rail_deviation_s,
            **({"looks": list(margins.looks)} if margins.looks else {}),
            "primary": margins.primary.value,
        }
        return self.journal.append(MARGINS_DECLARED, data, who=who, why=source, when=when)

    def exclude_run(
        self, number: int, *, who: str, reason: str, when: datetime | None = None
    ) -> Entry:
        """
        Leave a run out, with its reason.

        Parameters
        ----------
        number : int
            Number of a run of the case.
        who, reason : str
            Who decides it and why.
        when : datetime, optional
            Now when left out.

        Returns
        -------
        Entry
            The line.

        Raises
        ------
        MissingError
            The case has no such run.
        InputError
            No person or no reason.
        """
        require_words({"who": who, "reason": reason})
        numbers = [run.number for run in self.load().case.runs]
        if number not in numbers:
            raise MissingError.at(
                f"run {number}",
                "the case has no such run.",
                f"It has: {', '.join(map(str, sorted(numbers))) or 'none'}.",
            )
        return self.journal.append(RUN_EXCLUDED, {"run": number}, who=who, why=reason, when=when)

    def copy_to(self, target: Path) -> "CaseFolder":
        """
        Copy the case as it stands.

        Parameters
        ----------
        target : Path
            Must not exist yet, or be empty.

        Returns
        -------
        CaseFolder
            The copy.

        Raises
        ------
        WriteError
            Something is there already, or it cannot be written.
        """
        if target.exists() and (not target.is_dir() or any(target.iterdir())):
            raise WriteError.at(
                str(target), "is there already.", "Name a folder that does not exist."
            )
        try:
            # The packaged case may be read-only; its copy must not be.
            shutil.copytree(self.path, target, copy_function=shutil.copyfile, dirs_exist_ok=True)
            for folder in (target, target / RESULTS):
                folder.mkdir(exist_ok=True)
        except OSError as fault:
            raise WriteError.at(
                str(target), f"cannot be written: {fault}.", "Name another folder."
            ) from fault
        return CaseFolder(target)
