"""
How much of each size a filter lets pass: filtration ratio, penetration, filters together.

The filtration ratio is particles before over particles behind the filter, larger than a size in
the standards and of a size here: for a steep curve the two differ little.
"""

import math
from collections.abc import Sequence

from feedproof.core.compiled import formula

ISO_19438_FLOW_M3_PER_S = (50e-3 / 3600.0, 800e-3 / 3600.0)
"""Rated flow of fuel filters that ISO 19438 tests, 50 to 800 L/h: seen in its scope."""


@formula
def filtration_ratio(particle_size_m: float, cut_size_m: float, slope: float) -> float:
    """
    Give the filtration ratio at a size.

    Parameters
    ----------
    particle_size_m : float
        Size [m].
    cut_size_m : float
        Size at which the ratio is 2, half is caught, above 0 [m].
    slope : float
        Steepness, above 0 [1].

    Returns
    -------
    float
        beta = 1 + (d/d50)^s, at least 1 [1].

    Notes
    -----
    A declared form, common practice: it goes through two published points exactly.  Beyond them
    it is extrapolated; below 4 um(c) no test with ISO medium dust can say.
    """
    return 1.0 + math.pow(particle_size_m / cut_size_m, slope)


@formula
def efficiency_of_ratio(beta: float) -> float:
    """
    Give the efficiency of a filtration ratio.

    Parameters
    ----------
    beta : float
        Filtration ratio, at least 1 [1].

    Returns
    -------
    float
        Share caught, 1 - 1/beta [1].

    Notes
    -----
    Definition, ISO 16889.
    """
    return 1.0 - 1.0 / beta


@formula
def ratio_of_efficiency(efficiency_fraction: float) -> float:
    """
    Give the filtration ratio of an efficiency.

    Parameters
    ----------
    efficiency_fraction : float
        Share caught, 0 to below 1 [1].

    Returns
    -------
    float
        Filtration ratio, 1/(1 - E) [1].

    Notes
    -----
    Definition, ISO 16889.
    """
    return 1.0 / (1.0 - efficiency_fraction)


@formula
def penetration(particle_size_m: float, cut_size_m: float, slope: float) -> float:
    """
    Give the share of a size that a filter lets pass.

    Parameters
    ----------
    particle_size_m : float
        Size [m].
    cut_size_m : float
        Size at which half is caught [m].
    slope : float
        Steepness [1].

    Returns
    -------
    float
        P = 1/beta, 0 to 1 [1].
    """
    return 1.0 / filtration_ratio(particle_size_m, cut_size_m, slope)


@formula
def rosin_rammler_penetration(particle_size_m: float, scale_size_m: float, slope: float) -> float:
    """
    Give the share of a size that a filter lets pass, by the other usual curve.

    Parameters
    ----------
    particle_size_m : float
        Size [m].
    scale_size_m : float
        Size of which 37 % pass, above 0 [m].
    slope : float
        Steepness [1].

    Returns
    -------
    float
        P = exp(-(d/dc)^k), 0 to 1 [1].

    Notes
    -----
    The form of Rosin and Rammler's distribution.  It falls much faster at large sizes than the
    ratio's own form: where the two differ, the answer hangs on the choice.
    """
    return math.exp(-math.pow(particle_size_m / scale_size_m, slope))


@formula
def bypassed(penetration_ratio: float, bypass_fraction: float) -> float:
    """
    Give the share that passes a filter of which a part of the flow goes past.

    Parameters
    ----------
    penetration_ratio : float
        Share that the media lets pass [1].
    bypass_fraction : float
        Share of the flow past media and seals, 0 to 1 [1].

    Returns
    -------
    float
        e + (1 - e) P: no filter is better than its seal [1].
    """
    return bypass_fraction + (1.0 - bypass_fraction) * penetration_ratio


@formula
def field_penetration(
    particle_size_m: float,
    cut_size_m: float,
    slope: float,
    field_size_factor: float,
    field_slope_factor: float,
    bypass_fraction: float,
) -> float:
    """
    Give the share of a size that a filter lets pass in a vehicle.

    Parameters
    ----------
    particle_size_m : float
        Size [m].
    cut_size_m : float
        Size at which the laboratory finds half caught [m].
    slope : float
        Steepness found by the laboratory [1].
    field_size_factor : float
        Cut size in the vehicle over that of the laboratory, at least 1 [1].
    field_slope_factor : float
        Steepness in the vehicle over that of the laboratory, up to 1 [1].
    bypass_fraction : float
        Share of the flow past media and seals [1].

    Returns
    -------
    float
        Penetration, 0 to 1 [1].

    Notes
    -----
    That vibration and pulsating flow make ratings worse is published, by how much is not: the
    factors (cut 1.3 to 2, slope 0.7 to 0.9, bypass 0.001 to 0.01) are declared assumptions.
    """
    media = penetration(particle_size_m, cut_size_m * field_size_factor, slope * field_slope_factor)
    return bypassed(media, bypass_fraction)


def series_penetration(penetrations: Sequence[float]) -> float:
    """
    Give the share that passes filters one behind the other.

    Parameters
    ----------
    penetrations : sequence of float
        Penetration of each at one size, bypass included [1].

    Returns
    -------
    float
        Product; 1 without a filter [1].

    Notes
    -----
    Two filters multiply only as independent chances at one size; what the second one's seal lets
    past is a floor of its own.
    """
    return math.prod(_checked(penetrations), start=1.0)


def parallel_penetration(flows_m3_per_s: Sequence[float], penetrations: Sequence[float]) -> float:
    """
    Give the share that passes filters side by side.

    Parameters
    ----------
    flows_m3_per_s : sequence of float
        Flow through each, not negative [m3/s].
    penetrations : sequence of float
        Penetration of each at one size [1].

    Returns
    -------
    float
        Mean weighted by flow [1].

    Raises
    ------
    ValueError
        The flows do not fit the filters, are negative or all zero.
    """
    _checked(penetrations)
    whole = sum(flows_m3_per_s)
    if len(flows_m3_per_s) != len(penetrations):
        raise ValueError(f"{len(flows_m3_per_s)} flows for {len(penetrations)} filters")
    if not (all(flow >= 0.0 for flow in flows_m3_per_s) and whole > 0.0):
        raise ValueError("flows of filters side by side must not be negative nor all zero")
    parts = zip(flows_m3_per_s, penetrations, strict=True)
    return sum(flow * share for flow, share in parts) / whole


def _checked(penetrations: Sequence[float]) -> Sequence[float]:
    """Refuse what is no share."""
    for share in penetrations:
        if not 0.0 <= share <= 1.0:
            raise ValueError(f"penetration {share:g} is not from 0 to 1")
    return penetrations


def rated_flow_faults(flow_m3_per_s: float) -> list[str]:
    """
    Say in words where a rated flow leaves what ISO 19438 tests.

    Parameters
    ----------
    flow_m3_per_s : float
        Rated flow of the element [m3/s].

    Returns
    -------
    list of str
        One sentence, or nothing.
    """
    low, high = ISO_19438_FLOW_M3_PER_S
    if low <= flow_m3_per_s <= high:
        return []
    return [
        f"rated flow {flow_m3_per_s * 3.6e6:.0f} L/h is outside the {low * 3.6e6:.0f} to"
        f" {high * 3.6e6:.0f} L/h that ISO 19438 tests: by what standard was it rated?"
    ]
