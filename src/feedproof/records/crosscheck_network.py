"""
What the parts of a case say together as a network: nodes, branches, tees and return led back.

The bare line is checked, then the line with each kit, then with each set of kits that was run; a
trouble that a kit brings is told at the kit.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from feedproof.case.line import Line, Recirculation
from feedproof.case.parts import Part
from feedproof.core.findings import Finding
from feedproof.feedline.network_nodes import INLET, TANK, Link, network_findings, node_names
from feedproof.records.lineup import Lineup
from feedproof.records.mistakes import Places, did_you_mean
from feedproof.records.network_layout import ENDS, Layout
from feedproof.records.places import Location
from feedproof.records.quantity import shown
from feedproof.records.raw_tables import Table, entries, number, table, text, texts

_LEGS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """
    What keeps a line from being solved.

    Parameters
    ----------
    location : tuple of str or int
        Where it stands.
    subject : str
        What it is about, in words.
    message, remedy : str
        As of a finding.
    """

    location: Location
    subject: str
    message: str
    remedy: str

    @property
    def key(self) -> tuple[Location, str]:
        """Give what makes it the same with a kit as without: how many there are plays no part."""
        return self.location, re.sub(r"\d+", "", self.message)


def check_network(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Ask whether the line, and the line with its kits, can be solved as a network."""
    del lineup
    layout = Layout.of(document)
    if not layout.line.parts:
        return
    bare = _troubles(layout, layout.line, document)
    for trouble in bare:
        yield places.error(trouble.location, trouble.message, trouble.remedy)
    own = {trouble.key for trouble in bare}
    told = set(own)
    for kit in layout.kits:
        lines = layout.with_kit(kit)
        if lines is None:
            continue
        before, after = lines
        alone = before.parts == layout.line.parts
        known = own if alone else {each.key for each in _troubles(layout, before, document)}
        brings = f"kit {shown(kit.name)}, let into the line, breaks it"
        for trouble in _troubles(layout, after, document):
            told.add(trouble.key)
            if trouble.key not in known:
                inside = trouble.location[: len(kit.location)] == kit.location
                yield _of_kits(
                    trouble, brings, trouble.location if inside else kit.location, places
                )
    yield from _check_sets(document, layout, told, places)


def _check_sets(
    document: Table, layout: Layout, told: set[tuple[Location, str]], places: Places
) -> Iterator[Finding]:
    """Find sets of kits that were run and break the line only together."""
    seen: set[tuple[str, ...]] = set()
    for location, run in entries(document, "run"):
        names = tuple(texts(run, "kits"))
        line = layout.with_kits(list(names))
        if len(names) < 2 or names in seen or line is None:
            continue
        seen.add(names)
        brings = f"kits {', '.join(shown(name) for name in names)} together break the line"
        for trouble in _troubles(layout, line, document):
            if trouble.key not in told:
                yield _of_kits(trouble, brings, (*location, "kits"), places)


def _of_kits(trouble: Trouble, brings: str, location: Location, places: Places) -> Finding:
    """Tell a trouble that kits bring."""
    return places.error(location, f"{brings}: {trouble.subject} {trouble.message}", trouble.remedy)


def _troubles(layout: Layout, line: Line, document: Table) -> list[Trouble]:
    """List what keeps a line from being solved."""
    links = layout.links(line)
    return [
        *_node_troubles(layout, line, links),
        *_tee_troubles(document, layout, links),
    ]


def _node_troubles(layout: Layout, line: Line, links: list[Link]) -> list[Trouble]:
    """List what the solver of networks refuses, at the keys of the parts."""
    parts = (*layout.line.parts, *layout.back.parts)
    parts += tuple(part for part in line.parts if part.id in layout.bringing)
    nodes = node_names(links)
    led_back = _led_back(layout.recirculation) if layout.recirculation in nodes else None
    found = []
    for finding in network_findings((*line.parts, *layout.back.parts), links, led_back, ()):
        mates = [part for link in links for part in link.parts if _holds(link, finding.place)]
        location, subject = _where(finding, (*mates, *parts), layout)
        found.append(
            Trouble(
                location=location,
                subject=subject,
                message=finding.message,
                remedy=finding.remedy or "Name fewer nodes: a row of parts needs none inside.",
            )
        )
    found += _misfiled(layout, links)
    # Return led back feeds a node too, but not the pump.
    if INLET not in nodes and not any(INLET in trouble.message for trouble in found):
        found.append(
            Trouble(
                location=("line", len(layout.line.parts) - 1),
                subject="the line:",
                message=f"no part ends at {INLET!r}, so nothing feeds the pump.",
                remedy=f"Let a part end there; known are {', '.join(nodes)}.",
            )
        )
    return found


def _misfiled(layout: Layout, links: list[Link]) -> list[Trouble]:
    """List parts of the feed line that only the return line joins to the tank."""
    suction = _joined_to_tank([link for link in links if not link.in_return])
    anyhow = _joined_to_tank(links)
    return [
        Trouble(
            location=layout.standing[link.parts[0].id].location,
            subject=f"part {shown(layout.standing[link.parts[0].id].name)}",
            message="stands in the feed line, but only the return line joins it to the tank.",
            remedy="Write it under [[return]], or join it to the feed line.",
        )
        for link in links
        if not link.in_return and link.first in anyhow - suction
    ]


def _joined_to_tank(links: list[Link]) -> set[str]:
    """Give the nodes that links join to the tank."""
    joined: set[str] = set()
    new = {TANK}
    while new - joined:
        joined |= new
        new = {node for link in links if joined & set(link.ends) for node in link.ends}
    return joined


def _led_back(target: str | None) -> Recirculation | None:
    """Stand in for the recirculation, whose shares and temperatures are checked by themselves."""
    if target is None:
        return None
    return Recirculation(
        to_node=target,
        cold_fraction=0.0,
        warm_fraction=0.0,
        cold_temperature_k=0.0,
        warm_temperature_k=1.0,
    )


def _holds(link: Link, name: str) -> bool:
    """Say whether a part stands in a link."""
    return any(part.id == name for part in link.parts)


def _where(finding: Finding, parts: tuple[Part, ...], layout: Layout) -> tuple[Location, str]:
    """Find the key that a finding of the solver is about, and its part in words."""
    standing = layout.standing.get(finding.place)
    if standing is None:
        return ("line", len(layout.line.parts) - 1), "the line:"
    for name in (finding.place, *(part.id for part in parts)):
        each = layout.standing[name]
        for node in (text(each.raw, "from"), text(each.raw, "to")):
            # The solver quotes the node; of parts in a row another than the first may name it.
            if node is not None and f"node {node!r}" in finding.message:
                return (*each.location, each.key_of(node) or "to"), f"part {shown(each.name)}"
    return standing.location, f"part {shown(standing.name)}"


def _tee_troubles(document: Table, layout: Layout, links: list[Link]) -> list[Trouble]:
    """List tees whose node joins not three parts, or whose branch is on none of their legs."""
    found = []
    for location, tee in entries(document, "tee"):
        node, branch = text(tee, "node"), text(tee, "branch")
        if node is None:
            continue
        subject = f"the tee at {shown(node)}:"
        beside = [
            layout.standing[link.parts[0 if link.first == node else -1].id].name
            for link in links
            if node in link.ends
        ]
        # A kit may stand between the node and the part that was named: the leg is still the same.
        on_legs = {
            layout.standing[part.id].name
            for link in links
            if node in link.ends
            for part in link.parts
        }
        meeting = f" ({', '.join(beside)})" if beside else ""
        if len(beside) != _LEGS:
            known = {name for link in links for name in link.ends} - set(ENDS)
            hint = "" if beside else f" {did_you_mean(node, known)}"
            found.append(
                Trouble(
                    location=(*location, "node"),
                    subject=subject,
                    message=f"{len(beside)} parts meet at the node {node!r}{meeting}; a tee joins"
                    f" {_LEGS}.",
                    remedy=f"Name the node where three parts meet.{hint}",
                )
            )
        elif branch is not None and branch not in on_legs:
            found.append(
                Trouble(
                    location=(*location, "branch"),
                    subject=subject,
                    message=f"no leg of the node {node!r} holds a part {shown(branch)}.",
                    remedy=f"Name the part on the side leg. {did_you_mean(branch, beside)}",
                )
            )
    return found


def check_tees(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Find second tees at a node, and nodes where more than the tee's three legs meet."""
    del lineup
    first: dict[str, Location] = {}
    target = text(table(document, "recirculation"), "to")
    for location, tee in entries(document, "tee"):
        node = text(tee, "node")
        if node is None:
            continue
        if node in first:
            yield places.error(
                (*location, "node"),
                f"a tee stands at the node {node!r} before, at {places.place(first[node])}.",
                "Leave one of them.",
            )
        first.setdefault(node, location)
        if node in ENDS or node == target:
            what = "return is led back" if node == target else "a line ends"
            yield places.warning(
                (*location, "node"),
                f"{what} at the node {node!r}: a fourth leg, of which the tee's losses know"
                " nothing.",
                "Give that leg a node of its own, a short pipe away.",
            )


def check_recirculation(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Ask where return is led back, and between which temperatures."""
    del lineup
    back = table(document, "recirculation")
    target = text(back, "to")
    known = Layout.of(document).feed_nodes()
    if target in ENDS:
        yield places.error(
            ("recirculation", "to"),
            f"return cannot be led back into {target!r}, which is an end of the line.",
            f"Name a node between tank and pump inlet. {did_you_mean(target or '', known)}",
        )
    elif target is not None and target not in known:
        yield places.error(
            ("recirculation", "to"),
            f"the feed line has no node {shown(target)}.",
            "Give a part of the feed line this node as its from or to."
            f" {did_you_mean(target, known)}",
        )
    yield from _check_stroke(back, places)


def _check_stroke(back: Table, places: Places) -> Iterator[Finding]:
    """Ask whether the thermostat's warm end is above its cold one, ranges included."""
    at = ("recirculation", "warm_temperature")
    cold, warm = (number(back, f"{end}_temperature", "temperature") for end in ("cold", "warm"))
    if cold is None or warm is None:
        return
    if not cold < warm:
        yield places.error(
            at,
            f"warm at {warm - 273.15:.1f} degC is not above cold at {cold - 273.15:.1f} degC.",
            "The thermostat moves between the two: swapped?",
        )
        return
    latest = number(table(back, "cold_temperature"), "high", "temperature")
    earliest = number(table(back, "warm_temperature"), "low", "temperature")
    latest = cold if latest is None else latest
    earliest = warm if earliest is None else earliest
    if not latest < earliest:
        yield places.error(
            at,
            f"warm may be as low as {earliest - 273.15:.1f} degC and cold as high as"
            f" {latest - 273.15:.1f} degC: the ranges meet.",
            "Narrow the ranges until they do not.",
        )
