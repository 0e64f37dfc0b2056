"""
What was learned of instruments: remembered when a log was used, shown when one is alike.

The database stands beside a measurement here and never in its way: it is waited for two seconds,
and where it cannot be asked or written, that is told and the work goes on.
"""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from feedproof.app.look_block import learned_block
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding, warning
from feedproof.records.logs.dialect import Dialect
from feedproof.records.store.address import is_there
from feedproof.records.store.kinds import ChannelColumn, Kept, LearnedMapping
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store

PATIENCE_S = 2.0
"""How long a measurement waits for the database."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownMapping:
    """
    A mapping that was learned for a header of this shape.

    Parameters
    ----------
    instrument : str
        Its id in the case that it was learned from.
    learned, who, why : str
        When (UTC), by whom and from what.
    channels : mapping of str to ChannelColumn
        Columns by channel.
    dialect : mapping of str to str
        Hints about the form of its logs.
    sha256 : str
        Hash of the record.
    block : str
        TOML of the instrument, ready to paste.
    """

    instrument: str
    learned: str
    who: str
    why: str
    channels: Mapping[str, ChannelColumn]
    dialect: Mapping[str, str]
    sha256: str
    block: str

    def told(self) -> str:
        """Say in one line where it comes from."""
        return (
            f"known instrument {self.instrument!r}, mapping learned on {self.learned[:10]} by"
            f" {self.who} from {self.why or 'an entry without reason'}"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """
    What one log has taught.

    Parameters
    ----------
    instrument : str
        Id of the instrument that wrote it.
    dialect : Dialect
        Form of the log.
    """

    instrument: str
    dialect: Dialect


def shape_of(dialect: Dialect) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """
    Give the cells that make the shape of a log's header.

    Parameters
    ----------
    dialect : Dialect
        Form of the log.

    Returns
    -------
    tuple of tuple of str
        Cells of the header, and of its unit row where there is one.
    """
    return dialect.columns, dialect.units if dialect.unit_row is not None else ()


def known_for(dialect: Dialect, place: str) -> tuple[tuple[KnownMapping, ...], list[Finding]]:
    """
    Look up what was learned for a log's header; nothing is written and no database is made.

    Parameters
    ----------
    dialect : Dialect
        Form of the log.
    place : str
        Name of the log, for the findings.

    Returns
    -------
    known : tuple of KnownMapping
        Of every instrument that writes such a header.
    findings : list of Finding
        Mappings that contradict each other; that the database could not be asked.
    """
    columns, units = shape_of(dialect)
    try:
        if not is_there():
            return (), []
        with Store.open(patience_s=PATIENCE_S) as store:
            found = store.mappings(columns, units)
    except (FeedproofError, OSError) as fault:
        return (), [_unasked("no mapping that was learned is shown", fault)]
    known = tuple(known_mapping(each) for each in found)
    return known, _contradictions(found, place)


def known_mapping(kept: Kept[LearnedMapping]) -> KnownMapping:
    """
    Lay a mapping out with its block.

    Parameters
    ----------
    kept : Kept of LearnedMapping
        From the database.

    Returns
    -------
    KnownMapping
        To be shown.
    """
    return KnownMapping(
        instrument=kept.record.instrument,
        learned=kept.row.at,
        who=kept.row.who,
        why=kept.row.why,
        channels=kept.record.channels,
        dialect=kept.record.dialect,
        sha256=kept.row.sha256,
        block=learned_block(kept.record),
    )


def remember(
    lessons: Sequence[Lesson], document: bytes, *, who: str, why: str
) -> tuple[Finding, ...]:
    """
    Remember what a case says of the instruments whose logs it has just used.

    Parameters
    ----------
    lessons : sequence of Lesson
        One for each log.
    document : bytes
        The case's document.
    who, why : str
        Who used them, and from what it was learned.

    Returns
    -------
    tuple of Finding
        Warnings: an earlier mapping that it replaces, another instrument's that contradicts it,
        or that nothing could be remembered.
    """
    tables = tomllib.loads(document.decode("utf-8-sig").replace("\r\n", "\n"))["instrument"]
    told: list[Finding] = []
    try:
        with Store.open(patience_s=PATIENCE_S) as store:
            for lesson in lessons:
                table = tables[lesson.instrument]
                told += _remember_one(store, lesson, table, Signed(who=who, why=why))
    except (FeedproofError, OSError) as fault:
        told.append(_unasked("what the columns mean is not remembered", fault))
    return tuple(told)


def _remember_one(
    store: Store, lesson: Lesson, table: Mapping[str, Any], signed: Signed
) -> list[Finding]:
    """Remember one instrument's mapping unless it stands already."""
    columns, units = shape_of(lesson.dialect)
    channels = {name: _column(each) for name, each in table["channels"].items()}
    dialect = {name: str(value) for name, value in table.get("dialect", {}).items()}
    alike = store.mappings(columns, units)
    told = []
    before = next((e for e in alike if e.record.instrument == lesson.instrument), None)
    for other in alike:
        differing = _differing(other.record, channels)
        if other is not before and differing:
            told.append(_other_instrument(lesson.instrument, other, differing))
    if before is not None:
        differing = _differing(before.record, channels)
        if not differing and dict(before.record.dialect) == dialect:
            return told
        told.append(_replaced(before, differing or ["the hints about its form"]))
    store.remember_mapping(
        lesson.instrument, columns, channels, signed, units=units, dialect=dialect
    )
    return told


def _column(entry: Mapping[str, Any]) -> ChannelColumn:
    """Take a channel as the case writes it."""
    words = {name: str(entry[name]) for name in ("ceiling", "floor", "resolution") if name in entry}
    return ChannelColumn(column=entry["column"], unit=entry.get("unit", ""), **words)


def _differing(known: LearnedMapping, channels: Mapping[str, ChannelColumn]) -> list[str]:
    """Say which channels two mappings read otherwise, the known one first."""
    return [
        f"{name}: {_said(known.channels.get(name))}, now {_said(channels.get(name))}"
        for name in sorted({*known.channels, *channels})
        if known.channels.get(name) != channels.get(name)
    ]


def _said(column: ChannelColumn | None) -> str:
    """Name a column with its unit."""
    if column is None:
        return "none"
    ends = [
        f"{name} {value}"
        for name in ("ceiling", "floor", "resolution")
        if (value := getattr(column, name))
    ]
    return ", ".join([f"{column.column!r} [{column.unit or 'as the log says'}]", *ends])


def _contradictions(found: Sequence[Kept[LearnedMapping]], place: str) -> list[Finding]:
    """Say where instruments that write one header are read differently."""
    first, told = found[0] if found else None, []
    for other in found[1:]:
        assert first is not None
        differing = _differing(first.record, other.record.channels)
        if differing:
            told.append(
                warning(
                    place,
                    f"two mappings are known for this header: {first.record.instrument!r}"
                    f" ({first.row.at[:10]}) and {other.record.instrument!r}"
                    f" ({other.row.at[:10]}) differ in {'; '.join(differing)}.",
                    "Take the one of the instrument that wrote it, or forget the wrong one:"
                    " feedproof mapping forget.",
                )
            )
    return told


def _other_instrument(name: str, other: Kept[LearnedMapping], differing: list[str]) -> Finding:
    """Warn that another instrument with the same header is read differently."""
    return warning(
        f"instrument {name}",
        f"writes the same header as {other.record.instrument!r}, of which"
        f" {other.row.why or 'an entry'} says otherwise: {'; '.join(differing)}.",
        "One of them is wrong where both are the same instrument: feedproof mapping show.",
    )


def _replaced(before: Kept[LearnedMapping], differing: list[str]) -> Finding:
    """Warn that an earlier mapping of the instrument is replaced."""
    return warning(
        f"instrument {before.record.instrument}",
        f"was read otherwise in {before.row.why or 'an earlier entry'}"
        f" ({before.row.at[:10]}): {'; '.join(differing)}. The newer is remembered.",
        "Look which is right: feedproof mapping show.",
    )


def _unasked(consequence: str, fault: FeedproofError | OSError) -> Finding:
    """Say that the database is not there for the work, and that nothing else suffers."""
    if isinstance(fault, FeedproofError):
        first = fault.findings[0]
        return warning("database", f"{consequence}: {first.place} {first.message}", first.remedy)
    return _unasked(consequence, InputError.at("the file", f"{fault.strerror}."))
