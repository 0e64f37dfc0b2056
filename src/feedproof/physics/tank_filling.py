"""
A tank that is burnt empty between two fills: what becomes of its particles, exactly.

Fuel is drawn, filtered, partly burnt and partly returned, while the tank shrinks.  Seen against
the volume left, and not against time, the balance of one size of particle is linear with constant
coefficients, so that no step of time is needed:

    V dc/dV = k c - s,   k = (return/injected)(1 - P)

with s the particles that enter with each volume burnt (air, wear).
"""

import math

from feedproof.core.compiled import formula


@formula
def cleaning_exponent(feed_m3_per_s: float, injected_m3_per_s: float, penetration: float) -> float:
    """
    Give the exponent with which the loop cleans a shrinking tank.

    Parameters
    ----------
    feed_m3_per_s : float
        Flow drawn from the tank [m3/s].
    injected_m3_per_s : float
        Flow burnt, above 0 [m3/s].
    penetration : float
        Share that all filters let pass once, 0 to 1 [1].

    Returns
    -------
    float
        k: without a source the concentration falls as the volume left to the power of k [1].

    Examples
    --------
    >>> round(cleaning_exponent(100.0, 20.0, 0.25), 9)
    3.0
    """
    return (feed_m3_per_s / injected_m3_per_s - 1.0) * (1.0 - penetration)


@formula
def concentration_after(
    concentration_per_m3: float, source_per_m3: float, exponent: float, left_ratio: float
) -> float:
    """
    Give the concentration in a tank after part of it has been burnt.

    Parameters
    ----------
    concentration_per_m3 : float
        Before [1/m3].
    source_per_m3 : float
        Particles that enter with each volume burnt [1/m3].
    exponent : float
        From `cleaning_exponent`, 0 or more [1].
    left_ratio : float
        Volume after over volume before, above 0 to 1 [1].

    Returns
    -------
    float
        After [1/m3].

    Notes
    -----
    Solution of the balance above; own derivation, checked against SciPy's integrator.

    Examples
    --------
    >>> round(concentration_after(8.0, 0.0, 3.0, 0.5), 9)
    1.0
    """
    power = exponent * math.log(left_ratio)
    if power == 0.0:
        return concentration_per_m3 - source_per_m3 * math.log(left_ratio)
    return concentration_per_m3 * math.exp(power) - source_per_m3 * math.expm1(power) / exponent


@formula
def particles_drawn(
    before: float,
    after: float,
    entered: float,
    feed_m3_per_s: float,
    injected_m3_per_s: float,
    penetration: float,
) -> float:
    """
    Give the particles that the feed took out of a tank while it was burnt.

    Parameters
    ----------
    before, after : float
        Particles in the tank [1].
    entered : float
        Particles that came in meanwhile, but for the return [1].
    feed_m3_per_s, injected_m3_per_s : float
        Flow drawn and flow burnt [m3/s].
    penetration : float
        Share that all filters let pass once, 0 to 1 [1].

    Returns
    -------
    float
        Counted each time they pass the first filter [1].

    Notes
    -----
    Conservation: what left the loop was caught or burnt, the return brought the rest back.

    Examples
    --------
    >>> round(particles_drawn(100.0, 0.0, 0.0, 100.0, 15.0, 0.5), 6)
    173.913043
    """
    leaving = 1.0 - (1.0 - injected_m3_per_s / feed_m3_per_s) * penetration
    return (before - after + entered) / leaving
