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
from feedproof.physics.tee import (
    THROUGH_BRANCH,
    tee_branch_combining,
    tee_branch_dividing,
    tee_run_combining,
    tee_run_dividing,
)

FloatArray = NDArray[np.float64]

# A leg with less than this share of the whole flow has a coefficient on its own velocity that
# passes all bounds; its loss is that of the share itself.
LEAST_SHARE = 1e-3


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
        Errors: a node of other than three parts, a branch that is none of them, two at one node.
    """
    findings = []
    nodes = [tee.node for tee in tees]
    for tee in tees:
        legs = [link for link in links if tee.node in link.ends]
        beside = [_beside(link, tee.node) for link in legs]
        if len(legs) != 3:
            findings.append(
                error(
                    f"tee {tee.node}",
                    f"{len(legs)} parts meet at the node {tee.node!r}; a tee joins three.",
                    "Name the node where the three parts meet.",
                )
            )
        elif tee.branch not in beside:
            findings.append(
                error(
                    f"tee {tee.node}",
                    f"no part {tee.branch!r} meets the node {tee.node!r}.",
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
        branch = next(
            i for i in (first, second, third) if _beside(links[i], tee.node) == tee.branch
        )
        placed.append(PlacedTee(tee=tee, legs=(first, second, third), branch=branch))
    return tuple(placed)


def _beside(link: Link, node: str) -> str:
    """Give the part of a link that stands at one of its nodes."""
    return link.parts[0 if link.first == node else -1].id


def leg_coefficients(placed: PlacedTee, inward: Mapping[int, float]) -> dict[int, float]:
    """
    Give the coefficient of each leg at a split of the flow.

    Parameters
    ----------
    placed : PlacedTee
        The tee.
    inward : mapping of int to float
        Flow of each leg into the node, by link. [m3/s]

    Returns
    -------
    dict of int to float
        By link, on the velocity of the whole flow; none for the leg that carries it. [-]
    """
    whole = max(placed.legs, key=lambda leg: abs(inward[leg]))
    others = [leg for leg in placed.legs if leg != whole]
    if inward[whole] == 0.0:
        return dict.fromkeys(others, 0.0)
    if whole == placed.branch:
        return dict.fromkeys(others, THROUGH_BRANCH)
    share = min(abs(inward[placed.branch] / inward[whole]), 1.0)
    dividing = inward[whole] > 0.0
    run = tee_run_dividing(share) if dividing else tee_run_combining(share)
    side = tee_branch_dividing(share) if dividing else tee_branch_combining(share)
    return {leg: side if leg == placed.branch else run for leg in others}


def tee_inertial(
    tees: tuple[PlacedTee, ...], links: tuple[Link, ...], flow_m3_per_s: FloatArray
) -> FloatArray:
    """
    Give what tees add to the inertial resistance of their legs.

    Parameters
    ----------
    tees : tuple of PlacedTee
        The tees.
    links : tuple of Link
        Of the network.
    flow_m3_per_s : array, shape (n_links,)
        Flow of each link from its first to its second node. [m3/s]

    Returns
    -------
    array, shape (n_links,)
        On the flow of the leg itself. [1/m4]
    """
    added = np.zeros(len(links))
    for placed in tees:
        node = placed.tee.node
        inward = {
            leg: float(flow_m3_per_s[leg]) * (1.0 if links[leg].second == node else -1.0)
            for leg in placed.legs
        }
        whole = max(abs(flow) for flow in inward.values())
        area_m2 = 0.25 * math.pi * placed.tee.bore_m**2
        for leg, coefficient in leg_coefficients(placed, inward).items():
            share = max(abs(inward[leg]) / whole, LEAST_SHARE) if whole > 0.0 else 1.0
            added[leg] += coefficient / (2.0 * area_m2**2) / share**2
    return added
