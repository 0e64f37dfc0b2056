"""What is known of water in fuel, as low, typical and high: solubility and sizes of drops."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from feedproof.core.values import SourcedValue
from feedproof.physics.fuel_catalogue import fuel_catalogue
from feedproof.physics.fuel_water import blended_solubility, water_solubility
from feedproof.physics.value_tables import read_table

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """
    A figure with what it could be; its unit is that of the field that holds it.

    Parameters
    ----------
    low, typical, high : float
        Least, taken, most. [as the field says]
    """

    low: float
    typical: float
    high: float

    def __post_init__(self) -> None:
        """Refuse ends that are not in order."""
        if not self.low <= self.typical <= self.high:
            raise ValueError(f"{self.low:g}, {self.typical:g}, {self.high:g} are not in order")

    @property
    def levels(self) -> tuple[float, float, float]:
        """Give the three in order."""
        return self.low, self.typical, self.high


COARSE_DROPLETS = Range(low=90e-6, typical=180e-6, high=260e-6)
"""
Drops on the suction side ahead of any pump. [m]  180 to 260 um are the coarse drops of published
separator tests; that a vehicle's are no finer than 90 um is an assumption without a source.
"""
PUMPED_DROPLETS = Range(low=10e-6, typical=25e-6, high=60e-6)
"""Drops behind a running lift pump. [m]  60 um is the fine test drop (memory); rest assumed."""
HAZE_DROPLETS = Range(low=1e-6, typical=5e-6, high=20e-6)
"""Drops that come out of solution when fuel cools. [m]  Assumption without a source."""
RATED_VISCOSITY_PA_S = 2.5e-3
"""Fuel of a separator's test, road diesel near 25 degC: assumed, no rating states it. [Pa s]"""
DRAWN_FRACTION = 0.5
"""
Share of the tank's free water that is drawn with the feed and does not settle out of reach.  An
assumption without a source: it lies anywhere from 0 to 1, and both ends are always given. [-]
"""


@dataclass(frozen=True, slots=True)
class SolubilityGrid:
    """
    Every combination of what solubility could be; the first is the typical one.

    Parameters
    ----------
    ester_fraction : Range
        Ester in the fuel by volume. [-]
    """

    ester_fraction: Range

    def at(self, temperature_k: float) -> FloatArray:
        """
        Give the water that the fuel holds in solution.

        Parameters
        ----------
        temperature_k : float
            Fuel temperature. [K]

        Returns
        -------
        array, shape (n_s,)
            Water over fuel by mass; the same place is the same combination at every
            temperature. [-]
        """
        return np.array(
            [
                blended_solubility(
                    water_solubility(temperature_k, diesel[0], diesel[1]),
                    water_solubility(temperature_k, ester[0], ester[1]),
                    share,
                )
                for diesel, ester, share in self._combinations()
            ]
        )

    def _combinations(
        self,
    ) -> list[tuple[tuple[float, float], tuple[float, float], float]]:
        """List solubility and slope of diesel and of ester, and the share of ester."""
        shares = _distinct(self.ester_fraction)
        # Without ester its own figures change nothing: one stands for all.
        ester = _pairs("ester") if max(shares) > 0.0 else _pairs("ester")[:1]
        return list(product(_pairs("diesel"), ester, shares))


def _distinct(figure: Range) -> list[float]:
    """Give the typical value first, then the ends that differ from it."""
    ends = [each for each in (figure.low, figure.high) if each != figure.typical]
    return [figure.typical, *ends]


def _pairs(kind: str) -> list[tuple[float, float]]:
    """Give solubility at 20 degC and slope of a kind of fuel, typical first."""
    rows = {
        row["property"]: _distinct(
            Range(low=float(row["low"]), typical=float(row["value"]), high=float(row["high"]))
        )
        for row in read_table("water_in_fuel")
        if row["item"] == kind
    }
    return list(product(rows["solubility_20c"], rows["slope"]))


def range_of(values: FloatArray) -> Range:
    """
    Give least, typical and most of all combinations.

    Parameters
    ----------
    values : array
        One for each combination, the typical one first. [as what is computed]

    Returns
    -------
    Range
        In the same unit.
    """
    flat = np.ravel(values)
    return Range(low=float(flat.min()), typical=float(flat[0]), high=float(flat.max()))


def ester_of(grade: str) -> Range | None:
    """
    Give the ester in a grade of the catalogue.

    Parameters
    ----------
    grade : str
        Name in the catalogue, as `feedproof.case.fuel.Fuel.grade` holds it.

    Returns
    -------
    Range or None
        Share by volume; None where the catalogue does not say, and then it must be declared. [-]
    """
    found = fuel_catalogue().get(grade)
    value = None if found is None else found.values.get("fame")
    return None if value is None else _as_range(value)


def _as_range(value: SourcedValue) -> Range:
    """Turn a sourced value into a range."""
    low = value.value if value.low is None else value.low
    high = value.value if value.high is None else value.high
    return Range(low=min(low, value.value), typical=value.value, high=max(high, value.value))


def in_words(assumed: Iterable[str] = ()) -> tuple[str, ...]:
    """
    List what the figures of water rest on.

    Parameters
    ----------
    assumed : iterable of str
        Further assumptions of the caller.

    Returns
    -------
    tuple of str
        One sentence each.
    """
    coarse, pumped, haze = (
        f"{1e6 * each.low:.0f} to {1e6 * each.high:.0f} um"
        for each in (COARSE_DROPLETS, PUMPED_DROPLETS, HAZE_DROPLETS)
    )
    return (
        f"drops of {coarse} ahead of a pump, {pumped} behind one, {haze} where fuel has cooled"
        " (assumed; only the coarse end is published)",
        "what comes back with the return is too fine to be taken at its next pass (assumed)",
        f"separators were rated with fuel of {1e3 * RATED_VISCOSITY_PA_S:g} mPa s (assumed)",
        "cut size of a separator by the square root of flow and viscosity (assumed)",
        *assumed,
    )
