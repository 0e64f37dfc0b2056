"""What an element lets pass in a vehicle, by size, from its published points."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedproof.case.supply import Rating
from feedproof.core.errors import InputError
from feedproof.physics.filter_rating import (
    SCALE_C,
    SCALE_OLD,
    Derating,
    RatingCurve,
    curve_penetration,
    rated_point,
    rating_curve,
)
from feedproof.physics.size_bins import bin_middles

FloatArray = NDArray[np.float64]

MILD = (1.3, 0.9, 0.001)
HARSH = (2.0, 0.7, 0.01)
"""Ends of what is assumed of a vehicle (size, slope, bypass): assumptions without a source. [-]"""


def curve_of(rating: Rating, element: str) -> RatingCurve:
    """
    Lay a curve through an element's published points.

    Parameters
    ----------
    rating : Rating
        Two points or more, in either scale.
    element : str
        Name, for messages.

    Returns
    -------
    RatingCurve
        By the scale of ISO 11171.

    Raises
    ------
    InputError
        Points through which no curve can be laid.
    """
    try:
        points = [
            rated_point(point.size_m, SCALE_C if point.calibrated else SCALE_OLD, beta=point.ratio)
            for point in rating.points
        ]
        return rating_curve(points)
    except ValueError as fault:
        raise InputError.at(element, f"{fault}.", "Correct the points of its rating.") from fault


def derating_of(rating: Rating) -> Derating:
    """
    Give what is assumed of an element in the vehicle.

    Parameters
    ----------
    rating : Rating
        As declared, or by assumption.

    Returns
    -------
    Derating
        The same as factors.
    """
    return Derating(
        field_size_factor=rating.field_size_factor,
        field_slope_factor=rating.field_slope_factor,
        bypass_fraction=rating.bypass_fraction,
        source="assumed" if rating.assumed else rating.source,
    )


def penetrations(rating: Rating, element: str, edges_m: Sequence[float]) -> FloatArray:
    """
    Give what an element lets pass in a vehicle.

    Parameters
    ----------
    rating : Rating
        Its points, and what is assumed of the vehicle.
    element : str
        Name, for messages.
    edges_m : sequence of float
        Edges of the bands of size. [m]

    Returns
    -------
    array, shape (n_b,)
        Share of each band, taken at its geometric middle. [-]

    Raises
    ------
    InputError
        As for `curve_of`.
    """
    middles = bin_middles(edges_m)
    return np.array(curve_penetration(curve_of(rating, element), middles, derating_of(rating)))


def taken_as(rating: Rating, factors: tuple[float, float, float]) -> Rating:
    """
    Give the same rating with other assumptions where nobody declared any.

    Parameters
    ----------
    rating : Rating
        A rating.
    factors : tuple of float
        Size, slope and bypass, such as `MILD` or `HARSH`. [-]

    Returns
    -------
    Rating
        What was declared stays.
    """
    names = ("field_size_factor", "field_slope_factor", "bypass")
    known = (rating.field_size_factor, rating.field_slope_factor, rating.bypass_fraction)
    size, slope, bypass = (
        other if name in rating.assumed else own
        for name, own, other in zip(names, known, factors, strict=True)
    )
    return replace(rating, field_size_factor=size, field_slope_factor=slope, bypass_fraction=bypass)


def torn(rating: Rating, bypass_fraction: float) -> Rating:
    """
    Give the same element with a torn seal.

    Parameters
    ----------
    rating : Rating
        A rating.
    bypass_fraction : float
        Share of the flow that passes the tear. [-]

    Returns
    -------
    Rating
        Never tighter than it was.
    """
    return replace(rating, bypass_fraction=max(bypass_fraction, rating.bypass_fraction))
