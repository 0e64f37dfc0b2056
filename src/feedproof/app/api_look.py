"""The verb ``look``: what is concluded about log files before anything of them is used."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from feedproof.app.learned import KnownMapping, Lesson, known_for, remember
from feedproof.app.look_block import instrument_block
from feedproof.app.progress import Progress, patient, silent
from feedproof.case.case import Case
from feedproof.case.run import Instrument
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding, has_errors
from feedproof.records.buslog.own_dbc import with_dbc
from feedproof.records.folder import CaseFolder
from feedproof.records.loaded import Loaded
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.kinds import Kind
from feedproof.records.logs.looking import ColumnLook, look_at_log
from feedproof.records.logs.matching import match_channels

Confirmation = Callable[[Dialect, str], tuple[Finding, ...]]
"""Remembers what the case says of a file that was looked at; gives what must be known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LookedAt:
    """
    What is concluded about one file.

    Parameters
    ----------
    file : str
        Its name.
    usable : bool
        False where something must be stated or mended first.
    kind : str
        What the file is by its first bytes: ``text``, ``workbook``, ``Parquet``; empty where it
        could not be read.
    sheet : str
        Sheet of a workbook that was read.
    encoding, delimiter, decimal, line_end : str
        Form of the text, empty for other kinds; the decimal mark is empty where whole numbers
        only were seen.
    header_row, unit_row, first_data_row : int or None
        Line numbers, from 1: of a workbook, rows of the sheet; None where there is no such row.
    time_form : str
        How times are written.
    rows : int
        Rows of data.
    columns : tuple of ColumnLook
        What each holds and could be.
    notes : tuple of str
        Every conclusion with its reason.
    findings : tuple of Finding
        What was left out, what looks wrong, what must be asked.
    block : str
        TOML of the instrument, ready to paste.
    known : tuple of KnownMapping
        Mappings that were learned for a header of this shape; none of them was applied.
    """

    file: str
    usable: bool
    kind: str = ""
    sheet: str = ""
    encoding: str = ""
    delimiter: str = ""
    decimal: str = ""
    line_end: str = ""
    header_row: int | None = None
    unit_row: int | None = None
    first_data_row: int | None = None
    time_form: str = ""
    rows: int = 0
    columns: tuple[ColumnLook, ...] = ()
    notes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    block: str = ""
    known: tuple[KnownMapping, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LookReport:
    """
    What ``look`` says.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-look`` and its version.
    usable : bool
        True when every file is.
    files : tuple of LookedAt
        One for each file.
    """

    format: str
    version: int
    usable: bool
    files: tuple[LookedAt, ...]


def look(
    files: Sequence[Path | str],
    *,
    instrument: str = "",
    case: Path | None = None,
    hints: dict[str, str] | None = None,
    confirmed_by: str = "",
    progress: Progress = silent,
) -> LookReport:
    """
    Look at log files; nothing is written unless somebody confirms, and no unit is guessed.

    Parameters
    ----------
    files : sequence of Path
        The files.
    instrument : str
        Id of the instrument, for the block; with a case, one of its instruments, whose dialect
        and channels are then compared with the files.
    case : Path, optional
        Folder of the case, or the document in it.
    hints : dict of str to str, optional
        ``encoding``, ``delimiter``, ``decimal``, ``time_form``, ``sheet``, ``dbc``: what is
        stated and not concluded.
    confirmed_by : str
        Who confirms that the case's instrument reads these files rightly, so that its mapping is
        remembered for headers of their shape.
    progress : Progress
        Told of files that take more than a second.

    Returns
    -------
    LookReport
        One look for each file; a file that cannot be read says why.

    Raises
    ------
    InputError, MissingError
        No such case or instrument; a confirmation without a case.
    """
    if confirmed_by and case is None:
        raise InputError.at(
            "--remember", "confirms what a case says of its instrument.", "Name it: --case CASE."
        )
    folder = CaseFolder.open(case) if case is not None else None
    loaded = folder.load() if folder is not None else None
    known = _of_case(loaded.case, instrument) if loaded is not None else None
    settled: dict[str, str] = {}
    if known is not None and folder is not None and not {"dbc", "dbc_sha256"} & set(hints or {}):
        settled = dict(with_dbc(known, folder.path)[0].dialect)
    stated = {**(dict(known.dialect) if known else {}), **(hints or {})}
    if hints and "dbc" in hints:
        stated.pop("dbc_sha256", None)
    used = {**stated, **{k: v for k, v in settled.items() if k.startswith("dbc")}}
    confirm = _confirmation(loaded, instrument, confirmed_by)
    looks = tuple(
        _one(Path(each), instrument, known, stated, used, progress, confirm) for each in files
    )
    return LookReport(
        format="feedproof-look", version=1, usable=all(each.usable for each in looks), files=looks
    )


def _of_case(case: Case, instrument: str) -> Instrument:
    """Find an instrument of a case."""
    if instrument not in case.instruments:
        raise InputError.at(
            "--instrument",
            f"the case has no instrument {instrument!r}.",
            f"It has: {', '.join(case.instruments) or 'none'}.",
        )
    return case.instruments[instrument]


def _confirmation(loaded: Loaded | None, instrument: str, who: str) -> Confirmation:
    """Give what remembers a file's mapping, or leaves it."""

    def confirm(form: Dialect, name: str) -> tuple[Finding, ...]:
        if loaded is None or not who:
            return ()
        why = f"case {loaded.case.title!r}, confirmed on {name}"
        lesson = Lesson(instrument=instrument, dialect=form)
        return remember([lesson], loaded.content, who=who, why=why)

    return confirm


def _one(
    path: Path,
    instrument: str,
    known: Instrument | None,
    stated: dict[str, str],
    used: dict[str, str],
    progress: Progress,
    confirm: Confirmation,
) -> LookedAt:
    """Look at one file."""
    try:
        seen = look_at_log(path, used, progress=patient(progress))
    except FeedproofError as fault:
        return LookedAt(file=path.name, usable=False, findings=fault.findings)
    form = seen.dialect
    is_text = form.kind == Kind.TEXT
    line_end = "carriage return" if form.line_end == "\r" else "line feed"
    findings = list(seen.findings)
    if known is not None:
        as_number = all(each.form in ("number", "text") for each in seen.columns)
        findings += match_channels(known, form, path.name, as_number)[1]
    learned, told = known_for(form, path.name)
    findings += told
    if not has_errors(findings):
        findings += confirm(form, path.name)
    return LookedAt(
        file=path.name,
        usable=not has_errors(findings),
        kind=form.kind,
        sheet=form.sheet,
        encoding=form.encoding if is_text else "",
        delimiter=form.delimiter if is_text else "",
        decimal=form.decimal if is_text else "",
        line_end=line_end if is_text else "",
        header_row=form.header_row,
        unit_row=form.unit_row,
        first_data_row=form.first_data_row,
        time_form=form.time_form,
        rows=seen.rows,
        columns=seen.columns,
        notes=form.notes,
        findings=tuple(findings),
        block=instrument_block(instrument or "logger", form, seen.columns, stated),
        known=learned,
    )
