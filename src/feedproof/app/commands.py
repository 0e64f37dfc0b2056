"""The verbs as commands: read the words, call a verb, print text or one JSON document."""

import json as json_text
from datetime import datetime
from pathlib import Path
from typing import Literal

from feedproof.app import api
from feedproof.app.naming import named_archive
from feedproof.app.progress import bar
from feedproof.app.run_table import run_table
from feedproof.app.saying import pairs, say
from feedproof.core.errors import InputError


def demo(out: Path = Path("feedproof-demo"), /, *, json: bool = False) -> int:
    """
    Copy the invented demonstration case, then predict, prove and publish it.

    Parameters
    ----------
    out : Path
        Folder to write; it must not exist yet, or be one that this command wrote before.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    with bar() as progress:
        told = api.demo(out, progress=progress)
    say(told, told.text(), as_json=json)
    return 0


def new(case: Path, /, *, json: bool = False) -> int:
    """
    Start a case from a commented template.

    Parameters
    ----------
    case : Path
        Folder to make; it must not exist yet.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.new(case)
    say(told, told.text(), as_json=json)
    return 0


def check(case: Path, /, *, json: bool = False) -> int:
    """
    Say everything that is wrong with a case, all at once.

    Parameters
    ----------
    case : Path
        Folder of the case.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        0 when there is no error (warnings allowed), 2 otherwise.
    """
    with bar() as progress:
        told = api.check(case, progress=progress)
    say(told, told.text(), as_json=json)
    return 0 if told.usable else InputError.exit_code


def add_run(
    case: Path,
    logs: list[str],
    /,
    *,
    number: int,
    started: datetime,
    ambient: str,
    air_temp: str,
    humidity: str,
    level: str,
    kit: list[str] | None = None,
    session: str | None = None,
    role: str = "compare",
    setup: str = "as-fitted",
    fuel: str | None = None,
    zero_before: str | None = None,
    zero_after: str | None = None,
    element: list[str] | None = None,
    loading: list[str] | None = None,
    caught: str | None = None,
    caught_during: str | None = None,
    caught_temp: str | None = None,
    caught_at: str | None = None,
    note: str = "",
    who: str = "operator",
    learn: bool = True,
    json: bool = False,
) -> int:
    """
    Add a recorded run with its logs to a case.

    Parameters
    ----------
    case : Path
        Folder of the case.
    logs : list of str
        Logs as INSTRUMENT=FILE, with an instrument of the case.
    number : int
        Number on the run sheet.
    started : datetime
        Start of the run with its offset from UTC, such as 2026-09-14T09:42:00+02:00.
    ambient : str
        Air pressure in the cell, such as 91.1kPa.
    air_temp : str
        Air temperature, such as 19degC.
    humidity : str
        Relative humidity, such as 52%.
    level : str
        Fuel in the tank, such as 58% or 52L.
    kit : list of str
        Kits in the line; none is the baseline.
    session : str
        Name of the session; the day of the run when left out.
    role : str
        warm_up, compare, loaded or control.
    setup : str
        Name of the plumbing: a new one each time hose was cut or moved.
    fuel : str
        Fuel of the case; its reference fuel when left out.
    zero_before : str
        Reading of the inlet sensor at rest before the run, such as 0.12kPa.
    zero_after : str
        The same after the run.
    element : list of str
        Serial of a fitted element, such as factory_filter=F-17.
    loading : list of str
        Known loading of an element, such as secondary_element=9g.
    caught : str
        Return fuel caught, such as 1.42L or, weighed, 1.19kg.
    caught_during : str
        How long it was caught, such as 60s.
    caught_temp : str
        Temperature of the fuel in the measure, such as 44degC; a mass needs none.
    caught_at : str
        Engine speed of a steady catch, such as 3000rpm; left out when caught over the pull.
    note : str
        Anything that the operator wants to say.
    who : str
        Who adds it.
    learn : bool
        Remember what the columns of the logs mean, for files with the same header.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    run = run_table(
        number=number,
        kits=tuple(kit or ()),
        session=session or started.date().isoformat(),
        started=started,
        role=role,
        setup=setup,
        ambient=ambient,
        air_temp=air_temp,
        humidity=humidity,
        level=level,
        fuel=fuel,
        zero_before=zero_before,
        zero_after=zero_after,
        elements=pairs("--element", element or []),
        loading=pairs("--loading", loading or []),
        caught=caught,
        caught_during=caught_during,
        caught_temp=caught_temp,
        caught_at=caught_at,
        note=note,
    )
    with bar() as progress:
        told = api.add_run(case, run, pairs("logs", logs), who=who, learn=learn, progress=progress)
    say(told, told.text(), as_json=json)
    return 0


def declare(case: Path, /, *, who: str, source: str, json: bool = False) -> int:
    """
    Declare the case's margins in its journal, before the first run with a kit.

    Parameters
    ----------
    case : Path
        Folder of the case.
    who : str
        Who declares them.
    source : str
        What they come from.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.declare(case, who=who, source=source)
    say(told, told.text(), as_json=json)
    return 0


def exclude(case: Path, number: int, /, *, who: str, reason: str, json: bool = False) -> int:
    """
    Leave a run out, with the reason that will be printed.

    Parameters
    ----------
    case : Path
        Folder of the case.
    number : int
        Number of the run.
    who : str
        Who decides it.
    reason : str
        Why; it is kept in the journal and printed in every report.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.exclude(case, number, who=who, reason=reason)
    say(told, told.text(), as_json=json)
    return 0


def prove(
    case: Path,
    /,
    *,
    for_: Literal["engineer", "customer"] = "engineer",
    archive: Path | None = None,
    json: bool = False,
) -> int:
    """
    Decide from the runs: no loss within the margin, a loss, or cannot tell.

    Parameters
    ----------
    case : Path
        Folder of the case.
    for_ : str
        Who the text is for: the engineer gets every figure that the answer rests on, the customer
        a few plain sentences; the JSON document holds both.
    archive : Path
        Archive of repeatability, or store for the one in the database; FEEDPROOF_ARCHIVE when
        left out. Its figure is used where the case declares none, or one with source "archive".
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        0 whatever the verdict; a verdict is no failure of the program.
    """
    with bar() as progress:
        told = api.prove(case, archive=named_archive(archive), progress=progress)
    say(told, "" if json else api.words_of(case, told, reader=for_), as_json=json)
    return 0


def publish(
    case: Path,
    /,
    *,
    out: Path | None = None,
    archive: Path | None = None,
    force: bool = False,
    json: bool = False,
) -> int:
    """
    Write the report: one HTML page and one PDF.

    Parameters
    ----------
    case : Path
        Folder of the case.
    out : Path
        Folder for the two files; the case's own folder ``report`` when left out.
    archive : Path
        As for prove.
    force : bool
        Write over files that are not this case's own report, or were changed by hand since.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    with bar() as progress:
        told = api.publish(
            case, out, archive=named_archive(archive), force=force, progress=progress
        )
    say(told, told.text(), as_json=json)
    return 0


def schema(document: str = "case", /) -> int:
    """
    Print the JSON Schema of a document.

    Parameters
    ----------
    document : str
        case, prediction, envelope, faults, sensitivity, cold-start, plan, proof, check, written
        or demo.

    Returns
    -------
    int
        Exit code.
    """
    from feedproof.app.schemas import schema as schema_of_document

    print(json_text.dumps(schema_of_document(document), ensure_ascii=False, indent=1))
    return 0
