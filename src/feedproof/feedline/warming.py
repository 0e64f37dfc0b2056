"""
A soaked vehicle driven from cold, and the moment from which a full-load pull holds the limit.

A screening model.  Tank and filters are stirred volumes that warm by the return, the thermostat's
share of it and a heater; line and pump are solved at every moment with the temperatures of that
moment.  The engine bay stays at the air's temperature, so that a filter under the bonnet warms
sooner than it says here.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.vehicle import Vehicle
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding
from feedproof.feedline.circuit import FeedCircuit, build_circuit
from feedproof.feedline.cold_data import ColdData
from feedproof.feedline.cold_line import ColdLine, cold_line
from feedproof.feedline.pump_state import FeedState
from feedproof.feedline.warming_result import WarmUp
from feedproof.feedline.warming_step import Heats, Streams, along, step
from feedproof.feedline.warming_words import holding, warming_findings
from feedproof.physics.element import wax_multiplier
from feedproof.physics.fuel import linear_density
from feedproof.physics.heat import liquid_specific_heat, return_heating_power

FloatArray = NDArray[np.float64]

DURATION_S = 3600.0
STEP_S = 20.0
"""With half of it temperatures change by less than 1e-4 K (own check). [s]"""
# The fuel's specific heat is taken here above the soak, once: it rises by 0.2 % for each kelvin,
# less than what is not known of it.
_MIDDLE_OF_WARMING_K = 20.0
NO_STATE = FeedState(0.0, math.nan, math.nan, 0.0, 0.0, 0.0, math.nan, math.nan, math.nan)
"""A line that has no steady state: nothing flows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColdVehicle:
    """
    What is driven from cold.

    Parameters
    ----------
    vehicle, line, fuel, rule
        As for `build_circuit`.
    conditions : Conditions
        Air pressure, level, pitch, loading; its temperatures are replaced.
    soak_k, ambient_k : float
        Temperature of all parts and fuel at the start; of the air. [K]
    data : ColdData
        Figures that no case says.
    """

    vehicle: Vehicle
    line: Line
    fuel: Fuel
    conditions: Conditions
    rule: str
    soak_k: float
    ambient_k: float
    data: ColdData

    def circuit(self, tank_k: float, inlet_k: float, return_k: float, level: float) -> FeedCircuit:
        """
        Build the circuit of a moment.

        Parameters
        ----------
        tank_k, inlet_k, return_k : float
            Temperatures. [K]
        level : float
            Fuel in the tank over its capacity. [-]

        Returns
        -------
        FeedCircuit
            Ready to be asked.

        Raises
        ------
        InputError
            A network that cannot be solved.
        """
        at = replace(
            self.conditions,
            fuel_temperature_k=inlet_k,
            tank_fuel_temperature_k=tank_k,
            return_fuel_temperature_k=return_k,
            fuel_level_fraction=level,
        )
        return build_circuit(self.vehicle, self.line, self.fuel, at, self.rule)


class _Moment(NamedTuple):
    """Line and pump at one moment of the drive."""

    circuit: FeedCircuit
    streams: Streams
    state: FeedState
    inlet_k: float
    return_k: float
    led_back_fraction: float
    problem: tuple[Finding, ...]


class _Pull(NamedTuple):
    """The worst of a full-load pull at one moment."""

    depression_pa: float
    pressure_abs_pa: float
    feed_margin: float


class _Row(NamedTuple):
    """One moment as it is told; fields as in `WarmUp`."""

    time_s: float
    tank_k: float
    filter_k: float
    inlet_k: float
    return_k: float
    led_back_fraction: float
    depression_pa: float
    pressure_abs_pa: float
    feed_margin: float
    feed_pressure_ratio: float
    full_load_depression_pa: float
    full_load_pressure_abs_pa: float
    full_load_feed_margin: float
    fuel_kg: float
    put_in_j: float
    lost_j: float
    burnt_j: float


@dataclass(frozen=True, slots=True)
class _Drive:
    """A cold vehicle with its constants, asked moment by moment."""

    cold: ColdVehicle
    line: ColdLine
    specific_heat: float
    pull_speeds: FloatArray

    @property
    def speed(self) -> float:
        """Give the engine speed of the drive."""
        return self.cold.data.drive_speed_fraction * self.cold.vehicle.engine.rated_speed_rev_per_s

    def density(self, temperature_k: float) -> float:
        """Give the fuel's density."""
        fuel = self.cold.fuel
        return linear_density(fuel.density_15c_kg_per_m3, fuel.expansion_per_k, temperature_k)

    def level(self, fuel_kg: float, tank_k: float) -> float:
        """Give the level of the tank."""
        return fuel_kg / (self.density(tank_k) * self.cold.vehicle.tank.capacity_m3)

    def moment(self, tank_k: float, filter_k: float, fuel_kg: float, near: Streams) -> _Moment:
        """Solve the drive; the pump's inlet is found with the flows of a moment nearby."""
        ambient = self.cold.ambient_k
        streams, found = near, None
        for _ in range(2):
            inlet, hot, _ = along(filter_k - ambient, streams, self.line)
            level = self.level(fuel_kg, tank_k)
            circuit = self.cold.circuit(tank_k, ambient + inlet, ambient + hot, level)
            found = self._solved(circuit, ambient + inlet)
            streams = found.streams
        assert found is not None  # the loop runs
        inlet, hot, _ = along(filter_k - ambient, streams, self.line)
        return found._replace(inlet_k=ambient + inlet, return_k=ambient + hot)

    def _solved(self, circuit: FeedCircuit, inlet_k: float) -> _Moment:
        """Ask a circuit for the state of the drive and turn it into streams."""
        data, back = self.cold.data, self.cold.vehicle.recirculation
        problem: tuple[Finding, ...] = ()
        try:
            _, full = circuit.full_load(np.array([self.speed]))
            state = circuit.at(self.speed, data.drive_load_fraction * float(full[0]))
        except InputError as fault:
            state, problem = NO_STATE, fault.findings
        returned = state.return_m3_per_s
        share = 0.0 if back is None else back.fraction_at(inlet_k)
        carried = circuit.fluid.density_kg_per_m3 * self.specific_heat
        power = return_heating_power(
            data.drive_rail_pressure_pa,
            self.cold.vehicle.pump.feed_pressure_regulated_pa * state.feed_pressure_ratio,
            state.injected_m3_per_s,
            min(circuit.backleak_m3_per_s(self.speed), returned),
            returned,
            data.pump_efficiency_fraction,
        )
        streams = Streams(
            drawn_w_per_k=carried * (state.feed_m3_per_s - share * returned),
            led_back_w_per_k=carried * share * returned,
            returned_w_per_k=carried * (1.0 - share) * returned,
            burnt_w_per_k=carried * state.injected_m3_per_s,
            pump_w=power if returned > 0.0 else 0.0,
            heater_w=data.heater_w,
        )
        return _Moment(circuit, streams, state, inlet_k, inlet_k, share, problem)

    def pull(self, circuit: FeedCircuit) -> _Pull:
        """Solve a full-load pull at a moment and give its worst."""
        try:
            _, wanted = circuit.full_load(self.pull_speeds)
            states = circuit.at_many(self.pull_speeds, wanted)
        except InputError:
            return _Pull(math.nan, math.nan, math.nan)
        return _Pull(
            float(states[:, 1].max()), float(states[:, 2].min()), float(states[:, 6].min())
        )


def warm_up(
    cold: ColdVehicle,
    pull_speeds_rev_per_s: FloatArray,
    *,
    duration_s: float = DURATION_S,
    step_s: float = STEP_S,
) -> WarmUp:
    """
    Drive a soaked vehicle and ask at every moment what a full-load pull would do.

    Parameters
    ----------
    cold : ColdVehicle
        Vehicle, line, fuel, soak and air.
    pull_speeds_rev_per_s : array, shape (n,)
        Engine speeds of the pull; its worst counts. [rev/s]
    duration_s, step_s : float
        Length of the drive, and of its steps. [s]

    Returns
    -------
    WarmUp
        Over time; it ends early where the tank runs dry.

    Raises
    ------
    InputError
        No filter to be warmed; a pull that leaves the engine's full-load curve.
    """
    line = cold_line(cold.vehicle, cold.line, cold.data)
    fuel = cold.fuel
    specific_heat = liquid_specific_heat(
        cold.soak_k + _MIDDLE_OF_WARMING_K, fuel.density_15c_kg_per_m3
    )
    drive = _Drive(cold, line, specific_heat, np.asarray(pull_speeds_rev_per_s, dtype=np.float64))
    _check_speeds(drive)
    filter_j_per_k = line.filter_heat_j_per_k + line.filter_volume_m3 * specific_heat * (
        drive.density(cold.soak_k)
    )
    rows: list[_Row] = []
    problems: list[Finding] = []
    for row, problem in _driven(drive, filter_j_per_k, duration_s, step_s):
        rows.append(row)
        problems.extend(problem)
    return _result(drive, rows, filter_j_per_k, tuple(dict.fromkeys(problems)), duration_s)


def _check_speeds(drive: _Drive) -> None:
    """Refuse at the start what no moment could solve."""
    soak = drive.cold.soak_k
    circuit = drive.cold.circuit(soak, soak, soak, drive.cold.conditions.fuel_level_fraction)
    circuit.full_load(drive.pull_speeds)
    circuit.full_load(np.array([drive.speed]))


def _driven(
    drive: _Drive, filter_j_per_k: float, duration_s: float, step_s: float
) -> Iterator[tuple[_Row, tuple[Finding, ...]]]:
    """Step through the drive; a step is solved with the flows of its middle."""
    cold, ambient, capacity = drive.cold, drive.cold.ambient_k, drive.specific_heat
    tank_k = filter_k = cold.soak_k
    fuel_kg = (
        drive.density(tank_k)
        * cold.vehicle.tank.capacity_m3
        * (cold.conditions.fuel_level_fraction)
    )
    heats = Heats(0.0, 0.0, 0.0)
    moment = drive.moment(tank_k, filter_k, fuel_kg, Streams(0.0, 0.0, 0.0, 0.0, 0.0, 0.0))
    count = max(round(duration_s / step_s), 1)
    length = duration_s / count
    for turn in range(count + 1):
        moment = drive.moment(tank_k, filter_k, fuel_kg, moment.streams)
        pull = drive.pull(moment.circuit)
        yield (
            _Row(
                turn * length,
                tank_k,
                filter_k,
                moment.inlet_k,
                moment.return_k,
                moment.led_back_fraction,
                moment.state.depression_pa,
                moment.state.pressure_abs_pa,
                moment.state.feed_margin,
                moment.state.feed_pressure_ratio,
                *pull,
                fuel_kg,
                *heats,
            ),
            moment.problem,
        )
        half = 0.5 * length
        if fuel_kg * capacity <= length * moment.streams.burnt_w_per_k:
            return
        above = (tank_k - ambient, filter_k - ambient, fuel_kg * capacity, filter_j_per_k)
        tank, filled, _ = step(*above, moment.streams, drive.line, half)
        middle_kg = fuel_kg - half * moment.streams.burnt_w_per_k / capacity
        middle = drive.moment(ambient + tank, ambient + filled, middle_kg, moment.streams)
        tank, filled, gone = step(*above, middle.streams, drive.line, length)
        tank_k, filter_k = ambient + tank, ambient + filled
        fuel_kg -= length * middle.streams.burnt_w_per_k / capacity
        heats = Heats(*(a + b for a, b in zip(heats, gone, strict=True)))


def _result(
    drive: _Drive,
    rows: list[_Row],
    filter_j_per_k: float,
    problems: tuple[Finding, ...],
    duration_s: float,
) -> WarmUp:
    """Lay the rows of the drive out and say what they mean."""
    cold = drive.cold
    columns = dict(zip(_Row._fields, np.array(rows, dtype=np.float64).T, strict=True))
    fed = columns.pop("feed_pressure_ratio")
    limit = cold.vehicle.pump.maker_limit_abs_pa
    room = columns["full_load_pressure_abs_pa"] - (math.nan if limit is None else limit)
    holds_from_s, reason = holding(columns["time_s"], room, columns["full_load_feed_margin"], limit)
    result = WarmUp(
        **columns,
        wax_multiplier=_wax(cold.fuel, columns["filter_k"]),
        wax_multiplier_tank=_wax(cold.fuel, columns["tank_k"]),
        room_pa=room,
        ambient_k=cold.ambient_k,
        specific_heat_j_per_kg_k=drive.specific_heat,
        filter_heat_j_per_k=filter_j_per_k,
        holds_from_s=holds_from_s,
        reason=reason,
        warmed=drive.line.warmed,
        ahead=drive.line.ahead,
        findings=(),
    )
    told = warming_findings(result, cold.fuel, fed, duration_s)
    return replace(result, findings=(*told, *problems))


def _wax(fuel: Fuel, temperatures_k: FloatArray) -> FloatArray:
    """Give the wax multiplier over time."""
    return np.array(
        [wax_multiplier(float(t), fuel.cloud_point_k, fuel.cfpp_k) for t in temperatures_k]
    )
