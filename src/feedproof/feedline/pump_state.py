"""What the pump draws and delivers at a given depression and gas content of its inlet."""

import math
from typing import NamedTuple

from feedproof.core.compiled import formula
from feedproof.feedline.plan import FluidPlan, PumpPlan
from feedproof.feedline.surroundings import Demand, Surroundings
from feedproof.physics.gas import gas_share
from feedproof.physics.pump import (
    feed_pressure_ratio,
    inlet_filling,
    inlet_half_pressure,
    pumped_flow,
    slip_at_regulated,
    theoretical_flow,
)


class FeedState(NamedTuple):
    """
    One operating point of line and pump.

    Fields in order: flow drawn through the line [m3/s], depression at the pump inlet [Pa],
    absolute pressure there [Pa], flow injected [m3/s], flow returned to the tank [m3/s], feed
    pressure over its regulated value [-], feed margin [-], free gas at the inlet [-], filling of
    the pump [-].
    """

    feed_m3_per_s: float
    depression_pa: float
    pressure_abs_pa: float
    injected_m3_per_s: float
    return_m3_per_s: float
    feed_pressure_ratio: float
    feed_margin: float
    free_gas_fraction: float
    inlet_filling: float


@formula
def pump_state(
    depression_pa: float,
    gas_pa: float,
    around: Surroundings,
    pump: PumpPlan,
    fluid: FluidPlan,
    demand: Demand,
) -> FeedState:
    """
    Give what the pump draws and delivers at a given depression.

    Parameters
    ----------
    depression_pa : float
        At the pump inlet. [Pa]
    gas_pa : float
        Pressure times gas volume per liquid volume there. [Pa]
    around : Surroundings
        For the air pressure.
    pump : PumpPlan
        The pump.
    fluid : FluidPlan
        The fuel.
    demand : Demand
        Speed, and what the engine asks for.

    Returns
    -------
    FeedState
        The state; flow balance holds by construction.
    """
    pressure_abs = around.ambient_abs_pa - depression_pa
    half = inlet_half_pressure(
        pump.half_pressure_abs_pa,
        fluid.vapour_pressure_abs_pa,
        pump.port_loss_pa,
        demand.pump_speed_rev_per_s,
        pump.port_loss_speed_rev_per_s,
    )
    filling = inlet_filling(pressure_abs, half, pump.softness_pa)
    gas = gas_share(gas_pa, pressure_abs)
    displaced = theoretical_flow(pump.displacement_m3_per_rev, demand.pump_speed_rev_per_s)
    pumped = pumped_flow(displaced, pump.filling_fraction, gas, filling)
    slip = slip_at_regulated(
        pump.slip_m3_per_s, pump.slip_viscosity_pa_s, fluid.dynamic_viscosity_pa_s
    )
    lubrication = pump.lubrication_m3_per_s
    wanted, backleak = demand.injected_m3_per_s, demand.backleak_m3_per_s
    ratio = feed_pressure_ratio(pumped, slip, lubrication, backleak, wanted)
    need = wanted + backleak + lubrication
    margin = (pumped - slip) / need if need > 0.0 else math.inf
    feed = pumped - slip * ratio
    if pump.topology == 1 and ratio >= 1.0:
        # Internal recirculation: the surplus goes back to the pump's own inlet.
        feed = need
    # With no feed pressure left the injection takes what the back-leak leaves.
    injected = wanted if ratio > 0.0 else min(wanted, max(feed - backleak, 0.0))
    return FeedState(
        feed,
        depression_pa,
        pressure_abs,
        injected,
        feed - injected,
        ratio,
        margin,
        gas,
        filling,
    )
