"""
What passes a feed line once: through filters one behind the other, side by side, and led back.

Of what the tank gives, each element catches a share and the rest reaches the pump.  In a chain
that is a product; in a network the flows say what mixes where, and return that is led back into
the line meets its filters again.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.parts import Element, Part
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.network_circuit import NetworkCircuit
from feedproof.feedline.network_nodes import INLET, TANK
from feedproof.feedline.pump_state import FeedState

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """
    One pass of the feed from the tank to the pump.

    Parameters
    ----------
    through : array, shape (n_b,)
        Concentration at the pump over that in the tank, by band of size. [-]
    elements : tuple of str
        Elements that were given a penetration, in the order of the line.
    catch : array, shape (n_e, n_b)
        Share of what the tank gives that each element catches. [-]
    drawn_m3_per_s, injected_m3_per_s : float
        Flow out of the tank, and flow burnt; the rest of it comes back. [m3/s]
    """

    through: FloatArray
    elements: tuple[str, ...]
    catch: FloatArray
    drawn_m3_per_s: float
    injected_m3_per_s: float


def passage(
    circuit: FeedCircuit, state: FeedState, penetration: Mapping[str, FloatArray]
) -> Passage:
    """
    Follow particles through a solved line.

    Parameters
    ----------
    circuit : FeedCircuit
        Chain or network.
    state : FeedState
        A solved point of it.
    penetration : mapping of str to array, shape (n_b,)
        Share that an element lets pass, by id; elements that are not named let all pass. [-]

    Returns
    -------
    Passage
        Shares of all elements and what passes add up to one.
    """
    if isinstance(circuit, NetworkCircuit):
        return _through_network(circuit, state, penetration)
    bands = next(iter(penetration.values())).size if penetration else 1
    through = np.ones(bands)
    names, caught = [], []
    for part in circuit.line.parts:
        if part.id in penetration:
            names.append(part.id)
            caught.append(through * (1.0 - penetration[part.id]))
            through = through * penetration[part.id]
    return Passage(
        through=through,
        elements=tuple(names),
        catch=np.array(caught).reshape(len(names), bands),
        drawn_m3_per_s=state.feed_m3_per_s,
        injected_m3_per_s=state.injected_m3_per_s,
    )


def _through_network(
    circuit: NetworkCircuit, state: FeedState, penetration: Mapping[str, FloatArray]
) -> Passage:
    """Balance every node for every band of size."""
    found = circuit.drawn(state)
    bands = next(iter(penetration.values())).size if penetration else 1
    nodes = [node for node in circuit.network.nodes if node != TANK]
    place = {node: index for index, node in enumerate(nodes)}
    # Rows: flow into a node times its own concentration, less what comes in with it.
    balance = np.zeros((bands, len(nodes), len(nodes)))
    given = np.zeros((bands, len(nodes)))
    ways = []
    for link in circuit.network.links:
        flow = found.flow_m3_per_s[link.parts[0].id]
        if link.in_return or flow == 0.0:
            continue
        start, end = (link.first, link.second) if flow > 0.0 else (link.second, link.first)
        parts = link.parts if flow > 0.0 else link.parts[::-1]
        passing = _passing(parts, penetration, bands)
        ways.append((start, end, abs(flow), parts))
        if end != TANK:
            balance[:, place[end], place[end]] += abs(flow)
            if start == TANK:
                given[:, place[end]] += abs(flow) * passing
            else:
                balance[:, place[end], place[start]] -= abs(flow) * passing
    back = circuit.recirculated_fraction * state.return_m3_per_s
    if back > 0.0 and circuit.vehicle.recirculation is not None:
        target = place[circuit.vehicle.recirculation.to_node]
        balance[:, target, target] += back
        balance[:, target, place[INLET]] -= back
    # A node that nothing flows into holds fuel that goes nowhere.
    for index in range(len(nodes)):
        still = balance[:, index, index] == 0.0
        balance[still, index, index] = 1.0
    node: FloatArray = np.linalg.solve(balance, given[:, :, None])[:, :, 0].astype(np.float64)
    drawn = sum(flow for start, _, flow, _ in ways if start == TANK)
    caught: dict[str, FloatArray] = {}
    for start, _, flow, parts in ways:
        here = np.ones(bands) if start == TANK else node[:, place[start]]
        for part in parts:
            if part.id in penetration:
                share = flow / drawn * here * (1.0 - penetration[part.id])
                caught[part.id] = caught.get(part.id, np.zeros(bands)) + share
                here = here * penetration[part.id]
    names = tuple(part.id for part in circuit.line.parts if part.id in caught)
    return Passage(
        through=node[:, place[INLET]],
        elements=names,
        catch=np.array([caught[name] for name in names]).reshape(len(names), bands),
        drawn_m3_per_s=drawn,
        injected_m3_per_s=state.injected_m3_per_s,
    )


def _passing(
    parts: tuple[Part, ...], penetration: Mapping[str, FloatArray], bands: int
) -> FloatArray:
    """Give the share that the parts of a link let pass."""
    passing = np.ones(bands)
    for part in parts:
        if isinstance(part, Element) and part.id in penetration:
            passing = passing * penetration[part.id]
    return passing
