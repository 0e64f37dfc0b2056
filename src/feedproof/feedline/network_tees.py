"""Tee pieces of a network: what their legs lose at the split of the flow that was found."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.line import Tee
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error
from feedproof.feedline.network_nodes import Link
from feedproof.physics.losses import dynamic_pressure
from feedproof.physics.tee import (
    THROUGH_BRANCH,
    tee_branch_combining,
    tee_branch_dividing,
    tee_run_combining,
    tee_run_dividing,
)

FloatArray = NDArray[np.float64]

LEAST_SHARE = 1e-3
"""Share of the whole flow from which on a side leg counts as combining. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedTee:
    """
    A tee and the links of its legs.

    Parameters
    ----------
    tee : Tee
        The tee.
    legs : tuple of int
        Its three links.
    branch : int
        That of the side leg.
    """

    tee: Tee
    legs: tuple[int, int, int]
    branch: int


def tee_findings(tees: tuple[Tee, ...], links: tuple[Link, ...]) -> list[Finding]:
    """
    Say what keeps tees from standing in a network.

    Parameters
    ----------
    tees : tuple of Tee
        Of the vehicle.
    links : tuple of Link
        Of the network.

    Returns
    -------
    list of Finding
        Errors: a node of other than three parts, a branch on none of their legs, two tees at one
        node.
    """
    findings = []
    nodes = [tee.node for tee in tees]
    for tee in tees:
        legs = [link for link in links if tee.node in link.ends]
        beside = [_beside(link, tee.node) for link in legs]
        legs_of_branch = [link for link in legs if has_part(link, tee.branch)]
        if len(legs) != 3:
            findings.append(
                error(
                    f"tee {tee.node}",
                    f"{len(legs)} parts meet at the node {tee.node!r}; a tee joins three.",
                    "Name the node where the three parts meet.",
                )
            )
        elif len(legs_of_branch) != 1:
            findings.append(
                error(
                    f"tee {tee.node}",
                    f"no leg of the node {tee.node!r} holds a part {tee.branch!r}.",
                    f"The branch is one of {', '.join(beside)}.",
                )
            )
        if nodes.count(tee.node) > 1:
            findings.append(
                error(
                    f"tee {tee.node}",
                    f"{nodes.count(tee.node)} tees stand at the node {tee.node!r}.",
                    "Leave one of them.",
                )
            )
    return findings


def place_tees(tees: tuple[Tee, ...], links: tuple[Link, ...]) -> tuple[PlacedTee, ...]:
    """
    Find the links of tees.

    Parameters
    ----------
    tees : tuple of Tee
        Of the vehicle.
    links : tuple of Link
        Of the network.

    Returns
    -------
    tuple of PlacedTee
        In the same order.

    Raises
    ------
    InputError
        What `tee_findings` says.
    """
    findings = tee_findings(tees, links)
    if findings:
        raise InputError(findings)
    placed = []
    for tee in tees:
        first, second, third = (i for i, link in enumerate(links) if tee.node in link.ends)
        # A kit may stand between the node and the part that was named: the leg is still the same.
        branch = next(i for i in (first, second, third) if has_part(links[i], tee.branch))
        placed.append(PlacedTee(tee=tee, legs=(first, second, third), branch=branch))
    return tuple(placed)


def has_part(link: Link, part_id: str) -> bool:
    """
    Say whether a part belongs to a link.

    Parameters
    ----------
    link : Link
        The link.
    part_id : str
        Id of the part.

    Returns
    -------
    bool
        True when it does.
    """
    return any(part.id == part_id for part in link.parts)


def _beside(link: Link, node: str) -> str:
    """Give the part of a link that stands at one of its nodes."""
    return link.parts[0 if link.first == node else -1].id


def outward_coefficients(placed: PlacedTee, inward: Mapping[int, float]) -> dict[int, float]:
    """
    Give the coefficient of each leg at a split of the flow, counted from the node outward.

    Parameters
    ----------
    placed : PlacedTee
        The tee.
    inward : mapping of int to float
        Flow of each leg into the node, by link. [m3/s]

    Returns
    -------
    dict of int to float
        By link, on the velocity of the whole flow; below 0 where a leg's own flow comes in and
        loses on its way; none for the leg that carries the whole. [-]

    Notes
    -----
    A side leg without flow stands at the static pressure of the stream that passes it: one
    velocity head outward where flow divides, 0.9 where it combines.  Up to `LEAST_SHARE` both are
    joined, so that a valve there cannot make the solution run to and fro.
    """
    runs = [leg for leg in placed.legs if leg != placed.branch]
    into, out = max(runs, key=inward.__getitem__), min(runs, key=inward.__getitem__)
    side = inward[placed.branch]
    whole = max(abs(inward[leg]) for leg in placed.legs)
    if abs(side) > max(abs(inward[leg]) for leg in runs):
        return {leg: math.copysign(THROUGH_BRANCH, side) for leg in runs}
    share = abs(side) / whole if whole > 0.0 else 0.0
    if side <= 0.0:
        return {placed.branch: tee_branch_dividing(share), out: tee_run_dividing(share)}
    joined = min(share / LEAST_SHARE, 1.0)
    still = tee_branch_dividing(0.0)
    branch = still + joined * (-tee_branch_combining(share) - still)
    return {placed.branch: branch, into: -tee_run_combining(share)}


def tee_losses(
    tees: tuple[PlacedTee, ...],
    links: tuple[Link, ...],
    flow_m3_per_s: FloatArray,
    density_kg_per_m3: float,
) -> FloatArray:
    """
    Give what tees take from their legs at a split of the flow.

    Parameters
    ----------
    tees : tuple of PlacedTee
        The tees.
    links : tuple of Link
        Of the network.
    flow_m3_per_s : array, shape (n_links,)
        Flow of each link from its first to its second node. [m3/s]
    density_kg_per_m3 : float
        Of the fuel. [kg/m3]

    Returns
    -------
    array, shape (n_links,)
        Loss from the first to the second node of each link; it hangs on the split and on the whole
        flow, and hardly on the leg's own, so it is no resistance of the leg. [Pa]
    """
    losses = np.zeros(len(links))
    for placed in tees:
        node = placed.tee.node
        # +1 for a link that begins at the node, so that outward is its own direction.
        turn = {leg: 1.0 if links[leg].first == node else -1.0 for leg in placed.legs}
        inward = {leg: -turn[leg] * float(flow_m3_per_s[leg]) for leg in placed.legs}
        whole = max(abs(flow) for flow in inward.values())
        head = dynamic_pressure(whole, placed.tee.bore_m, density_kg_per_m3)
        for leg, coefficient in outward_coefficients(placed, inward).items():
            losses[leg] += turn[leg] * coefficient * head
    return losses
