"""
Size bins: particles and mass between edges of size, from a cumulative distribution.

What lies below the first and beyond the last counted size rests on a rule and on no counter.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from feedproof.physics.particle_sizes import (
    DUST_DENSITY_KG_PER_M3,
    count_above,
    count_exponent,
    sphere_mass_between,
)

DEFAULT_EDGES_M = tuple(1e-6 * d for d in (2, 3, 4, 5, 6, 8, 10, 14, 20, 30, 40, 70, 100))


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """
    Cumulative counts at rising sizes, straight between them in log-log.

    Below the first and beyond the last size the nearest line goes on; that part is a guess.

    Parameters
    ----------
    sizes_m : tuple of float
        At least two rising sizes by the scale of ISO 11171 [m].
    counts_per_m3 : tuple of float
        Particles larger than each, above 0 and not rising [1/m3].
    """

    sizes_m: tuple[float, ...]
    counts_per_m3: tuple[float, ...]

    def __post_init__(self) -> None:
        """Refuse what is no cumulative distribution."""
        sizes, counts = self.sizes_m, self.counts_per_m3
        if len(sizes) < 2 or len(sizes) != len(counts):
            raise ValueError(f"{len(sizes)} sizes and {len(counts)} counts: two or more of both")
        if not sizes[0] > 0.0 or not all(b > a for a, b in itertools.pairwise(sizes)):
            raise ValueError("sizes of a distribution must rise from above 0")
        if not all(math.isfinite(count) and count > 0.0 for count in counts):
            raise ValueError(
                "a count of 0 has no place in a log-log distribution: give the least count that"
                " the counted volume could show"
            )
        if any(b > a for a, b in itertools.pairwise(counts)):
            raise ValueError("cumulative counts must not rise with size")

    def exponent_at(self, place: int) -> float:
        """
        Give the exponent of the line that begins at a size.

        Parameters
        ----------
        place : int
            Index of the size at which the line begins.

        Returns
        -------
        float
            Exponent of the fall [1].
        """
        i = min(place, len(self.sizes_m) - 2)
        return count_exponent(
            self.sizes_m[i], self.sizes_m[i + 1], self.counts_per_m3[i], self.counts_per_m3[i + 1]
        )

    def above(self, particle_size_m: float) -> float:
        """
        Give the particles larger than a size.

        Parameters
        ----------
        particle_size_m : float
            Size, above 0 [m].

        Returns
        -------
        float
            Cumulative count [1/m3].
        """
        i = max(sum(size <= particle_size_m for size in self.sizes_m) - 1, 0)
        return count_above(
            particle_size_m, self.sizes_m[i], self.counts_per_m3[i], self.exponent_at(i)
        )


def bin_counts(counts: Counts, edges_m: Sequence[float] = DEFAULT_EDGES_M) -> tuple[float, ...]:
    """
    Give the particles in each size bin.

    Parameters
    ----------
    counts : Counts
        Cumulative distribution.
    edges_m : sequence of float
        Rising edges of the bins [m].

    Returns
    -------
    tuple of float
        One per bin; what lies beyond the last edge is in none [1/m3].
    """
    _refuse_edges(edges_m)
    return tuple(counts.above(a) - counts.above(b) for a, b in itertools.pairwise(edges_m))


def bin_masses(
    counts: Counts,
    edges_m: Sequence[float] = DEFAULT_EDGES_M,
    density_kg_per_m3: float = DUST_DENSITY_KG_PER_M3,
    shape_ratio: float = 1.0,
) -> tuple[float, ...]:
    """
    Give the mass of the particles in each size bin.

    Parameters
    ----------
    counts : Counts
        Cumulative distribution.
    edges_m : sequence of float
        Rising edges of the bins [m].
    density_kg_per_m3 : float
        True density of the particles [kg/m3].
    shape_ratio : float
        Volume of a particle over that of a sphere of its size [1].

    Returns
    -------
    tuple of float
        Mass per volume of fuel, one per bin [kg/m3].

    Notes
    -----
    Nearly all mass is in the tail beyond 14 um(c), which rests on the rule and on the last edge:
    take it as good to a factor of two.  Weighed and counted dirt of real fuel correlate poorly.
    """
    _refuse_edges(edges_m)
    return tuple(
        _mass(counts, a, b, density_kg_per_m3, shape_ratio) for a, b in itertools.pairwise(edges_m)
    )


def _mass(counts: Counts, small: float, large: float, density: float, shape: float) -> float:
    """Sum the mass between two sizes over the straight lines that they span."""
    ends = [small, *(size for size in counts.sizes_m if small < size < large), large]
    total = 0.0
    for a, b in itertools.pairwise(ends):
        steep = count_exponent(a, b, counts.above(a), counts.above(b))
        total += sphere_mass_between(a, b, counts.above(a), steep, density, shape)
    return total


def bin_middles(edges_m: Sequence[float] = DEFAULT_EDGES_M) -> tuple[float, ...]:
    """
    Give the size that stands for each bin.

    Parameters
    ----------
    edges_m : sequence of float
        Rising edges of the bins [m].

    Returns
    -------
    tuple of float
        Geometric middle, one per bin [m].
    """
    _refuse_edges(edges_m)
    return tuple(math.sqrt(a * b) for a, b in itertools.pairwise(edges_m))


def _refuse_edges(edges_m: Sequence[float]) -> None:
    """Refuse edges that make no bins."""
    if len(edges_m) < 2 or not edges_m[0] > 0.0:
        raise ValueError("two or more edges above 0 are wanted for size bins")
    if not all(b > a for a, b in itertools.pairwise(edges_m)):
        raise ValueError("edges of size bins must rise")
