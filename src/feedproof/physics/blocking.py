"""
How an element blocks: four laws of growth by load, their inverse, and flow at constant pressure.

The laws at constant flow are those of `element`, by which a feed line grows; here they are chosen
by number, turned round, and set beside the closed forms at constant pressure that tests integrate.
Real curves are flat and then bend sharply: take the law from points, not from a name.
"""

import math
from enum import IntEnum

from feedproof.core.compiled import formula
from feedproof.physics.element import (
    cake_growth,
    complete_growth,
    media_growth,
    standard_growth,
)


class BlockingLaw(IntEnum):
    """Where dirt sits: on the media, on and between, along the pores, in front of them."""

    CAKE = 0
    INTERMEDIATE = 1
    STANDARD = 2
    COMPLETE = 3


CAKE, INTERMEDIATE, STANDARD, COMPLETE = (int(law) for law in BlockingLaw)


@formula
def blocking_growth(captured_mass_kg: float, loading_scale_kg: float, law: int) -> float:
    """
    Give the growth of media resistance by a law of blocking at constant flow.

    Parameters
    ----------
    captured_mass_kg : float
        Dirt held [kg].
    loading_scale_kg : float
        Scale of the law [kg].
    law : int
        Value of `BlockingLaw` [1].

    Returns
    -------
    float
        Ratio to the clean media; infinite once shut, NaN for a law that there is not [1].

    Notes
    -----
    Cake 1 + m/mc, intermediate exp(m/mi), standard (1 - m/ms)^-2, complete 1/(1 - m/mb); Hermia
    1982, at constant flow Hlavacek and Bouchet 1993 (memory).
    """
    if law == CAKE:
        return cake_growth(captured_mass_kg, loading_scale_kg)
    if law == INTERMEDIATE:
        return media_growth(captured_mass_kg, loading_scale_kg)
    if law == STANDARD:
        return standard_growth(captured_mass_kg, loading_scale_kg)
    if law == COMPLETE:
        return complete_growth(captured_mass_kg, loading_scale_kg)
    return math.nan


@formula
def load_share_at_growth(growth_ratio: float, law: int) -> float:
    """
    Give the load at which the resistance has grown to a ratio, over the scale of the law.

    Parameters
    ----------
    growth_ratio : float
        Media resistance over that of the clean media, at least 1 [1].
    law : int
        Value of `BlockingLaw` [1].

    Returns
    -------
    float
        Captured mass over loading scale; NaN below a ratio of 1 or for a law there is not [1].
    """
    if not growth_ratio >= 1.0:
        return math.nan
    if law == CAKE:
        return growth_ratio - 1.0
    if law == INTERMEDIATE:
        return math.log(growth_ratio)
    if law == STANDARD:
        return 1.0 - 1.0 / math.sqrt(growth_ratio)
    if law == COMPLETE:
        return 1.0 - 1.0 / growth_ratio
    return math.nan


@formula
def load_at_growth(growth_ratio: float, loading_scale_kg: float, law: int) -> float:
    """
    Give the dirt at which the resistance has grown to a ratio.

    Parameters
    ----------
    growth_ratio : float
        Media resistance over that of the clean media, at least 1 [1].
    loading_scale_kg : float
        Scale of the law; 0, negative or infinite means an element that does not load [kg].
    law : int
        Value of `BlockingLaw` [1].

    Returns
    -------
    float
        Captured mass; infinite where the element does not load, NaN below a ratio of 1 [kg].
    """
    if not growth_ratio >= 1.0:
        return math.nan
    if loading_scale_kg <= 0.0 or math.isinf(loading_scale_kg):
        return math.inf if growth_ratio > 1.0 else 0.0
    return loading_scale_kg * load_share_at_growth(growth_ratio, law)


@formula
def constant_pressure_volume(
    time_s: float, start_flow_m3_per_s: float, constant: float, law: int
) -> float:
    """
    Give the volume filtered at constant pressure after a time.

    Parameters
    ----------
    time_s : float
        Time [s].
    start_flow_m3_per_s : float
        Flow through the clean media [m3/s].
    constant : float
        k of d2t/dV2 = k (dt/dV)^n, above 0; its unit depends on n [s^(1-n) m^(3n-6)].
    law : int
        Value of `BlockingLaw`: cake n = 0, intermediate 1, standard 3/2, complete 2 [1].

    Returns
    -------
    float
        Volume; NaN for a law that there is not [m3].

    Notes
    -----
    Hermia 1982, closed forms from memory; tests integrate the equation with SciPy.
    """
    q, kt = start_flow_m3_per_s, constant * time_s
    if law == CAKE:
        return (math.sqrt(1.0 + 2.0 * kt * q * q) - 1.0) / (constant * q)
    if law == INTERMEDIATE:
        return math.log1p(kt * q) / constant
    if law == STANDARD:
        return q * time_s / (1.0 + 0.5 * kt * math.sqrt(q))
    if law == COMPLETE:
        return -math.expm1(-kt) * q / constant
    return math.nan


@formula
def constant_pressure_flow(
    time_s: float, start_flow_m3_per_s: float, constant: float, law: int
) -> float:
    """
    Give the flow at constant pressure after a time.

    Parameters
    ----------
    time_s : float
        Time [s].
    start_flow_m3_per_s : float
        Flow through the clean media [m3/s].
    constant : float
        k of d2t/dV2 = k (dt/dV)^n, above 0; its unit depends on n [s^(1-n) m^(3n-6)].
    law : int
        Value of `BlockingLaw` [1].

    Returns
    -------
    float
        Flow, the derivative of `constant_pressure_volume`; NaN for a law there is not [m3/s].
    """
    q, kt = start_flow_m3_per_s, constant * time_s
    if law == CAKE:
        return q / math.sqrt(1.0 + 2.0 * kt * q * q)
    if law == INTERMEDIATE:
        return q / (1.0 + kt * q)
    if law == STANDARD:
        return q / (1.0 + 0.5 * kt * math.sqrt(q)) ** 2
    if law == COMPLETE:
        return q * math.exp(-kt)
    return math.nan
