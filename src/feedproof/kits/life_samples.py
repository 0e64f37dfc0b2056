"""Sampled vehicles followed from fill to fill, in machine code."""

import math

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.physics.blocking import blocking_growth
from feedproof.physics.tank_filling import (
    cleaning_exponent,
    concentration_after,
    particles_drawn,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

HALVINGS = 40


@formula
def media_after(
    captured_kg: FloatArray,
    gain_kg: FloatArray,
    share: float,
    vehicle: int,
    scale_kg: FloatArray,
    media_per_m3: FloatArray,
    law: IntArray,
) -> float:
    """
    Give the sum of media resistances after a share of a fill has been burnt.

    Parameters
    ----------
    captured_kg, scale_kg : array, shape (n, elements)
        What elements hold, and the scales of their laws. [kg]
    gain_kg, media_per_m3, law : array, shape (elements,)
        What the whole fill adds [kg], clean resistances [1/m3], laws.
    share : float
        Of the fill, 0 to 1. [-]
    vehicle : int
        Which row.

    Returns
    -------
    float
        The sum. [1/m3]
    """
    total = 0.0
    for e in range(media_per_m3.shape[0]):
        mass = captured_kg[vehicle, e] + share * gain_kg[e]
        total += media_per_m3[e] * blocking_growth(mass, scale_kg[vehicle, e], law[e])
    return total


@formula
def follow_samples(
    contamination_kg_per_m3: FloatArray,
    feed_m3_per_s: FloatArray,
    injected_m3_per_s: FloatArray,
    fuel_use_m2: FloatArray,
    scale_kg: FloatArray,
    mass_share: FloatArray,
    entering_kg_per_m3: FloatArray,
    through: FloatArray,
    catch: FloatArray,
    media_per_m3: FloatArray,
    law: IntArray,
    volume_m3: FloatArray,
    allowed_per_m3: float,
    grid_m: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """
    Follow vehicles from fill to fill.

    Parameters
    ----------
    contamination_kg_per_m3, feed_m3_per_s, injected_m3_per_s, fuel_use_m2 : array, shape (n,)
        Dirt in the fuel as it comes [kg/m3], flow drawn, flow burnt [m3/s], fuel over distance
        [m2], of each vehicle.
    scale_kg : array, shape (n, elements)
        Scale of each element's law. [kg]
    mass_share : array, shape (bands,)
        Share of the dirt's mass in each band of size. [-]
    entering_kg_per_m3 : array, shape (bands,)
        Dirt that enters with each volume burnt, as through the breather. [kg/m3]
    through : array, shape (bands,)
        Concentration at the pump over that in the tank. [-]
    catch : array, shape (elements, bands)
        Share of what the tank gives that each element catches. [-]
    media_per_m3 : array, shape (elements,)
        Clean resistance of each element's media. [1/m3]
    law : array of int, shape (elements,)
        Values of `feedproof.physics.blocking.BlockingLaw`. [-]
    volume_m3 : array, shape (2,)
        Fuel in the tank when it is filled, and after. [m3]
    allowed_per_m3 : float
        Sum of the media's resistances that the line bears. [1/m3]
    grid_m : array, shape (grid_points,)
        Distances at which the sum is noted, rising; the last one ends the search. [m]

    Returns
    -------
    reached_m : array, shape (n,)
        Distance at which the line bears no more; infinite beyond the grid. [m]
    sum_per_m3 : array, shape (n, grid_points)
        Sum of the media's resistances along the grid. [1/m3]
    captured_kg : array, shape (n, elements)
        What elements hold where the search ended. [kg]
    """
    n, elements = scale_kg.shape
    bands, grid_points = mass_share.shape[0], grid_m.shape[0]
    reached = np.full(n, np.inf)
    noted = np.empty((n, grid_points))
    captured = np.zeros((n, elements))
    held, decay, made, lost = np.empty(bands), np.empty(bands), np.empty(bands), np.empty(bands)
    gain = np.zeros(elements)
    low, high = volume_m3[0], volume_m3[1]
    left = low / high
    for i in range(n):
        for b in range(bands):
            power = cleaning_exponent(feed_m3_per_s[i], injected_m3_per_s[i], through[b])
            # The map of a fill is linear: one fill of one unit says it for all.
            decay[b] = concentration_after(1.0, 0.0, power, left)
            made[b] = concentration_after(0.0, entering_kg_per_m3[b], power, left)
            lost[b] = particles_drawn(
                1.0, 0.0, 0.0, feed_m3_per_s[i], injected_m3_per_s[i], through[b]
            )
            held[b] = contamination_kg_per_m3[i] * mass_share[b]
        step_m = (high - low) / fuel_use_m2[i]
        distance = 0.0
        total = 0.0
        for e in range(elements):
            total += media_per_m3[e]
        place = 0
        while place < grid_points and grid_m[place] <= 0.0:
            noted[i, place] = total
            place += 1
        while place < grid_points:
            for b in range(bands):
                fresh = contamination_kg_per_m3[i] * mass_share[b]
                before = (held[b] * low + fresh * (high - low)) / high
                after = before * decay[b] + made[b]
                gone = before * high - after * low + entering_kg_per_m3[b] * (high - low)
                drawn = lost[b] * gone
                held[b] = after
                for e in range(elements):
                    gain[e] += drawn * catch[e, b]
            last = total
            total = media_after(captured, gain, 1.0, i, scale_kg, media_per_m3, law)
            if total >= allowed_per_m3 and math.isinf(reached[i]):
                # Inside a fill the dirt is taken to come in evenly; a curve that ends in a wall
                # is followed along the dirt, not along its height.
                shut, open_ = 1.0, 0.0
                for _ in range(HALVINGS):
                    share = 0.5 * (shut + open_)
                    here = media_after(captured, gain, share, i, scale_kg, media_per_m3, law)
                    if here >= allowed_per_m3:
                        shut = share
                    else:
                        open_ = share
                reached[i] = distance + shut * step_m
            for e in range(elements):
                captured[i, e] += gain[e]
                gain[e] = 0.0
            while place < grid_points and grid_m[place] <= distance + step_m:
                if math.isinf(total):
                    noted[i, place] = last if grid_m[place] <= distance else total
                else:
                    noted[i, place] = last + (total - last) * (grid_m[place] - distance) / step_m
                place += 1
            distance += step_m
    return reached, noted, captured
