"""The way of the fuel through a network: at every meeting of branches the one that brings most."""

from collections.abc import Collection, Sequence

from feedproof.feedline.network_nodes import INLET, TANK, Link


def way_of_most_fuel(
    links: Sequence[Link], flow_m3_per_s: Sequence[float], through: Collection[str] = ()
) -> list[tuple[int, bool]]:
    """
    Follow the fuel back from the pump inlet to the tank.

    Parameters
    ----------
    links : sequence of Link
        Of the network.
    flow_m3_per_s : sequence of float
        Of each link, from its first to its second node. [m3/s]
    through : collection of str
        Ids of parts: a branch with more of them goes before one with more fuel.

    Returns
    -------
    list of (int, bool)
        Links from the tank on, True where the way goes from the first to the second node; empty
        where there is none.
    """
    way: list[tuple[int, bool]] = []
    node, seen = INLET, {INLET}
    while node != TANK:
        coming = [
            (_parts_on_the_way(links, flow_m3_per_s, index, other, through), inflow, index, other)
            for inflow, index, other in _coming(links, flow_m3_per_s, node)
            if other not in seen
        ]
        if not coming:
            return []
        _, _, index, other = max(coming)
        way.append((index, links[index].second == node))
        node = other
        seen.add(node)
    return way[::-1]


def _coming(
    links: Sequence[Link], flow_m3_per_s: Sequence[float], node: str
) -> list[tuple[float, int, str]]:
    """List the feed line's links at a node: flow into it, link, and the link's other node."""
    return [
        (flow if link.second == node else -flow, index, link.other_end(node))
        for index, (link, flow) in enumerate(zip(links, flow_m3_per_s, strict=True))
        if not link.in_return and node in link.ends
    ]


def _parts_on_the_way(
    links: Sequence[Link],
    flow_m3_per_s: Sequence[float],
    link: int,
    node: str,
    through: Collection[str],
) -> int:
    """Count the wanted parts of a link and of all upstream of the node that it comes from."""
    if not through:
        return 0
    found, nodes = {link}, [node]
    for upstream in nodes:
        for inflow, index, other in _coming(links, flow_m3_per_s, upstream):
            if inflow > 0.0 and index not in found:
                found.add(index)
                if other not in nodes:
                    nodes.append(other)
    return sum(part.id in through for each in found for part in links[each].parts)
