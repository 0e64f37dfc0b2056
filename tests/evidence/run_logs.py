"""
Invented runs with a planted truth: two logs on two clocks, pulsation, noise, lag, zero and head.

Nothing of the package's physics is used: depression, power and return are polynomials of road
speed, so that a recovered value can be held against what was planted.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from feedproof.case.case import Case, Pull
from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.log import Log
from feedproof.case.margin import Margins
from feedproof.case.run import CaughtReturn, Channel, ChannelMap, Instrument, Role, Run
from feedproof.case.vehicle import (
    ChargeCooling,
    Engine,
    Gearing,
    Pump,
    Tank,
    Topology,
    Vehicle,
)
from feedproof.evidence.corrections import Sensitivity

FloatArray = NDArray[np.float64]

KMH = 1.0 / 3.6
REV_PER_M = 3.9 / (2.0 * np.pi * 0.36)
REFERENCE_K = 308.15
DENSITY_15C = 838.0
EXPANSION = 8.3e-4
SLOPE_PA_PER_K = -180.0
SLOPE_PA_PER_LEVEL = -4900.0


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What is planted in one run."""

    seed: int = 1
    sampling_hz: float = 50.0
    cell_hz: float = 25.0
    lag_s: float = 0.25
    clock_ahead_s: float = 3.7
    pulsation_pa: float = 600.0
    noise_pa: float = 80.0
    zero_pa: float = 120.0
    head_m: float = 0.10
    added_pa: float = 0.0
    power_factor: float = 1.0
    power_noise: float = 0.01
    temperature_k: float = REFERENCE_K
    level: float = 0.6
    ceiling_pa: float = 60000.0
    resolution_pa: float = 20.0
    bias_pa: float = 0.0
    rate_kmh_per_s: float = 4.5
    lift_off: bool = True
    hesitation: bool = False
    lower_gear: bool = False
    engine_in_logger: bool = True


def true_depression(speed: FloatArray) -> FloatArray:
    """Planted depression at the inlet at reference conditions; speed in m/s, result in Pa."""
    return 4000.0 + 260.0 * speed + 6.0 * speed**2


def true_power(speed: FloatArray) -> FloatArray:
    """Planted full-load wheel power; speed in m/s, result in W."""
    return 92000.0 - 130.0 * (speed - 27.0) ** 2


def course(plan: Plan, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Give road speed and share of full load over time."""
    knots_t, knots_v = [0.0, 2.0, 7.0, 9.0], [0.0, 0.0, 50.0, 50.0]
    knots_p, loads = [0.0, 2.0, 2.3, 6.8, 7.2, 9.0, 10.2], [0.0, 0.0, 0.2, 0.2, 0.1, 0.1, 1.0]
    if plan.lower_gear:
        # A full-load stretch in a lower gear, a shift without power, then the pull itself.
        knots_t, knots_v = [0.0, 2.0, 4.0, 8.0, 9.0], [0.0, 0.0, 30.0, 52.0, 50.0]
        knots_p = [0.0, 2.0, 4.0, 4.2, 8.0, 8.2, 9.0, 10.2]
        loads = [0.0, 0.0, 0.1, 1.0, 1.0, 0.0, 0.0, 1.0]
    top_s = 9.0 + 65.0 / plan.rate_kmh_per_s
    knots_t += [top_s, top_s + 8.0, top_s + 11.0]
    knots_v += [115.0, 60.0, 0.0]
    knots_p += [top_s, top_s + 0.3]
    loads += [1.0, -0.05]
    speed = np.interp(time_s, knots_t, knots_v) * KMH
    load = np.interp(time_s, knots_p, loads)
    if plan.hesitation:
        load = load * (1.0 - 0.3 * np.exp(-(((time_s - 16.0) / 0.15) ** 2)))
    return speed, load


def end_of_log(plan: Plan) -> float:
    """Give the last time written."""
    top_s = 9.0 + 65.0 / plan.rate_kmh_per_s
    return top_s + 12.0 if plan.lift_off else top_s - 1.0


def engine_of(plan: Plan, speed: FloatArray, time_s: FloatArray) -> FloatArray:
    """Engine speed in rev/s; idle below, a shorter gear before the pull where one is planned."""
    ratio = np.where(time_s < 8.6, 1.5, 1.0) if plan.lower_gear else 1.0
    return np.maximum(speed * REV_PER_M * ratio, 13.3)


def cell_log(plan: Plan) -> Log:
    """Write the roller cell's log."""
    noise = np.random.default_rng(plan.seed)
    time_s = np.arange(0.0, end_of_log(plan), 1.0 / plan.cell_hz)
    speed, load = course(plan, time_s)
    power = load * true_power(speed) * plan.power_factor
    power = power * (1.0 + plan.power_noise * noise.standard_normal(time_s.size))
    return Log(
        instrument="cell",
        name="cell",
        time_s=time_s,
        values={
            Channel.ROAD_SPEED: np.round(speed + 0.01 * noise.standard_normal(time_s.size), 4),
            Channel.ENGINE_SPEED: engine_of(plan, speed, time_s)
            + 0.03 * noise.standard_normal(time_s.size),
            Channel.WHEEL_POWER: power + 150.0 * noise.standard_normal(time_s.size),
        },
    )


def logger_log(plan: Plan) -> Log:
    """Write the pressure logger's log, on its own clock."""
    noise = np.random.default_rng(plan.seed + 1000)
    time_s = np.arange(0.0, end_of_log(plan), 1.0 / plan.sampling_hz)
    speed, _ = course(plan, time_s)
    late, _ = course(plan, time_s - plan.lag_s)
    head = DENSITY_15C * (1.0 - EXPANSION * (plan.temperature_k - 288.15)) * 9.80665 * plan.head_m
    depression = true_depression(late) + plan.added_pa + plan.bias_pa
    depression = depression + SLOPE_PA_PER_K * (plan.temperature_k - REFERENCE_K)
    depression = depression + SLOPE_PA_PER_LEVEL * (plan.level - 0.6) + head + plan.zero_pa
    turns = np.cumsum(engine_of(plan, late, time_s)) / plan.sampling_hz
    pulse = np.sin(2.0 * np.pi * turns * 0.5 + noise.uniform(0.0, 6.0))
    depression = depression + plan.pulsation_pa * pulse
    depression = depression + plan.noise_pa * noise.standard_normal(time_s.size)
    stepped = np.round(depression / plan.resolution_pa) * plan.resolution_pa
    demand = 6.0e7 + 2.5e6 * np.minimum(speed, 30.0)
    values = {
        Channel.INLET_DEPRESSION: np.minimum(stepped, plan.ceiling_pa),
        Channel.FUEL_TEMPERATURE: np.round(
            plan.temperature_k + 0.05 * noise.standard_normal(time_s.size), 1
        ),
        Channel.RAIL_PRESSURE: demand + 3e5 * noise.standard_normal(time_s.size),
        Channel.RAIL_PRESSURE_DEMAND: demand,
        Channel.FUEL_LEVEL: np.full(time_s.size, plan.level),
    }
    if plan.engine_in_logger:
        engine = engine_of(plan, speed, time_s)
        values[Channel.ENGINE_SPEED] = engine + 0.03 * noise.standard_normal(time_s.size)
    return Log(
        instrument="logger", name="logger", time_s=time_s + plan.clock_ahead_s, values=values
    )


def make_run(number: int, plan: Plan, kits: tuple[str, ...] = (), **changes: object) -> Run:
    """Write the run sheet of a planned run."""
    fields: dict[str, object] = {
        "number": number,
        "kits": kits,
        "session": "one",
        "started": datetime(2026, 9, 14, 9, tzinfo=UTC) + timedelta(minutes=10 * number),
        "role": Role.COMPARE,
        "setup": "loop",
        "logs": (),
        "ambient_pressure_abs_pa": 91000.0,
        "air_temperature_k": 293.15,
        "relative_humidity_fraction": 0.5,
        "fuel_level_fraction": plan.level,
        "fuel": "summer",
        "zero_before_pa": plan.zero_pa - 10.0,
        "zero_after_pa": plan.zero_pa + 10.0,
        "caught_return": CaughtReturn(
            volume_m3=1.4e-3,
            duration_s=60.0,
            temperature_k=318.15,
            hold="steady",
            engine_speed_rev_per_s=50.0,
        ),
    }
    return Run(**(fields | changes))  # type: ignore[arg-type]


def logs_of(plan: Plan) -> list[Log]:
    """Write both logs of a planned run."""
    return [cell_log(plan), logger_log(plan)]


def sensitivity(error: float = 1.0) -> Sensitivity:
    """Give the planted derivatives, wrong by a factor if wished."""
    speed = np.linspace(10.0, 36.0, 5)
    return Sensitivity(
        speed_m_per_s=speed,
        depression_per_k=np.full(5, SLOPE_PA_PER_K * error),
        depression_per_level=np.full(5, SLOPE_PA_PER_LEVEL * error),
        depression_per_ambient=np.zeros(5),
        return_percent_per_k=-0.06,
    )


SENSITIVITIES = {"baseline": sensitivity(), "secondary": sensitivity()}


def make_case(ceiling_pa: float | None = 60000.0) -> Case:
    """Give an invented case that fits the planned runs."""
    engine = Engine(
        displacement_m3=3.0e-3,
        charge=ChargeCooling.TURBO_AIR,
        boost_ratio=2.2,
        speed_rev_per_s=(16.0, 30.0, 45.0, 60.0),
        torque_nm=(220.0, 370.0, 350.0, 260.0),
        specific_consumption_kg_per_j=(6.8e-8, 5.9e-8, 6.0e-8, 6.9e-8),
        rated_speed_rev_per_s=55.0,
    )
    gearing = Gearing(gear_ratio=1.0, final_drive_ratio=3.9, rolling_radius_m=0.36)
    pump = Pump(
        topology=Topology.OVERFLOW_TO_TANK,
        displacement_m3_per_rev=1.45e-6,
        speed_ratio=0.5,
        filling_fraction=0.95,
        slip_m3_per_s=9e-7,
        slip_viscosity_pa_s=2.4e-3,
        feed_pressure_regulated_pa=6e5,
        inlet_half_pressure_abs_pa=3e4,
        inlet_softness_pa=7e3,
        port_loss_pa=900.0,
        port_loss_speed_rev_per_s=28.0,
        gas_release_fraction=0.35,
        backleak_rated_m3_per_s=2.5e-6,
        lubrication_m3_per_s=4.4e-6,
    )
    fuel = Fuel(
        name="summer",
        density_15c_kg_per_m3=DENSITY_15C,
        expansion_per_k=EXPANSION,
        viscosity_cool_m2_per_s=4.8e-6,
        viscosity_warm_m2_per_s=2.95e-6,
        temperature_cool_k=293.15,
        temperature_warm_k=313.15,
        cloud_point_k=271.15,
        cfpp_k=265.15,
        ostwald_air=0.13,
        vapour_pressure_20c_abs_pa=100.0,
    )
    sensor = ChannelMap(
        channel=Channel.INLET_DEPRESSION,
        column="d",
        ceiling=ceiling_pa,
        floor=-2000.0,
        resolution=20.0,
    )
    logger = Instrument(id="logger", title="", channels=(sensor,), gauge_above_inlet_m=0.10)
    return Case(
        title="invented",
        note="INVENTED",
        vehicle=Vehicle(
            name="invented",
            engine=engine,
            gearing=gearing,
            tank=Tank(capacity_m3=0.09, inlet_above_full_m=0.15, inlet_above_empty_m=0.75),
            pump=pump,
            line=Line(parts=()),
            return_line=Line(parts=()),
        ),
        fuels={"summer": fuel},
        kits={},
        pull=Pull(start_m_per_s=14.0, stop_m_per_s=32.0, rate_m_per_s2=1.25),
        reference=Conditions(
            fuel="summer",
            fuel_temperature_k=REFERENCE_K,
            ambient_pressure_abs_pa=91000.0,
            fuel_level_fraction=0.6,
        ),
        worst=(),
        margins=Margins(),
        repeatability={},
        instruments={"cell": Instrument(id="cell", title="", channels=()), "logger": logger},
        runs=(),
    )
