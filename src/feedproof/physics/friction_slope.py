"""
How the friction factor bends with the Reynolds number: exact derivatives of the friction rules.

A loss goes with flow to the power of two plus the local exponent n = d ln f / d ln Re: -1 in
laminar flow, about -1/4 on a smooth wall, 0 on a fully rough one.  A solver's slope comes from it
without a second friction factor.
"""

import math

from feedproof.core.compiled import formula
from feedproof.physics.friction import (
    RULE_BLEND_BLASIUS,
    RULE_CHURCHILL,
    transition_end,
    transition_start,
)

_TWO_PER_LN10 = 2.0 / math.log(10.0)


@formula
def colebrook_exponent(reynolds: float, relative_roughness: float, factor: float) -> float:
    """
    Give the local exponent of Colebrook's friction factor.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].
    factor : float
        Friction factor there, the root of the equation [1].

    Returns
    -------
    float
        d ln f / d ln Re, from -2 to 0; not a number at rest [1].

    Notes
    -----
    Colebrook 1939, differentiated implicitly.

    Examples
    --------
    >>> round(colebrook_exponent(1e5, 0.0, 0.01798512), 4)
    -0.2087
    """
    if reynolds <= 0.0:
        return math.nan
    smooth = 2.51 / reynolds
    bend = _TWO_PER_LN10 * smooth / (relative_roughness / 3.7 + smooth / math.sqrt(factor))
    return -2.0 * bend / (1.0 + bend)


@formula
def churchill_exponent(reynolds: float, relative_roughness: float) -> float:
    """
    Give the local exponent of Churchill's friction factor.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].

    Returns
    -------
    float
        d ln f / d ln Re, -1 at rest [1]; above 0 where the transition lifts the factor.

    Notes
    -----
    Churchill 1977, differentiated.
    """
    if reynolds <= 0.0:
        return -1.0
    power = math.pow(7.0 / reynolds, 0.9)
    inside = power + 0.27 * relative_roughness
    depth = math.log(1.0 / inside)
    a = (2.457 * depth) ** 16
    b = (37530.0 / reynolds) ** 16
    laminar = (8.0 / reynolds) ** 12
    rest = math.pow(a + b, -1.5)
    rising = 16.0 * a * 0.9 * power / (inside * depth) - 16.0 * b
    return (-laminar - 0.125 * rest * rising / (a + b)) / (laminar + rest)


@formula
def joined_exponent(
    reynolds: float, relative_roughness: float, rule: int, end_factor: float, factor: float
) -> float:
    """
    Give the local exponent of the friction factor by one of the joining rules.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].
    rule : int
        Code of a `feedproof.physics.friction.FrictionRule` [1].
    end_factor : float
        Turbulent factor at the end of the rule's transition [1].
    factor : float
        Friction factor there, from `joined_friction_factor` [1].

    Returns
    -------
    float
        d ln f / d ln Re, -1 at rest as in all laminar flow [1]; at a corner of the rule that of
        the side above.
    """
    if rule == RULE_CHURCHILL:
        return churchill_exponent(reynolds, relative_roughness)
    start = transition_start(rule)
    if reynolds < start:
        return -1.0
    end = transition_end(rule)
    if reynolds < end:
        return reynolds * (end_factor - 64.0 / start) / (end - start) / factor
    if rule == RULE_BLEND_BLASIUS:
        return -0.25
    return colebrook_exponent(reynolds, relative_roughness, factor)
