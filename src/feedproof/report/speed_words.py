"""What a curve against speed says, in words and in numbers."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from feedproof.core.units import from_si, to_si
from feedproof.feedline.assess import LEAST_FEED_MARGIN
from feedproof.feedline.pull import PullPrediction
from feedproof.report import digits
from feedproof.report.model import KitWords, Table
from feedproof.report.notation import FLOW_DECIMALS, REPORT, Notation
from feedproof.report.words import upper_first

FloatArray = NDArray[np.float64]

ROWS = 14
"""Most rows of the table."""


class SpeedMeasure(StrEnum):
    """What can be drawn against speed."""

    DEPRESSION = "depression"
    PRESSURE = "pressure"
    FEED_MARGIN = "feed_margin"
    RETURN = "return"


TITLES = {
    SpeedMeasure.DEPRESSION: "depression at the pump inlet",
    SpeedMeasure.PRESSURE: "absolute pressure at the pump inlet",
    SpeedMeasure.FEED_MARGIN: "feed margin, delivery over need",
    SpeedMeasure.RETURN: "return to the tank",
}
UNITS = {
    SpeedMeasure.DEPRESSION: ("kPa", "pressure"),
    SpeedMeasure.PRESSURE: ("kPa", "pressure"),
    SpeedMeasure.FEED_MARGIN: ("", ""),
    SpeedMeasure.RETURN: ("L/h", "flow"),
}
"""Unit that places are counted in, whatever unit is written, and its kind."""
DECIMALS = {
    SpeedMeasure.DEPRESSION: 2,
    SpeedMeasure.PRESSURE: 1,
    SpeedMeasure.FEED_MARGIN: 2,
    SpeedMeasure.RETURN: 1,
}
"""Digits behind the point, in those units."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedCurves:
    """
    Configurations along one pull.

    Parameters
    ----------
    pulls : tuple of PullPrediction
        Baseline first.
    kits : tuple of KitWords
        Words of each, in the same order.
    places : tuple of int
        Place of each, which decides colour and dash.
    limit_abs_pa : float or None
        The pump maker's limit; None when none is known. [Pa]
    speed_m_per_s : float
        Speed that is marked. [m/s]
    ranges_pa : tuple of (float, float) or None
        Range of each depression there; None where it was not asked for. [Pa]
    """

    pulls: tuple[PullPrediction, ...]
    kits: tuple[KitWords, ...]
    places: tuple[int, ...]
    limit_abs_pa: float | None
    speed_m_per_s: float
    ranges_pa: tuple[tuple[float, float] | None, ...]


def values_of(pull: PullPrediction, measure: SpeedMeasure) -> FloatArray:
    """
    Give the curve of one configuration.

    Parameters
    ----------
    pull : PullPrediction
        Along the pull.
    measure : SpeedMeasure
        Of what.

    Returns
    -------
    array, shape (n_points,)
        In the unit that is drawn.
    """
    raw = {
        SpeedMeasure.DEPRESSION: pull.depression_pa,
        SpeedMeasure.PRESSURE: pull.pressure_abs_pa,
        SpeedMeasure.FEED_MARGIN: pull.feed_margin,
        SpeedMeasure.RETURN: pull.return_m3_per_s,
    }[measure]
    # No unit that is drawn has an offset.
    return raw * in_unit(1.0, measure)


def in_unit(value: float, measure: SpeedMeasure) -> float:
    """
    Bring a figure to the unit that is drawn.

    Parameters
    ----------
    value : float
        In SI.
    measure : SpeedMeasure
        Of what.

    Returns
    -------
    float
        In kPa, L/h or as it is.
    """
    unit, kind = UNITS[measure]
    return from_si(value, unit, kind) if unit else value


def unit_name(measure: SpeedMeasure, notation: Notation) -> str:
    """
    Give the unit that a measure is written in.

    Parameters
    ----------
    measure : SpeedMeasure
        Of what.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        Empty for a plain number.
    """
    kind = UNITS[measure][1]
    return notation.name(kind) if kind else ""


def written(value: float, measure: SpeedMeasure, notation: Notation) -> str:
    """
    Write a figure of a curve without its unit.

    Parameters
    ----------
    value : float
        In the unit that is drawn.
    measure : SpeedMeasure
        Of what.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        A bare number.
    """
    unit, kind = UNITS[measure]
    if kind and notation.unit(kind) != unit:
        value = notation.value(to_si(value, unit, kind), kind)
    if kind == "pressure":
        return digits.decimal(value, notation.decimals(DECIMALS[measure]))
    return digits.decimal(value, FLOW_DECIMALS[notation.flow] if kind else DECIMALS[measure])


def limit_of(
    curves: SpeedCurves, measure: SpeedMeasure, notation: Notation = REPORT
) -> tuple[float, str] | None:
    """
    Give the line that a curve is held against, with its name.

    Parameters
    ----------
    curves : SpeedCurves
        For limit and air pressure.
    measure : SpeedMeasure
        Of what.
    notation : Notation
        Units to write.

    Returns
    -------
    tuple of float and str, or None
        In the unit that is drawn; None for what has no limit, and where none is known.
    """
    if measure is SpeedMeasure.FEED_MARGIN:
        return LEAST_FEED_MARGIN, f"least feed margin (own rule): {LEAST_FEED_MARGIN}"
    limit = curves.limit_abs_pa
    if limit is None or measure is SpeedMeasure.RETURN:
        return None
    if measure is SpeedMeasure.DEPRESSION:
        limit = curves.pulls[0].conditions.ambient_pressure_abs_pa - limit
    return in_unit(limit, measure), f"limit of the pump's maker: {notation.brief(limit, of_kpa=1)}"


def at_speed(curves: SpeedCurves, index: int, measure: SpeedMeasure) -> float:
    """
    Read a curve at the marked speed.

    Parameters
    ----------
    curves : SpeedCurves
        The curves.
    index : int
        Which one.
    measure : SpeedMeasure
        Of what.

    Returns
    -------
    float
        In the unit that is drawn, straight between solved points.
    """
    pull = curves.pulls[index]
    return float(np.interp(curves.speed_m_per_s, pull.speed_m_per_s, values_of(pull, measure)))


def figure(value: float, measure: SpeedMeasure, notation: Notation = REPORT) -> str:
    """
    Write a figure of a curve with its unit.

    Parameters
    ----------
    value : float
        In the unit that is drawn.
    measure : SpeedMeasure
        Of what.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        In words.
    """
    unit = unit_name(measure, notation)
    number = written(value, measure, notation)
    return f"{number}{digits.NO_BREAK}{unit}" if unit else number


def sentence(curves: SpeedCurves, measure: SpeedMeasure, notation: Notation = REPORT) -> str:
    """
    Say in words what the curves show.

    Parameters
    ----------
    curves : SpeedCurves
        The curves.
    measure : SpeedMeasure
        Of what.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        Each configuration at the marked speed, and the limit.
    """
    told = [
        f"{kit.short} {figure(at_speed(curves, i, measure), measure, notation)}"
        for i, kit in enumerate(curves.kits)
    ]
    limit = limit_of(curves, measure, notation)
    if limit is not None:
        end = f"; {limit[1]}"
    else:
        end = "" if measure is SpeedMeasure.RETURN else "; no limit known"
    where = notation.speed_words(curves.speed_m_per_s)
    return f"{upper_first(TITLES[measure])} at {where}, full load: {', '.join(told)}{end}."


def table(curves: SpeedCurves, measure: SpeedMeasure, notation: Notation = REPORT) -> Table:
    """
    Lay the curves out as numbers.

    Parameters
    ----------
    curves : SpeedCurves
        The curves.
    measure : SpeedMeasure
        Of what.
    notation : Notation
        Units to write.

    Returns
    -------
    Table
        Some speeds of the pull, its ends among them.
    """
    first = min(curves.pulls, key=lambda pull: pull.speed_m_per_s.size)
    count = first.speed_m_per_s.size
    rows_wanted = np.unique(np.linspace(0, count - 1, min(ROWS, count)).round().astype(int))
    columns = [
        np.interp(first.speed_m_per_s, pull.speed_m_per_s, values_of(pull, measure))
        for pull in curves.pulls
    ]
    unit = unit_name(measure, notation)
    rows = tuple(
        (
            notation.speed_words(float(first.speed_m_per_s[i])),
            digits.engine_speed(float(first.engine_speed_rev_per_s[i])),
            *(written(float(column[i]), measure, notation) for column in columns),
        )
        for i in rows_wanted
    )
    return Table(
        caption=f"{upper_first(TITLES[measure])}{f', {unit}' if unit else ''}",
        head=("road speed", "engine speed", *(kit.short for kit in curves.kits)),
        rows=rows,
    )
