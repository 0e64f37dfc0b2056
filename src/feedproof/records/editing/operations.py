"""
Edits that somebody makes, each a small frozen value with `apply`.

An edit that names what is not there, or that no document could hold, is refused.  Whether the new
document makes sense is no matter here: that is read like any other, and its mistakes are told.
"""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, note
from feedproof.records.editing.paths import location_of
from feedproof.records.editing.plain import entry_at, holds
from feedproof.records.editing.sheet import Sheet
from feedproof.records.places import Location, path_of
from feedproof.records.quantity import shown

Path = str | Sequence[str | int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Applied:
    """
    What an edit made.

    Parameters
    ----------
    sheet : Sheet
        The document now.
    what : str
        The edit in words, for the list of what can be taken back.
    told : tuple of Finding
        Notes of what else it touches.
    """

    sheet: Sheet
    what: str
    told: tuple[Finding, ...] = ()


class Operation(ABC):
    """An edit of a document."""

    __slots__ = ()

    @abstractmethod
    def apply(self, sheet: Sheet) -> Applied:
        """
        Make the edit.

        Parameters
        ----------
        sheet : Sheet
            The document as it stands.

        Returns
        -------
        Applied
            The document as it would be.

        Raises
        ------
        InputError, MissingError
            The edit cannot be made; `sheet` is as it was.
        """


@dataclass(frozen=True, slots=True, kw_only=True)
class SetValue(Operation):
    """
    Set one value, or leave it out.

    Parameters
    ----------
    path : str or sequence
        Such as ``vehicle.tank.capacity`` or ``line[steel_line].bore``.
    value : object
        As the document writes it: ``"8 mm"``, or a table with value, low, high and source; None
        takes the key out.
    """

    path: Path
    value: Any

    def apply(self, sheet: Sheet) -> Applied:
        """Set it."""
        location = location_of(sheet.data, self.path)
        where = path_of(sheet.data, location)
        made = put_or_drop(sheet, location, self.value)
        what = "left out" if self.value is None else shown(_brief(self.value))
        return Applied(sheet=made, what=f"{where}: {what}")


@dataclass(frozen=True, slots=True, kw_only=True)
class SetValues(Operation):
    """
    Set several keys of one table: a part, the tank, the pump, conditions, a fuel, a kit.

    Parameters
    ----------
    path : str or sequence
        The table.
    values : mapping
        Values by key; None takes a key out.  Keys that are not named stay as they are.
    """

    path: Path
    values: Mapping[str, Any]

    def apply(self, sheet: Sheet) -> Applied:
        """Set them."""
        location = location_of(sheet.data, self.path)
        where = path_of(sheet.data, location)
        for key, value in self.values.items():
            if value is not None or holds(sheet.data, (*location, key)):
                sheet = put_or_drop(sheet, (*location, key), value)
        return Applied(sheet=sheet, what=f"{where}: {', '.join(self.values) or 'nothing'}")


@dataclass(frozen=True, slots=True, kw_only=True)
class AddEntry(Operation):
    """
    Add a table to a list that holds no parts: a worst condition, a tee, a point of a rating.

    Parameters
    ----------
    path : str or sequence
        The list.
    table : mapping
        What it holds.
    position : int or None
        Where, from 0; last when None.
    """

    path: Path
    table: Mapping[str, Any]
    position: int | None = None

    def apply(self, sheet: Sheet) -> Applied:
        """Add it."""
        location = location_of(sheet.data, self.path)
        where = path_of(sheet.data, location)
        found = entry_at(sheet.data, location) if holds(sheet.data, location) else []
        if not isinstance(found, list):
            raise InputError.at(where, "is no list.", "Name a list, such as worst.")
        at = len(found) if self.position is None else self.position
        if not 0 <= at <= len(found):
            raise InputError.at(where, f"has no position {at}.", f"It holds {len(found)}.")
        return Applied(sheet=sheet.insert(location, at, self.table), what=f"{where}: one more")


@dataclass(frozen=True, slots=True, kw_only=True)
class Remove(Operation):
    """
    Take a table or an entry of a list away: a worst condition, a fuel, an instrument, a section.

    Parameters
    ----------
    path : str or sequence
        What goes.
    """

    path: Path

    def apply(self, sheet: Sheet) -> Applied:
        """Take it away."""
        location = location_of(sheet.data, self.path)
        where = path_of(sheet.data, location)
        return Applied(sheet=sheet.drop(location), what=f"{where}: removed")


@dataclass(frozen=True, slots=True, kw_only=True)
class MapChannel(Operation):
    """
    Say which column of an instrument's logs is which channel, or that none is.

    Parameters
    ----------
    instrument, channel : str
        Names.
    column : str or None
        Of the log; None takes the channel out.
    unit : str
        Of the column.
    more : mapping
        Ceiling, floor and resolution, where they are known.
    """

    instrument: str
    channel: str
    column: str | None
    unit: str = ""
    more: Mapping[str, Any] = field(default_factory=dict)

    def apply(self, sheet: Sheet) -> Applied:
        """Map it."""
        where: Location = ("instrument", self.instrument, "channels", self.channel)
        entry_at(sheet.data, where[:2])
        if self.column is None:
            made = sheet.drop(where)
        else:
            unit = {"unit": self.unit} if self.unit else {}
            made = sheet.put(where, {"column": self.column, **unit, **self.more})
        what = f"column {shown(self.column)}" if self.column is not None else "no column"
        return Applied(sheet=made, what=f"{path_of(sheet.data, where)}: {what}")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplaceText(Operation):
    """
    Put another text in the place of the whole document.

    Parameters
    ----------
    text : str
        The document.
    """

    text: str

    def apply(self, sheet: Sheet) -> Applied:
        """Read it; a text that cannot be read is refused."""
        del sheet
        return Applied(sheet=Sheet.of(self.text), what="edited as text")


@dataclass(frozen=True, slots=True, kw_only=True)
class Together(Operation):
    """
    Several edits as one step: all or none.

    Parameters
    ----------
    operations : sequence of Operation
        In their order.
    what : str
        In words; those of the edits when empty.
    """

    operations: Sequence[Operation]
    what: str = ""

    def apply(self, sheet: Sheet) -> Applied:
        """Make them one after the other."""
        words: list[str] = []
        told: tuple[Finding, ...] = ()
        for operation in self.operations:
            applied = operation.apply(sheet)
            sheet, told = applied.sheet, (*told, *applied.told)
            words.append(applied.what)
        return Applied(sheet=sheet, what=self.what or "; ".join(words) or "nothing", told=told)


def put_or_drop(sheet: Sheet, location: Location, value: Any) -> Sheet:
    """
    Set a value, or take its key out for None.

    Parameters
    ----------
    sheet : Sheet
        The document.
    location : tuple of str or int
        The key.
    value : object
        None to take it out; a text stays a date where one stands.

    Returns
    -------
    Sheet
        The document as it would be.
    """
    if value is None:
        return sheet.drop(location)
    now = entry_at(sheet.data, location) if holds(sheet.data, location) else None
    if isinstance(now, datetime) and isinstance(value, str):
        # What is no date is told by the reading of the document.
        with suppress(ValueError):
            value = datetime.fromisoformat(value)
    return sheet.put(location, value)


def touched(data: Mapping[str, Any], where: Location, what: str) -> Finding:
    """Note that an edit touches something else."""
    return note(f"case.toml: {path_of(data, where)}", what)


def _brief(value: Any) -> Any:
    """Give what a value is told by: of a table with value, low and high its value."""
    return value.get("value", value) if isinstance(value, Mapping) else value
