"""
Faults of a feed line put into a described vehicle, and what a workshop would read of each.

The readings are differences from the same vehicle without the fault: its own baseline, not a
figure of the trade.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.parts import AirHole, Element, Part, Pipe
from feedproof.case.vehicle import Vehicle
from feedproof.core.errors import InputError
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.pump_state import FeedState

SWEEP_POINTS = 41
"""Speeds between the slowest and the rated one at which a sweep is read."""


class Fault(StrEnum):
    """Faults that readings at the pump inlet are to tell apart."""

    NONE = "none"
    COLLAPSED_HOSE = "collapsed_hose"
    AIR_LEAK = "air_leak"
    BLOCKED_PICKUP = "blocked_pickup"
    BLOCKED_FILTER = "blocked_filter"
    WORN_PUMP = "worn_pump"
    BLOCKED_BREATHER = "blocked_breather"


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """
    What a workshop reads of a vehicle, or how that differs from its baseline.

    Parameters
    ----------
    depression_pa : float
        At the pump inlet, full load, rated speed. [Pa]
    pickup_side_pa, filter_side_pa : float
        Depression right behind the pick-up and right ahead of the first filter, at the same
        point. [Pa]
    standing_pa : float
        Depression at the pump inlet with the engine stopped and the cap shut. [Pa]
    return_percent, slow_return_percent : float
        100 ln of the return at rated and at the slowest full-load speed. [-]
    slow_gas_fraction : float
        Free gas at the pump inlet at the slowest speed without load. [-]
    knee_pa : float
        Greatest departure of the depression from a straight line along the sweep. [Pa]
    """

    depression_pa: float
    pickup_side_pa: float
    filter_side_pa: float
    standing_pa: float
    return_percent: float
    slow_return_percent: float
    slow_gas_fraction: float
    knee_pa: float

    def minus(self, other: "Readings") -> "Readings":
        """
        Give the difference from other readings.

        Parameters
        ----------
        other : Readings
            The baseline.

        Returns
        -------
        Readings
            This less that, reading by reading.
        """
        return Readings(
            **{name: getattr(self, name) - getattr(other, name) for name in self.__slots__}
        )


def with_fault(
    vehicle: Vehicle, line: Line, conditions: Conditions, fault: Fault, severity: float
) -> tuple[Vehicle, Line, Conditions]:
    """
    Put a fault into a vehicle.

    Parameters
    ----------
    vehicle : Vehicle
        The sound vehicle.
    line : Line
        Its feed line, with or without kits.
    conditions : Conditions
        The state of the world.
    fault : Fault
        Which one.
    severity : float
        0 is sound.  1 is a grave one: a hose that narrows to a quarter from 4 kPa on, a 1 mm
        hole, a pick-up or a filter of 40 times its resistance, a pump that fills 45 % less and
        slips four times as much, a tank 15 kPa below ambient (all invented). [-]

    Returns
    -------
    tuple of Vehicle, Line, Conditions
        With the fault.

    Raises
    ------
    InputError
        The line has no part for this fault; a severity outside 0 to 1.
    """
    if not 0.0 <= severity <= 1.0:
        raise InputError.at("severity", f"is {severity:g}, not 0 to 1.", "Give 0 to 1.")
    match fault:
        case Fault.COLLAPSED_HOSE:
            hose = _suction_pipe(line)
            soft = replace(
                hose,
                collapse_depression_pa=4e3,
                collapse_span_pa=4e3,
                collapsed_bore_fraction=1.0 - 0.75 * severity,
            )
            return vehicle, _exchanged(line, hose, (soft,)), conditions
        case Fault.AIR_LEAK:
            place = _suction_pipe(line)
            leak = AirHole(id="leak", title="air leak", hole_diameter_m=1e-3 * severity)
            return vehicle, _exchanged(line, place, (place, leak)), conditions
        case Fault.BLOCKED_PICKUP | Fault.BLOCKED_FILTER:
            element = _element(line, first=fault is Fault.BLOCKED_PICKUP)
            times = 1.0 + 39.0 * severity
            blocked = replace(
                element,
                media_resistance_per_m=element.media_resistance_per_m * times,
                housing_inertial_per_m4=element.housing_inertial_per_m4 * times,
            )
            return vehicle, _exchanged(line, element, (blocked,)), conditions
        case Fault.WORN_PUMP:
            pump = replace(
                vehicle.pump,
                filling_fraction=vehicle.pump.filling_fraction * (1.0 - 0.45 * severity),
                slip_m3_per_s=vehicle.pump.slip_m3_per_s * (1.0 + 3.0 * severity),
            )
            return replace(vehicle, pump=pump), line, conditions
        case Fault.BLOCKED_BREATHER:
            below = conditions.tank_depression_pa + 15e3 * severity
            return vehicle, line, replace(conditions, tank_depression_pa=below)
        case Fault.NONE:
            return vehicle, line, conditions


def readings(
    vehicle: Vehicle, line: Line, fuel: Fuel, conditions: Conditions, rule: str
) -> Readings:
    """
    Read a vehicle as a workshop would.

    Parameters
    ----------
    vehicle, line, fuel, conditions, rule
        As for `feedproof.feedline.circuit.build_circuit`.

    Returns
    -------
    Readings
        Of this vehicle, no differences yet.

    Raises
    ------
    InputError
        As for `build_circuit`.
    """
    circuit = build_circuit(vehicle, line, fuel, conditions, rule)
    slowest = vehicle.engine.speed_rev_per_s[0]
    speeds = np.linspace(slowest, vehicle.engine.rated_speed_rev_per_s, SWEEP_POINTS)
    _, wanted = circuit.full_load(speeds)
    states = circuit.at_many(speeds, wanted)
    top = circuit.at(float(speeds[-1]), float(wanted[-1]))
    pickup_side, filter_side = _tapped(circuit, top)
    straight = np.polynomial.Polynomial.fit(speeds, states[:, 1], 1)
    return Readings(
        depression_pa=top.depression_pa,
        pickup_side_pa=pickup_side,
        filter_side_pa=filter_side,
        standing_pa=circuit.static_pa,
        return_percent=_log_percent(states[-1, 4]),
        slow_return_percent=_log_percent(states[0, 4]),
        slow_gas_fraction=circuit.held_without_load(slowest).free_gas_fraction,
        knee_pa=float(np.max(np.abs(states[:, 1] - straight(speeds)))),
    )


def fault_readings(
    vehicle: Vehicle,
    line: Line,
    fuel: Fuel,
    conditions: Conditions,
    rule: str,
    fault: Fault,
    severity: float,
) -> Readings:
    """
    Give how the readings of a vehicle with a fault differ from those without it.

    Parameters
    ----------
    vehicle, line, fuel, conditions, rule
        The sound vehicle, as for `readings`.
    fault, severity
        As for `with_fault`.

    Returns
    -------
    Readings
        Differences.

    Raises
    ------
    InputError
        As for `with_fault`.
    """
    sound = readings(vehicle, line, fuel, conditions, rule)
    broken, faulty, world = with_fault(vehicle, line, conditions, fault, severity)
    return readings(broken, faulty, fuel, world, rule).minus(sound)


def _log_percent(flow_m3_per_s: float) -> float:
    """Give 100 ln of a flow; a return that has ceased counts as a millionth of a litre an hour."""
    return float(100.0 * np.log(max(flow_m3_per_s, 1e-6 * 1e-3 / 3600.0)))


def _tapped(circuit: FeedCircuit, state: FeedState) -> tuple[float, float]:
    """Give the depression behind the first element and ahead of the second one."""
    depression = circuit.static_pa
    behind, passed = None, 0
    for step in circuit.steps(state):
        if isinstance(step.part, Element):
            passed += 1
            if passed == 2:
                break
        depression += step.loss_pa
        if passed == 1 and behind is None:
            behind = depression
    return (depression if behind is None else behind), depression


def _element(line: Line, *, first: bool) -> Element:
    """Find the pick-up's strainer, which is the first element, or the last of the factory's own."""
    elements = line.elements
    if not elements:
        raise InputError.at("line", "has no element that could block.", "Describe its elements.")
    if first:
        return elements[0]
    factory = [element for element in elements if element.role == "factory"]
    return factory[0] if factory else elements[-1]


def _suction_pipe(line: Line) -> Pipe:
    """Find the last pipe ahead of the first filter; a hose behind it reads like a filter."""
    passed = 0
    found = None
    for part in line.parts:
        passed += isinstance(part, Element)
        if passed == 2:
            break
        found = part if isinstance(part, Pipe) else found
    if found is None:
        raise InputError.at("line", "has no pipe or hose for this fault.", "Describe its pipes.")
    return found


def _exchanged(line: Line, old: Part, new: tuple[Part, ...]) -> Line:
    """Put parts in the place of one; its named end moves on to the last of them."""
    if len(new) > 1 and old.to_node is not None:
        new = (replace(new[0], to_node=None), *new[1:-1], replace(new[-1], to_node=old.to_node))
    place = line.index(old.id)
    return Line(parts=(*line.parts[:place], *new, *line.parts[place + 1 :]))
