"""
Friction factor of a round pipe, from creeping to turbulent flow.

All factors are Darcy factors (four times the Fanning factor): loss = f L/d rho v^2/2.

Between Reynolds number 2000 and 4000 no published law holds: a line may be laminar or turbulent
there depending on its inlet and its joints.  The rule is therefore chosen by name, every rule is
continuous (a jump would give a pump and its line no common working point), and two rules exist
only to mark the lower and the upper edge of what such a line may do.
"""

import math
from enum import IntEnum

from feedproof.core.compiled import formula

RULE_BLEND_COLEBROOK = 0
RULE_BLEND_BLASIUS = 1
RULE_CHURCHILL = 2
RULE_LAMINAR_LATE = 3
RULE_TURBULENT_EARLY = 4

LAMINAR_END_REYNOLDS = 2000.0
TURBULENT_START_REYNOLDS = 4000.0
LATE_END_REYNOLDS = 4400.0
EARLY_END_REYNOLDS = 2300.0
# The turbulent laws lose their meaning (logarithm of one) long before this.
_LEAST_TURBULENT_REYNOLDS = 10.0
# Below it (8/Re)^12 leaves the range of a float; Churchill equals 64/Re there to the last digit.
_CREEPING_REYNOLDS = 1.0
# Each of Halley's steps cubes the error; from a start 10 % off at the worst two reach 1e-14.
_HALLEY_STEPS = 2
_PER_LN10 = 1.0 / math.log(10.0)
_GREATEST_RELATIVE_ROUGHNESS = 0.05


class FrictionRule(IntEnum):
    """
    Rule that joins laminar and turbulent friction.

    Attributes
    ----------
    BLEND_COLEBROOK
        64/Re below 2000, Colebrook above 4000, straight line in Re between; the default.
    BLEND_BLASIUS
        The same with Blasius' smooth-pipe law; rule of the reference scenario.
    CHURCHILL
        Churchill's one formula for all regimes.
    LAMINAR_LATE
        Lower edge: 64/Re up to 4000, then a short rise to Colebrook at 4400.
    TURBULENT_EARLY
        Upper edge: 64/Re up to 2000, then a short rise to Colebrook at 2300.
    """

    BLEND_COLEBROOK = RULE_BLEND_COLEBROOK
    BLEND_BLASIUS = RULE_BLEND_BLASIUS
    CHURCHILL = RULE_CHURCHILL
    LAMINAR_LATE = RULE_LAMINAR_LATE
    TURBULENT_EARLY = RULE_TURBULENT_EARLY


@formula
def laminar_friction_factor(reynolds: float) -> float:
    """
    Give the friction factor of developed laminar flow, 64/Re.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].

    Returns
    -------
    float
        Darcy friction factor [1]; 0 at Reynolds number 0, where the loss is zero.

    Notes
    -----
    Hagen-Poiseuille; holds below a Reynolds number of about 2000.

    Examples
    --------
    >>> laminar_friction_factor(1000.0)
    0.064
    """
    if reynolds <= 0.0:
        return 0.0
    return 64.0 / reynolds


@formula
def blasius_friction_factor(reynolds: float) -> float:
    """
    Give Blasius' friction factor of a smooth pipe, 0.3164 Re^-1/4.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].

    Returns
    -------
    float
        Darcy friction factor [1]; 0 at Reynolds number 0.

    Notes
    -----
    Blasius 1913; holds from 4000 to 100 000, smooth pipe.  Texts also print 0.316, which is
    0.13 % lower; 0.3164 is used throughout.
    """
    if reynolds <= 0.0:
        return 0.0
    return 0.3164 / math.sqrt(math.sqrt(reynolds))


@formula
def haaland_friction_factor(reynolds: float, relative_roughness: float) -> float:
    """
    Give Haaland's explicit turbulent friction factor.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].

    Returns
    -------
    float
        Darcy friction factor [1]; not a number below Reynolds number 10.

    Notes
    -----
    Haaland 1983; within 2 % of Colebrook for Reynolds numbers 4000 to 1e8 and relative roughness
    up to 0.05.
    """
    if reynolds < _LEAST_TURBULENT_REYNOLDS:
        return math.nan
    root = -1.8 * math.log10(math.pow(relative_roughness / 3.7, 1.11) + 6.9 / reynolds)
    return 1.0 / (root * root)


@formula
def colebrook_friction_factor(reynolds: float, relative_roughness: float) -> float:
    """
    Give the exact root of Colebrook's equation.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].

    Returns
    -------
    float
        Darcy friction factor [1]; not a number below Reynolds number 10.

    Notes
    -----
    Colebrook 1939, 1/sqrt f = -2 log10(e/3.7 + 2.51/(Re sqrt f)); turbulent flow above 4000.
    Halley's method on 1/sqrt f from a start of Haaland's form: three logarithms in all.

    Examples
    --------
    >>> round(colebrook_friction_factor(1e5, 1e-4), 11)
    0.01851386608
    """
    if reynolds < _LEAST_TURBULENT_REYNOLDS:
        return math.nan
    rough = relative_roughness / 3.7
    smooth = 2.51 / reynolds
    root = -1.8 * _PER_LN10 * math.log(rough + 6.9 / reynolds)
    for _ in range(_HALLEY_STEPS):
        inside = rough + smooth * root
        residual = root + 2.0 * _PER_LN10 * math.log(inside)
        bend = smooth / inside
        slope = 1.0 + 2.0 * _PER_LN10 * bend
        curvature = -2.0 * _PER_LN10 * bend * bend
        root -= 2.0 * residual * slope / (2.0 * slope * slope - residual * curvature)
    return 1.0 / (root * root)


@formula
def churchill_friction_factor(reynolds: float, relative_roughness: float) -> float:
    """
    Give Churchill's friction factor, one formula for all regimes.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].

    Returns
    -------
    float
        Darcy friction factor [1]; 0 at Reynolds number 0.

    Notes
    -----
    Churchill 1977.  The transition it draws is a fit, not a law.
    """
    if reynolds <= 0.0:
        return 0.0
    if reynolds < _CREEPING_REYNOLDS:
        return 64.0 / reynolds
    inside = math.pow(7.0 / reynolds, 0.9) + 0.27 * relative_roughness
    a = (2.457 * math.log(1.0 / inside)) ** 16
    b = (37530.0 / reynolds) ** 16
    return 8.0 * math.pow((8.0 / reynolds) ** 12 + math.pow(a + b, -1.5), 1.0 / 12.0)


@formula
def transition_start(rule: int) -> float:
    """
    Give the Reynolds number at which a rule leaves laminar friction.

    Parameters
    ----------
    rule : int
        Code of a `FrictionRule`, not Churchill's, which has no such place [1].

    Returns
    -------
    float
        Reynolds number [1].
    """
    return TURBULENT_START_REYNOLDS if rule == RULE_LAMINAR_LATE else LAMINAR_END_REYNOLDS


@formula
def transition_end(rule: int) -> float:
    """
    Give the Reynolds number from which on a rule takes turbulent friction.

    Parameters
    ----------
    rule : int
        Code of a `FrictionRule`, not Churchill's [1].

    Returns
    -------
    float
        Reynolds number [1].
    """
    if rule == RULE_LAMINAR_LATE:
        return LATE_END_REYNOLDS
    return EARLY_END_REYNOLDS if rule == RULE_TURBULENT_EARLY else TURBULENT_START_REYNOLDS


@formula
def turbulent_friction_factor(reynolds: float, relative_roughness: float, rule: int) -> float:
    """
    Give the turbulent friction factor that a rule takes.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].
    rule : int
        Code of a `FrictionRule`, not Churchill's [1].

    Returns
    -------
    float
        Darcy friction factor by Blasius or by Colebrook [1].
    """
    if rule == RULE_BLEND_BLASIUS:
        return blasius_friction_factor(reynolds)
    return colebrook_friction_factor(reynolds, relative_roughness)


@formula
def joined_friction_factor(
    reynolds: float, relative_roughness: float, rule: int, end_factor: float
) -> float:
    """
    Give the friction factor by one of the joining rules, the end of its transition given.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].
    rule : int
        Code of a `FrictionRule` [1].
    end_factor : float
        Turbulent factor at `transition_end`, a constant of each bore; looked at inside the
        transition only [1].

    Returns
    -------
    float
        Darcy friction factor [1]; as for `friction_factor`.
    """
    if reynolds <= 0.0:
        return 0.0
    if rule == RULE_CHURCHILL:
        return churchill_friction_factor(reynolds, relative_roughness)
    if rule < RULE_BLEND_COLEBROOK or rule > RULE_TURBULENT_EARLY:
        return math.nan
    start = transition_start(rule)
    if reynolds <= start:
        return 64.0 / reynolds
    end = transition_end(rule)
    if reynolds >= end:
        return turbulent_friction_factor(reynolds, relative_roughness, rule)
    start_factor = 64.0 / start
    return start_factor + (end_factor - start_factor) * (reynolds - start) / (end - start)


@formula
def transition_end_factor(reynolds: float, relative_roughness: float, rule: int) -> float:
    """
    Give the friction factor at the end of a rule's transition, where a flow is inside it.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].
    rule : int
        Code of a `FrictionRule` [1].

    Returns
    -------
    float
        Darcy friction factor [1]; not a number outside the transition, where nothing asks for it.
    """
    if rule == RULE_CHURCHILL:
        return math.nan
    end = transition_end(rule)
    if reynolds <= transition_start(rule) or reynolds >= end:
        return math.nan
    return turbulent_friction_factor(end, relative_roughness, rule)


@formula
def friction_factor(reynolds: float, relative_roughness: float, rule: int) -> float:
    """
    Give the friction factor by one of the joining rules.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].
    rule : int
        Code of a `FrictionRule` [1].

    Returns
    -------
    float
        Darcy friction factor [1]; 0 at Reynolds number 0 (the loss is zero there); not a number
        for a rule code that does not exist.

    Notes
    -----
    Continuous in the Reynolds number for every rule.  The straight lines are choices of this
    project: no published value exists between 2000 and 4000.
    """
    end_factor = transition_end_factor(reynolds, relative_roughness, rule)
    return joined_friction_factor(reynolds, relative_roughness, rule, end_factor)


def friction_range_faults(reynolds: float, relative_roughness: float, rule: int) -> list[str]:
    """
    Say in words where a friction factor leaves the range of its source.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].
    relative_roughness : float
        Wall roughness over bore [1].
    rule : int
        Code of a `FrictionRule` [1].

    Returns
    -------
    list of str
        One sentence per departure; empty when the value stands on its source.
    """
    faults = []
    if rule not in set(FrictionRule):
        faults.append(f"friction rule {rule} does not exist (allowed 0 to {len(FrictionRule) - 1})")
    if not 0.0 <= relative_roughness <= _GREATEST_RELATIVE_ROUGHNESS:
        faults.append(
            f"relative roughness {relative_roughness:g} lies outside 0 to"
            f" {_GREATEST_RELATIVE_ROUGHNESS:g}: Colebrook was fitted inside that range"
        )
    if LAMINAR_END_REYNOLDS < reynolds < TURBULENT_START_REYNOLDS:
        faults.append(
            f"Reynolds number {reynolds:.0f} lies between 2000 and 4000, where no law holds:"
            " take the lower and the upper edge as well"
        )
    if rule == RULE_BLEND_BLASIUS and reynolds > 1e5:
        faults.append(f"Reynolds number {reynolds:.0f} is above 100 000, the end of Blasius' law")
    return faults
