"""Tee pieces of a network: what their legs lose at the split of the flow that was found."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.line import Tee
from feedproof.core.compiled import formula
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
TEE_COLUMNS = 7


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


def tee_table(tees: Sequence[PlacedTee], links: Sequence[Link]) -> FloatArray:
    """
    Write tees into numbers.

    Parameters
    ----------
    tees : sequence of PlacedTee
        The tees.
    links : sequence of Link
        Of the network.

    Returns
    -------
    array, shape (n_tees, 7)
        The links straight on, the first and the second, and that of the side leg; for each of the
        three 1 where it begins at the tee and -1 where it ends there; the bore [m].
    """
    rows = []
    for placed in tees:
        legs = [leg for leg in placed.legs if leg != placed.branch] + [placed.branch]
        turns = [1.0 if links[leg].first == placed.tee.node else -1.0 for leg in legs]
        rows.append((*map(float, legs), *turns, placed.tee.bore_m))
    return np.array(rows, dtype=np.float64).reshape(len(rows), TEE_COLUMNS)


@formula
def outward_coefficients(
    first_m3_per_s: float, second_m3_per_s: float, side_m3_per_s: float
) -> tuple[float, float, float]:
    """
    Give the coefficient of each leg at a split of the flow, counted from the node outward.

    Parameters
    ----------
    first_m3_per_s, second_m3_per_s, side_m3_per_s : float
        Flow into the node from the two legs straight on, and from the side leg. [m3/s]

    Returns
    -------
    first, second, side : float
        On the velocity of the whole flow; below 0 where a leg's own flow comes in and loses on its
        way; 0 for the leg that carries the whole. [-]

    Notes
    -----
    A side leg without flow stands at the static pressure of the stream that passes it: one
    velocity head outward where flow divides, 0.9 where it combines.  Up to `LEAST_SHARE` both are
    joined, so that a valve there cannot make the solution run to and fro.
    """
    straight = max(abs(first_m3_per_s), abs(second_m3_per_s))
    whole = max(straight, abs(side_m3_per_s))
    if abs(side_m3_per_s) > straight:
        through = math.copysign(THROUGH_BRANCH, side_m3_per_s)
        return through, through, 0.0
    share = abs(side_m3_per_s) / whole if whole > 0.0 else 0.0
    first_leads = first_m3_per_s >= second_m3_per_s
    if side_m3_per_s <= 0.0:
        run = tee_run_dividing(share)
        branch = tee_branch_dividing(share)
        return (0.0, run, branch) if first_leads else (run, 0.0, branch)
    joined = min(share / LEAST_SHARE, 1.0)
    still = tee_branch_dividing(0.0)
    branch = still + joined * (-tee_branch_combining(share) - still)
    run = -tee_run_combining(share)
    return (run, 0.0, branch) if first_leads else (0.0, run, branch)


@formula
def tee_losses(tees: FloatArray, flow_m3_per_s: FloatArray, density_kg_per_m3: float) -> FloatArray:
    """
    Give what tees take from their legs at a split of the flow.

    Parameters
    ----------
    tees : array, shape (n_tees, 7)
        From `tee_table`.
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
    losses = np.zeros(flow_m3_per_s.shape[0])
    for row in range(tees.shape[0]):
        first, second, side = int(tees[row, 0]), int(tees[row, 1]), int(tees[row, 2])
        inward_first = -tees[row, 3] * flow_m3_per_s[first]
        inward_second = -tees[row, 4] * flow_m3_per_s[second]
        inward_side = -tees[row, 5] * flow_m3_per_s[side]
        whole = max(abs(inward_first), abs(inward_second), abs(inward_side))
        head = dynamic_pressure(whole, tees[row, 6], density_kg_per_m3)
        found = outward_coefficients(inward_first, inward_second, inward_side)
        losses[first] += tees[row, 3] * found[0] * head
        losses[second] += tees[row, 4] * found[1] * head
        losses[side] += tees[row, 5] * found[2] * head
    return losses
