"""
What protection a kit buys: particles that reach the pump and are injected, size by size.

The tank is followed from fill to fill (see `feedproof.physics.tank_filling`); in the long run each
fill repeats the one before.  Wear is given as relative exposure only: nothing here promises a life
of an injector.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.core.errors import InputError
from feedproof.kits.passage import Passage
from feedproof.physics.cleanliness import CODE_SIZES_M, codes_of_counts
from feedproof.physics.size_bins import Counts, bin_counts
from feedproof.physics.tank_filling import (
    cleaning_exponent,
    concentration_after,
    particles_drawn,
)

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """
    How a tank is filled and burnt.

    Parameters
    ----------
    low_m3, high_m3 : float
        Fuel in the tank when it is filled, and after. [m3]
    edges_m : tuple of float
        Edges of the bands of size. [m]
    delivered_per_m3 : array, shape (n_b,)
        Particles in the fuel as it comes. [1/m3]
    entering_per_m3 : array, shape (n_b,)
        Particles that enter with each volume burnt, as through the breather. [1/m3]
    delivered_kg_per_m3 : float
        Mass of the counted particles in the fuel as it comes. [kg/m3]
    """

    low_m3: float
    high_m3: float
    edges_m: tuple[float, ...]
    delivered_per_m3: FloatArray
    entering_per_m3: FloatArray
    delivered_kg_per_m3: float = math.nan

    def __post_init__(self) -> None:
        """Refuse a tank that is not filled, and bands that do not fit."""
        if not 0.0 < self.low_m3 < self.high_m3:
            raise InputError.at(
                "tank",
                f"{1e3 * self.low_m3:g} L before and {1e3 * self.high_m3:g} L after filling.",
            )
        bands = len(self.edges_m) - 1
        if self.delivered_per_m3.shape != (bands,) or self.entering_per_m3.shape != (bands,):
            raise InputError.at("bands", f"{bands} bands of size need a number each.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """
    Particles of one configuration over one fill.

    Parameters
    ----------
    tank_start_per_m3, tank_end_per_m3 : array, shape (n_b,)
        In the tank after filling, and when it is filled again. [1/m3]
    pump_per_m3 : array, shape (n_b,)
        In the feed that reaches the pump, mean over the fill. [1/m3]
    injected_per_m3 : array, shape (n_b,)
        Injected, over the fuel burnt. [1/m3]
    caught : array, shape (n_e, n_b)
        Share of what came into the tank that each element caught. [-]
    """

    tank_start_per_m3: FloatArray
    tank_end_per_m3: FloatArray
    pump_per_m3: FloatArray
    injected_per_m3: FloatArray
    caught: FloatArray


def one_fill(way: Passage, filling: Filling, tank_per_m3: FloatArray) -> Exposure:
    """
    Burn a tank from full to the next filling.

    Parameters
    ----------
    way : Passage
        The line.
    filling : Filling
        The tank; what is delivered is not looked at.
    tank_per_m3 : array, shape (n_b,)
        In the full tank. [1/m3]

    Returns
    -------
    Exposure
        ``caught`` is the share of the tank's and the entered particles that were caught.
    """
    burnt = filling.high_m3 - filling.low_m3
    bands = tank_per_m3.size
    after, drawn = np.empty(bands), np.empty(bands)
    for b in range(bands):
        exponent = cleaning_exponent(
            way.drawn_m3_per_s, way.injected_m3_per_s, float(way.through[b])
        )
        after[b] = concentration_after(
            float(tank_per_m3[b]),
            float(filling.entering_per_m3[b]),
            exponent,
            filling.low_m3 / filling.high_m3,
        )
        drawn[b] = particles_drawn(
            float(tank_per_m3[b]) * filling.high_m3,
            after[b] * filling.low_m3,
            float(filling.entering_per_m3[b]) * burnt,
            way.drawn_m3_per_s,
            way.injected_m3_per_s,
            float(way.through[b]),
        )
    fed_m3 = burnt * way.drawn_m3_per_s / way.injected_m3_per_s
    pumped = drawn * way.through / fed_m3
    came = tank_per_m3 * filling.high_m3 + filling.entering_per_m3 * burnt
    return Exposure(
        tank_start_per_m3=tank_per_m3,
        tank_end_per_m3=after,
        pump_per_m3=pumped,
        # Of all that passes the pump the share that is burnt carries its concentration.
        injected_per_m3=pumped,
        caught=way.catch * drawn / np.where(came > 0.0, came, 1.0),
    )


def in_the_long_run(way: Passage, filling: Filling) -> Exposure:
    """
    Give the fill that repeats itself.

    Parameters
    ----------
    way : Passage
        The line.
    filling : Filling
        The tank and the fuel as it comes.

    Returns
    -------
    Exposure
        ``caught`` is the share of what one filling brings in, air included.
    """
    low, high = filling.low_m3, filling.high_m3
    bands = filling.delivered_per_m3.size
    start = np.empty(bands)
    for b in range(bands):
        exponent = cleaning_exponent(
            way.drawn_m3_per_s, way.injected_m3_per_s, float(way.through[b])
        )
        decay = concentration_after(1.0, 0.0, exponent, low / high)
        made = concentration_after(0.0, float(filling.entering_per_m3[b]), exponent, low / high)
        came = filling.delivered_per_m3[b] * (high - low) + made * low
        # Full: c = (came + c decay low)/high, so that the next filling finds the same.
        start[b] = came / (high - decay * low)
    found = one_fill(way, filling, start)
    brought = (filling.delivered_per_m3 + filling.entering_per_m3) * (high - low)
    held = start * high + filling.entering_per_m3 * (high - low)
    return Exposure(
        tank_start_per_m3=found.tank_start_per_m3,
        tank_end_per_m3=found.tank_end_per_m3,
        pump_per_m3=found.pump_per_m3,
        injected_per_m3=found.injected_per_m3,
        caught=found.caught * held / np.where(brought > 0.0, brought, 1.0),
    )


def after_bad_fuel(
    way: Passage, filling: Filling, bad_per_m3: FloatArray, fillings: int
) -> tuple[Exposure, ...]:
    """
    Follow one dirty filling and the clean ones after it.

    Parameters
    ----------
    way : Passage
        The line.
    filling : Filling
        The tank and the fuel as it usually comes.
    bad_per_m3 : array, shape (n_b,)
        Particles in the one bad delivery. [1/m3]
    fillings : int
        Fills to follow, the bad one included; 1 or more.

    Returns
    -------
    tuple of Exposure
        One for each fill, from the state of the long run.
    """
    if fillings < 1:
        raise ValueError(f"{fillings} fillings: at least 1")
    low, high = filling.low_m3, filling.high_m3
    left = in_the_long_run(way, filling).tank_end_per_m3
    found = []
    for number in range(fillings):
        delivered = filling.delivered_per_m3 if number else bad_per_m3
        found.append(one_fill(way, filling, (left * low + delivered * (high - low)) / high))
        left = found[-1].tank_end_per_m3
    return tuple(found)


def distance_worth_of_dirt(
    dirt_kg: float,
    delivered_kg_per_m3: float,
    delivered_exposure_per_m3: float,
    pump_exposure_per_m3: float,
    fed_m3_per_m: float,
) -> float:
    """
    Give the distance whose exposure some dirt in the clean side is worth.

    Parameters
    ----------
    dirt_kg : float
        What fell in behind the last element, of the sizes of the dirt in the fuel. [kg]
    delivered_kg_per_m3, delivered_exposure_per_m3 : float
        Mass and weighted particles of the fuel as it comes. [kg/m3], [1/m3]
    pump_exposure_per_m3 : float
        Weighted particles of the feed in the long run, above 0. [1/m3]
    fed_m3_per_m : float
        Feed that passes the pump over distance. [m3/m]

    Returns
    -------
    float
        Distance in which as many weighted particles pass the pump. [m]

    Notes
    -----
    The dirt is as many particles as so much unfiltered fuel holds; all of it goes to the pump.

    Examples
    --------
    >>> round(distance_worth_of_dirt(1e-6, 5e-3, 100.0, 10.0, 1e-6), 6)
    2000.0
    """
    unfiltered_m3 = dirt_kg / delivered_kg_per_m3
    return unfiltered_m3 * delivered_exposure_per_m3 / (pump_exposure_per_m3 * fed_m3_per_m)


def code_of_bands(edges_m: Sequence[float], per_m3: FloatArray) -> tuple[int, ...]:
    """
    Give the ISO 4406 code of counts in bands.

    Parameters
    ----------
    edges_m : sequence of float
        Edges of the bands; 4, 6 and 14 um(c) are among them. [m]
    per_m3 : array, shape (n_b,)
        Particles in each band. [1/m3]

    Returns
    -------
    tuple of int
        Three classes. [-]

    Raises
    ------
    ValueError
        A size of the code is no edge.
    """
    counts = []
    for size in CODE_SIZES_M:
        place = next((i for i, edge in enumerate(edges_m) if abs(edge - size) < 1e-9), None)
        if place is None:
            raise ValueError(f"{1e6 * size:g} um(c) is no edge of the bands")
        counts.append(float(np.sum(per_m3[place:])))
    return codes_of_counts(counts)


def delivered(counts: Counts, edges_m: Sequence[float]) -> FloatArray:
    """
    Sort counts into bands.

    Parameters
    ----------
    counts : Counts
        Cumulative distribution.
    edges_m : sequence of float
        Edges of the bands. [m]

    Returns
    -------
    array, shape (n_b,)
        Particles in each band. [1/m3]
    """
    return np.array(bin_counts(counts, edges_m))
