"""
Test dust of ISO 12103-1: cumulative volume by size, shares of size bins, numbers from volumes.

Filters are rated with these dusts.  Real dirt of fuel is softer, finer and partly organic: what a
dust says about life is the upper end.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from feedproof.physics.particle_sizes import DUST_DENSITY_KG_PER_M3, sphere_mass
from feedproof.physics.value_tables import read_table

_PROPERTY = "volume_below_"


@dataclass(frozen=True, slots=True, kw_only=True)
class DustPoint:
    """
    One size of a dust.

    Parameters
    ----------
    size_m : float
        Size [m].
    below_fraction : float
        Share of the volume below it, middle of the band [1].
    low_fraction, high_fraction : float
        Band of the standard [1].
    """

    size_m: float
    below_fraction: float
    low_fraction: float
    high_fraction: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Dust:
    """
    A grade of dust.

    Parameters
    ----------
    name : str
        Name in the table.
    source : str
        How its values are known: seen, or from memory.
    points : tuple of DustPoint
        By rising size; the last one holds all of the volume.
    """

    name: str
    source: str
    points: tuple[DustPoint, ...]


@cache
def dusts() -> tuple[str, ...]:
    """
    Name the grades of dust.

    Returns
    -------
    tuple of str
        Names for `dust`.
    """
    return tuple(dict.fromkeys(row["item"] for row in read_table("test_dust")))


@cache
def dust(name: str) -> Dust:
    """
    Give a grade of dust.

    Parameters
    ----------
    name : str
        Such as "a3_1997": grade and edition, since the editions differ.

    Returns
    -------
    Dust
        With its points.

    Raises
    ------
    ValueError
        There is no such grade.

    Examples
    --------
    >>> dust("a2_1997").points[0].below_fraction
    0.03
    """
    if name not in dusts():
        raise ValueError(f"no dust {name!r}: there are {', '.join(dusts())}")
    rows = [row for row in read_table("test_dust") if row["item"] == name]
    points = tuple(
        DustPoint(
            size_m=float(row["property"].removeprefix(_PROPERTY)),
            below_fraction=float(row["value"]),
            low_fraction=float(row["low"]),
            high_fraction=float(row["high"]),
        )
        for row in rows
    )
    return Dust(name=name, source=rows[0]["source"], points=points)


def volume_below(grade: Dust, particle_size_m: float) -> float:
    """
    Give the share of a dust's volume below a size.

    Parameters
    ----------
    grade : Dust
        The dust.
    particle_size_m : float
        Size, above 0 [m].

    Returns
    -------
    float
        Share, 0 to 1 [1].

    Notes
    -----
    Straight over ln d between the points.  Below the first point it falls as the power of the
    size that the first two points give: a guess, as no table goes there.
    """
    points = grade.points
    if particle_size_m >= points[-1].size_m:
        return 1.0
    first, second = points[0], points[1]
    if particle_size_m <= first.size_m:
        rise = math.log(second.below_fraction / first.below_fraction)
        power = rise / math.log(second.size_m / first.size_m)
        return float(first.below_fraction * (particle_size_m / first.size_m) ** power)
    a, b = next((a, b) for a, b in itertools.pairwise(points) if particle_size_m < b.size_m)
    share = math.log(particle_size_m / a.size_m) / math.log(b.size_m / a.size_m)
    return a.below_fraction + share * (b.below_fraction - a.below_fraction)


def bin_shares(grade: Dust, edges_m: Sequence[float]) -> tuple[float, ...]:
    """
    Give the share of a dust's volume in each size bin.

    Parameters
    ----------
    grade : Dust
        The dust.
    edges_m : sequence of float
        Rising edges [m].

    Returns
    -------
    tuple of float
        One more than there are bins on each side: below the first edge, the bins, beyond the
        last edge; they sum to 1 [1].
    """
    below = [0.0, *(volume_below(grade, edge) for edge in edges_m), 1.0]
    return tuple(b - a for a, b in itertools.pairwise(below))


def numbers_of_mass(
    mass_kg_per_m3: float,
    small_m: float,
    large_m: float,
    density_kg_per_m3: float = DUST_DENSITY_KG_PER_M3,
) -> float:
    """
    Give the number of spheres whose mass is spread evenly over the logarithm of their size.

    Parameters
    ----------
    mass_kg_per_m3 : float
        Mass in the bin [kg/m3].
    small_m : float
        Smaller edge of the bin, above 0 [m].
    large_m : float
        Larger edge [m].
    density_kg_per_m3 : float
        True density [kg/m3].

    Returns
    -------
    float
        Number in the bin [1/m3].

    Notes
    -----
    The integral of dm/(pi/6 rho d^3) with dm even over ln d, exact.  Nearly all of them stand at
    the smaller edge, so that a bin must be narrow, and the first one of a dust has no number.
    """
    cubes = 1.0 - (small_m / large_m) ** 3
    mean = cubes / (3.0 * math.log(large_m / small_m))
    return float(mass_kg_per_m3 / sphere_mass(small_m, density_kg_per_m3) * mean)
