"""One log that was dropped in: what is concluded about it, and what its columns are."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from feedproof.app.api_edit import edit, edit_state
from feedproof.app.api_look import LookedAt, look
from feedproof.app.web.access import FormToken
from feedproof.app.web.inbox import InboxLog
from feedproof.app.web.pages_runs import inbox_of
from feedproof.app.web.screen import case_of, page, went_to, who_of
from feedproof.case.run import Channel, Instrument
from feedproof.core.errors import InputError
from feedproof.core.findings import error
from feedproof.records.editing.operations import SetValues
from feedproof.records.folder import CaseFolder
from feedproof.records.logs.channels import CHANNEL_KINDS, USUAL_UNITS
from feedproof.records.logs.hints import TIME_FORMS

router = APIRouter(prefix="/cases/{case}")
CHOICES: dict[str, tuple[tuple[str, str], ...]] = {
    "encoding": tuple((each, each) for each in ("utf-8", "cp1252", "utf-16", "iso-8859-15")),
    "delimiter": tuple((each, each) for each in ("comma", "semicolon", "tab", "bar", "blanks")),
    "decimal": (("point", "point: 1.5"), ("comma", "comma: 1,5")),
    "time_form": tuple((each, each) for each in TIME_FORMS),
}
"""What can be stated about a log's form where the conclusion is wrong."""
HINT_NAMES = {
    "encoding": "Letters are written as",
    "delimiter": "Columns are parted by",
    "decimal": "Decimal mark",
    "time_form": "Times are written as",
    "sheet": "Sheet of the workbook",
}
_ID = re.compile(r"[a-z][a-z0-9_]{0,39}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """
    A column as the form shows it.

    Parameters
    ----------
    number : int
        From 1.
    name : str
        As the log calls it.
    in_file : str
        Unit that the log names; empty where none.
    range : str
        Its readings in words.
    channel, unit : str
        What it is taken for now: chosen, mapped or suggested by its name; never by range alone.
    units : tuple of str
        Units to choose from.
    doubt : str
        What speaks against it.
    """

    number: int
    name: str
    in_file: str
    range: str
    channel: str
    unit: str
    units: tuple[str, ...]
    doubt: str


@router.get("/logs/{key}")
def one(request: Request, key: str) -> Response:
    """Show what is concluded about a log."""
    path = case_of(request)
    log = inbox_of(request).log(key)
    reading = CaseFolder.open(path).read()
    instruments = dict(reading.case.instruments) if reading.case else {}
    known = instruments.get(log.instrument)
    hints = {**(dict(known.dialect) if known else {}), **log.hints}
    seen = look([log.path], instrument=log.instrument or "logger", hints=hints).files[0]
    return page(
        request,
        "log.html",
        screen="runs",
        log=log,
        seen=seen,
        hints=hints,
        choices=CHOICES,
        hint_names=HINT_NAMES,
        instruments=instruments,
        known=known,
        lines=_lines(seen, known),
        channels=[each.value for each in Channel],
        revision=edit_state(path).revision,
    )


@router.post("/logs/{key}")
async def say(request: Request, key: str, _: FormToken) -> Response:
    """Correct what was concluded, or say which instrument a log comes from."""
    form = {name: str(value).strip() for name, value in (await request.form()).items()}
    hints = {name: form[name] for name in HINT_NAMES if form.get(name)}
    await run_in_threadpool(
        inbox_of(request).say, key, hints=hints, instrument=form.get("instrument", "")
    )
    return went_to(request, f"/cases/{request.path_params['case']}/logs/{key}")


@router.post("/logs/{key}/columns")
async def keep(request: Request, key: str, _: FormToken) -> Response:
    """Keep what the columns are, as an instrument of the case."""
    form = {name: str(value).strip() for name, value in (await request.form()).items()}
    return await run_in_threadpool(_keep, request, key, form)


def _keep(request: Request, key: str, form: Mapping[str, str]) -> Response:
    """Write the instrument to the case."""
    path, inbox = case_of(request), inbox_of(request)
    log = inbox.log(key)
    name = form.get("instrument", "")
    if not _ID.fullmatch(name):
        raise InputError.at(
            "instrument",
            f"{name!r} cannot be its short name.",
            "Write small letters, digits and underscores, such as dyno or logger_2.",
        )
    values: dict[str, Any] = {"channels": _channels(log, form)}
    case = CaseFolder.open(path).read().case
    if form.get("title") or case is None or name not in case.instruments:
        values["title"] = form.get("title") or name
    if log.hints:
        values["dialect"] = dict(log.hints)
    edit(
        path,
        form.get("revision", ""),
        SetValues(path=("instrument", name), values=values),
        who=who_of(request) or "operator",
    )
    inbox.say(key, hints={}, instrument=name)
    return went_to(request, f"/cases/{request.path_params['case']}/runs#inbox")


def _channels(log: InboxLog, form: Mapping[str, str]) -> dict[str, dict[str, Any]]:
    """Read the form's columns, each channel once."""
    seen = look([log.path], hints=dict(log.hints)).files[0]
    channels: dict[str, dict[str, Any]] = {}
    wrong = []
    for column in seen.columns:
        channel = form.get(f"channel-{column.number}", "")
        if not channel:
            continue
        if channel in channels:
            wrong.append(
                error(
                    f"column {column.name}",
                    f"{channel} was chosen for another column too.",
                    "Choose each quantity once.",
                )
            )
            continue
        channels[channel] = {"column": column.name}
        unit = form.get(f"unit-{column.number}", "")
        if unit and column.form == "number":
            channels[channel]["unit"] = unit
        elif column.form == "number" and not column.unit:
            wrong.append(
                error(
                    f"column {column.name}",
                    "has no unit, neither in the log nor here.",
                    "Say it: it is never guessed.",
                )
            )
    if "time" not in channels:
        wrong.append(error("columns", "none of them is the time.", "Choose which one is."))
    if wrong:
        raise InputError(wrong)
    return channels


def _lines(seen: LookedAt, known: Instrument | None) -> tuple[Line, ...]:
    """Say for each column what it is taken for."""
    mapped = {each.column.casefold(): each for each in known.channels} if known else {}
    lines = []
    for column in seen.columns:
        by_name = next((each for each in column.candidates if each.by_name), None)
        entry = mapped.get(column.name.casefold())
        channel = (
            entry.channel.value if entry else (by_name.channel if by_name and not known else "")
        )
        lines.append(
            Line(
                number=column.number,
                name=column.name,
                in_file=column.unit,
                range=_range(column.least, column.middle, column.greatest, column.form),
                channel=channel,
                unit=entry.unit if entry else "",
                units=_units(channel, column.unit),
                doubt=by_name.doubt if by_name else "",
            )
        )
    return tuple(lines)


def _units(channel: str, in_file: str) -> tuple[str, ...]:
    """Give the units to choose from: those of the channel's kind, or all."""
    kinds = {each.value: kind.kind for each, kind in CHANNEL_KINDS.items()} | {"time": "duration"}
    if channel in kinds:
        usual = USUAL_UNITS.get(kinds[channel], ())
    else:
        usual = tuple(unit for units in USUAL_UNITS.values() for unit in units)
    return tuple(dict.fromkeys(unit for unit in usual if unit != in_file))


def _range(least: float | None, middle: float | None, greatest: float | None, form: str) -> str:
    """Write a column's readings."""
    if least is None or middle is None or greatest is None:
        return form
    return f"{least:.5g} … {middle:.5g} … {greatest:.5g}"
