"""What a warm-up says, over time."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.core.findings import Finding

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUp:
    """
    A vehicle driven from cold; arrays have shape (n_times,).

    Parameters
    ----------
    time_s : array
        Since the start. [s]
    tank_k, filter_k, inlet_k, return_k : array
        Fuel in the tank, in the filter, at the pump inlet, leaving the pump. [K]
    wax_multiplier, wax_multiplier_tank : array
        Multiplier of the media's resistance at the filter's temperature, and at the tank's, where
        elements ahead of a led-back return stand. [-]
    led_back_fraction : array
        Share of the return that the thermostat leads back. [-]
    depression_pa, pressure_abs_pa, feed_margin : array
        Of the drive, at the pump inlet; not a number where no state exists. [Pa], [Pa], [-]
    full_load_depression_pa, full_load_pressure_abs_pa, full_load_feed_margin : array
        Largest depression, least pressure and least margin of a full-load pull at that moment.
        [Pa], [Pa], [-]
    room_pa : array
        Least pressure of the pull above the maker's limit; not a number without one. [Pa]
    fuel_kg : array
        Fuel in the tank. [kg]
    put_in_j, lost_j, burnt_j : array
        Heat since the start: put in by pumps and heater, lost to the air, carried off with the fuel
        that was burnt; they count from the air's temperature. [J]
    ambient_k, specific_heat_j_per_kg_k, filter_heat_j_per_k : float
        Air; fuel; filter with its fuel, against which the heat can be checked.
        [K], [J/(kg K)], [J/K]
    holds_from_s : float or None
        Earliest moment at which a full-load pull holds the maker's limit and is fed. [s]
    reason : str
        Why then, or why never.
    warmed, ahead : tuple of str
        Elements that are warmed, and those that see the tank's fuel.
    findings : tuple of Finding
        What must be known.
    """

    time_s: FloatArray
    tank_k: FloatArray
    filter_k: FloatArray
    inlet_k: FloatArray
    return_k: FloatArray
    wax_multiplier: FloatArray
    wax_multiplier_tank: FloatArray
    led_back_fraction: FloatArray
    depression_pa: FloatArray
    pressure_abs_pa: FloatArray
    feed_margin: FloatArray
    full_load_depression_pa: FloatArray
    full_load_pressure_abs_pa: FloatArray
    full_load_feed_margin: FloatArray
    room_pa: FloatArray
    fuel_kg: FloatArray
    put_in_j: FloatArray
    lost_j: FloatArray
    burnt_j: FloatArray
    ambient_k: float
    specific_heat_j_per_kg_k: float
    filter_heat_j_per_k: float
    holds_from_s: float | None
    reason: str
    warmed: tuple[str, ...]
    ahead: tuple[str, ...]
    findings: tuple[Finding, ...]
