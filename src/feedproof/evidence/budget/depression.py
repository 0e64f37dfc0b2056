"""
Budgets of a depression and of a difference of depressions, on one gauge and on two.

An accuracy class is a limit in percent of span at any reading (EN 837-1).  In a difference on one
gauge at one place its fixed part cancels; that the part which is left is class times difference
is an assumption, not something the class promises.
"""

from typing import Any

from feedproof.evidence.budget.doubt import Doubt, Source, limit, standard
from feedproof.evidence.budget.measurand import Measurand

STANDARD_GRAVITY_M_PER_S2 = 9.80665
"""Of ISO 80000-3. [m/s2]"""
DENSITY_SHARE = 0.02
"""Fuel in the gauge line may be 25 K warmer or colder than thought (common practice): 2 %. [-]"""


def inlet_depression(
    *,
    reading_pa: Any,
    gauge_error_pa: Any,
    step_error_pa: Any,
    zero_error_pa: Any,
    height_m: Any,
    density_kg_per_m3: Any,
) -> Any:
    """
    Give the depression at the pump inlet from a gauge above it.

    Parameters
    ----------
    reading_pa, gauge_error_pa, step_error_pa, zero_error_pa : float or array
        Reading, and what must be added to it for class, step and zero. [Pa]
    height_m : float or array
        Of the gauge above the inlet, line full of fuel. [m]
    density_kg_per_m3 : float or array
        Of that fuel. [kg/m3]

    Returns
    -------
    float or array
        Depression at the inlet. [Pa]
    """
    head = density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * height_m
    return reading_pa + gauge_error_pa + step_error_pa + zero_error_pa - head


def added_depression(
    *,
    difference_pa: Any,
    slope_error: Any,
    moving_error_pa: Any,
    step_without_pa: Any,
    step_with_pa: Any,
    zero_without_pa: Any,
    zero_with_pa: Any,
    height_without_m: Any,
    height_with_m: Any,
    density_kg_per_m3: Any,
) -> Any:
    """
    Give the depression that a kit adds, both read on one gauge at one place.

    Parameters
    ----------
    difference_pa : float or array
        Reading with the kit less reading without. [Pa]
    slope_error : float or array
        Error of the gauge's slope. [-]
    moving_error_pa : float or array
        What of the gauge's error moves between the readings. [Pa]
    step_without_pa, step_with_pa, zero_without_pa, zero_with_pa : float or array
        Errors of step and zero, without and with the kit. [Pa]
    height_without_m, height_with_m : float or array
        Height of the gauge above the inlet, without and with the kit. [m]
    density_kg_per_m3 : float or array
        Of the fuel in the gauge line. [kg/m3]

    Returns
    -------
    float or array
        Added depression. [Pa]
    """
    read = difference_pa * (1.0 + slope_error) + moving_error_pa
    steps = step_with_pa - step_without_pa
    zeros = zero_with_pa - zero_without_pa
    head = density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * (height_with_m - height_without_m)
    return read + steps + zeros - head


def added_between_gauges(
    *,
    difference_pa: Any,
    gauge_without_pa: Any,
    gauge_with_pa: Any,
    step_without_pa: Any,
    step_with_pa: Any,
    zero_without_pa: Any,
    zero_with_pa: Any,
    height_without_m: Any,
    height_with_m: Any,
    density_kg_per_m3: Any,
) -> Any:
    """
    Give the depression that a kit adds, read on one gauge without it and on another with it.

    Parameters
    ----------
    difference_pa : float or array
        Reading with the kit less reading without. [Pa]
    gauge_without_pa, gauge_with_pa : float or array
        Errors of the two gauges. [Pa]
    step_without_pa, step_with_pa, zero_without_pa, zero_with_pa : float or array
        Errors of step and zero. [Pa]
    height_without_m, height_with_m : float or array
        Heights of the gauges above the inlet, less those that were corrected for. [m]
    density_kg_per_m3 : float or array
        Of the fuel in the gauge lines. [kg/m3]

    Returns
    -------
    float or array
        Added depression. [Pa]
    """
    gauges = gauge_with_pa - gauge_without_pa
    steps = step_with_pa - step_without_pa
    zeros = zero_with_pa - zero_without_pa
    head = density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * (height_with_m - height_without_m)
    return difference_pa + gauges + steps + zeros - head


def depression(
    *,
    reading_pa: float,
    scale: Doubt,
    resolution: Doubt,
    zero: Doubt,
    height: Doubt,
    density_kg_per_m3: float,
    height_m: float = 0.0,
) -> Measurand:
    """
    Describe one absolute depression.

    Parameters
    ----------
    reading_pa : float
        Reading. [Pa]
    scale, resolution, zero : Doubt
        Of class, step and zero of the gauge. [Pa]
    height : Doubt
        Of the gauge's height above the pump inlet. [m]
    density_kg_per_m3 : float
        Fuel in the line to the gauge. [kg/m3]
    height_m : float
        Of the gauge above the inlet, line full of fuel; 0 for a line of gas. [m]

    Returns
    -------
    Measurand
        In Pa.

    Examples
    --------
    >>> from feedproof.evidence.budget.doubt import step
    >>> from feedproof.evidence.budget.measurand import linear_budget
    >>> gauge = depression(
    ...     reading_pa=15e3, scale=gauge_class(1.6, 60e3), resolution=step(500.0),
    ...     zero=limit(200.0), height=standard(0.01), density_kg_per_m3=835.0)
    >>> round(linear_budget(gauge).standard_uncertainty)
    590
    """
    return Measurand(
        quantity="depression at the pump inlet",
        unit="Pa",
        model=inlet_depression,
        sources=(
            _pressure("gauge_error_pa", "class of the gauge", scale),
            _pressure("step_error_pa", "step of the reading", resolution, in_repeats=True),
            _pressure("zero_error_pa", "zero of the gauge", zero),
            _height("height_m", "height of the gauge above the inlet", height_m, height),
            _density(density_kg_per_m3),
        ),
        fixed=(("reading_pa", reading_pa),),
    )


def depression_difference(
    *,
    difference_pa: float,
    slope: Doubt,
    resolution: Doubt,
    zero: Doubt,
    height: Doubt,
    density_kg_per_m3: float,
    runs_each: int,
    moving: Doubt | None = None,
) -> Measurand:
    """
    Describe a difference of depressions on one gauge at one place.

    Parameters
    ----------
    difference_pa : float
        Reading with the kit less reading without. [Pa]
    slope : Doubt
        Of the gauge's slope: its class as a ratio. [-]
    resolution : Doubt
        Of one run's reading. [Pa]
    zero : Doubt
        Of the zero as read for each of the two. [Pa]
    height : Doubt
        Of the gauge's height, set again for each of the two. [m]
    density_kg_per_m3 : float
        Fuel in the line to the gauge. [kg/m3]
    runs_each : int
        Runs of each. [-]
    moving : Doubt or None
        What of the gauge's error does not stay between the readings (hysteresis, warmth); None
        leaves it to the scatter of repeated runs, which shows it. [Pa]

    Returns
    -------
    Measurand
        In Pa.

    Examples
    --------
    >>> from feedproof.evidence.budget.doubt import step
    >>> from feedproof.evidence.budget.measurand import linear_budget
    >>> round(linear_budget(depression_difference(
    ...     difference_pa=3000.0, slope=limit(0.016), resolution=step(500.0),
    ...     zero=limit(100.0), height=standard(0.003), density_kg_per_m3=835.0,
    ...     runs_each=3)).standard_uncertainty)
    150
    """
    moves = moving or standard(0.0, "left to the scatter of the runs")
    return Measurand(
        quantity="added depression, one gauge",
        unit="Pa",
        model=added_depression,
        sources=(
            Source(
                symbol="slope_error", name="slope of the gauge", value=0.0, unit="1", doubt=slope
            ),
            *((_pressure("moving_error_pa", "gauge between readings", moves),) if moving else ()),
            *_each("step_{}_pa", "step of the reading", resolution, runs_each, in_repeats=True),
            *_each("zero_{}_pa", "zero of the gauge", zero),
            *_each("height_{}_m", "place of the gauge", height, unit="m"),
        ),
        fixed=(
            ("difference_pa", difference_pa),
            ("density_kg_per_m3", density_kg_per_m3),
            *(() if moving else (("moving_error_pa", 0.0),)),
        ),
    )


def depression_between_gauges(
    *,
    difference_pa: float,
    scale_without: Doubt,
    scale_with: Doubt,
    resolution: Doubt,
    zero: Doubt,
    height: Doubt,
    density_kg_per_m3: float,
) -> Measurand:
    """
    Describe a difference of depressions of which each was read on a gauge of its own.

    Parameters
    ----------
    difference_pa : float
        Reading with the kit less reading without. [Pa]
    scale_without, scale_with : Doubt
        Of the classes of the two gauges. [Pa]
    resolution, zero : Doubt
        Of each reading and each zero. [Pa]
    height : Doubt
        Of the height of each gauge. [m]
    density_kg_per_m3 : float
        Fuel in the lines to the gauges. [kg/m3]

    Returns
    -------
    Measurand
        In Pa.

    Notes
    -----
    The square of its uncertainty is the sum of those of the two absolute depressions: nothing
    cancels, and no mean over runs is taken of the step, which a steady needle repeats.
    """
    return Measurand(
        quantity="added depression, two gauges",
        unit="Pa",
        model=added_between_gauges,
        sources=(
            _pressure("gauge_without_pa", "class of the gauge without the kit", scale_without),
            _pressure("gauge_with_pa", "class of the gauge with the kit", scale_with),
            *_each("step_{}_pa", "step of the reading", resolution),
            *_each("zero_{}_pa", "zero of the gauge", zero),
            *_each("height_{}_m", "place of the gauge", height, unit="m"),
        ),
        fixed=(("difference_pa", difference_pa), ("density_kg_per_m3", density_kg_per_m3)),
    )


def gauge_class(class_percent: float, span_pa: float) -> Doubt:
    """
    Take the accuracy class of a gauge as a limit of error.

    Parameters
    ----------
    class_percent : float
        Percent of span, at any reading (EN 837-1). [%]
    span_pa : float
        Span. [Pa]

    Returns
    -------
    Doubt
        Rectangular. [Pa]
    """
    text = f"class {class_percent:g} of {span_pa / 1e3:g} kPa, at any reading"
    return limit(class_percent / 100.0 * span_pa, text)


def _pressure(symbol: str, name: str, doubt: Doubt, *, in_repeats: bool = False) -> Source:
    """Make a source that is added to a pressure."""
    return Source(
        symbol=symbol, name=name, value=0.0, unit="Pa", doubt=doubt, in_repeats=in_repeats
    )


def _height(symbol: str, name: str, value_m: float, doubt: Doubt) -> Source:
    """Make a source that is a height."""
    return Source(symbol=symbol, name=name, value=value_m, unit="m", doubt=doubt)


def _density(value: float) -> Source:
    """Make the density of the fuel in the gauge line."""
    return Source(
        symbol="density_kg_per_m3",
        name="fuel in the gauge line",
        value=value,
        unit="kg/m3",
        doubt=limit(DENSITY_SHARE * value, "25 K warmer or colder than thought (common practice)"),
    )


def _each(
    symbol: str,
    name: str,
    doubt: Doubt,
    count: int = 1,
    *,
    unit: str = "Pa",
    in_repeats: bool = False,
) -> tuple[Source, Source]:
    """Make a source for the readings without and one for those with the kit."""
    without, with_kit = (
        Source(
            symbol=symbol.format(side),
            name=f"{name}, {side} the kit",
            value=0.0,
            unit=unit,
            doubt=doubt,
            count=count,
            in_repeats=in_repeats,
        )
        for side in ("without", "with")
    )
    return without, with_kit
