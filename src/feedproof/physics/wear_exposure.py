"""
How much dirt of the size of the gaps gets through, relative to another line.

Gaps in pumps and injectors are 2 to 5 um wide, control valves 1 to 3; dirt of that size wears
most.  The result compares lines.  It is no life: what a ratio of exposure does to a life depends
on the part, and many parts die of something else.
"""

import math
from collections.abc import Sequence

from feedproof.core.compiled import formula

CLEARANCE_M = 3e-6
LOG_WIDTH = 0.47
"""Centre and width of the weight: invented reference, from the gaps that are published."""


@formula
def clearance_weight(particle_size_m: float, clearance_m: float, log_width: float) -> float:
    """
    Give the weight of a particle size in the wear of a gap.

    Parameters
    ----------
    particle_size_m : float
        Size [m].
    clearance_m : float
        Size that counts most, above 0 [m].
    log_width : float
        Width of the band in ln size, above 0 [1].

    Returns
    -------
    float
        1 at the clearance, falling on both sides as a lognormal bell [1].

    Notes
    -----
    A declared model: that particles of the size of the gap wear most is published, the shape of
    the bell is not.
    """
    away = math.log(particle_size_m / clearance_m) / log_width
    return math.exp(-0.5 * away * away)


def exposure(
    sizes_m: Sequence[float],
    counts_per_m3: Sequence[float],
    clearance_m: float = CLEARANCE_M,
    log_width: float = LOG_WIDTH,
) -> float:
    """
    Give the particles that a fuel holds, weighted by what they do to a gap.

    Parameters
    ----------
    sizes_m : sequence of float
        Middle of each size bin [m].
    counts_per_m3 : sequence of float
        Particles in each bin [1/m3].
    clearance_m : float
        Size that counts most [m].
    log_width : float
        Width of the band in ln size [1].

    Returns
    -------
    float
        Weighted count; only its ratio to another line means something [1/m3].
    """
    pairs = zip(sizes_m, counts_per_m3, strict=True)
    return sum(count * clearance_weight(size, clearance_m, log_width) for size, count in pairs)


def relative_exposure(
    sizes_m: Sequence[float],
    counts_per_m3: Sequence[float],
    baseline_per_m3: Sequence[float],
    clearance_m: float = CLEARANCE_M,
    log_width: float = LOG_WIDTH,
) -> float:
    """
    Give the exposure of a line over that of a baseline.

    Parameters
    ----------
    sizes_m : sequence of float
        Middle of each size bin [m].
    counts_per_m3 : sequence of float
        Particles in each bin behind the line [1/m3].
    baseline_per_m3 : sequence of float
        Particles in each bin behind the baseline, usually the line without a kit [1/m3].
    clearance_m : float
        Size that counts most [m].
    log_width : float
        Width of the band in ln size [1].

    Returns
    -------
    float
        Ratio, below 1 where the line protects better [1].

    Raises
    ------
    ValueError
        The baseline has no particles in the band: there is nothing to compare with.
    """
    base = exposure(sizes_m, baseline_per_m3, clearance_m, log_width)
    if not base > 0.0:
        raise ValueError("the baseline lets no particles of the band pass: no ratio can be given")
    return exposure(sizes_m, counts_per_m3, clearance_m, log_width) / base
