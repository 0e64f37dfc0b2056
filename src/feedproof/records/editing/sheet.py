"""
A document's text and data together, and the few moves that all edits are made of.

Each move changes as few lines as it can and leaves every other byte; then the new text is read
again and held against what the move should make of the data.  An edit that a text does not lend
itself to is refused rather than written wrongly.
"""

import tomllib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from feedproof.core.errors import InputError
from feedproof.records.editing.layout import Layout
from feedproof.records.editing.plain import (
    entry_at,
    holds,
    moved,
    same,
    with_entry,
    with_put,
    without,
)
from feedproof.records.editing.statement import (
    BY_HAND,
    header_renamed,
    with_value,
    without_key,
)
from feedproof.records.editing.written import block_written, key_written, written
from feedproof.records.places import Location, Statement, comments_of, path_of

_NAMED = ("fuel", "instrument", "measure", "repeatability", "vehicle")
"""Sections whose tables have a header each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """
    A document that is being edited.

    Parameters
    ----------
    text : str
        As it stands in the file, its line ends and comments included.
    data : dict
        As read from it.
    """

    text: str
    data: dict[str, Any]

    @classmethod
    def of(cls, text: str) -> "Sheet":
        """
        Read a text.

        Parameters
        ----------
        text : str
            The document.

        Returns
        -------
        Sheet
            Text and data.

        Raises
        ------
        InputError
            It is no TOML.
        """
        try:
            return cls(text=text, data=tomllib.loads(text.replace("\r\n", "\n")))
        except (tomllib.TOMLDecodeError, ValueError, RecursionError) as fault:
            raise InputError.at(
                "case.toml",
                f"cannot be read as TOML: {str(fault) or 'nested too deeply'}.",
                "Mend the line by hand, or take the last change back.",
            ) from fault

    def put(self, location: Location, value: Any) -> "Sheet":
        """
        Set a key, or add it where it is not there yet.

        Parameters
        ----------
        location : tuple of str or int
            The key.
        value : object
            Text, number, truth, date, or a table or list of these.

        Returns
        -------
        Sheet
            With it.

        Raises
        ------
        InputError, MissingError
            It cannot stand there.
        """
        expected = with_put(self.data, location, value)
        return self._met(_put(self, location, value), expected, location, "")

    def drop(self, location: Location) -> "Sheet":
        """
        Take away a key, a table or an entry of a list.

        Parameters
        ----------
        location : tuple of str or int
            What goes.

        Returns
        -------
        Sheet
            Without it and the comments inside it.

        Raises
        ------
        InputError, MissingError
            It is not there, or cannot be taken out of this text.
        """
        expected = without(self.data, location)
        text, gone = _drop(self, location, whole=not holds(expected, location[:-1]))
        return self._met(text, expected, location, gone)

    def leave_out(self, location: Location) -> "Sheet":
        """
        Take away a key, but leave its comments as lines of their own where it stood.

        For what an edit takes away of its own accord: nobody meant the comments to go.

        Parameters
        ----------
        location : tuple of str or int
            The key.

        Returns
        -------
        Sheet
            Without it.

        Raises
        ------
        InputError, MissingError
            As for `drop`.
        """
        expected = without(self.data, location)
        layout = Layout(self.text)
        statement = layout.key(location)
        told = _comments_in(layout, statement)
        if statement is None or not told:
            return self._met(_drop(self, location, whole=False)[0], expected, location, "")
        rest = layout.without_lines(statement.first, statement.end)
        return self._met(rest.with_lines(statement.first, told).text, expected, location, "")

    def carry(self, old: Location, new: Location, value: Any) -> "Sheet":
        """
        Take a key away and put another in its place, with the comment behind it.

        Parameters
        ----------
        old, new : tuple of str or int
            The key now and then.
        value : object
            What it is to say there.

        Returns
        -------
        Sheet
            With its comment carried along.

        Raises
        ------
        InputError, MissingError
            It cannot stand there, or its comment cannot.
        """
        layout = Layout(self.text)
        told = _comments_in(layout, layout.key(old))
        made = self.drop(old).put(new, value)
        return self._met(_with_comment(made.text, new, told), made.data, new, "")

    def insert(self, listing: Location, position: int, table: Mapping[str, Any]) -> "Sheet":
        """
        Let a table into a list of tables.

        Parameters
        ----------
        listing : tuple of str or int
            The list; it need not be there yet.
        position : int
            Where, from 0.
        table : mapping
            What it holds.

        Returns
        -------
        Sheet
            With it.

        Raises
        ------
        InputError, MissingError
            It cannot stand there.
        """
        expected = with_entry(self.data, listing, position, table)
        return self._met(_insert(self, listing, position, table), expected, listing, "")

    def move(self, listing: Location, old: int, new: int) -> "Sheet":
        """
        Move an entry of a list to another position.

        Parameters
        ----------
        listing : tuple of str or int
            The list.
        old, new : int
            Its position now and then.

        Returns
        -------
        Sheet
            With its comments moved along.

        Raises
        ------
        InputError, MissingError
            It is not there, or cannot be moved in this text.
        """
        entry_at(self.data, (*listing, old))
        expected = moved(self.data, listing, old, new)
        return self._met(_move(self, listing, old, new), expected, listing, "")

    def transplant(self, location: Location, listing: Location, position: int) -> "Sheet":
        """
        Move an entry of a list into another list.

        Parameters
        ----------
        location : tuple of str or int
            The entry.
        listing : tuple of str or int
            The other list.
        position : int
            Its position there.

        Returns
        -------
        Sheet
            With its comments moved along.

        Raises
        ------
        InputError, MissingError
            It is not there, or cannot be moved in this text without losing a comment.
        """
        table = entry_at(self.data, location)
        expected = without(with_entry(self.data, listing, position, table), location)
        return self._met(_transplant(self, location, listing, position), expected, location, "")

    def _met(self, text: str, expected: Any, location: Location, gone: str) -> "Sheet":
        """Hold a new text against what it should say, comments included."""
        place = path_of(self.data, location)
        try:
            made = Sheet.of(text)
        except InputError as fault:
            raise InputError.at(
                place, f"cannot be changed as it is written: {fault.findings[0].message}", BY_HAND
            ) from fault
        if not same(made.data, expected):
            raise InputError.at(place, "cannot be changed as it is written.", BY_HAND)
        kept = Counter(comments_of(self.text)) - Counter(comments_of(gone))
        if kept - Counter(comments_of(text)):
            raise InputError.at(place, "cannot be changed without losing a comment.", BY_HAND)
        return made


def _put(sheet: Sheet, location: Location, value: Any) -> str:
    """Write a value where it stands or belongs."""
    layout = Layout(sheet.text)
    parent = location[:-1]
    if not holds(sheet.data, parent):
        return _put(sheet, parent, {location[-1]: value})
    statement = layout.holder(location)
    if statement is not None:
        return with_value(layout, statement, location, value)
    if layout.headers_below(location):
        return _over_table(sheet, location, value)
    is_block = isinstance(value, Mapping) and _has_block(location)
    if not is_block and (not parent or layout.header(parent) is not None):
        line = f"{key_written(str(location[-1]))} = {written(value)}"
        return layout.with_lines(layout.keys_end(parent), [line]).text
    dotted = layout.dotted(parent)
    if dotted is not None:
        keys = ".".join(key_written(str(step)) for step in location[len(dotted.table) :])
        return layout.with_lines(dotted.end, [f"{keys} = {written(value)}"]).text
    names = tuple(str(step) for step in location)
    block = (
        block_written(names, value, entry=False)
        if is_block
        else block_written(names[:-1], {names[-1]: value}, entry=False)
    )
    return layout.with_lines(layout.place_for(location[0]), block, apart=True).text


def _has_block(location: Location) -> bool:
    """Say whether a table at a location is given a header of its own."""
    return len(location) == 1 or (
        location[0] in _NAMED and len(location) == 2 and isinstance(location[1], str)
    )


def _over_table(sheet: Sheet, location: Location, value: Any) -> str:
    """Make a table with a header hold something else."""
    if isinstance(location[-1], int) and not isinstance(value, Mapping):
        raise InputError.at(
            path_of(sheet.data, location), "is a table and must stay one.", "Give a table."
        )
    if not isinstance(value, Mapping):
        return _put(sheet.drop(location), location, value)
    now = entry_at(sheet.data, location)
    for key in now:
        if key not in value:
            sheet = sheet.drop((*location, key))
    if not holds(sheet.data, location):
        return _put(sheet, location, value)
    for key, each in value.items():
        if key not in now or not same(now[key], each):
            sheet = sheet.put((*location, key), each)
    return sheet.text


def _drop(sheet: Sheet, location: Location, *, whole: bool) -> tuple[str, str]:
    """Take lines, or something out of a line; give the new text and what is gone."""
    layout = Layout(sheet.text)
    if whole:  # the last entry of a list: the list goes
        exact = layout.key(location[:-1])
        location = location[:-1] if exact is not None else location
    statement = layout.key(location)
    if statement is not None:
        return _cut(layout, statement.first, statement.end)
    if layout.headers_below(location):
        return _cut(layout, *layout.extent(location), close=location[-1] == 0 and not whole)
    statement = layout.holder(location)
    if statement is None:
        raise InputError.at(
            path_of(sheet.data, location), "cannot be taken out as it is written.", BY_HAND
        )
    return without_key(layout, statement, location), ""


def _comments_in(layout: Layout, statement: Statement | None) -> list[str]:
    """List the comments within the lines of a statement."""
    if statement is None:
        return []
    return comments_of("\n".join(layout.lines[statement.first : statement.end]))


def _with_comment(text: str, location: Location, told: list[str]) -> str:
    """Write a comment behind a key, where it has none and there is one only."""
    layout = Layout(text)
    statement = layout.key(location)
    if statement is None or len(told) != 1 or _comments_in(layout, statement):
        return text
    line = layout.lines[statement.end - 1]
    end = "\r" if line.endswith("\r") else ""
    layout.lines[statement.end - 1] = f"{line.rstrip()} {told[0]}{end}"
    return "\n".join(layout.lines)


def _cut(layout: Layout, first: int, end: int, *, close: bool = False) -> tuple[str, str]:
    """Take lines away, and give them."""
    gone = "\n".join(layout.lines[first:end])
    return layout.without_lines(first, end, close=close).text, gone


def _insert(sheet: Sheet, listing: Location, position: int, table: Mapping[str, Any]) -> str:
    """Write a table of a list under a header, or inline where the list is."""
    layout = Layout(sheet.text)
    names = tuple(str(step) for step in listing if isinstance(step, str))
    present = holds(sheet.data, listing)
    if layout.holder((*listing, 0)) is not None or layout.holder(listing) is not None:
        entries = list(entry_at(sheet.data, listing)) if present else []
        return _put(sheet, listing, [*entries[:position], dict(table), *entries[position:]])
    block = block_written(names, table, entry=True)
    if present:
        return _let_in(layout, listing, position, block)
    if len(listing) == 1:
        return layout.with_lines(layout.place_for(listing[0]), block, apart=True).text
    return layout.with_lines(layout.extent(listing[:-1])[1], block).text


def _let_in(layout: Layout, listing: Location, position: int, block: list[str]) -> str:
    """Let lines in as an entry of a list that is there."""
    apart = len(listing) == 1
    if position > 0:
        at = layout.extent((*listing, position - 1))[1]
        return layout.with_lines(at, block, apart=apart).text
    at = layout.headers_below((*listing, 0))[0].first
    lines = [*block, ""] if apart else block
    return layout.with_lines(at, lines).text


def _move(sheet: Sheet, listing: Location, old: int, new: int) -> str:
    """Take the lines of an entry and let them in elsewhere."""
    layout = Layout(sheet.text)
    if not layout.headers_below((*listing, old)):
        return _put(sheet, listing, entry_at(moved(sheet.data, listing, old, new), listing))
    if old == new:
        return sheet.text
    first, end = layout.extent((*listing, old))
    block = layout.lines[first:end]
    return _let_in(layout.without_lines(first, end, close=old == 0), listing, new, block)


def _transplant(sheet: Sheet, location: Location, listing: Location, position: int) -> str:
    """Take the lines of an entry, give its headers their new names, and let them in."""
    layout = Layout(sheet.text)
    table = entry_at(sheet.data, location)
    if not layout.headers_below(location) or layout.holder((*listing, 0)) is not None:
        # A list without headers has no lines for comments: what would lose one is refused.
        filled = sheet.insert(listing, position, table)
        return filled.drop(location).text
    first, end = layout.extent(location)
    block = layout.lines[first:end]
    names = tuple(str(step) for step in listing if isinstance(step, str))
    depth = len([step for step in location if isinstance(step, str)])
    for header in layout.headers_below(location):
        own = [str(step) for step in header.table if isinstance(step, str)]
        block[header.first - first] = header_renamed(
            layout.lines[header.first], (*names, *own[depth:]), is_entry=header.is_entry
        )
    rest, _ = _drop(sheet, location, whole=len(entry_at(sheet.data, location[:-1])) == 1)
    emptied = Sheet.of(rest)
    after = Layout(rest)
    if holds(emptied.data, listing):
        return _let_in(after, listing, position, block)
    if len(listing) == 1:
        return after.with_lines(after.place_for(listing[0]), block, apart=True).text
    return after.with_lines(after.extent(listing[:-1])[1], block).text
