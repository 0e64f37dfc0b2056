"""How the line answers to small changes of fuel temperature, level and air pressure."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.vehicle import Vehicle
from feedproof.feedline.circuit import FeedCircuit, build_circuit
from feedproof.feedline.pull import engine_speeds

FloatArray = NDArray[np.float64]

# Half widths of the central differences: wide enough to bridge the kinks of the friction rule,
# narrow against the span of one session.
TEMPERATURE_STEP_K = 1.0
LEVEL_STEP = 0.02
AMBIENT_STEP_PA = 500.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LineDerivatives:
    """
    Derivatives of depression and steady return, arrays of shape (n_speeds,).

    Parameters
    ----------
    speed_m_per_s : array
        Road speeds. [m/s]
    depression_per_k, depression_per_level, depression_per_ambient : array
        Of the depression at the pump inlet. [Pa/K], [Pa], [-]
    return_percent_per_k, return_percent_per_level, return_percent_per_ambient : float
        Of 100 ln(return at 15 degC) at the steady hold. [1/K], [-], [1/Pa]
    """

    speed_m_per_s: FloatArray
    depression_per_k: FloatArray
    depression_per_level: FloatArray
    depression_per_ambient: FloatArray
    return_percent_per_k: float
    return_percent_per_level: float
    return_percent_per_ambient: float


def line_derivatives(
    vehicle: Vehicle,
    line: Line,
    fuel: Fuel,
    conditions: Conditions,
    rule: str,
    speed_m_per_s: FloatArray,
    hold_rev_per_s: float,
) -> LineDerivatives:
    """
    Take the derivatives by central differences around the given conditions.

    Parameters
    ----------
    vehicle, line, fuel, conditions, rule
        As for `build_circuit`.
    speed_m_per_s : array, shape (n,)
        Road speeds of the full-load pull. [m/s]
    hold_rev_per_s : float
        Engine speed of the steady catch in neutral. [rev/s]

    Returns
    -------
    LineDerivatives
        Valid near the conditions: some 10 K, a quarter of a tank, 5 kPa.
    """

    def answers(changed: Conditions) -> tuple[FloatArray, float]:
        circuit = build_circuit(vehicle, line, fuel, changed, rule)
        at_15c = circuit.fluid.density_kg_per_m3 / fuel.density_15c_kg_per_m3
        return (
            _depression(circuit, speed_m_per_s),
            _return_percent(circuit, hold_rev_per_s, at_15c),
        )

    def slope(low: Conditions, high: Conditions, width: float) -> tuple[FloatArray, float]:
        depression_low, return_low = answers(low)
        depression_high, return_high = answers(high)
        return (depression_high - depression_low) / width, (return_high - return_low) / width

    temperature = conditions.fuel_temperature_k
    level = conditions.fuel_level_fraction
    ambient = conditions.ambient_pressure_abs_pa
    by_temperature = slope(
        replace(conditions, fuel_temperature_k=temperature - TEMPERATURE_STEP_K),
        replace(conditions, fuel_temperature_k=temperature + TEMPERATURE_STEP_K),
        2.0 * TEMPERATURE_STEP_K,
    )
    by_level = slope(
        replace(conditions, fuel_level_fraction=level - LEVEL_STEP),
        replace(conditions, fuel_level_fraction=level + LEVEL_STEP),
        2.0 * LEVEL_STEP,
    )
    by_ambient = slope(
        replace(conditions, ambient_pressure_abs_pa=ambient - AMBIENT_STEP_PA),
        replace(conditions, ambient_pressure_abs_pa=ambient + AMBIENT_STEP_PA),
        2.0 * AMBIENT_STEP_PA,
    )
    return LineDerivatives(
        speed_m_per_s=speed_m_per_s,
        depression_per_k=by_temperature[0],
        depression_per_level=by_level[0],
        depression_per_ambient=by_ambient[0],
        return_percent_per_k=by_temperature[1],
        return_percent_per_level=by_level[1],
        return_percent_per_ambient=by_ambient[1],
    )


def _depression(circuit: FeedCircuit, speed_m_per_s: FloatArray) -> FloatArray:
    """Give the depression at full load at road speeds."""
    speeds = engine_speeds(circuit, speed_m_per_s)
    _, injected = circuit.full_load(speeds)
    return circuit.at_many(speeds, injected)[:, 1]


def _return_percent(circuit: FeedCircuit, hold_rev_per_s: float, at_15c: float) -> float:
    """Give 100 ln of the return at the steady hold, as the volume that it has at 15 degC."""
    state = circuit.held_without_load(hold_rev_per_s)
    return float(100.0 * np.log(state.return_m3_per_s * at_15c))
