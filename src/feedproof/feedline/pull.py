"""A full-load pull predicted: from road speed to flows, depression and the caught return."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.case import Pull
from feedproof.case.conditions import Conditions
from feedproof.feedline.circuit import FeedCircuit
from feedproof.physics.friction import FrictionRule
from feedproof.physics.kinematics import (
    acceleration_power,
    engine_speed,
    equivalent_inertia_mass,
    wheel_power,
)

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

POINTS = 131
"""Points along a pull; the caught volume changes by less than 1e-5 when they are doubled."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PullPrediction:
    """
    One configuration along one pull; arrays have shape (n_points,).

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    conditions : Conditions
        Under which it was predicted.
    speed_m_per_s, engine_speed_rev_per_s : array
        Road and engine speed. [m/s], [rev/s]
    engine_power_w, wheel_power_w : array
        Power, limited where the injection is cut. [W]
    feed_m3_per_s, injected_m3_per_s, return_m3_per_s : array
        Flows; feed = injected + return. [m3/s]
    depression_pa, pressure_abs_pa : array
        At the pump inlet. [Pa]
    depression_low_pa, depression_high_pa : array
        Edges of what is not known of the transition from laminar to turbulent flow. [Pa]
    feed_margin : array
        Delivery at the regulated feed pressure over need. [-]
    feed_pressure_ratio, free_gas_fraction : array
        Feed pressure over regulated, gas at the inlet. [-]
    short_feed, starved : array of bool
        Feed pressure below its regulated value; injection cut.
    return_caught_m3 : float
        Return over the whole pull. [m3]
    duration_s : float
        Of the pull. [s]
    """

    configuration: str
    conditions: Conditions
    speed_m_per_s: FloatArray
    engine_speed_rev_per_s: FloatArray
    engine_power_w: FloatArray
    wheel_power_w: FloatArray
    feed_m3_per_s: FloatArray
    injected_m3_per_s: FloatArray
    return_m3_per_s: FloatArray
    depression_pa: FloatArray
    pressure_abs_pa: FloatArray
    depression_low_pa: FloatArray
    depression_high_pa: FloatArray
    feed_margin: FloatArray
    feed_pressure_ratio: FloatArray
    free_gas_fraction: FloatArray
    short_feed: BoolArray
    starved: BoolArray
    return_caught_m3: float
    duration_s: float


def engine_speeds(circuit: FeedCircuit, speed_m_per_s: FloatArray) -> FloatArray:
    """
    Engine speed at road speeds, in the gear of the test.

    Parameters
    ----------
    circuit : FeedCircuit
        For the gearing.
    speed_m_per_s : array, shape (n,)
        Road speeds. [m/s]

    Returns
    -------
    array, shape (n,)
        Engine speeds. [rev/s]
    """
    gearing = circuit.vehicle.gearing
    per_m_per_s = engine_speed(
        1.0,
        gearing.rolling_radius_m,
        gearing.tyre_slip_fraction,
        gearing.gear_ratio,
        gearing.final_drive_ratio,
    )
    return np.asarray(speed_m_per_s, dtype=np.float64) * per_m_per_s


def roller_power(
    circuit: FeedCircuit, speed_m_per_s: FloatArray, engine_power_w: FloatArray, pull: Pull
) -> FloatArray:
    """
    Power that the roller reads in a sweep: less the driveline's loss and the turning masses.

    Parameters
    ----------
    circuit : FeedCircuit
        For the gearing.
    speed_m_per_s, engine_power_w : array, shape (n,)
        Road speed and engine power. [m/s], [W]
    pull : Pull
        For the sweep rate.

    Returns
    -------
    array, shape (n,)
        Wheel power. [W]
    """
    gearing = circuit.vehicle.gearing
    mass_kg = equivalent_inertia_mass(
        gearing.engine_side_inertia_kg_m2,
        gearing.wheel_inertia_kg_m2,
        gearing.gear_ratio * gearing.final_drive_ratio,
        gearing.rolling_radius_m,
    )
    return np.array(
        [
            wheel_power(
                power,
                gearing.driveline_loss_fraction,
                acceleration_power(mass_kg, speed, pull.rate_m_per_s2),
            )
            for speed, power in zip(speed_m_per_s, engine_power_w, strict=True)
        ]
    )


def predict_pull(
    circuit: FeedCircuit,
    pull: Pull,
    configuration: str,
    points: int = POINTS,
    *,
    edges: bool = True,
) -> PullPrediction:
    """
    Predict a configuration along a full-load pull.

    Parameters
    ----------
    circuit : FeedCircuit
        Line, pump, fuel and conditions.
    pull : Pull
        The sweep.
    configuration : str
        Its name.
    points : int
        Points along the sweep.
    edges : bool
        False leaves out what is not known of the friction's transition: two of three solutions;
        its edges are not numbers then.

    Returns
    -------
    PullPrediction
        Quasi-static: line and pump settle in less than 0.1 s.

    Raises
    ------
    InputError
        The sweep leaves the engine's full-load curve.
    """
    speed = np.linspace(pull.start_m_per_s, pull.stop_m_per_s, points)
    rotation = engine_speeds(circuit, speed)
    wanted_power, wanted_flow = circuit.full_load(rotation)
    states = circuit.at_many(rotation, wanted_flow)
    depression = states[:, 1]
    low, high = _edges(circuit, rotation, wanted_flow, depression) if edges else _unknown(points)
    # Short of fuel the engine gives power in proportion to what is injected.
    engine_power = wanted_power * states[:, 3] / wanted_flow
    duration_s = (pull.stop_m_per_s - pull.start_m_per_s) / pull.rate_m_per_s2
    time_s = np.linspace(0.0, duration_s, points)
    return PullPrediction(
        configuration=configuration,
        conditions=circuit.conditions,
        speed_m_per_s=speed,
        engine_speed_rev_per_s=rotation,
        engine_power_w=engine_power,
        wheel_power_w=roller_power(circuit, speed, engine_power, pull),
        feed_m3_per_s=states[:, 0],
        injected_m3_per_s=states[:, 3],
        return_m3_per_s=states[:, 4],
        depression_pa=depression,
        pressure_abs_pa=states[:, 2],
        depression_low_pa=low,
        depression_high_pa=high,
        feed_margin=states[:, 6],
        feed_pressure_ratio=states[:, 5],
        free_gas_fraction=states[:, 7],
        short_feed=states[:, 5] < 1.0,
        starved=states[:, 3] < wanted_flow * (1.0 - 1e-12),
        return_caught_m3=float(np.trapezoid(states[:, 4], time_s)),
        duration_s=duration_s,
    )


def _edges(
    circuit: FeedCircuit, rotation: FloatArray, wanted_flow: FloatArray, depression: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Solve the pull with the transition of the friction at its two ends."""
    ends = [
        circuit.at_many(rotation, wanted_flow, rule=int(rule))[:, 1]
        for rule in (FrictionRule.LAMINAR_LATE, FrictionRule.TURBULENT_EARLY)
    ]
    return np.minimum(depression, np.minimum(*ends)), np.maximum(depression, np.maximum(*ends))


def _unknown(points: int) -> tuple[FloatArray, FloatArray]:
    """Give edges that nobody asked for."""
    return np.full(points, np.nan), np.full(points, np.nan)
