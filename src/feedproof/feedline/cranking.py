"""
Cranking and cold idle at the soak temperature: whether the start is fed, how fast the rail fills.

A pump that cannot feed the start is an answer here, as starved states are everywhere.
"""

import math
from dataclasses import dataclass

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, note, warning
from feedproof.core.units import from_si
from feedproof.feedline.cold_data import ColdData
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.rail import RailShortfall, build_up_duration_s, rail_of_state
from feedproof.feedline.warming import NO_STATE, ColdVehicle

LONGEST_CRANK_S = 10.0
"""A starter should not turn longer than this at a time: common practice. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColdPoint:
    """
    Line and pump at one engine speed of a cold vehicle.

    Parameters
    ----------
    engine_speed_rev_per_s : float
        Engine speed. [rev/s]
    wanted_m3_per_s, backleak_m3_per_s : float
        Fuel that the engine wants, and what injectors and pump leak at this speed. [m3/s]
    has_state : bool
        False where the line has no steady state; all below is then not a number.
    feed_m3_per_s, depression_pa, pressure_abs_pa : float
        Flow drawn through the line; at the pump inlet. [m3/s], [Pa], [Pa]
    feed_pressure_ratio, feed_margin, free_gas_fraction : float
        Feed pressure over its regulated value; delivery at that pressure over need; gas at the
        inlet. [-]
    room_pa : float or None
        Inlet pressure above the maker's limit; None without limit or state. [Pa]
    rail : RailShortfall
        What is short, and what that does to the rail.
    is_fed : bool
        Injection and back-leak are covered.
    """

    engine_speed_rev_per_s: float
    wanted_m3_per_s: float
    backleak_m3_per_s: float
    has_state: bool
    feed_m3_per_s: float
    depression_pa: float
    pressure_abs_pa: float
    feed_pressure_ratio: float
    feed_margin: float
    free_gas_fraction: float
    room_pa: float | None
    rail: RailShortfall
    is_fed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ColdStart:
    """
    A start at the soak temperature.

    Parameters
    ----------
    cranking, idle : ColdPoint
        While cranking, and at cold idle.
    rail_flow_m3_per_s : float
        What reaches the rail while cranking before the first injection, back-leak taken
        off. [m3/s]
    build_up_s : float
        Time until the rail allows an injection, from a full rail without pressure; infinite where
        nothing reaches it. [s]
    fill_s : float
        Time to fill an empty rail with liquid before that, as after work on it. [s]
    text : str
        The same in words.
    findings : tuple of Finding
        What must be known.
    """

    cranking: ColdPoint
    idle: ColdPoint
    rail_flow_m3_per_s: float
    build_up_s: float
    fill_s: float
    text: str
    findings: tuple[Finding, ...]


def cold_start(cold: ColdVehicle) -> ColdStart:
    """
    Crank a soaked vehicle and let it idle.

    Parameters
    ----------
    cold : ColdVehicle
        Vehicle, line, fuel, soak; all fuel has the soak's temperature.

    Returns
    -------
    ColdStart
        Starved or not.

    Raises
    ------
    InputError
        A network that is not well described.
    """
    data, soak = cold.data, cold.soak_k
    circuit = cold.circuit(soak, soak, soak, cold.conditions.fuel_level_fraction)
    findings: list[Finding] = []
    cranking = _point(
        circuit,
        data,
        data.cranking_speed_rev_per_s,
        data.start_fuel_m3_per_s(cold.vehicle),
        findings,
    )
    idle = _point(
        circuit, data, data.idle_speed_rev_per_s, data.idle_fuel_m3_per_s(cold.vehicle), findings
    )
    flow = _rail_flow(circuit, data)
    build_up = build_up_duration_s(flow, data.rail)
    fill = data.rail.volume_m3 / flow if flow > 0.0 else math.inf
    findings.append(
        note(
            "cold start",
            "battery, glow plugs, oil and compression are not in it: fed means that the fuel is"
            " there, not that the engine fires.",
        )
    )
    if build_up > LONGEST_CRANK_S:
        findings.append(
            warning(
                "cold start",
                f"the rail {_ready(build_up)}, and a starter should turn no longer than"
                f" {LONGEST_CRANK_S:.0f} s (common practice).",
                "Prime by hand, mend what starves the pump, or warm the fuel.",
            )
        )
    return ColdStart(
        cranking=cranking,
        idle=idle,
        rail_flow_m3_per_s=flow,
        build_up_s=build_up,
        fill_s=fill,
        text=_text(cranking, idle, build_up),
        findings=tuple(dict.fromkeys(findings)),
    )


def _point(
    circuit: FeedCircuit,
    data: ColdData,
    speed_rev_per_s: float,
    wanted_m3_per_s: float,
    findings: list[Finding],
) -> ColdPoint:
    """Solve one engine speed; a line without a state delivers nothing."""
    state = NO_STATE
    try:
        state = circuit.at(speed_rev_per_s, wanted_m3_per_s)
    except InputError as fault:
        findings.extend(fault.findings)
    limit = circuit.vehicle.pump.maker_limit_abs_pa
    has_state = state is not NO_STATE
    rail = rail_of_state(state, wanted_m3_per_s, data.rail)
    return ColdPoint(
        engine_speed_rev_per_s=speed_rev_per_s,
        wanted_m3_per_s=wanted_m3_per_s,
        backleak_m3_per_s=circuit.backleak_m3_per_s(speed_rev_per_s),
        has_state=has_state,
        feed_m3_per_s=state.feed_m3_per_s,
        depression_pa=state.depression_pa,
        pressure_abs_pa=state.pressure_abs_pa,
        feed_pressure_ratio=state.feed_pressure_ratio,
        feed_margin=state.feed_margin,
        free_gas_fraction=state.free_gas_fraction,
        room_pa=state.pressure_abs_pa - limit if has_state and limit is not None else None,
        rail=rail,
        is_fed=not rail.is_starved,
    )


def _rail_flow(circuit: FeedCircuit, data: ColdData) -> float:
    """Give what reaches the rail while cranking: the pump's intake, as far as the line gives it."""
    speed = data.cranking_speed_rev_per_s
    intake = data.high_pressure_m3_per_rev * speed * circuit.vehicle.pump.speed_ratio
    wanted = intake - circuit.backleak_m3_per_s(speed)
    if wanted <= 0.0:
        return 0.0
    try:
        return circuit.at(speed, wanted).injected_m3_per_s
    except InputError:
        return 0.0


def _text(cranking: ColdPoint, idle: ColdPoint, build_up_s: float) -> str:
    """Say it in words."""
    if not cranking.has_state:
        return "Cranking: the line has no steady state, so that nothing can be said of a start."
    parts = []
    if cranking.is_fed:
        parts.append(
            f"Cranking is fed, {_kpa(cranking.depression_pa)} depression; the rail"
            f" {_ready(build_up_s)}."
        )
    else:
        parts.append(
            f"Cranking is starved: {_flow(cranking.rail.delivered_m3_per_s)} of"
            f" {_flow(cranking.wanted_m3_per_s)} reach the rail."
        )
    if cranking.room_pa is not None and cranking.room_pa < 0.0:
        parts.append(f"The inlet stands {_kpa(-cranking.room_pa)} below the maker's limit.")
    if idle.is_fed:
        parts.append("Idle is fed.")
    else:
        parts.append(f"Idle is starved. {idle.rail.text}")
    return " ".join(parts)


def _kpa(pressure_pa: float) -> str:
    """Write a pressure."""
    return f"{from_si(pressure_pa, 'kPa', 'pressure'):.1f} kPa"


def _flow(flow_m3_per_s: float) -> str:
    """Write a flow."""
    return f"{from_si(flow_m3_per_s, 'L/h', 'flow'):.2f} L/h"


def _ready(duration_s: float) -> str:
    """Say when the rail has its starting pressure."""
    if math.isinf(duration_s):
        return "never reaches its starting pressure"
    return f"has its starting pressure after {duration_s:.2g} s"
