"""
When elements are changed: interval by distance, hours and date, and what set it.

The interval is the shortest of three: what the chance asks of the samples, what somebody wants
not exceeded, and the calendar.  Life is quoted as the spread of the samples, never as one figure.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from feedproof.case.supply import Duty, Service, Supply
from feedproof.core.errors import InputError
from feedproof.kits.life import Followed, Vehicles

FloatArray = NDArray[np.float64]

SAMPLES = 10_000
GRID_POINTS = 61
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
YEAR_S = 365.25 * 86400.0
SOFT_WEIGHT = 3.0
"""Grams of test dust that a gram of soft matter blocks like: an assumption, no source. [-]"""
FUEL_USE_SPREAD = 0.10
"""Standard deviation of the logarithm of fuel use among vehicles: an assumption. [-]"""

END = 1.6448536269514722
"""Standard normal value that 95 % stay below. [-]"""


class Rule(StrEnum):
    """What set an interval."""

    LIFE = "life"
    LONGEST_DISTANCE = "longest_distance"
    CALENDAR = "calendar"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """
    When the elements are changed, whichever comes first.

    Parameters
    ----------
    distance_m : float
        Distance. [m]
    running_time_s : float
        Running time for that distance. [s]
    calendar_s : float
        Time for that distance at the declared distance in a year. [s]
    rule : Rule
        What set it.
    """

    distance_m: float
    running_time_s: float
    calendar_s: float
    rule: Rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """
    The spread of life.

    Parameters
    ----------
    quantiles : tuple of (float, float)
        Share of vehicles and the distance that they reach no further than; infinite beyond what
        was followed. [-], [m]
    reached_by_chance_m : float
        Distance that the asked share of vehicles reaches. [m]
    followed_m : float
        How far they were followed. [m]
    samples : int
        How many.
    """

    quantiles: tuple[tuple[float, float], ...]
    reached_by_chance_m: float
    followed_m: float
    samples: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Fan:
    """
    A reading along the distance, as quantiles.

    Parameters
    ----------
    distance_m : array, shape (n_g,)
        Distance. [m]
    share : tuple of float, length n_q
        Share of vehicles that read no more. [-]
    depression_pa : array, shape (n_q, n_g)
        Reading at the check point. [Pa]
    """

    distance_m: FloatArray
    share: tuple[float, ...]
    depression_pa: FloatArray


def sample_vehicles(
    supply: Supply,
    duty: Duty,
    *,
    fuel_density_kg_per_m3: float,
    feed_m3_per_s: float,
    injected_m3_per_s: float,
    elements: int,
    capacity_spread: float,
    count: int = SAMPLES,
    seed: int = 1,
) -> Vehicles:
    """
    Draw vehicles of one kind.

    Parameters
    ----------
    supply : Supply
        Median of the contamination with its range, and spread among places.
    duty : Duty
        Typical fuel use.
    fuel_density_kg_per_m3 : float
        Of the fuel. [kg/m3]
    feed_m3_per_s, injected_m3_per_s : float
        Mean flows drawn and burnt. [m3/s]
    elements : int
        Elements that load.
    capacity_spread : float
        Standard deviation of the logarithm of a capacity. [-]
    count : int
        How many.
    seed : int
        Of the draw.

    Returns
    -------
    Vehicles
        Contamination, fuel use and capacities are lognormal and independent; the contamination
        takes `level_ratio` on top of its spread.
    """
    rng = np.random.default_rng(seed)
    among_places = np.exp(supply.contamination_spread * rng.standard_normal(count))
    fuel_use_m2 = duty.fuel_use_m2 * np.exp(FUEL_USE_SPREAD * rng.standard_normal(count))
    capacity_ratio = np.exp(capacity_spread * rng.standard_normal((count, elements)))
    # Drawn last, so that without a declared range every digit is what it was.
    level = level_ratio(supply, rng.standard_normal(count))
    contamination = supply.contamination_fraction * fuel_density_kg_per_m3
    return Vehicles(
        contamination_kg_per_m3=contamination * among_places * level,
        feed_m3_per_s=np.full(count, feed_m3_per_s),
        injected_m3_per_s=np.full(count, injected_m3_per_s),
        fuel_use_m2=fuel_use_m2,
        capacity_ratio=capacity_ratio,
    )


def level_ratio(supply: Supply, normal: FloatArray) -> FloatArray:
    """
    Give where in its declared range the median contamination lies, from standard normal draws.

    Parameters
    ----------
    supply : Supply
        With the range, if there is one.
    normal : array
        Standard normal values.

    Returns
    -------
    array
        Over the declared median: lognormal in two halves that meet at it, so that low and high are
        the 5 % and 95 % ends and the median stays; 1 where no range is declared. [-]
    """
    known = supply.contamination_fraction
    low, high = (
        0.0 if end is None or not end > 0.0 or not known > 0.0 else abs(math.log(end / known)) / END
        for end in (supply.contamination_low_fraction, supply.contamination_high_fraction)
    )
    ratio: FloatArray = np.exp(np.where(normal < 0.0, low, high) * normal)
    return ratio


def life_of(followed: Followed, grid_m: FloatArray, chance_fraction: float) -> Life:
    """
    Read the spread of life out of samples.

    Parameters
    ----------
    followed : Followed
        The samples.
    grid_m : array
        As they were followed. [m]
    chance_fraction : float
        Share that must reach the interval. [-]

    Returns
    -------
    Life
        Quantiles are order statistics, so that one beyond the grid stays infinite.
    """
    ordered = np.sort(followed.reached_m)

    def quantile(share: float) -> float:
        # 1 - 0.9 times a hundred is a little below ten.
        return float(ordered[min(int(share * ordered.size + 1e-9), ordered.size - 1)])

    return Life(
        quantiles=tuple((share, quantile(share)) for share in QUANTILES),
        reached_by_chance_m=quantile(1.0 - chance_fraction),
        followed_m=float(grid_m[-1]),
        samples=ordered.size,
    )


def running_time_s(distance_m: float, duty: Duty, injected_m3_per_s: float) -> float:
    """
    Give the running time of a distance.

    Parameters
    ----------
    distance_m : float
        Distance. [m]
    duty : Duty
        As declared.
    injected_m3_per_s : float
        Mean flow burnt. [m3/s]

    Returns
    -------
    float
        From the declared running time, or from the fuel: what is burnt over how fast. [s]
    """
    if duty.running_time_per_year_s is not None:
        return distance_m * duty.running_time_per_year_s / duty.distance_per_year_m
    return distance_m * duty.fuel_use_m2 / injected_m3_per_s


def interval_of(life: Life, service: Service, duty: Duty, injected_m3_per_s: float) -> Interval:
    """
    Set the interval.

    Parameters
    ----------
    life : Life
        Of the samples.
    service : Service
        What must be kept.
    duty : Duty
        Distance in a year.
    injected_m3_per_s : float
        Mean flow burnt. [m3/s]

    Returns
    -------
    Interval
        The shortest of life, wish and calendar, and which it was.

    Raises
    ------
    InputError
        Nothing bounds it: the samples outlast what was followed and no longest interval is
        declared.
    """
    bounds = {
        Rule.LIFE: life.reached_by_chance_m,
        Rule.LONGEST_DISTANCE: service.longest_distance_m or math.inf,
        Rule.CALENDAR: math.inf
        if service.longest_duration_s is None
        else service.longest_duration_s / YEAR_S * duty.distance_per_year_m,
    }
    rule = min(bounds, key=lambda each: bounds[each])
    distance = bounds[rule]
    if math.isinf(distance):
        raise InputError.at(
            "service",
            f"nothing bounds the interval: {100 * service.chance_fraction:g} % of the vehicles"
            f" go further than the {life.followed_m / 1e3:.0f} km that were followed.",
            "Declare service.longest_distance or service.longest_time.",
        )
    return Interval(
        distance_m=distance,
        running_time_s=running_time_s(distance, duty, injected_m3_per_s),
        calendar_s=distance / duty.distance_per_year_m * YEAR_S,
        rule=rule,
    )


def fan_of(
    followed: Followed, grid_m: FloatArray, media_per_m3: FloatArray, reading_pa: FloatArray
) -> Fan:
    """
    Turn the samples' media into readings along the distance.

    Parameters
    ----------
    followed : Followed
        The samples.
    grid_m : array, shape (n_g,)
        As they were followed. [m]
    media_per_m3, reading_pa : array, shape (n,)
        Readings at the check point over sums of media resistance, both rising. [1/m3], [Pa]

    Returns
    -------
    Fan
        A sum beyond the table reads as the table's end.
    """
    # Order statistics: between a shut element and an open one there is no mean.
    ordered = np.sort(followed.sum_per_m3, axis=0)
    last = ordered.shape[0] - 1
    sums = ordered[[min(int(share * (last + 1) + 1e-9), last) for share in QUANTILES]]
    return Fan(
        distance_m=grid_m,
        share=QUANTILES,
        depression_pa=np.interp(sums, media_per_m3, reading_pa),
    )
