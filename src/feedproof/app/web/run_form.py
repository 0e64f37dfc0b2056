"""The form that makes runs of the logs in the inbox: what it offers, and what it sends."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from feedproof.app.run_mistakes import run_mistakes
from feedproof.app.run_table import run_table
from feedproof.app.saying import pairs
from feedproof.app.web.inbox import Inbox, InboxLog
from feedproof.app.web.numbers import with_point
from feedproof.case.case import Case
from feedproof.case.run import Instrument, Role
from feedproof.core.errors import FeedproofError, InputError, MissingError
from feedproof.core.findings import Finding, error
from feedproof.records.editing.marks import Mark
from feedproof.records.folder import CASE
from feedproof.records.logs.matching import match_channels
from feedproof.records.logs.opened import open_log

ROLES = {
    Role.COMPARE: "to be compared",
    Role.WARM_UP: "warm-up, not compared",
    Role.LOADED: "with a loaded element",
    Role.CONTROL: "positive control: a loss put in on purpose",
}
SHARED = ("session", "setup", "fuel", "ambient", "air_temp", "humidity", "level")
"""Fields that runs of one session have in common."""
QUANTITIES = (
    "ambient", "air_temp", "humidity", "level", "zero_before", "zero_after", "caught",
    "caught_during", "caught_temp", "caught_at",
)  # fmt: skip
"""Fields that are a number with its unit."""
MOST_RUNS = 1_000_000
"""Highest number of a run."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """
    A run that the form offers.

    Parameters
    ----------
    number : int
        The next free ones.
    logs : mapping of str to str
        Key of the log by instrument, paired in the order of their names.
    """

    number: int
    logs: Mapping[str, str]


def suggested(case: Case, log: InboxLog) -> str:
    """
    Say which instrument of a case a log fits; by its columns, never by its name.

    Parameters
    ----------
    case : Case
        With its instruments.
    log : InboxLog
        The log.

    Returns
    -------
    str
        Id; empty where none fits or more than one does.
    """
    if log.instrument in case.instruments:
        return log.instrument
    fitting = [i for i, each in case.instruments.items() if _fits(each, log)]
    return fitting[0] if len(fitting) == 1 else ""


def offers(case: Case, by_instrument: Mapping[str, Sequence[InboxLog]]) -> tuple[Offer, ...]:
    """
    Pair logs to runs.

    Parameters
    ----------
    case : Case
        With its runs.
    by_instrument : mapping of str to sequence of InboxLog
        Logs in the order of their names.

    Returns
    -------
    tuple of Offer
        As many as the instrument with the most logs has.
    """
    first = max((run.number for run in case.runs), default=0) + 1
    count = max((len(logs) for logs in by_instrument.values()), default=0)
    return tuple(
        Offer(
            number=first + i,
            logs={name: logs[i].key for name, logs in by_instrument.items() if i < len(logs)},
        )
        for i in range(count)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SentRun:
    """
    A run as a form sends it.

    Parameters
    ----------
    label : str
        What findings call it.
    table : dict
        As ``case.toml`` holds it; a stand-in where the form's own field was no use.
    logs : dict of str to Path
        Files by instrument.
    wrong : tuple of Finding
        What is wrong with the form's own fields.
    has_number : bool
        False where a number stands in for the one that was typed.
    """

    label: str
    table: dict[str, Any]
    logs: dict[str, Path]
    wrong: tuple[Finding, ...]
    has_number: bool


def sent_runs(
    form: Mapping[str, str],
    kits: Mapping[str, Sequence[str]],
    inbox: Inbox,
    path: Path,
    *,
    has_comma: bool = False,
) -> list[tuple[dict[str, Any], dict[str, Path]]]:
    """
    Read the runs that a form sends.

    Parameters
    ----------
    form : mapping of str to str
        Fields; those of run ``i`` end in ``-i``.
    kits : mapping of str to sequence of str
        Kits ticked, by the same ending.
    inbox : Inbox
        Where the logs are.
    path : Path
        Folder of the case, whose own reading checks the tables.
    has_comma : bool
        The workshop writes numbers with a decimal comma: one in a quantity is read as that.

    Returns
    -------
    list of (dict, dict of str to Path)
        Table and logs of every run that is ticked.

    Raises
    ------
    InputError
        Everything that is wrong, by run; what only the logs can tell is told when they are read.
    """
    endings = sorted((k.removeprefix("take-") for k in form if k.startswith("take-")), key=_order)
    if not endings:
        raise InputError.at("runs", "none is ticked.", "Tick the runs that are to be added.")
    if has_comma:
        form = {
            name: with_point(text) if name.partition("-")[0] in QUANTITIES else text
            for name, text in form.items()
        }
    runs = [_sent_run(form, ending, kits.get(ending, ()), inbox) for ending in endings]
    if wrong := _told(runs, run_mistakes(path, [(run.table, run.logs) for run in runs])):
        raise InputError(wrong)
    return [(run.table, run.logs) for run in runs]


def _told(runs: Sequence[SentRun], marks: Sequence[Mark]) -> list[Finding]:
    """Tell what is wrong, run by run: of its fields first, then of its table."""
    told: list[Finding] = []
    left = list(marks)
    for run in runs:
        told += run.wrong
        start = f"run[{run.table['number']}]"
        mine = [mark for mark in left if _is_below(mark.path, start)]
        left = [mark for mark in left if mark not in mine]
        for mark in mine:
            # A number that stands in for another is never told.
            inside = mark.path.removeprefix(start).lstrip(".")
            where = mark.path if run.has_number else inside
            told.append(error(f"{run.label}, {where}", mark.message, mark.remedy))
    return told + [error(mark.path or CASE, mark.message, mark.remedy) for mark in left]


def _is_below(path: str, start: str) -> bool:
    """Say whether a path leads to a table or into it."""
    return path == start or path.startswith((f"{start}.", f"{start}["))


def _sent_run(form: Mapping[str, str], ending: str, kits: Sequence[str], inbox: Inbox) -> SentRun:
    """Read one run; a field that is no use is told, and a stand-in takes its place."""

    def said(name: str) -> str:
        own = form.get(f"{name}-{ending}", "").strip()
        return own or (form.get(name, "").strip() if name in SHARED else "")

    label = f"run {said('number') or '?'}"
    wrong: dict[str, list[Finding]] = {}
    number = said("number")
    if not (number.isascii() and number.isdecimal() and 1 <= int(number[:9]) <= MOST_RUNS):
        told = error(label, f"its number is {number!r}.", "Write the one of the run sheet.")
        wrong["number"] = [told]
        number = str(MOST_RUNS - _order(ending)[0] % 1000)
    try:
        # The machine's own zone, where the page says no other: it stands in the workshop.
        started = datetime.fromisoformat(said("started")).astimezone()
    except ValueError:
        told = error(label, "has no start.", "Say the day and the time on the run sheet.")
        wrong["started"] = [told]
        started = datetime.now().astimezone().replace(microsecond=0)
    logs = _logs(form, ending, inbox, label, wrong)
    elements, loading = (
        _pairs(f"{label}, {words}", said(key), key, wrong)
        for key, words in (("elements", "serials"), ("loading", "loadings"))
    )
    table = run_table(
        number=int(number),
        kits=kits,
        session=said("session") or started.date().isoformat(),
        started=started,
        role=said("role") or Role.COMPARE.value,
        setup=said("setup") or "as-fitted",
        ambient=said("ambient"),
        air_temp=said("air_temp"),
        humidity=said("humidity"),
        level=said("level"),
        fuel=said("fuel"),
        zero_before=said("zero_before"),
        zero_after=said("zero_after"),
        elements=elements,
        loading=loading,
        caught=said("caught"),
        caught_during=said("caught_during"),
        caught_temp=said("caught_temp"),
        caught_at=said("caught_at"),
        note=said("note"),
    )
    findings = tuple(each for told in wrong.values() for each in told)
    return SentRun(
        label=label, table=table, logs=logs, wrong=findings, has_number="number" not in wrong
    )


def _logs(
    form: Mapping[str, str], ending: str, inbox: Inbox, label: str, wrong: dict[str, list[Finding]]
) -> dict[str, Path]:
    """Find the logs of a run by instrument."""
    found: dict[str, Path] = {}
    for name, key in form.items():
        if not (name.startswith("log-") and name.endswith(f"-{ending}") and key):
            continue
        try:
            instrument = name.removeprefix("log-").removesuffix(f"-{ending}")
            found[instrument] = inbox.log(key).path
        except MissingError as fault:
            wrong.setdefault("logs", []).extend(
                error(f"{label}, {each.place}", each.message, each.remedy)
                for each in fault.findings
            )
    if not found and "logs" not in wrong:
        wrong["logs"] = [error(label, "has no log.", "Choose at least one.")]
    return found


def _pairs(place: str, text: str, key: str, wrong: dict[str, list[Finding]]) -> dict[str, str]:
    """Read names with values."""
    try:
        return pairs(place, _words(text))
    except InputError as fault:
        wrong[key] = list(fault.findings)
        return {}


def _words(text: str) -> list[str]:
    """Part a list at its commas."""
    return [word.strip() for word in text.split(",") if word.strip()]


def _order(ending: str) -> tuple[int, str]:
    """Put endings in the order of their numbers."""
    return (int(ending) if ending.isdecimal() else 0, ending)


def _fits(instrument: Instrument, log: InboxLog) -> bool:
    """Say whether every channel of an instrument is among a log's columns."""
    # A log of a library's kind is opened by a process of its own: once is enough.
    return _fitting(str(log.path), _Asked(repr(instrument), instrument))


class _Asked:
    """An instrument as an argument of a cached function: equal where it is written alike."""

    def __init__(self, key: str, instrument: Instrument) -> None:
        self.key, self.instrument = key, instrument

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Asked) and other.key == self.key


@lru_cache(maxsize=512)
def _fitting(path: str, asked: _Asked) -> bool:
    """Open a log and look for the instrument's channels."""
    try:
        with open_log(Path(path), asked.instrument.dialect) as opened:
            findings = match_channels(asked.instrument, opened.dialect, "")[1]
    except (FeedproofError, OSError):
        return False
    return not any(each.level == "error" for each in findings)
