"""
Check values: what a gauge may read at a point that a fitter can reach.

They are computed backwards.  The dirt at which the line just keeps its limits under the worst
declared conditions is found first; the readings follow from that dirt.  A share of a limit read
at one temperature says nothing about a colder morning, and is never used.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import STANDARD_PRESSURE_ABS_PA, Conditions
from feedproof.core.errors import InputError
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.kits.loading import AllowedDirt, Loader, allowed_dirt

FloatArray = NDArray[np.float64]

CHECK_SPEED_REV_PER_S = 50.0
"""3000 rpm: high enough for the flow of a pull, and safe in neutral. [rev/s]"""
LIKE_FULL_LOAD_FRACTION = 0.10
"""Largest difference between readings in neutral and at full load that lets neutral stand for
full load: the project's own rule. [-]"""
BAND_EDGES_K = tuple(273.15 + degrees for degrees in range(0, 66, 5))
"""Edges of the bands of fuel temperature. [K]"""
POINTS_IN_A_BAND = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckPoint:
    """
    Where the gauge is read.

    Parameters
    ----------
    engine_speed_rev_per_s : float
        Held engine speed. [rev/s]
    loaded : bool
        True when it must be read at full load: in neutral the pump draws too little.
    conditions : Conditions
        Air, level and road of the workshop; its fuel temperature is passed over.
    fuels : tuple of str
        Fuels that may be in the tank when it is read; none stands for that of the conditions.
    neutral_pa, full_load_pa : float
        Clean readings at 40 degC in neutral and at full load, which decided. [Pa]
    """

    engine_speed_rev_per_s: float
    loaded: bool
    conditions: Conditions
    neutral_pa: float
    full_load_pa: float
    fuels: tuple[str, ...] = ()

    def readable(self) -> tuple[str, ...]:
        """Give the fuels that may be in the tank."""
        return self.fuels or (self.conditions.fuel,)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckBand:
    """
    What the gauge may read in a band of fuel temperature.

    Parameters
    ----------
    fuel : str
        Fuel in the tank.
    low_k, high_k : float
        The band. [K]
    clean_low_pa, clean_high_pa : float
        Least and largest depression of the clean line in it. [Pa]
    change_out_pa, alarm_pa : float or None
        Reading at which elements are changed (with the gauge's uncertainty it is still below the
        alarm), and least reading in the band at which the worst declared conditions are no longer
        kept; both None where a clean line reads as much somewhere in the band, so that a reading
        says nothing. [Pa]
    """

    fuel: str
    low_k: float
    high_k: float
    clean_low_pa: float
    clean_high_pa: float
    change_out_pa: float | None
    alarm_pa: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckValues:
    """
    The check values of one configuration.

    Parameters
    ----------
    point : CheckPoint
        Where the gauge is read.
    allowed : AllowedDirt
        What they were computed back from.
    bands : tuple of CheckBand
        Fuel by fuel, each from cold to hot; empty where no dirt reaches a limit, and where the
        clean line breaks one already.
    gauge_uncertainty_pa : float
        Expanded uncertainty (95 %) of a reading. [Pa]
    """

    point: CheckPoint
    allowed: AllowedDirt
    bands: tuple[CheckBand, ...]
    gauge_uncertainty_pa: float


def choose_check_point(
    loader: Loader,
    workshop: Conditions,
    engine_speed_rev_per_s: float = CHECK_SPEED_REV_PER_S,
) -> CheckPoint:
    """
    Choose between neutral and full load.

    Parameters
    ----------
    loader : Loader
        The line.
    workshop : Conditions
        Air, level and road where the gauge is read.
    engine_speed_rev_per_s : float
        Speed to be held. [rev/s]

    Returns
    -------
    CheckPoint
        In neutral where that reads nearly what full load does, as with a pump that overflows to
        the tank.
    """
    at = replace(workshop, fuel_temperature_k=313.15)
    circuit = loader.circuit(at, 0.0)
    neutral = circuit.held_without_load(engine_speed_rev_per_s).depression_pa
    _, injected = circuit.full_load(np.array([engine_speed_rev_per_s]))
    loaded = circuit.at(engine_speed_rev_per_s, float(injected[0])).depression_pa
    return CheckPoint(
        engine_speed_rev_per_s=engine_speed_rev_per_s,
        loaded=abs(loaded - neutral) > LIKE_FULL_LOAD_FRACTION * abs(loaded),
        conditions=workshop,
        neutral_pa=neutral,
        full_load_pa=loaded,
    )


def reading_pa(
    loader: Loader,
    point: CheckPoint,
    fuel_temperature_k: float,
    dirt_kg: float,
    fuel: str | None = None,
) -> float:
    """
    Give what the gauge reads at the check point.

    Parameters
    ----------
    loader : Loader
        The line.
    point : CheckPoint
        Where it is read.
    fuel_temperature_k : float
        Of the fuel. [K]
    dirt_kg : float
        In all elements together. [kg]
    fuel : str, optional
        Fuel in the tank; that of the point's conditions when left out.

    Returns
    -------
    float
        Depression at the pump inlet. [Pa]
    """
    at = replace(
        point.conditions,
        fuel_temperature_k=fuel_temperature_k,
        fuel=fuel or point.conditions.fuel,
    )
    return _read(loader.circuit(at, dirt_kg), point)


def _read(circuit: FeedCircuit, point: CheckPoint) -> float:
    """Read the gauge of a circuit."""
    speed = point.engine_speed_rev_per_s
    if not point.loaded:
        return circuit.held_without_load(speed).depression_pa
    _, injected = circuit.full_load(np.array([speed]))
    return circuit.at(speed, float(injected[0])).depression_pa


def check_values(
    loader: Loader,
    worst: Sequence[Conditions],
    point: CheckPoint,
    *,
    gauge_uncertainty_pa: float,
    band_edges_k: Sequence[float] = BAND_EDGES_K,
) -> CheckValues:
    """
    Work check values out, backwards from the worst declared conditions.

    Parameters
    ----------
    loader : Loader
        The line.
    worst : sequence of Conditions
        As declared.
    point : CheckPoint
        Where the gauge is read.
    gauge_uncertainty_pa : float
        Expanded uncertainty (95 %) of a reading, 0 or more. [Pa]
    band_edges_k : sequence of float
        Edges of the bands of fuel temperature, rising. [K]

    Returns
    -------
    CheckValues
        In each band the alarm is the least reading that the allowed dirt gives anywhere in it, so
        that no reading of the band passes an alarm unseen.

    Raises
    ------
    InputError
        No worst conditions; edges that do not rise; an uncertainty below 0.
    """
    edges = list(band_edges_k)
    if len(edges) < 2 or sorted(set(edges)) != edges:
        raise InputError.at("bands", f"edges of fuel temperature must rise: {edges}")
    if not gauge_uncertainty_pa >= 0.0:
        raise InputError.at("gauge", f"uncertainty {gauge_uncertainty_pa:g} Pa is below 0")
    allowed = allowed_dirt(loader, worst)
    bands: tuple[CheckBand, ...] = ()
    dirt = allowed.dirt_kg
    if dirt is not None and not allowed.unlimited:
        bands = tuple(
            _band(loader, replace(point, fuels=(fuel,)), low, high, dirt, gauge_uncertainty_pa)
            for fuel in point.readable()
            for low, high in pairwise(edges)
        )
    return CheckValues(
        point=point,
        allowed=allowed,
        bands=bands,
        gauge_uncertainty_pa=gauge_uncertainty_pa,
    )


def _band(
    loader: Loader,
    point: CheckPoint,
    low_k: float,
    high_k: float,
    dirt_kg: float,
    gauge_uncertainty_pa: float,
) -> CheckBand:
    """Read the clean and the loaded line at temperatures of a band."""
    (fuel,) = point.readable()
    inside = [float(kelvin) for kelvin in np.linspace(low_k, high_k, POINTS_IN_A_BAND)]
    clean = [reading_pa(loader, point, kelvin, 0.0, fuel) for kelvin in inside]
    alarm = min(reading_pa(loader, point, kelvin, dirt_kg, fuel) for kelvin in inside)
    change_out = alarm - gauge_uncertainty_pa
    told = change_out > max(clean)
    return CheckBand(
        fuel=fuel,
        low_k=low_k,
        high_k=high_k,
        clean_low_pa=min(clean),
        clean_high_pa=max(clean),
        change_out_pa=change_out if told else None,
        alarm_pa=alarm if told else None,
    )


def standard_workshop(fuel: str, fuel_level_fraction: float = 0.5) -> Conditions:
    """
    Give a workshop at sea level on flat ground.

    Parameters
    ----------
    fuel : str
        Name of the fuel.
    fuel_level_fraction : float
        Fuel in the tank. [-]

    Returns
    -------
    Conditions
        To read the gauge under.
    """
    return Conditions(
        fuel=fuel,
        fuel_temperature_k=313.15,
        ambient_pressure_abs_pa=STANDARD_PRESSURE_ABS_PA,
        fuel_level_fraction=fuel_level_fraction,
        name="workshop",
    )
