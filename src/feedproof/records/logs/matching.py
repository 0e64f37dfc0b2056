"""Which column of a log each channel is, and in what unit it stands."""

import difflib
from dataclasses import dataclass

from feedproof.case.run import Channel, ChannelMap, Instrument
from feedproof.core.findings import Finding, error, note, warning
from feedproof.core.units import DIMENSIONS
from feedproof.records.logs.channels import kind_of, known_unit, same_unit
from feedproof.records.logs.dialect import Dialect, bare_name
from feedproof.records.logs.refused import INLET_CHANNELS, REMEDY, why_not_inlet


@dataclass(frozen=True, slots=True, kw_only=True)
class Matched:
    """
    A channel found in a log.

    Parameters
    ----------
    channel : Channel
        What it is.
    column : int
        Index of its column.
    unit : str
        Unit of its numbers; empty for a time that is written as a clock time.
    """

    channel: Channel
    column: int
    unit: str


def match_channels(
    instrument: Instrument, dialect: Dialect, place: str, time_is_number: bool | None = None
) -> tuple[tuple[Matched, ...], list[Finding]]:
    """
    Find every channel of an instrument among the columns of a log.

    Parameters
    ----------
    instrument : Instrument
        What its columns are called.
    dialect : Dialect
        What the columns of this file are called.
    place : str
        Name of the log, for the messages.
    time_is_number : bool or None
        False for clock times, which need no unit; None while it is not known.

    Returns
    -------
    tuple of (tuple of Matched, list of Finding)
        What was found, and errors for what was not.
    """
    findings: list[Finding] = []
    matched = []
    for entry in instrument.channels:
        where = f"{place}, channel {entry.channel}"
        column = _column(entry, dialect, where, findings)
        if column is None:
            continue
        why_not = why_not_inlet(dialect.columns[column])
        if why_not and entry.channel in INLET_CHANNELS:
            findings.append(error(where, f"{dialect.columns[column]!r}: {why_not}.", REMEDY))
            continue
        if entry.channel is Channel.TIME and time_is_number is not True:
            matched.append(Matched(channel=entry.channel, column=column, unit=""))
            continue
        unit = _unit(entry, dialect.units[column], where, findings)
        matched.append(Matched(channel=entry.channel, column=column, unit=unit))
    return tuple(matched), findings


def _folded(name: str) -> str:
    """Give a name without blanks and cases."""
    return "".join(name.split()).casefold()


def _column(entry: ChannelMap, dialect: Dialect, place: str, findings: list[Finding]) -> int | None:
    """Find a column by its exact name, else by its letters."""
    wanted = entry.column.strip()
    names = dialect.columns
    for exact, same in (
        (True, [i for i, name in enumerate(names) if name == wanted]),
        (True, [i for i, name in enumerate(names) if bare_name(name) == wanted]),
        (False, [i for i, name in enumerate(names) if _folded(name) == _folded(wanted)]),
        (
            False,
            [i for i, name in enumerate(names) if _folded(bare_name(name)) == _folded(wanted)],
        ),
    ):
        if len(same) > 1:
            numbers = ", ".join(str(i + 1) for i in same)
            findings.append(
                error(
                    place,
                    f"columns {numbers} are all named {wanted!r}.",
                    "Name the columns of the log differently.",
                )
            )
            return None
        if same:
            if not exact:
                findings.append(note(place, f"column {wanted!r} was found as {names[same[0]]!r}."))
            return same[0]
    findings.append(_not_found(wanted, names, place))
    return None


def _not_found(wanted: str, names: tuple[str, ...], place: str) -> Finding:
    """List the columns there are, and the nearest."""
    by_folded = {_folded(bare_name(name)): name for name in names}
    near = difflib.get_close_matches(_folded(wanted)[:100], list(by_folded), n=1, cutoff=0.5)
    nearest = f" The nearest is {by_folded[near[0]]!r}." if near else ""
    shown = ", ".join(repr(name[:60]) for name in names[:60])
    more = f" and {len(names) - 60} more" if len(names) > 60 else ""
    return error(
        place,
        f"no column is named {wanted!r}.{nearest} There are: {shown}{more}.",
        "Mend the channel's column in the instrument.",
    )


def _unit(entry: ChannelMap, in_file: str, place: str, findings: list[Finding]) -> str:
    """Settle the unit between the instrument's description and the file."""
    kind = kind_of(entry.channel)
    examples = ", ".join(DIMENSIONS[kind].examples)
    stated = entry.unit.strip()
    if not stated and not in_file:
        findings.append(
            error(
                place,
                f"no unit for {entry.column!r}: neither the instrument nor the log says one.",
                f"Write unit = ... (such as {examples}) at the channel.",
            )
        )
        return ""
    by_case = known_unit(stated, kind) if stated else None
    by_file = known_unit(in_file, kind) if in_file else None
    if stated and by_case is None:
        findings.append(_bad_unit(place, stated, "the instrument says", kind))
    if in_file and by_file is None and by_case is None:
        findings.append(_bad_unit(place, in_file, "the log says", kind))
    elif in_file and by_file is None:
        findings.append(
            warning(
                place,
                f"the log's unit {in_file!r} is not a known unit of {DIMENSIONS[kind].name};"
                f" {stated!r}, as the instrument says, was taken.",
                "Look whether they are the same.",
            )
        )
    if by_case and by_file and not same_unit(by_case, by_file, kind):
        findings.append(
            error(
                place,
                f"the instrument says {stated!r} and the log says {in_file!r}.",
                "Leave the channel's unit out, or mend it.",
            )
        )
    return by_case or by_file or ""


def _bad_unit(place: str, unit: str, who: str, kind: str) -> Finding:
    """Refuse a unit that cannot be converted."""
    dimension = DIMENSIONS[kind]
    return error(
        place,
        f"{who} {unit!r}, which is not a known unit of {dimension.name}.",
        f"Write one such as {', '.join(dimension.examples)}.",
    )
