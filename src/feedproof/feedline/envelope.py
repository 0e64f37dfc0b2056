"""
The envelope: what is left over fuel temperature, altitude, loading and speed, and what binds.

Every state is the coupled one of line and pump.  Each limit's slack is a share of the limit itself,
so that the least slack names the limit that binds.
"""

import math
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.vehicle import Vehicle
from feedproof.feedline.assess import LEAST_FEED_MARGIN
from feedproof.feedline.chain_circuit import ChainCircuit
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.grid import GridLimits, least_slacks, solve_grid
from feedproof.feedline.plan import lower_rows, merge_rows
from feedproof.feedline.pump_state import FeedState
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]
Judged = tuple[FloatArray, FloatArray, NDArray[np.int64]]
"""Room [Pa], slack [-] and binding limit of the states of a grid."""

MOST_FREE_GAS = 0.10
"""Free gas by volume at the inlet above which feeding is taken as unsafe: the project's own rule,
no source. [-]"""


class Binding(StrEnum):
    """Limits that a point of the envelope can come up against."""

    ABSOLUTE_PRESSURE = "absolute_pressure"
    DEPRESSION = "depression"
    GAS = "gas"
    FEED_MARGIN = "feed_margin"


COLUMNS = tuple(
    FeedState._fields.index(name)
    for name in ("depression_pa", "pressure_abs_pa", "feed_margin", "free_gas_fraction")
)
"""What the envelope keeps of a state."""

LEAST_TO_SHARE = 20_000
"""Numbers below which threads cost more than they save."""

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

    def circuit_at(
        temperature_k: float, pressure_pa: float, masses: dict[str, float]
    ) -> FeedCircuit:
        conditions = replace(
            base,
            fuel_temperature_k=temperature_k,
            tank_fuel_temperature_k=None,
            ambient_pressure_abs_pa=pressure_pa,
            captured_mass_kg=masses,
        )
        return build_circuit(vehicle, line, fuel, conditions, rule.name.lower())

    limit, depression = limits.least_pressure_abs_pa, limits.largest_depression_pa
    room, slack, binding = _solve(
        circuit_at,
        temperatures,
        pressures,
        speeds,
        [masses for _, masses in loadings],
        GridLimits(
            math.nan if limit is None else limit,
            math.nan if depression is None else depression,
            limits.most_free_gas_fraction,
            limits.least_feed_margin,
        ),
    )
    return Envelope(
        configuration=configuration,
        fuel_temperature_k=temperatures,
        ambient_pressure_abs_pa=pressures,
        engine_speed_rev_per_s=speeds,
        loadings=tuple(name for name, _ in loadings),
        room_pa=room,
        slack=slack,
        binding=binding,
    )


def _judged(states: FloatArray, limits: GridLimits) -> Judged:
    """Judge states of any shape; the last axis holds what `COLUMNS` names."""
    room, slack, binding = least_slacks(states.reshape(-1, len(COLUMNS)), limits)
    shape = states.shape[:-1]
    return room.reshape(shape), slack.reshape(shape), binding.reshape(shape)


def _solve(
    circuit_at: Callable[[float, float, dict[str, float]], FeedCircuit],
    temperatures: FloatArray,
    pressures: FloatArray,
    speeds: FloatArray,
    masses: list[dict[str, float]],
    limits: GridLimits,
) -> Judged:
    """Solve the whole grid: summed chains in one call, all others circuit by circuit."""
    shape = (temperatures.size, pressures.size, len(masses), speeds.size, len(COLUMNS))
    first = [circuit_at(float(t), float(pressures[0]), masses[0]) for t in temperatures]
    injected = np.array([circuit.full_load(speeds)[1] for circuit in first])
    chains = [each for each in first if isinstance(each, ChainCircuit) and not each.cells_of_part]
    if len(chains) < len(first):
        states = np.empty(shape)
        for i, temperature in enumerate(temperatures):
            for j, pressure in enumerate(pressures):
                for k, mass in enumerate(masses):
                    circuit = circuit_at(float(temperature), float(pressure), mass)
                    states[i, j, k] = circuit.at_many(speeds, injected[i])[:, COLUMNS]
        return _judged(states, limits)
    below = chains[0].around.ambient_abs_pa - chains[0].around.saturation_abs_pa
    media = np.array([merge_rows(lower_rows(chains[0].line, m)).media_per_m3 for m in masses])
    fluids = np.array([circuit.fluid for circuit in chains])
    static = np.array([circuit.static_pa for circuit in chains])

    def part(rows: slice) -> Judged:
        states = solve_grid(
            chains[0].plan,
            media,
            fluids[rows],
            static[rows],
            pressures,
            below,
            chains[0].pump,
            speeds * chains[0].vehicle.pump.speed_ratio,
            injected[rows],
            speeds * chains[0].backleak_m3_per_rev,
            chains[0].rule,
        )
        return _judged(states, limits)

    if np.prod(shape) < LEAST_TO_SHARE:
        return part(slice(None))
    # Temperatures are independent of each other, so that sharing them out changes no digit.
    edges = np.linspace(0, len(chains), min(threads(), len(chains)) + 1).astype(int)
    with ThreadPoolExecutor() as pool:
        parts = pool.map(part, [slice(*pair) for pair in pairwise(edges.tolist())])
        room, slack, binding = map(np.concatenate, zip(*parts, strict=True))
    return room, slack, binding


def threads() -> int:
    """
    Give the number of threads that a large grid is shared among.

    Returns
    -------
    int
        Processors that this process may use.
    """
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
