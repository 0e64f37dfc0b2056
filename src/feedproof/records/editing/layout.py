"""Where tables and keys stand in a document's text, with the comments that belong to them."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from feedproof.core.errors import InputError
from feedproof.records.document import CaseDocument
from feedproof.records.places import Location, Statement, path_of, statements_of

_ORDER = [field.alias or name for name, field in CaseDocument.model_fields.items()]


@dataclass(frozen=True)
class Layout:
    """
    The lines of a document.

    Parameters
    ----------
    text : str
        The document, its line ends as they are.
    """

    text: str

    @cached_property
    def lines(self) -> list[str]:
        """Give the lines; a carriage return stays at the end of its line."""
        return self.text.split("\n")

    @cached_property
    def statements(self) -> list[Statement]:
        """Give headers and keys in order."""
        return list(statements_of(self.text))

    @cached_property
    def headers(self) -> list[Statement]:
        """Give the headers in order."""
        return [each for each in self.statements if each.is_header]

    @cached_property
    def _covered(self) -> set[int]:
        return {n for each in self.statements for n in range(each.first, each.end)}

    def is_blank(self, line: int) -> bool:
        """Say whether a line is there and empty."""
        return 0 <= line < len(self.lines) and not self.lines[line].strip()

    def is_comment(self, line: int) -> bool:
        """Say whether a line holds a comment only, and is in no string."""
        return (
            0 <= line < len(self.lines)
            and line not in self._covered
            and self.lines[line].strip().startswith("#")
        )

    def key(self, location: Location) -> Statement | None:
        """Give the statement of a key, if it has one of its own."""
        return next(
            (
                each
                for each in self.statements
                if not each.is_header and each.paths and each.paths[-1] == location
            ),
            None,
        )

    def holder(self, location: Location) -> Statement | None:
        """Give the statement of a key, or of the nearest inline value that it stands in."""
        for end in range(len(location), 0, -1):
            found = self.key(location[:end])
            if found is not None:
                return found
        return None

    def header(self, location: Location) -> Statement | None:
        """Give the header that opens a table."""
        return next((each for each in self.headers if each.table == location), None)

    def headers_below(self, location: Location) -> list[Statement]:
        """Give the headers of a table and of all below it."""
        return [each for each in self.headers if each.table[: len(location)] == location]

    def lead(self, line: int) -> int:
        """Give the first of the comment lines that stand directly above a line."""
        while self.is_comment(line - 1):
            line -= 1
        return line

    def _limit(self, header: Statement) -> int:
        """Give the line at which what belongs to the next header begins."""
        following = next((each for each in self.headers if each.first > header.first), None)
        return len(self.lines) if following is None else self.lead(following.first)

    def tail(self, header: Statement) -> int:
        """Give the line after a header's own keys and the comments directly below them."""
        own = [each.end for each in self.statements if each.table == header.table]
        limit = self._limit(header)
        end = max(each for each in [header.end, *own] if each <= limit)
        while end < limit and self.is_comment(end):
            end += 1
        return end

    def root_tail(self) -> int:
        """Give the line after the keys before the first header."""
        return max((each.end for each in self.statements if not each.table), default=0)

    def keys_end(self, table: Location) -> int:
        """Give the line after the last key of a table."""
        header = self.header(table)
        if header is None:
            return max(
                (each.end for each in self.statements if not each.is_header and not each.table),
                default=0,
            )
        limit = self._limit(header)
        own = [
            each.end
            for each in self.statements
            if not each.is_header and each.table == table and header.first < each.first < limit
        ]
        return max(own, default=header.end)

    def extent(self, location: Location) -> tuple[int, int]:
        """
        Give the lines of a table with all below it.

        Parameters
        ----------
        location : tuple of str or int
            A table with a header, or an entry of a list of such.

        Returns
        -------
        tuple of int and int
            First line and the line after; comments directly above belong to it, but above the
            first entry of a list they are the list's.

        Raises
        ------
        InputError
            It is written in pieces, with other tables in between.
        """
        below = self.headers_below(location)
        first = self.headers.index(below[0])
        if self.headers[first : first + len(below)] != below:
            raise InputError.at(
                path_of({}, location),
                "is written in pieces, with other tables in between.",
                "Put its tables together in case.toml first.",
            )
        start = below[0].first
        return (start if location[-1] == 0 else self.lead(start)), self.tail(below[-1])

    def place_for(self, section: str | int) -> int:
        """Give the line at which a new table of a section is let in, in the order of the guide."""
        rank = _rank(section)
        earlier = [each for each in self.headers if _rank(each.table[0]) <= rank]
        return self.tail(earlier[-1]) if earlier else self.root_tail()

    def without_lines(self, first: int, end: int, *, close: bool = False) -> "Layout":
        """Take lines away, and the blank lines that would be left double or below a comment."""
        lines = self.lines
        if close or first == 0 or self.is_blank(first - 1):
            while end < len(lines) - 1 and self.is_blank(end):
                end += 1
        return Layout("\n".join([*lines[:first], *lines[end:]]))

    def with_lines(self, at: int, new: Sequence[str], *, apart: bool = False) -> "Layout":
        """
        Let lines in.

        Parameters
        ----------
        at : int
            Before this line.
        new : sequence of str
            Without their ends.
        apart : bool
            Whether a blank line parts them from what is above and below.

        Returns
        -------
        Layout
            With the line ends of the document.
        """
        before, after = self.lines[:at], self.lines[at:]
        end = "\r" if self.text.count("\r\n") * 2 > self.text.count("\n") else ""
        added = [line.rstrip("\r") + end for line in new]
        if before and not after:  # the last line had no end
            before[-1] = before[-1].rstrip("\r") + end
            after = [""]
        if apart and before and before[-1].strip():
            added.insert(0, end)
        if apart and after and after[0].strip():
            added.append(end)
        return Layout("\n".join([*before, *added, *after]))


def _rank(section: str | int) -> int:
    """Give the place of a section in the order of the guide; what is not known stands last."""
    return _ORDER.index(str(section)) if section in _ORDER else len(_ORDER)
