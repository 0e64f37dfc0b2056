"""
The equations of a feed line written out by hand, with `fluids` for turbulent friction.

A second derivation that shares no formula with the package: benchmarks solve it with general
solvers, and a test holds the package against it.  Plain Python, as its user would write it.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from feedproof.case.parts import (
    CheckValve,
    Cooler,
    Element,
    Fitting,
    LiftPump,
    Orifice,
    Part,
    Pipe,
)
from feedproof.feedline.plan import FluidPlan, PumpPlan

Loss = Callable[[float, FluidPlan], float]
"""Loss [Pa] at a positive flow [m3/s] of a fluid."""

LAMINAR_END, TURBULENT_START = 2000.0, 4000.0


def blended_factor(reynolds: float, relative_roughness: float) -> float:
    """
    Friction factor 64/Re below 2000, Colebrook above 4000 by `fluids`, a straight line between.

    Parameters
    ----------
    reynolds, relative_roughness : float
        Of the pipe. [-]

    Returns
    -------
    float
        Darcy's. [-]
    """
    from fluids.friction import Clamond

    if reynolds <= LAMINAR_END:
        return 64.0 / reynolds
    if reynolds >= TURBULENT_START:
        return float(Clamond(reynolds, relative_roughness))
    share = (reynolds - LAMINAR_END) / (TURBULENT_START - LAMINAR_END)
    end = float(Clamond(TURBULENT_START, relative_roughness))
    return (1.0 - share) * 64.0 / LAMINAR_END + share * end


def part_loss(part: Part, captured_mass_kg: float = 0.0) -> Loss:
    """
    Give the loss of a part as a function.

    Parameters
    ----------
    part : Part
        Any but an air hole or a running lift pump.
    captured_mass_kg : float
        Dirt in an element. [kg]

    Returns
    -------
    callable
        Its loss.

    Raises
    ------
    TypeError
        Another kind of part.
    """
    match part:
        case Pipe(bore_m=bore, length_m=length, roughness_m=rough):
            return lambda flow, fluid: _pipe_loss(flow, fluid, bore, length, rough)
        case Fitting():
            return lambda flow, fluid: _fitting_loss(flow, fluid, part)
        case Element():
            media = part.media_resistance_per_m / part.face_area_m2
            if captured_mass_kg > 0.0:
                media *= math.exp(captured_mass_kg / part.loading_scale_kg)
            housing, bend = part.housing_viscous_per_m3, part.housing_inertial_per_m4
            return lambda flow, fluid: (
                fluid.dynamic_viscosity_pa_s * (media * fluid.wax_multiplier + housing) * flow
                + fluid.density_kg_per_m3 * bend * flow * flow
            )
        case CheckValve(cracking_pressure_pa=crack, inertial_per_m4=bend):
            return lambda flow, fluid: crack + fluid.density_kg_per_m3 * bend * flow * flow
        case LiftPump(running=False, stopped_inertial_per_m4=bend):
            return lambda flow, fluid: fluid.density_kg_per_m3 * bend * flow * flow
        case Cooler(viscous_per_m3=straight, inertial_per_m4=bend):
            return lambda flow, fluid: (
                fluid.dynamic_viscosity_pa_s * straight * flow
                + fluid.density_kg_per_m3 * bend * flow * flow
            )
        case Orifice():
            coefficient, area = orifice_coefficient(part), math.pi * part.pipe_bore_m**2 / 4.0
            return lambda flow, fluid: (
                coefficient * fluid.density_kg_per_m3 * (flow / area) ** 2 / 2.0
            )
    raise TypeError(f"{part.id}: {type(part).__name__} has no equation here")


def orifice_coefficient(orifice: Orifice) -> float:
    """
    Give the loss coefficient of a plate as `fluids` does.

    Parameters
    ----------
    orifice : Orifice
        The plate.

    Returns
    -------
    float
        On the velocity in the pipe. [-]
    """
    from fluids.flow_meter import discharge_coefficient_to_K

    bores = {"D": orifice.pipe_bore_m, "Do": orifice.bore_m}
    return float(discharge_coefficient_to_K(**bores, C=orifice.discharge_coefficient))


def _pipe_loss(flow: float, fluid: FluidPlan, bore: float, length: float, rough: float) -> float:
    """Darcy-Weisbach."""
    if flow == 0.0:
        return 0.0
    velocity = flow / (math.pi * bore * bore / 4.0)
    reynolds = fluid.density_kg_per_m3 * velocity * bore / fluid.dynamic_viscosity_pa_s
    head = fluid.density_kg_per_m3 * velocity * velocity / 2.0
    return blended_factor(reynolds, rough / bore) * length / bore * head


def _fitting_loss(flow: float, fluid: FluidPlan, fitting: Fitting) -> float:
    """Two constants, K1/Re + K."""
    if flow == 0.0:
        return 0.0
    velocity = flow / (math.pi * fitting.bore_m * fitting.bore_m / 4.0)
    reynolds = fluid.density_kg_per_m3 * velocity * fitting.bore_m / fluid.dynamic_viscosity_pa_s
    coefficient = fitting.laminar_coefficient / reynolds + fitting.turbulent_coefficient
    return fitting.count * coefficient * fluid.density_kg_per_m3 * velocity * velocity / 2.0


def chain_loss(parts: Sequence[Part], captured_mass_kg: Mapping[str, float]) -> Loss:
    """
    Give the loss of parts in series as a function, part by part.

    Parameters
    ----------
    parts : sequence of Part
        In series.
    captured_mass_kg : mapping of str to float
        Dirt by part id. [kg]

    Returns
    -------
    callable
        Their loss.
    """
    losses = [part_loss(part, captured_mass_kg.get(part.id, 0.0)) for part in parts]
    return lambda flow, fluid: sum(loss(flow, fluid) for loss in losses)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """
    What a pump is asked under.

    Parameters
    ----------
    static_pa, ambient_abs_pa, saturation_abs_pa : float
        Depression without flow; air; pressure at which the fuel holds no free air. [Pa]
    speed_rev_per_s : float
        Of the pump. [rev/s]
    injected_m3_per_s, backleak_m3_per_s : float
        Wanted. [m3/s]
    """

    static_pa: float
    ambient_abs_pa: float
    saturation_abs_pa: float
    speed_rev_per_s: float
    injected_m3_per_s: float
    backleak_m3_per_s: float


def pump_draw(
    depression_pa: float, pump: PumpPlan, fluid: FluidPlan, ask: Ask
) -> tuple[float, float, float, float]:
    """
    Give what a pump draws at a depression of its inlet.

    Parameters
    ----------
    depression_pa : float
        Below ambient. [Pa]
    pump, fluid, ask
        The pump, the fuel, the demand.

    Returns
    -------
    tuple of float
        Flow drawn, flow returned [m3/s], feed margin, free gas [-].
    """
    pressure = ask.ambient_abs_pa - depression_pa
    released = pump.release_fraction * fluid.ostwald_air * (ask.saturation_abs_pa - pressure)
    released = max(released, 0.0)
    gas = 1.0 if pressure <= 0.0 else released / (pressure + released)
    port = pump.port_loss_pa * (ask.speed_rev_per_s / pump.port_loss_speed_rev_per_s) ** 2
    half = pump.half_pressure_abs_pa + fluid.vapour_pressure_abs_pa + port
    filling = 1.0 / (1.0 + math.exp(min((half - pressure) / pump.softness_pa, 700.0)))
    full = pump.displacement_m3_per_rev * ask.speed_rev_per_s * pump.filling_fraction
    taken = full * (1.0 - gas) * filling
    slip = pump.slip_m3_per_s * pump.slip_viscosity_pa_s / fluid.dynamic_viscosity_pa_s
    lubrication = pump.lubrication_m3_per_s
    asked = ask.injected_m3_per_s + ask.backleak_m3_per_s
    # Feed pressure over its regulated value: taken = slip x + lubrication sqrt(x) + asked.
    left = taken - asked
    ratio = 0.0
    if left > 0.0 and slip > 0.0:
        root = (math.sqrt(lubrication**2 + 4.0 * slip * left) - lubrication) / (2.0 * slip)
        ratio = min(root, 1.0) ** 2
    elif left > 0.0:
        ratio = min(left / lubrication, 1.0) ** 2 if lubrication > 0.0 else 1.0
    drawn = taken - slip * ratio
    if pump.topology == 1 and ratio >= 1.0:
        drawn = asked + lubrication
    injected = ask.injected_m3_per_s
    if ratio == 0.0:
        injected = min(injected, max(drawn - ask.backleak_m3_per_s, 0.0))
    return drawn, drawn - injected, (taken - slip) / (asked + lubrication), gas


def coupled_depression(
    loss: Loss, pump: PumpPlan, fluid: FluidPlan, ask: Ask
) -> tuple[float, float, float]:
    """
    Solve line and pump together with SciPy's bracketed root.

    Parameters
    ----------
    loss : callable
        Of the line.
    pump, fluid, ask
        As for `pump_draw`.

    Returns
    -------
    tuple of float
        Depression at the pump inlet [Pa], feed margin, free gas [-].
    """
    from scipy.optimize import brentq

    def gap(flow: float) -> float:
        return flow - pump_draw(ask.static_pa + loss(flow, fluid), pump, fluid, ask)[0]

    high = pump.displacement_m3_per_rev * ask.speed_rev_per_s * pump.filling_fraction
    # The tolerance of the package: 1e-11 of what the pump displaces.
    flow = brentq(gap, 0.0, high, xtol=1e-11 * high, rtol=1e-15)
    depression = ask.static_pa + loss(flow, fluid)
    _, _, margin, gas = pump_draw(depression, pump, fluid, ask)
    return depression, margin, gas
