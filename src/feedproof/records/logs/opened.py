"""
Open a log of any kind: whatever it came as, what is read is a text in a known form.

A text log is its own text.  A log of another kind is written as text by the reader of its kind,
numbers with all their digits, and everything that follows (look, channels, units, plausibility,
decimal marks, times) is one code for all kinds.
"""

import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from feedproof.core.errors import InputError
from feedproof.core.progress import Progress, silent
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.guarded import as_text_guarded
from feedproof.records.logs.hints import checked_hints
from feedproof.records.logs.kinds import READERS, Kind, kind_of_file
from feedproof.records.logs.text import dialect_of, first_rows


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedLog:
    """
    A log as text.

    Parameters
    ----------
    text : Path
        The file itself, or the text into which it was written.
    dialect : Dialect
        Form of the text; its kind says what the log came as.
    """

    text: Path
    dialect: Dialect

    def first_rows(self) -> list[tuple[str, ...]]:
        """
        Divide the first rows of data.

        Returns
        -------
        list of tuple of str
            Cells of up to twenty rows.
        """
        return first_rows(self.text, self.dialect)


@contextmanager
def open_log(
    path: Path, hints: Mapping[str, str], *, progress: Progress = silent
) -> Iterator[OpenedLog]:
    """
    Open a log of any kind.

    Parameters
    ----------
    path : Path
        The file.
    hints : mapping of str to str
        What is stated about it; what does not concern its kind is not used.
    progress : Progress
        Told while a log is written as text.

    Yields
    ------
    OpenedLog
        Its text goes when the context ends.

    Raises
    ------
    InputError, WriteError
        Nothing can be concluded; a kind that is not read; limits of size, memory or time; no
        room for the text.
    """
    kind = kind_of_file(path)
    if kind is Kind.TEXT:
        yield OpenedLog(text=path, dialect=dialect_of(path, hints))
        return
    if kind not in READERS:
        raise InputError.at(
            "file", f"is a log of the kind {kind}, which is not read.", "Export it as text (CSV)."
        )
    stated = checked_hints(hints)
    with tempfile.TemporaryDirectory(prefix="feedproof-") as folder:
        target = Path(folder) / "log.txt"
        dialect = as_text_guarded(READERS[kind], path, stated, target, progress=progress)
        yield OpenedLog(text=target, dialect=dialect)
