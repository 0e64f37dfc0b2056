"""Caught return, by volume or by mass: volume at 15 degC over time, on the loss scale."""

import math
from collections.abc import Mapping

from feedproof.case.fuel import Fuel
from feedproof.case.run import CaughtReturn
from feedproof.core.findings import Finding, warning
from feedproof.physics.fuel import linear_density

SAME_SPEED_SHARE = 0.02


def return_at_15c(caught: CaughtReturn, fuel: Fuel) -> float:
    """
    Give the return flow as volume at 15 degC.

    Parameters
    ----------
    caught : CaughtReturn
        Volume and its temperature in the measure, or mass; and duration.
    fuel : Fuel
        For its density at 15 degC and its expansion.

    Returns
    -------
    float
        V15 / t, with V15 = V rho(T) / rho(15 degC), or m / rho(15 degC). [m3/s]

    Raises
    ------
    ValueError
        Neither a mass nor a volume with its temperature.
    """
    if caught.mass_kg is not None:
        return caught.mass_kg / fuel.density_15c_kg_per_m3 / caught.duration_s
    if caught.volume_m3 is None or caught.temperature_k is None:
        raise ValueError("a catch needs a mass, or a volume with its temperature")
    density = linear_density(fuel.density_15c_kg_per_m3, fuel.expansion_per_k, caught.temperature_k)
    return caught.volume_m3 * density / fuel.density_15c_kg_per_m3 / caught.duration_s


def return_loss(flow_m3_per_s: float) -> float:
    """
    Put a return flow on the loss scale.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow, above 0. [m3/s]

    Returns
    -------
    float
        -100 ln(q / 1 m3/s): larger is worse. [log-percent]
    """
    return -100.0 * math.log(flow_m3_per_s)


def unlike_catches(
    catches: Mapping[int, CaughtReturn], session: str
) -> tuple[frozenset[int], tuple[Finding, ...]]:
    """
    Find runs whose return was caught in another way than that of most runs.

    Parameters
    ----------
    catches : mapping of int to CaughtReturn
        By run number, in order.
    session : str
        Name of the session, for messages.

    Returns
    -------
    frozenset of int
        Runs whose return cannot be compared.
    tuple of Finding
        One that names them.
    """
    groups: list[list[int]] = []
    for run, caught in catches.items():
        for group in groups:
            if _alike(caught, catches[group[0]]):
                group.append(run)
                break
        else:
            groups.append([run])
    if len(groups) < 2:
        return frozenset(), ()
    main = max(groups, key=len)
    odd = frozenset(run for group in groups if group is not main for run in group)
    named = ", ".join(f"run {run}" for run in sorted(odd))
    ways = "hold, engine speed or measure"
    text = f"return caught in another way than in most runs ({ways}): {named};"
    finding = warning(f"session {session}", f"{text} not used.", "Catch alike in every run.")
    return odd, (finding,)


def _alike(one: CaughtReturn, other: CaughtReturn) -> bool:
    """Say whether two catches were made in the same way."""
    if one.hold != other.hold or one.measure != other.measure:
        return False
    # A jug's error does not cancel against a balance's.
    if (one.mass_kg is None) != (other.mass_kg is None):
        return False
    speeds = (one.engine_speed_rev_per_s, other.engine_speed_rev_per_s)
    if speeds[0] is None or speeds[1] is None:
        return speeds[0] is speeds[1]
    return abs(speeds[0] - speeds[1]) <= SAME_SPEED_SHARE * speeds[1]
