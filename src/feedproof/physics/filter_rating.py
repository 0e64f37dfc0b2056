"""
Ratings of filter elements: what a printed rating must say, and the curve through its points.

A rating is a size, the scale of that size and a filtration ratio.  "Nominal" and "absolute" are
words of a brochure; without a ratio they say nothing that could be computed.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from feedproof.physics.filtration import field_penetration, ratio_of_efficiency
from feedproof.physics.value_tables import read_table

SCALE_C = "um(c)"
"""ISO 11171, calibrated on certified dust."""
SCALE_OLD = "um"
"""ISO 4402 on air cleaner fine test dust, as ISO 4572 used it."""
SCALES = (SCALE_C, SCALE_OLD)
SMALLEST_RATED_M = 4e-6
"""ISO medium dust rates nothing below 4 um(c)."""
# Efficiencies that brochures print: as a ratio each of them would be an odd number to publish.
_PERCENT_LIKE = (90.0, 95.0, 98.0, 98.5, 98.6, 98.7, 99.0, 99.5, 99.9, 99.98, 99.99)


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedPoint:
    """
    One published point of an element, by the scale of ISO 11171.

    Parameters
    ----------
    size_m : float
        Particle size by ISO 11171 [m].
    beta : float
        Filtration ratio, above 1 [1].
    converted : bool
        The size came from the older scale.
    """

    size_m: float
    beta: float
    converted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RatingCurve:
    """
    The curve of filtration ratio through the points of an element.

    Parameters
    ----------
    cut_size_m : float
        Size of which half is caught, ISO 11171 [m].
    slope : float
        Steepness [1].
    residual_ln : float
        Root mean square of what ln(beta - 1) of the points misses the curve by; 0 of two [1].
    points : tuple of RatedPoint
        What it was fitted to.
    """

    cut_size_m: float
    slope: float
    residual_ln: float
    points: tuple[RatedPoint, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Derating:
    """
    How much worse than in the laboratory an element is taken to be in a vehicle.

    Parameters
    ----------
    field_size_factor : float
        Cut size in the vehicle over that of the laboratory, at least 1 [1].
    field_slope_factor : float
        Steepness likewise, above 0 and up to 1 [1].
    bypass_fraction : float
        Share of the flow past media and seals, 0 to below 1 [1].
    source : str
        Where the three come from.
    """

    field_size_factor: float
    field_slope_factor: float
    bypass_fraction: float
    source: str

    def __post_init__(self) -> None:
        """Refuse factors that would make an element better in a vehicle."""
        if not 1.0 <= self.field_size_factor < math.inf:
            raise ValueError(f"cut size ratio {self.field_size_factor:g} is not 1 or more")
        if not 0.0 < self.field_slope_factor <= 1.0:
            raise ValueError(f"slope ratio {self.field_slope_factor:g} is not above 0 and up to 1")
        if not 0.0 <= self.bypass_fraction < 1.0:
            raise ValueError(f"bypass fraction {self.bypass_fraction:g} is not 0 to below 1")


LABORATORY = Derating(
    field_size_factor=1.0,
    field_slope_factor=1.0,
    bypass_fraction=0.0,
    source="as the laboratory found it",
)
FIELD = Derating(
    field_size_factor=1.5,
    field_slope_factor=0.8,
    bypass_fraction=0.005,
    source="declared assumption of the reference scenario; no published factors",
)


def rated_point(
    size_m: float,
    scale: str,
    *,
    beta: float | None = None,
    efficiency_fraction: float | None = None,
    word: str = "",
) -> RatedPoint:
    """
    Read one printed rating.

    Parameters
    ----------
    size_m : float
        Size as printed [m].
    scale : str
        "um(c)" for ISO 11171 or "um" for the older scale.
    beta : float, optional
        Filtration ratio, above 1 [1].
    efficiency_fraction : float, optional
        Share caught instead of the ratio, above 0 and below 1 [1].
    word : str
        Word beside the size, such as "nominal" or "absolute"; it is no number.

    Returns
    -------
    RatedPoint
        By the scale of ISO 11171.

    Raises
    ------
    ValueError
        The scale is not said, there is no ratio or two, or a number is out of its range.

    Examples
    --------
    >>> rated_point(10e-6, "um", beta=75.0).size_m
    9.8e-06
    """
    if scale not in SCALES:
        raise ValueError(
            f"size scale {scale!r} is not known: a rating needs its scale, {SCALE_C} (ISO 11171)"
            f" or {SCALE_OLD} (older, ISO 4402); 10 um and 10 um(c) are two different particles"
        )
    if not 0.0 < size_m < 1e-3:
        raise ValueError(f"rated size {size_m:g} m is not above 0 and below 1 mm")
    ratio = _ratio(beta, efficiency_fraction, word)
    old = scale == SCALE_OLD
    size = size_by_iso_11171(size_m) if old else size_m
    return RatedPoint(size_m=size, beta=ratio, converted=old)


def _ratio(beta: float | None, efficiency: float | None, word: str) -> float:
    """Give the filtration ratio of a rating, or say why there is none."""
    if beta is None and efficiency is None:
        said = f"the word {word!r}" if word else "a size alone"
        raise ValueError(
            f"{said} is no rating: give the filtration ratio or the efficiency at that size"
            " (nominal often means half caught, absolute what its maker likes)"
        )
    if beta is not None and efficiency is not None:
        raise ValueError("give the filtration ratio or the efficiency, not both")
    if efficiency is not None:
        if not 0.0 < efficiency < 1.0:
            raise ValueError(
                f"efficiency {efficiency:g} is not above 0 and below 1: 98.7 % is 0.987"
            )
        return ratio_of_efficiency(efficiency)
    if beta is None or not beta >= 1.0 or math.isinf(beta):
        raise ValueError(
            f"filtration ratio {beta:g} is below 1 or endless: an element cannot add particles"
            " (an efficiency of 0.5 is a ratio of 2)"
        )
    if beta == 1.0:
        raise ValueError("filtration ratio 1 catches nothing and is no point of a curve")
    return beta


@cache
def _scale_table() -> tuple[tuple[float, float], ...]:
    """Read the pairs of older and present size."""
    rows = read_table("size_scales")
    return tuple((float(row["property"]), float(row["value"])) for row in rows)


def size_by_iso_11171(old_size_m: float) -> float:
    """
    Give the size by ISO 11171 of a size by the older scale.

    Parameters
    ----------
    old_size_m : float
        Size by ISO 4402 on ACFTD, 0.8 to 50 um [m].

    Returns
    -------
    float
        Size by ISO 11171, straight between the pairs of the table [m].

    Raises
    ------
    ValueError
        Outside the table.

    Notes
    -----
    Converts the size of a count.  It does not turn a ratio of the older multi-pass test into one
    of the present test, which also changed dust and counting: a converted rating is screening.
    """
    table = _scale_table()
    if not table[0][0] <= old_size_m <= table[-1][0]:
        raise ValueError(
            f"size {old_size_m * 1e6:g} um by the older scale is outside the table"
            f" ({table[0][0] * 1e6:g} to {table[-1][0] * 1e6:g} um): give it in um(c)"
        )
    for (x0, y0), (x1, y1) in itertools.pairwise(table):
        if old_size_m <= x1:
            return y0 + (y1 - y0) * (old_size_m - x0) / (x1 - x0)
    return table[-1][1]


def rating_curve(points: Sequence[RatedPoint]) -> RatingCurve:
    """
    Fit the curve of filtration ratio to the points of an element.

    Parameters
    ----------
    points : sequence of RatedPoint
        Two (met exactly) or more (least squares of ln(beta - 1) over ln d).

    Returns
    -------
    RatingCurve
        With the residual of the fit.

    Raises
    ------
    ValueError
        Fewer than two sizes, or a ratio that does not rise with size.

    Examples
    --------
    >>> factory = [rated_point(5e-6, "um(c)", beta=4), rated_point(10e-6, "um(c)", beta=40)]
    >>> curve = rating_curve(factory)
    >>> round(curve.cut_size_m * 1e6, 2), round(curve.slope, 2)
    (3.72, 3.7)
    """
    if len({point.size_m for point in points}) < 2:
        raise ValueError(
            "one size is no curve: give the filtration ratio at a second size, or the answer for"
            " every other size would be invented"
        )
    x = [math.log(point.size_m) for point in points]
    y = [math.log(point.beta - 1.0) for point in points]
    x_mean, y_mean = sum(x) / len(x), sum(y) / len(y)
    spread = sum((a - x_mean) ** 2 for a in x)
    slope = sum((a - x_mean) * (b - y_mean) for a, b in zip(x, y, strict=True)) / spread
    if slope <= 0.0:
        raise ValueError("the filtration ratios fall with size: are sizes and ratios exchanged?")
    missed = [b - y_mean - slope * (a - x_mean) for a, b in zip(x, y, strict=True)]
    exact = len(points) == 2
    return RatingCurve(
        cut_size_m=math.exp(x_mean - y_mean / slope),
        slope=slope,
        residual_ln=0.0 if exact else math.sqrt(sum(m * m for m in missed) / len(missed)),
        points=tuple(points),
    )


def curve_penetration(
    curve: RatingCurve, sizes_m: Sequence[float], derating: Derating
) -> tuple[float, ...]:
    """
    Give the share of each size that an element lets pass.

    Parameters
    ----------
    curve : RatingCurve
        The element.
    sizes_m : sequence of float
        Sizes by ISO 11171 [m].
    derating : Derating
        `FIELD`, `LABORATORY` or factors of one's own.

    Returns
    -------
    tuple of float
        Penetration of each size [1].
    """
    return tuple(
        field_penetration(
            size,
            curve.cut_size_m,
            curve.slope,
            derating.field_size_factor,
            derating.field_slope_factor,
            derating.bypass_fraction,
        )
        for size in sizes_m
    )


def rating_doubts(points: Sequence[RatedPoint]) -> list[str]:
    """
    Say in words what to distrust in the points of an element.

    Parameters
    ----------
    points : sequence of RatedPoint
        Points of one element.

    Returns
    -------
    list of str
        One sentence per doubt.
    """
    doubts = []
    for point in points:
        size = f"{point.size_m * 1e6:.3g} um(c)"
        if any(math.isclose(point.beta, shown) for shown in _PERCENT_LIKE):
            doubts.append(
                f"filtration ratio {point.beta:g} at {size} reads like an efficiency in percent:"
                f" {point.beta:g} % would be a ratio of"
                f" {ratio_of_efficiency(point.beta / 100.0):.3g}"
            )
        if point.size_m < SMALLEST_RATED_M * (1.0 - 1e-9):
            doubts.append(f"{size} lies below 4 um(c): no test with ISO medium dust shows it")
        if point.converted:
            doubts.append(f"{size} was converted from the older size scale: screening only")
    return doubts
