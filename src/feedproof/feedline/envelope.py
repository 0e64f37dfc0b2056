"""
The envelope: what is left over fuel temperature, altitude, loading and speed, and what binds.

Every state is the coupled one of line and pump.  Each limit's slack is a share of the limit itself,
so that the least slack names the limit that binds.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.vehicle import Vehicle
from feedproof.feedline.assess import LEAST_FEED_MARGIN
from feedproof.feedline.circuit import FeedCircuit
from feedproof.feedline.plan import (
    lower_fluid,
    lower_pump,
    lower_rows,
    merge_rows,
    static_depression_pa,
)
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]

MOST_FREE_GAS = 0.10
"""Free gas by volume at the inlet above which feeding is taken as unsafe: the project's own rule,
no source. [-]"""


class Binding(StrEnum):
    """Limits that a point of the envelope can come up against."""

    ABSOLUTE_PRESSURE = "absolute_pressure"
    DEPRESSION = "depression"
    GAS = "gas"
    FEED_MARGIN = "feed_margin"


ORDER = tuple(Binding)
"""Order of the limits in the arrays below."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EnvelopeLimits:
    """
    What must hold.

    Parameters
    ----------
    least_pressure_abs_pa : float or None
        Pump maker's least absolute inlet pressure; None when no limit is known. [Pa]
    largest_depression_pa : float or None
        Largest depression, where a maker states one; None otherwise. [Pa]
    most_free_gas_fraction : float
        Of the volume at the inlet. [-]
    least_feed_margin : float
        Delivery over need. [-]
    """

    least_pressure_abs_pa: float | None
    largest_depression_pa: float | None = None
    most_free_gas_fraction: float = MOST_FREE_GAS
    least_feed_margin: float = LEAST_FEED_MARGIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """
    One configuration over the grid.

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    fuel_temperature_k : array, shape (n_t,)
        Fuel temperatures. [K]
    ambient_pressure_abs_pa : array, shape (n_z,)
        Air pressures. [Pa]
    engine_speed_rev_per_s : array, shape (n_v,)
        Engine speeds at full load. [rev/s]
    loadings : tuple of str
        Names of the loadings, length n_m.
    room_pa : array, shape (n_t, n_z, n_m, n_v)
        Absolute inlet pressure less the limit; NaN when no limit is known. [Pa]
    slack : array, shape (n_t, n_z, n_m, n_v)
        Least slack over the limits that are known; negative where one is broken. [-]
    binding : array of int, shape (n_t, n_z, n_m, n_v)
        Which limit has the least slack, as its place in `ORDER`.
    """

    configuration: str
    fuel_temperature_k: FloatArray
    ambient_pressure_abs_pa: FloatArray
    engine_speed_rev_per_s: FloatArray
    loadings: tuple[str, ...]
    room_pa: FloatArray
    slack: FloatArray
    binding: NDArray[np.int64]

    def worst(self) -> tuple[float, Binding, tuple[int, int, int, int]]:
        """
        Find the point of least slack.

        Returns
        -------
        slack : float
            Its slack. [-]
        binding : Binding
            The limit that binds there.
        place : tuple of int
            Its indices in temperature, pressure, loading and speed.
        """
        flat = int(np.argmin(self.slack))
        place = np.unravel_index(flat, self.slack.shape)
        indices = (int(place[0]), int(place[1]), int(place[2]), int(place[3]))
        return float(self.slack[indices]), ORDER[int(self.binding[indices])], indices


def envelope(
    vehicle: Vehicle,
    line: Line,
    fuel: Fuel,
    base: Conditions,
    configuration: str,
    *,
    fuel_temperature_k: FloatArray,
    ambient_pressure_abs_pa: FloatArray,
    engine_speed_rev_per_s: FloatArray,
    loadings: Sequence[tuple[str, dict[str, float]]],
    limits: EnvelopeLimits,
    rule: FrictionRule,
) -> Envelope:
    """
    Solve one configuration over the whole grid.

    Parameters
    ----------
    vehicle, line, fuel : Vehicle, Line, Fuel
        What is asked about.
    base : Conditions
        For level, slope and breather.
    configuration : str
        Its name.
    fuel_temperature_k, ambient_pressure_abs_pa, engine_speed_rev_per_s : array
        The axes. [K], [Pa], [rev/s]
    loadings : sequence of (str, dict of str to float)
        Names and captured masses by element id. [kg]
    limits : EnvelopeLimits
        What must hold.
    rule : FrictionRule
        Between laminar and turbulent flow.

    Returns
    -------
    Envelope
        Every state solved; nothing interpolated.

    Raises
    ------
    InputError
        A speed outside the engine's full-load curve.
    """
    temperatures = np.asarray(fuel_temperature_k, dtype=np.float64)
    pressures = np.asarray(ambient_pressure_abs_pa, dtype=np.float64)
    speeds = np.asarray(engine_speed_rev_per_s, dtype=np.float64)
    shape = (temperatures.size, pressures.size, len(loadings), speeds.size)
    states = np.empty((*shape, 9))
    lines = [lower_rows(line, masses) for _, masses in loadings]
    plans = [merge_rows(rows) for rows in lines]
    pump = lower_pump(vehicle.pump)
    for i, temperature in enumerate(temperatures):
        fluid = lower_fluid(fuel, float(temperature))
        static = static_depression_pa(vehicle.tank, base, fluid)
        for j, pressure in enumerate(pressures):
            conditions = Conditions(
                fuel=base.fuel,
                fuel_temperature_k=float(temperature),
                ambient_pressure_abs_pa=float(pressure),
                fuel_level_fraction=base.fuel_level_fraction,
                road_pitch_rad=base.road_pitch_rad,
                tank_depression_pa=base.tank_depression_pa,
            )
            for k, plan in enumerate(plans):
                circuit = FeedCircuit(
                    vehicle=vehicle,
                    line=line,
                    conditions=conditions,
                    rows=lines[k],
                    plan=plan,
                    fluid=fluid,
                    pump=pump,
                    static_pa=static,
                    rule=int(rule),
                )
                _, injected = circuit.full_load(speeds)
                states[i, j, k] = circuit.at_many(speeds, injected)
    slack = _slacks(states, limits)
    limit = limits.least_pressure_abs_pa
    return Envelope(
        configuration=configuration,
        fuel_temperature_k=temperatures,
        ambient_pressure_abs_pa=pressures,
        engine_speed_rev_per_s=speeds,
        loadings=tuple(name for name, _ in loadings),
        room_pa=states[..., 2] - (np.nan if limit is None else limit),
        slack=np.min(slack, axis=-1),
        binding=np.argmin(slack, axis=-1),
    )


def _slacks(states: FloatArray, limits: EnvelopeLimits) -> FloatArray:
    """Give the slack of each limit in the order of `ORDER`; infinite where none is known."""
    unknown = np.full(states.shape[:-1], np.inf)
    absolute = limits.least_pressure_abs_pa
    depression = limits.largest_depression_pa
    return np.stack(
        [
            unknown if absolute is None else states[..., 2] / absolute - 1.0,
            unknown if depression is None else 1.0 - states[..., 1] / depression,
            1.0 - states[..., 7] / limits.most_free_gas_fraction,
            states[..., 6] / limits.least_feed_margin - 1.0,
        ],
        axis=-1,
    )
