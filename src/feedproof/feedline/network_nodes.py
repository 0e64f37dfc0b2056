"""
Which parts of a feed line join which nodes, and what is wrong with them.

A part that names no node joins its neighbours, as in a chain.  Parts between two nodes that
nobody named carry one flow and are one link.
"""

from collections.abc import Collection
from dataclasses import dataclass

from feedproof.case.line import Line, Recirculation
from feedproof.case.parts import LiftPump, Part
from feedproof.core.findings import Finding, error

TANK, INLET, RETURN = "tank", "inlet", "return"
"""Nodes that every network may name: fuel in the tank, pump inlet, outlet of the pump's return."""

MOST_NODES = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """
    Parts in series between two nodes.

    Parameters
    ----------
    first, second : str
        Nodes; flow from first to second is positive.
    parts : tuple of Part
        In that order.
    in_return : bool
        True for a part of the return line.
    """

    first: str
    second: str
    parts: tuple[Part, ...]
    in_return: bool

    @property
    def ends(self) -> tuple[str, str]:
        """Give both nodes."""
        return self.first, self.second

    def other_end(self, node: str) -> str:
        """Give the node at the other end than a given one."""
        return self.first if node == self.second else self.second


def needs_network(line: Line, return_line: Line | None = None) -> bool:
    """
    Say whether a line must be solved as a network.

    Parameters
    ----------
    line : Line
        Feed line.
    return_line : Line or None
        Return line.

    Returns
    -------
    bool
        False for a chain: no part names a node and none is a running lift pump.
    """
    parts = (*line.parts, *(return_line.parts if return_line else ()))
    return any(
        part.from_node is not None
        or part.to_node is not None
        or (isinstance(part, LiftPump) and part.running)
        for part in parts
    )


def join_parts(parts: tuple[Part, ...], *, start: str, end: str, in_return: bool) -> list[Link]:
    """
    Join parts to links, cutting wherever a node has a name.

    Parameters
    ----------
    parts : tuple of Part
        In the order of the case.
    start, end : str
        Nodes where the first part begins and the last one ends, unless they say otherwise.
    in_return : bool
        True for parts of the return line.

    Returns
    -------
    list of Link
        In the same order.
    """
    links: list[Link] = []
    run: list[Part] = []
    first = start
    for position, part in enumerate(parts):
        if not run:
            # The one before ended at a named node; this one may begin somewhere else.
            first = part.from_node or first
        run.append(part)
        following = parts[position + 1] if position + 1 < len(parts) else None
        second = part.to_node or (following.from_node if following else end)
        if second is not None:
            links.append(Link(first=first, second=second, parts=tuple(run), in_return=in_return))
            run, first = [], second
    return links


def network_findings(
    parts: tuple[Part, ...],
    links: list[Link],
    recirculation: Recirculation | None,
    drawn: Collection[str],
) -> list[Finding]:
    """
    Say all that keeps a network from being solved.

    Parameters
    ----------
    parts : tuple of Part
        Of feed line and return line.
    links : list of Link
        The same, joined.
    recirculation : Recirculation or None
        Thermostatic return.
    drawn : collection of str
        Nodes where fuel is drawn by something else than the pump.

    Returns
    -------
    list of Finding
        Errors only; empty when it can be solved.
    """
    nodes = node_names(links)
    fed = {TANK, INLET, RETURN, *drawn} | ({recirculation.to_node} if recirculation else set())
    return [
        *_part_findings(parts),
        *_lift_findings(links),
        *_node_findings(nodes, links, fed),
        *_recirculation_findings(recirculation, nodes),
    ]


def node_names(links: list[Link]) -> tuple[str, ...]:
    """
    List the nodes of links.

    Parameters
    ----------
    links : list of Link
        Feed line and return line.

    Returns
    -------
    tuple of str
        The tank first, the others as they come.
    """
    return tuple(dict.fromkeys([TANK, *(node for link in links for node in link.ends)]))


def running_lift_pumps(link: Link) -> list[LiftPump]:
    """
    List the running lift pumps of a link.

    Parameters
    ----------
    link : Link
        The link.

    Returns
    -------
    list of LiftPump
        In the order of its parts.
    """
    return [part for part in link.parts if isinstance(part, LiftPump) and part.running]


def _lift_findings(links: list[Link]) -> list[Finding]:
    """Find running lift pumps in a row, whose curves would have to be added up."""
    return [
        error(
            pump.id,
            "is a second running lift pump without a named node between them.",
            "Name the node between the two pumps.",
        )
        for link in links
        for pump in running_lift_pumps(link)[1:]
    ]


def _named(names: Collection[str]) -> str:
    """List names for a reader."""
    return ", ".join(names)


def _part_findings(parts: tuple[Part, ...]) -> list[Finding]:
    """Find ids that occur twice and lift pumps without a usable curve."""
    ids = [part.id for part in parts]
    findings = [
        error(name, f"{ids.count(name)} parts have this id.", "Give each part an id of its own.")
        for name in dict.fromkeys(ids)
        if ids.count(name) > 1
    ]
    for part in parts:
        if not isinstance(part, LiftPump) or not part.running:
            continue
        if not (
            part.shut_off_pressure_pa > 0.0
            and part.free_flow_m3_per_s > 0.0
            and part.curve_exponent >= 1.0
        ):
            findings.append(
                error(
                    part.id,
                    f"no lift pump has shut-off pressure {part.shut_off_pressure_pa:g} Pa, free"
                    f" flow {part.free_flow_m3_per_s:g} m3/s and curve exponent"
                    f" {part.curve_exponent:g}.",
                    "Pressure and flow must be above 0, the exponent 1 or more.",
                )
            )
    return findings


def _node_findings(nodes: tuple[str, ...], links: list[Link], fed: set[str]) -> list[Finding]:
    """Find loops of one part, nodes without a way to the tank, dead ends, too many nodes."""
    findings = [
        error(
            link.parts[0].id,
            f"begins and ends at the node {link.first!r}.",
            "Name the node where it really ends.",
        )
        for link in links
        if link.first == link.second
    ]
    reached = _reached(links)
    for node in nodes:
        ending = [part for link in links if node in link.ends for part in link.parts]
        if node not in reached:
            findings.append(
                error(
                    ending[0].id,
                    f"joins the node {node!r}, which no part joins to the tank.",
                    f"Check the node's name; known are {_named(nodes)}.",
                )
            )
        elif node not in fed and sum(node in link.ends for link in links) < 2:
            findings.append(
                error(
                    ending[0].id,
                    f"ends at the node {node!r}, which nothing else joins: a dead end.",
                    f"Check the node's name; known are {_named(nodes)}.",
                )
            )
    if INLET not in nodes and fed <= {TANK, INLET, RETURN}:
        findings.append(
            error(
                "line",
                f"no part ends at {INLET!r}, so nothing feeds the pump.",
                f"Let a part end there; known are {_named(nodes)}.",
            )
        )
    findings += [
        error(node, "is to draw fuel and is no node of the line.", f"Known are {_named(nodes)}.")
        for node in sorted(fed - set(nodes) - {TANK, INLET, RETURN})
    ]
    if len(nodes) > MOST_NODES:
        findings.append(
            error("line", f"has {len(nodes)} named nodes, at most {MOST_NODES} are solved.")
        )
    return findings


def _reached(links: list[Link]) -> set[str]:
    """Give the nodes that some way joins to the tank, whatever stands in it."""
    reached = {TANK}
    grown = True
    while grown:
        new = {node for link in links if reached & set(link.ends) for node in link.ends}
        grown = not new <= reached
        reached |= new
    return reached


def _recirculation_findings(
    recirculation: Recirculation | None, nodes: tuple[str, ...]
) -> list[Finding]:
    """Find shares that are none and a stroke without length."""
    findings: list[Finding] = []
    if recirculation is None:
        return findings
    if recirculation.to_node in (TANK, INLET, RETURN):
        findings.append(
            error(
                "recirculation",
                f"leads into {recirculation.to_node!r}.",
                f"Name a node between tank and pump inlet; known are {_named(nodes)}.",
            )
        )
    shares = (recirculation.cold_fraction, recirculation.warm_fraction)
    if not all(0.0 <= share <= 1.0 for share in shares):
        findings.append(
            error("recirculation", f"shares {shares} of the return; allowed are 0 to 1.")
        )
    if not recirculation.cold_temperature_k < recirculation.warm_temperature_k:
        findings.append(
            error(
                "recirculation",
                f"is cold at {recirculation.cold_temperature_k:g} K and warm at"
                f" {recirculation.warm_temperature_k:g} K.",
                "The warm temperature must be the higher one.",
            )
        )
    return findings
