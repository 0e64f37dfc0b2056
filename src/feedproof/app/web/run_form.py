"""The form that makes runs of the logs in the inbox: what it offers, and what it sends."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from feedproof.app.run_table import run_table
from feedproof.app.saying import pairs
from feedproof.app.web.inbox import Inbox, InboxLog
from feedproof.app.web.numbers import with_point
from feedproof.case.case import Case
from feedproof.case.run import Instrument, Role
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding, error
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


def sent_runs(
    form: Mapping[str, str],
    kits: Mapping[str, Sequence[str]],
    inbox: Inbox,
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
    has_comma : bool
        The workshop writes numbers with a decimal comma: one in a quantity is read as that.

    Returns
    -------
    list of (dict, dict of str to Path)
        Table and logs of every run that is ticked.

    Raises
    ------
    InputError
        Everything that is wrong, by run.
    """
    wrong: list[Finding] = []
    runs = []
    endings = sorted((k.removeprefix("take-") for k in form if k.startswith("take-")), key=_order)
    if not endings:
        raise InputError.at("runs", "none is ticked.", "Tick the runs that are to be added.")
    if has_comma:
        form = {
            name: with_point(text) if name.partition("-")[0] in QUANTITIES else text
            for name, text in form.items()
        }
    for ending in endings:
        try:
            runs.append(_sent_run(form, ending, kits.get(ending, ()), inbox))
        except FeedproofError as fault:
            wrong += fault.findings
    if wrong:
        raise InputError(wrong)
    return runs


def _sent_run(
    form: Mapping[str, str], ending: str, kits: Sequence[str], inbox: Inbox
) -> tuple[dict[str, Any], dict[str, Path]]:
    """Read one run."""

    def said(name: str) -> str:
        own = form.get(f"{name}-{ending}", "").strip()
        return own or (form.get(name, "").strip() if name in SHARED else "")

    place = f"run {said('number') or '?'}"
    wrong = []
    number = said("number")
    if not (number.isascii() and number.isdecimal() and 1 <= int(number[:9]) <= 1_000_000):
        wrong.append(error(place, f"its number is {number!r}.", "Write the one of the run sheet."))
    try:
        # The machine's own zone, where the page says no other: it stands in the workshop.
        started = datetime.fromisoformat(said("started")).astimezone()
    except ValueError:
        wrong.append(error(place, "has no start.", "Say the day and the time on the run sheet."))
    logs = {
        name.removeprefix("log-").removesuffix(f"-{ending}"): inbox.log(key).path
        for name, key in form.items()
        if name.startswith("log-") and name.endswith(f"-{ending}") and key
    }
    if not logs:
        wrong.append(error(place, "has no log.", "Choose at least one."))
    if wrong:
        raise InputError(wrong)
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
        elements=pairs(f"{place}, serials", _words(said("elements"))),
        loading=pairs(f"{place}, loadings", _words(said("loading"))),
        caught=said("caught"),
        caught_during=said("caught_during"),
        caught_temp=said("caught_temp"),
        caught_at=said("caught_at"),
        note=said("note"),
    )
    return table, logs


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
