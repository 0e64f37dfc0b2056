"""
Water through a vehicle: what comes, what settles, what separators take, what reaches the pump.

`water_of` is the one call; `feedproof.kits.water_slug.slug_of` sends a slug through the same line.
Bowls are given the time to their sensor and until they are full, when all is carried over.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.supply import Duty, Separator, Supply
from feedproof.core.errors import InputError
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.pump_state import FeedState
from feedproof.kits.service import YEAR_S
from feedproof.kits.water_balance import Balance, Caught, Temperatures, balance
from feedproof.kits.water_ranges import DRAWN_FRACTION, Range, SolubilityGrid, range_of
from feedproof.kits.water_result import Bowl, WaterFill, WaterResult, scaled
from feedproof.kits.water_separators import caught_by, separated, uses
from feedproof.physics.fuel_water import water_volume

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterQuestion:
    """
    What must be known to follow water.

    Parameters
    ----------
    supply : Supply
        Water in the fuel as it comes.
    duty : Duty
        Fuel burnt, and when the tank is filled.
    capacity_m3 : float
        Of the tank. [m3]
    fuel_density_kg_per_m3 : float
        At delivery. [kg/m3]
    ester_fraction : Range
        Ester in the fuel, see `feedproof.kits.water_ranges.ester_of`. [-]
    temperatures : Temperatures
        That fuel passes through.
    drawn_fraction : float
        Share of the tank's free water that is drawn and does not settle: an assumption. [-]
    """

    supply: Supply
    duty: Duty
    capacity_m3: float
    fuel_density_kg_per_m3: float
    ester_fraction: Range
    temperatures: Temperatures
    drawn_fraction: float = DRAWN_FRACTION

    @property
    def fuel_per_fill_m3(self) -> float:
        """Give the fuel that is burnt from one filling to the next. [m3]."""
        return self.capacity_m3 * (self.duty.refuel_to_fraction - self.duty.refuel_at_fraction)

    @property
    def fills_per_year(self) -> float:
        """Give the fillings in a year. [-]."""
        return self.duty.fuel_use_m2 * self.duty.distance_per_year_m / self.fuel_per_fill_m3


def water_of(
    circuit: FeedCircuit, states: Mapping[str, FeedState], question: WaterQuestion
) -> WaterResult:
    """
    Follow the water of a vehicle from the delivery to the pump.

    Parameters
    ----------
    circuit : FeedCircuit
        Chain or network, with its kits.
    states : mapping of str to FeedState
        Solved points of it by name, such as part load and full load; the water of a fill is
        followed at the first.
    question : WaterQuestion
        Fuel, tank, temperatures.

    Returns
    -------
    WaterResult
        Low, typical and high of each figure.

    Raises
    ------
    InputError
        A rating, bowl, tank or share that cannot be.
    """
    _refuse(states, question)
    found = {name: uses(circuit, state, name) for name, state in states.items()}
    first = next(iter(states))
    caught = caught_by(circuit, states[first], found[first])
    full = caught_by(circuit, states[first], found[first], full=True)
    shares = tuple(dict.fromkeys((0.0, question.drawn_fraction, 1.0)))
    balances = {share: _balance(question, share, caught) for share in shares}
    usual = balances[question.drawn_fraction]
    return WaterResult(
        fuel_per_fill_m3=question.fuel_per_fill_m3,
        fills_per_year=question.fills_per_year,
        uses=tuple(use for each in found.values() for use in each),
        fill=_fill(usual, caught, question),
        by_drawn=tuple((share, _fill(each, caught, question)) for share, each in balances.items()),
        with_full_bowls=_fill(_balance(question, question.drawn_fraction, full), full, question),
        carried_fraction=_carried(usual),
        bowls=tuple(
            _bowl(element, separated(circuit)[element], place, balances, question)
            for place, element in enumerate(caught.elements)
        ),
        without_separator=tuple(
            element.id for element in circuit.line.elements if element.separator is None
        ),
        drawn_fraction=question.drawn_fraction,
    )


def cooling_release(
    fuel_m3: float,
    fuel_density_kg_per_m3: float,
    ester_fraction: Range,
    warm_k: float,
    cold_k: float,
) -> Range:
    """
    Give the water that saturated fuel lets go when it cools.

    Parameters
    ----------
    fuel_m3 : float
        Fuel. [m3]
    fuel_density_kg_per_m3 : float
        Its density. [kg/m3]
    ester_fraction : Range
        Ester in it. [-]
    warm_k, cold_k : float
        At which it was saturated, and to which it cools. [K]

    Returns
    -------
    Range
        Liquid water; 0 where it does not cool. [m3]
    """
    grid = SolubilityGrid(ester_fraction)
    free = np.maximum(grid.at(warm_k) - grid.at(cold_k), 0.0)
    return range_of(_volume(free, fuel_m3, fuel_density_kg_per_m3))


def _refuse(states: Mapping[str, FeedState], question: WaterQuestion) -> None:
    """Refuse what cannot be followed, all at once."""
    supply, duty = question.supply, question.duty
    faults = []
    if not states:
        faults.append(("states", "no operating point was given."))
    if not 0.0 <= question.drawn_fraction <= 1.0:
        text = f"{question.drawn_fraction:g} of the tank's free water drawn is not from 0 to 1."
        faults.append(("drawn_fraction", text))
    if not 0.0 <= supply.dissolved_saturation_fraction <= 1.0:
        text = f"dissolved water of {supply.dissolved_saturation_fraction:g} of saturation"
        faults.append(("supply", f"{text} is not from 0 to 1: what is more is free water."))
    if not 0.0 <= supply.free_water_fraction < 1.0:
        text = f"free water of {supply.free_water_fraction:g} of the fuel by mass"
        faults.append(("supply", f"{text} is not from 0 to below 1."))
    if not 0.0 <= duty.refuel_at_fraction < duty.refuel_to_fraction <= 1.0:
        text = f"filled at {duty.refuel_at_fraction:g} up to {duty.refuel_to_fraction:g}"
        faults.append(("duty", f"{text} of the tank: the first must be the lower."))
    if not (duty.fuel_use_m2 > 0.0 and duty.distance_per_year_m > 0.0):
        text = f"{1e8 * duty.fuel_use_m2:g} L/100 km over {duty.distance_per_year_m / 1e3:g} km"
        faults.append(("duty", f"{text} in a year: both must be above 0."))
    if faults:
        raise InputError(
            tuple(
                each
                for place, text in faults
                for each in InputError.at(place, text, "Correct it in the case.").findings
            )
        )


def _balance(question: WaterQuestion, drawn_fraction: float, caught: Caught) -> Balance:
    """Follow the water of a fill with a share drawn."""
    return balance(
        solubility=SolubilityGrid(question.ester_fraction),
        temperatures=question.temperatures,
        saturation_fraction=question.supply.dissolved_saturation_fraction,
        free_fraction=question.supply.free_water_fraction,
        drawn_fraction=drawn_fraction,
        caught=caught,
    )


def _volume(fraction: FloatArray, fuel_m3: float, density_kg_per_m3: float) -> FloatArray:
    """Turn shares by mass into volumes of water. [m3]."""
    return fraction * float(water_volume(fuel_m3, density_kg_per_m3, 1.0))


def _fill(found: Balance, caught: Caught, question: WaterQuestion) -> WaterFill:
    """Turn shares by mass into the volumes of a fill."""

    def volume(fraction: FloatArray) -> Range:
        return range_of(
            _volume(fraction, question.fuel_per_fill_m3, question.fuel_density_kg_per_m3)
        )

    return WaterFill(
        dissolved_delivered=volume(found.dissolved_delivered),
        free_delivered=volume(found.free_delivered),
        settled=volume(found.settled),
        coarse=volume(found.coarse),
        haze=volume(found.haze),
        caught=tuple(
            (element, volume(found.caught[place])) for place, element in enumerate(caught.elements)
        ),
        carried_over=volume(found.pump_free),
        falls_out=volume(found.falls_out),
        stays_dissolved=volume(found.stays_dissolved),
    )


def _carried(found: Balance) -> Range | None:
    """Give the share of the free water that reaches the pump, where there is any."""
    free = found.coarse + found.haze
    some = free > 0.0
    if not some.any():
        return None
    shares = found.pump_free[some] / free[some]
    # Without free water in the typical combination the middle of the others stands for it.
    typical = shares[0] if some[0] else np.median(shares)
    return Range(low=float(shares.min()), typical=float(typical), high=float(shares.max()))


def _bowl(
    element: str,
    separator: Separator,
    place: int,
    balances: Mapping[float, Balance],
    question: WaterQuestion,
) -> Bowl:
    """Say when a bowl is full."""
    own = range_of(balances[question.drawn_fraction].caught[place])
    every = np.concatenate([each.caught[place] for each in balances.values()])
    caught = Range(low=float(every.min()), typical=own.typical, high=float(every.max()))
    # Water over fuel by volume times fuel over distance: water over distance.
    per_m = scaled(
        caught,
        float(water_volume(1.0, question.fuel_density_kg_per_m3, 1.0)) * question.duty.fuel_use_m2,
    )
    speed = question.duty.distance_per_year_m / YEAR_S
    to_full = _until(separator.bowl_m3, per_m)
    sensor = separator.sensor_m3
    to_sensor = None if sensor is None else _until(sensor, per_m)
    return Bowl(
        element=element,
        to_sensor_m=to_sensor,
        to_full_m=to_full,
        to_sensor_s=None if to_sensor is None else scaled(to_sensor, 1.0 / speed),
        to_full_s=scaled(to_full, 1.0 / speed),
    )


def _until(water_m3: float, per_m: Range) -> Range:
    """Give the distance after which so much water is caught. [m]."""
    low, typical, high = (
        water_m3 / each if each > 0.0 else math.inf for each in reversed(per_m.levels)
    )
    return Range(low=low, typical=typical, high=high)
