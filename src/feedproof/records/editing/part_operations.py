"""Edits of parts and kits: add, move, rename, remove, place."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding
from feedproof.records.editing.operations import Applied, Operation, SetValues, touched
from feedproof.records.editing.parts import find_kit, find_part, references, require_free
from feedproof.records.editing.paths import location_of
from feedproof.records.editing.plain import entry_at, holds
from feedproof.records.editing.sheet import Sheet
from feedproof.records.places import Location, path_of
from feedproof.records.quantity import shown
from feedproof.records.raw_tables import entries, texts


@dataclass(frozen=True, slots=True, kw_only=True)
class AddPart(Operation):
    """
    Add a part to a line or a kit.

    Where the part beside it names the node at which they join, the new part takes the node over.

    Parameters
    ----------
    part : mapping
        As the document writes it, with id and kind.
    after, before : str
        Id of the part that it follows or precedes; one of them or none.
    line : str
        Where it goes when neither is given, at the end: ``line``, ``return``, a kit such as
        ``kit[secondary]``, or one of its places such as ``kit[secondary].insertion[1]``.
    """

    part: Mapping[str, Any]
    after: str = ""
    before: str = ""
    line: str = "line"

    def apply(self, sheet: Sheet) -> Applied:
        """Add it."""
        name = str(self.part.get("id", ""))
        if not name:
            raise InputError.at("part", "has no id.", "Give it a name of its own.")
        require_free(sheet.data, name)
        listing, position = _target(sheet, self.after, self.before, self.line)
        made = sheet.insert(listing, position, self.part)
        made, told = _hooked(made, (*listing, position), self.after, self.before)
        where = path_of(made.data, (*listing, position))
        return Applied(sheet=made, what=f"{where}: added", told=told)


@dataclass(frozen=True, slots=True, kw_only=True)
class MovePart(Operation):
    """
    Move a part along its line, or from a line into a kit and back.

    Parameters
    ----------
    part : str
        Its id.
    after, before : str
        Id of the part that it is to follow or precede.
    """

    part: str
    after: str = ""
    before: str = ""

    def apply(self, sheet: Sheet) -> Applied:
        """Move it."""
        at = find_part(sheet.data, self.part)
        beside = self.after or self.before
        if bool(self.after) == bool(self.before) or beside == self.part:
            raise InputError.at(
                f"part {shown(self.part)}",
                "is to stand after or before one other part.",
                "Name one of the two.",
            )
        words = f"{path_of(sheet.data, at)}: moved {'after' if self.after else 'before'} {beside}"
        made, told = _unhooked(sheet, at)
        listing, position = _target(made, self.after, self.before, "line")
        if listing == at[:-1]:
            position -= position > int(at[-1])
            made = made.move(listing, int(at[-1]), position)
        else:
            made = made.transplant(at, listing, position)
        made, more = _hooked(made, find_part(made.data, self.part), self.after, self.before)
        return Applied(sheet=made, what=words, told=(*told, *more))


@dataclass(frozen=True, slots=True, kw_only=True)
class EditPart(Operation):
    """
    Set several keys of a part.

    Parameters
    ----------
    part : str
        Its id.
    values : mapping
        Values by key; None takes a key out.  Of another id the same is true as of `RenamePart`.
    """

    part: str
    values: Mapping[str, Any]

    def apply(self, sheet: Sheet) -> Applied:
        """Set them."""
        at = find_part(sheet.data, self.part)
        if self.values.get("id", self.part) != self.part:
            renamed = RenamePart(part=self.part, name=str(self.values["id"])).apply(sheet)
            others = {key: value for key, value in self.values.items() if key != "id"}
            applied = SetValues(path=at, values=others).apply(renamed.sheet)
            return Applied(sheet=applied.sheet, what=renamed.what, told=renamed.told)
        return SetValues(path=at, values=self.values).apply(sheet)


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovePart(Operation):
    """
    Take a part away; what refers to it is told.

    Parameters
    ----------
    part : str
        Its id.
    """

    part: str

    def apply(self, sheet: Sheet) -> Applied:
        """Take it away."""
        at = find_part(sheet.data, self.part)
        where = path_of(sheet.data, at)
        told = tuple(
            touched(sheet.data, each, f"refers to the part {self.part} that was removed.")
            for each in references(sheet.data, self.part)
        )
        made, more = _unhooked(sheet, at)
        return Applied(sheet=made.drop(at), what=f"{where}: removed", told=(*told, *more))


@dataclass(frozen=True, slots=True, kw_only=True)
class RenamePart(Operation):
    """
    Give a part another id, and let kits, tees and conditions follow; runs are records and stay.

    Parameters
    ----------
    part, name : str
        Its id now and then.
    """

    part: str
    name: str

    def apply(self, sheet: Sheet) -> Applied:
        """Rename it."""
        at = find_part(sheet.data, self.part)
        require_free(sheet.data, self.name, own=at)
        told: tuple[Finding, ...] = ()
        where = path_of(sheet.data, at)
        made = sheet.put((*at, "id"), self.name)
        for each in references(sheet.data, self.part):
            if each[0] == "run":
                told += (touched(sheet.data, each, f"still says {self.part}: a run is a record."),)
            elif each[-1] == self.part and each[-2] == "loading":
                value = entry_at(made.data, each)
                made = made.carry(each, (*each[:-1], self.name), value)
            else:
                made = made.put(each, self.name)
        return Applied(sheet=made, what=f"{where}: now {self.name}", told=told)


@dataclass(frozen=True, slots=True, kw_only=True)
class AddKit(Operation):
    """
    Add a kit.

    Parameters
    ----------
    kit : mapping
        As the document writes it: id, title, and insertions with their place and parts.
    after : str
        Id of the kit that it is listed after; last when empty.
    """

    kit: Mapping[str, Any]
    after: str = ""

    def apply(self, sheet: Sheet) -> Applied:
        """Add it."""
        name = str(self.kit.get("id", ""))
        kits = [str(kit.get("id", "")) for _, kit in entries(sheet.data, "kit")]
        if not name or name in kits:
            words = "is in the case already." if name else "has no id."
            raise InputError.at(f"kit {shown(name)}", words, "Give it a name of its own.")
        for _, insertion in entries(self.kit, "insertion"):
            for _, part in entries(insertion, "part"):
                require_free(sheet.data, part.get("id"))
        position = len(kits)
        if self.after:
            position = int(find_kit(sheet.data, self.after)[1]) + 1
        return Applied(sheet=sheet.insert(("kit",), position, self.kit), what=f"kit[{name}]: added")


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveKit(Operation):
    """
    Take a kit away; runs that were made with it are told.

    Parameters
    ----------
    kit : str
        Its id.
    """

    kit: str

    def apply(self, sheet: Sheet) -> Applied:
        """Take it away."""
        at = find_kit(sheet.data, self.kit)
        told = [
            touched(sheet.data, (*where, "kits"), f"was made with the kit {self.kit}.")
            for where, run in entries(sheet.data, "run")
            if self.kit in texts(run, "kits")
        ]
        for _, insertion in entries(entry_at(sheet.data, at), "insertion"):
            for _, part in entries(insertion, "part"):
                told += [
                    touched(sheet.data, each, f"refers to a part of the kit {self.kit}.")
                    for each in references(sheet.data, str(part.get("id", "")))
                    if each[:2] != at
                ]
        return Applied(sheet=sheet.drop(at), what=f"kit[{self.kit}]: removed", told=tuple(told))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceKit(Operation):
    """
    Say next to which part a kit stands.

    Parameters
    ----------
    kit : str
        Its id.
    after, before : str
        Id of the part; one of the two.
    insertion : int
        Which of the kit's insertions.
    """

    kit: str
    after: str = ""
    before: str = ""
    insertion: int = 0

    def apply(self, sheet: Sheet) -> Applied:
        """Place it."""
        at: Location = (*find_kit(sheet.data, self.kit), "insertion", self.insertion)
        entry_at(sheet.data, at)
        if bool(self.after) == bool(self.before):
            raise InputError.at(
                f"kit {shown(self.kit)}", "stands after or before one part.", "Name one of them."
            )
        beside = self.after or self.before
        find_part(sheet.data, beside)
        side, other = ("after", "before") if self.after else ("before", "after")
        made = sheet
        if holds(made.data, (*at, other)) and not holds(made.data, (*at, side)):
            made = made.carry((*at, other), (*at, side), beside)
        else:
            made = made.put((*at, side), beside)
            made = made.leave_out((*at, other)) if holds(made.data, (*at, other)) else made
        return Applied(sheet=made, what=f"kit[{self.kit}]: {side} {beside}")


def _target(sheet: Sheet, after: str, before: str, line: str) -> tuple[Location, int]:
    """Find the list and the position that a part is to have."""
    if after and before:
        raise InputError.at("part", "stands after one part or before one.", "Name one of them.")
    if after or before:
        at = find_part(sheet.data, after or before)
        return at[:-1], int(at[-1]) + bool(after)
    listing = location_of(sheet.data, line)
    if listing[0] == "kit" and len(listing) == 2:
        listing = (*listing, "insertion", 0)
    if listing[0] == "kit" and len(listing) == 4:
        listing = (*listing, "part")
    is_list = listing in (("line",), ("return",)) or (listing[0], listing[-1]) == ("kit", "part")
    if not is_list:
        raise InputError.at(
            "line", f"{shown(line)} holds no parts.", "Name line, return or the parts of a kit."
        )
    held = entry_at(sheet.data, listing) if holds(sheet.data, listing) else []
    return listing, len(held)


def _hooked(
    sheet: Sheet, at: Location, after: str, before: str
) -> tuple[Sheet, tuple[Finding, ...]]:
    """Let a part take over the node that its new neighbour names at the side of the part."""
    part = entry_at(sheet.data, at)
    for beside, end in ((after, "to"), (before, "from")):
        where = find_part(sheet.data, beside) if beside else at
        node = entry_at(sheet.data, where).get(end)
        if where == at or node is None or "from" in part or "to" in part:
            continue
        words = f"no longer names the node {node}: {part.get('id')} does."
        told = (touched(sheet.data, where, words),)
        return sheet.carry((*where, end), (*at, end), node), told
    return sheet, ()


def _unhooked(sheet: Sheet, at: Location) -> tuple[Sheet, tuple[Finding, ...]]:
    """
    Take the one node that a part names from it, and give it to the neighbour that hung on it.

    A part that names nodes at both ends is a branch of its own and keeps them.
    """
    part = entry_at(sheet.data, at)
    ends = [end for end in ("from", "to") if end in part]
    if len(ends) != 1:
        return sheet, ()
    end = ends[0]
    beside = int(at[-1]) + (1 if end == "from" else -1)
    mates = entry_at(sheet.data, at[:-1])
    if not 0 <= beside < len(mates) or end in mates[beside]:
        return sheet.leave_out((*at, end)), ()
    where = (*at[:-1], beside)
    told = (touched(sheet.data, where, f"now names the node {part[end]} in its place."),)
    return sheet.carry((*at, end), (*where, end), part[end]), told
