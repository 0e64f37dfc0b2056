"""
The parts of a document laid out as a network, whatever else is wrong with them.

A stand-in takes the place of each part: it joins the same nodes and runs if the part is a running
lift pump, so that what joins what can be asked beside any mistake in a figure.
"""

from collections.abc import Callable
from dataclasses import dataclass

from feedproof.case.line import Insertion, Kit, Line
from feedproof.case.parts import LiftPump, Part, Pipe
from feedproof.feedline.network_nodes import INLET, RETURN, TANK, Link, join_parts
from feedproof.records.places import Location
from feedproof.records.raw_tables import Table, entries, table, text

ENDS = (TANK, INLET, RETURN)
"""Names of nodes that are ends of the lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """
    A part where it stands in the document.

    Parameters
    ----------
    location : tuple of str or int
        Its table.
    raw : mapping
        The table.
    """

    location: Location
    raw: Table

    @property
    def name(self) -> str:
        """Give its id, or what says that it has none."""
        return text(self.raw, "id") or "without id"

    def key_of(self, node: str) -> str | None:
        """Give the key by which the part names a node, if it does."""
        return next((key for key in ("from", "to") if self.raw.get(key) == node), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidKit:
    """
    A kit with stand-ins.

    Parameters
    ----------
    location : tuple of str or int
        Its table.
    name : str
        Its id.
    kit : Kit
        Its insertions.
    """

    location: Location
    name: str
    kit: Kit


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """
    A document's lines and kits as stand-ins.

    Parameters
    ----------
    line, back : Line
        Feed line and return line.
    kits : tuple of LaidKit
        Those whose insertions have a place.
    standing : dict of str to Standing
        Every part by the id of its stand-in.
    bringing : dict of str to LaidKit
        The kit that brings a stand-in, by its id.
    recirculation : str or None
        Node that return is led into, if it is no end of a line.
    """

    line: Line
    back: Line
    kits: tuple[LaidKit, ...]
    standing: dict[str, Standing]
    bringing: dict[str, LaidKit]
    recirculation: str | None

    @classmethod
    def of(cls, document: Table) -> "Layout":
        """
        Lay a document out as it stands.

        Parameters
        ----------
        document : mapping
            As read from TOML.

        Returns
        -------
        Layout
            What can be read.
        """
        standing: dict[str, Standing] = {}

        def stand_in(location: Location, raw: Table) -> Part:
            # No node can have the name of a stand-in, since nodes are named without spaces.
            name = f"part {len(standing)}"
            standing[name] = Standing(location=location, raw=raw)
            return _stand_in(name, raw)

        line = tuple(stand_in(at, raw) for at, raw in entries(document, "line"))
        unplaced = _kits(document, stand_in)
        # A kit stands next to a part of the feed line or of a kit, never of the return line.
        first = {standing[key].name: key for key in reversed(standing)}
        kits = tuple(_placed(kit, first) for kit in unplaced)
        back = tuple(stand_in(at, raw) for at, raw in entries(document, "return"))
        to = text(table(document, "recirculation"), "to")
        return cls(
            line=Line(parts=line),
            back=Line(parts=back),
            kits=kits,
            standing=standing,
            bringing={
                part.id: kit for kit in kits for one in kit.kit.insertions for part in one.parts
            },
            recirculation=None if to in ENDS else to,
        )

    def links(self, line: Line) -> list[Link]:
        """Join a line and the return line to links."""
        return [
            *_joined(line.parts),
            *join_parts(self.back.parts, start=RETURN, end=TANK, in_return=True),
        ]

    def feed_nodes(self) -> tuple[str, ...]:
        """List the nodes of the feed line without kits that are no ends."""
        names = dict.fromkeys(node for link in _joined(self.line.parts) for node in link.ends)
        return tuple(name for name in names if name not in ENDS)

    def with_kit(self, kit: LaidKit) -> tuple[Line, Line] | None:
        """
        Let a kit in after the kits that it stands next to.

        Parameters
        ----------
        kit : LaidKit
            The kit.

        Returns
        -------
        tuple of Line and Line, or None
            The line without and with it; None where it has no place, which is told elsewhere.
        """
        order = [kit]
        while True:
            try:
                before = self.line.with_kits([each.kit for each in order[:-1]])
                return before, before.with_kit(kit.kit)
            except KeyError as missing:
                other = self.bringing.get(missing.args[0])
                if other is None or other in order:
                    return None
                order.insert(0, other)

    def with_kits(self, names: list[str]) -> Line | None:
        """
        Let kits in by their ids, in the order given.

        Parameters
        ----------
        names : list of str
            Ids.

        Returns
        -------
        Line or None
            None where a kit is not known or has no place, which is told elsewhere.
        """
        known = {kit.name: kit.kit for kit in reversed(self.kits)}
        if any(name not in known for name in names):
            return None
        try:
            return self.line.with_kits([known[name] for name in names])
        except KeyError:
            return None


def _joined(parts: tuple[Part, ...]) -> list[Link]:
    """Join the parts of a feed line."""
    return join_parts(parts, start=TANK, end=INLET, in_return=False)


def _stand_in(name: str, raw: Table) -> Part:
    """Make a part of no particular size that joins the nodes of another."""
    start, end = text(raw, "from"), text(raw, "to")
    if raw.get("kind") == "lift_pump":
        return LiftPump(
            id=name,
            shut_off_pressure_pa=1.0,
            free_flow_m3_per_s=1.0,
            curve_exponent=1.0,
            stopped_inertial_per_m4=1.0,
            running=raw.get("running") is not False,
            from_node=start,
            to_node=end,
        )
    return Pipe(id=name, length_m=1.0, bore_m=1.0, from_node=start, to_node=end)


def _kits(document: Table, stand_in: Callable[[Location, Table], Part]) -> list[LaidKit]:
    """Lay the kits out, their places still by the ids of the document."""
    laid = []
    for at_kit, kit in entries(document, "kit"):
        insertions = []
        for at, insertion in entries(kit, "insertion", at_kit):
            side = "before" if "before" in insertion else "after"
            parts = tuple(stand_in(each, raw) for each, raw in entries(insertion, "part", at))
            if parts:
                place = text(insertion, side) or ""
                insertions.append(Insertion(place=place, side=side, parts=parts))
        name = text(kit, "id") or ""
        made = Kit(id=name, title="", insertions=tuple(insertions))
        laid.append(LaidKit(location=at_kit, name=name, kit=made))
    return laid


def _placed(kit: LaidKit, first: dict[str, str]) -> LaidKit:
    """Give the places of a kit by their stand-ins."""
    insertions = tuple(
        Insertion(place=first.get(each.place, ""), side=each.side, parts=each.parts)
        for each in kit.kit.insertions
    )
    made = Kit(id=kit.kit.id, title=kit.kit.title, insertions=insertions)
    return LaidKit(location=kit.location, name=kit.name, kit=made)
