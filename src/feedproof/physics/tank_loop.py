"""
Tank, filters and return as a loop: what becomes of the particles of one size.

Most of the feed comes back, so that a particle that the filters let pass meets them again.  The
closed forms below hold the whole loop: to multiply a catch per pass by the number of passes and
use them as well would count the return twice.  A tank that shrinks between two fills is followed
by `tank_filling`.
"""

import math

from feedproof.core.compiled import formula


@formula
def injected_fraction(penetration_ratio: float, return_ratio: float) -> float:
    """
    Give the share of the tank's particles that is injected in the end.

    Parameters
    ----------
    penetration_ratio : float
        Share that all filters of the feed line let pass once, 0 to 1 [1].
    return_ratio : float
        Return flow over feed flow, 0 to below 1 [1].

    Returns
    -------
    float
        F = P (1 - r)/(1 - r P), 0 to 1 [1].

    Notes
    -----
    Geometric series of the passes, own derivation; return line and pump add and take nothing.

    Examples
    --------
    >>> round(injected_fraction(0.5, 0.85), 3)
    0.13
    """
    return penetration_ratio * (1.0 - return_ratio) / (1.0 - return_ratio * penetration_ratio)


@formula
def pump_passes(penetration_ratio: float, return_ratio: float) -> float:
    """
    Give how often a particle of the tank passes through the pump on average.

    Parameters
    ----------
    penetration_ratio : float
        Share that all filters of the feed line let pass once, 0 to 1 [1].
    return_ratio : float
        Return flow over feed flow, 0 to below 1 [1].

    Returns
    -------
    float
        B = P/(1 - r P); above 1 where most of the fuel comes back and the filters are poor [1].

    Notes
    -----
    Geometric series of the passes, own derivation.
    """
    return penetration_ratio / (1.0 - return_ratio * penetration_ratio)


@formula
def caught_fraction(
    before_ratio: float, own_ratio: float, penetration_ratio: float, return_ratio: float
) -> float:
    """
    Give the share of the tank's particles that one filter catches in the end.

    Parameters
    ----------
    before_ratio : float
        Penetration of all filters before it, 1 for the first [1].
    own_ratio : float
        Penetration of the filter itself, 0 to 1 [1].
    penetration_ratio : float
        Penetration of all filters of the line together, 0 to 1 [1].
    return_ratio : float
        Return flow over feed flow, 0 to below 1 [1].

    Returns
    -------
    float
        S = (penetration before) (1 - own)/(1 - r P), 0 to 1 [1].

    Notes
    -----
    With `injected_fraction` the shares of all filters sum to one.
    """
    return before_ratio * (1.0 - own_ratio) / (1.0 - return_ratio * penetration_ratio)


@formula
def cleaning_time(
    volume_m3: float, feed_m3_per_s: float, return_m3_per_s: float, penetration_ratio: float
) -> float:
    """
    Give the time constant with which the loop cleans a tank of constant volume.

    Parameters
    ----------
    volume_m3 : float
        Fuel in the tank [m3].
    feed_m3_per_s : float
        Feed flow, above 0 [m3/s].
    return_m3_per_s : float
        Return flow [m3/s].
    penetration_ratio : float
        Share that all filters let pass once, 0 to 1 [1].

    Returns
    -------
    float
        V/(Qf - Qr P); infinite where nothing leaves the loop [s].

    Notes
    -----
    80 L at 80 L/h come to one to two hours: a tank cleans itself between two fills.
    """
    leaving = feed_m3_per_s - return_m3_per_s * penetration_ratio
    if leaving <= 0.0:
        return math.inf
    return volume_m3 / leaving


@formula
def particle_source(
    refuel_m3_per_s: float,
    refuel_per_m3: float,
    injected_m3_per_s: float,
    breather_per_m3: float,
    shed_per_s: float,
) -> float:
    """
    Give the particles that enter a tank in a second.

    Parameters
    ----------
    refuel_m3_per_s : float
        Fuel filled in [m3/s].
    refuel_per_m3 : float
        Particles in it [1/m3].
    injected_m3_per_s : float
        Fuel burnt, which as much air replaces [m3/s].
    breather_per_m3 : float
        Particles in the air behind the breather [1/m3].
    shed_per_s : float
        Particles from wear and rust [1/s].

    Returns
    -------
    float
        Source [1/s].

    Notes
    -----
    Counts may be masses instead (kg for 1) as long as all are.
    """
    return refuel_m3_per_s * refuel_per_m3 + injected_m3_per_s * breather_per_m3 + shed_per_s


@formula
def tank_count_rate(
    count_per_m3: float,
    volume_m3: float,
    feed_m3_per_s: float,
    return_m3_per_s: float,
    penetration_ratio: float,
    refuel_m3_per_s: float,
    source_per_s: float,
) -> float:
    """
    Give how fast the count in a tank changes.

    Parameters
    ----------
    count_per_m3 : float
        Particles of one size in the tank's fuel [1/m3].
    volume_m3 : float
        Fuel in the tank, above 0 [m3].
    feed_m3_per_s : float
        Feed flow [m3/s].
    return_m3_per_s : float
        Return flow [m3/s].
    penetration_ratio : float
        Share that all filters let pass once [1].
    refuel_m3_per_s : float
        Fuel filled in [m3/s].
    source_per_s : float
        Particles that enter, see `particle_source` [1/s].

    Returns
    -------
    float
        Change of the count [1/(m3 s)].

    Notes
    -----
    d(V c)/dt = -Qf c + Qr P c + source with dV/dt = -Qf + Qr + Qrefuel, solved for dc/dt: the
    dilution by a filling is the last term.
    """
    volume_rate = refuel_m3_per_s + return_m3_per_s - feed_m3_per_s
    carried = (return_m3_per_s * penetration_ratio - feed_m3_per_s) * count_per_m3
    return (carried + source_per_s - volume_rate * count_per_m3) / volume_m3


@formula
def steady_tank_count(
    start_per_m3: float,
    time_s: float,
    volume_m3: float,
    feed_m3_per_s: float,
    return_m3_per_s: float,
    penetration_ratio: float,
    source_per_s: float,
) -> float:
    """
    Give the count in a tank of constant volume after a time.

    Parameters
    ----------
    start_per_m3 : float
        Count at the start [1/m3].
    time_s : float
        Time [s].
    volume_m3 : float
        Fuel in the tank, kept by filling what is burnt [m3].
    feed_m3_per_s : float
        Feed flow [m3/s].
    return_m3_per_s : float
        Return flow [m3/s].
    penetration_ratio : float
        Share that all filters let pass once [1].
    source_per_s : float
        Particles that enter, those of the filling among them [1/s].

    Returns
    -------
    float
        Count [1/m3].

    Notes
    -----
    Exact: c0 exp(-x) + source t/V (1 - exp(-x))/x with x = (Qf - Qr P) t/V.
    """
    x = (feed_m3_per_s - return_m3_per_s * penetration_ratio) * time_s / volume_m3
    # (1 - e^-x)/x, which is 1 where nothing leaves the loop.
    mean = -math.expm1(-x) / x if abs(x) > 1e-12 else 1.0
    return start_per_m3 * math.exp(-x) + source_per_s * time_s / volume_m3 * mean
