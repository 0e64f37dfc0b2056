"""A pump that takes the same flow whatever the line does, so that what a line loses is known."""

import math
from dataclasses import replace

from feedproof.app.sensitivity_inputs import inputs_of
from feedproof.app.sensitivity_model import TopModel, top_model
from feedproof.case.case import Case
from feedproof.case.line import Line
from feedproof.case.parts import Part
from feedproof.core.values import SourcedValue
from feedproof.feedline.plan import lower_fluid

COLD = {"fuel_temperature_k": 278.15}
"""Fuel so cold that wide pipes are laminar."""


def ranged(value: float, low: float, high: float, source: str = "planted") -> SourcedValue:
    """Give a value with a range."""
    return SourcedValue(value=value, low=low, high=high, source=source, text=f"{value}")


def stiff(case: Case, parts: tuple[Part, ...], values: dict[str, SourcedValue]) -> Case:
    """Make a case whose pump fills at any pressure, slips nothing and frees no gas."""
    pump = replace(
        case.vehicle.pump,
        inlet_half_pressure_abs_pa=0.0,
        inlet_softness_pa=100.0,
        port_loss_pa=0.0,
        slip_m3_per_s=0.0,
        gas_release_fraction=0.0,
        maker_limit_abs_pa=40e3,
    )
    vehicle = replace(case.vehicle, pump=pump, line=Line(parts=parts))
    return replace(case, vehicle=vehicle, kits={}, runs=(), worst=(), values=values)


def limited(case: Case, limit_abs_pa: float) -> Case:
    """Set the limit of the pump's maker."""
    pump = replace(case.vehicle.pump, maker_limit_abs_pa=limit_abs_pa)
    return replace(case, vehicle=replace(case.vehicle, pump=pump))


def model_of(case: Case) -> TopModel:
    """Make the model of the baseline, cold."""
    return top_model(case, (), COLD, inputs_of(case, (), case.reference.fuel).varied, lambda: None)


def flow_of(case: Case) -> float:
    """Give the flow that the stiff pump takes at the top of the pull, from its displacement."""
    gearing, pump = case.vehicle.gearing, case.vehicle.pump
    wheel = case.pull.stop_m_per_s / (2.0 * math.pi * gearing.rolling_radius_m)
    engine = (
        wheel * gearing.gear_ratio * gearing.final_drive_ratio * (1.0 + gearing.tyre_slip_fraction)
    )
    return pump.displacement_m3_per_rev * engine * pump.speed_ratio * pump.filling_fraction


def poiseuille_pa(case: Case, length_m: float, bore_m: float) -> float:
    """Give the loss of a laminar pipe by Hagen and Poiseuille: 128 mu L Q/(pi d^4)."""
    fluid = lower_fluid(case.fuels[case.reference.fuel], COLD["fuel_temperature_k"])
    viscosity = fluid.dynamic_viscosity_pa_s
    return 128.0 * viscosity * length_m * flow_of(case) / (math.pi * bore_m**4)
