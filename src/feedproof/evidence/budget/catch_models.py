"""Models of a return flow caught by volume or by mass, and of the loss between two flows."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from feedproof.evidence.budget.measurand import Model

REFERENCE_TEMPERATURE_K = 288.15
"""15 degC, at which a volume of fuel is stated. [K]"""


def flow_by_volume(
    *,
    volume_m3: Any,
    measure_error_m3: Any,
    reading_error_m3: Any,
    left_over_m3: Any,
    duration_s: Any,
    start_error_s: Any,
    stop_error_s: Any,
    temperature_k: Any,
    temperature_error_k: Any,
    expansion_per_k: Any,
) -> Any:
    """
    Give the return flow at 15 degC from a volume.

    Parameters
    ----------
    volume_m3, measure_error_m3, reading_error_m3, left_over_m3 : float or array
        Volume read, and what must be added for the measure, the reading, and fuel left in hose
        or jug. [m3]
    duration_s, start_error_s, stop_error_s : float or array
        Duration read, and by how much too late it was started and stopped. [s]
    temperature_k, temperature_error_k : float or array
        Of the fuel in the measure, and what must be added to it. [K]
    expansion_per_k : float or array
        Of the fuel. [1/K]

    Returns
    -------
    float or array
        Volume at 15 degC over time. [m3/s]
    """
    volume = volume_m3 + measure_error_m3 + reading_error_m3 + left_over_m3
    warmth = temperature_k + temperature_error_k - REFERENCE_TEMPERATURE_K
    return volume * (1.0 - expansion_per_k * warmth) / (duration_s + start_error_s - stop_error_s)


def flow_by_weighing(
    *,
    mass_kg: Any,
    balance_error_kg: Any,
    reading_error_kg: Any,
    left_over_kg: Any,
    buoyancy: Any,
    duration_s: Any,
    start_error_s: Any,
    stop_error_s: Any,
    density_15c_kg_per_m3: Any,
) -> Any:
    """
    Give the return flow at 15 degC from a mass.

    Parameters
    ----------
    mass_kg, balance_error_kg, reading_error_kg, left_over_kg : float or array
        Mass read, and what must be added for the balance, the reading, and fuel left in hose or
        jug. [kg]
    buoyancy : float or array
        What the air carries of the fuel, not corrected for. [-]
    duration_s, start_error_s, stop_error_s : float or array
        Duration read, and by how much too late it was started and stopped. [s]
    density_15c_kg_per_m3 : float or array
        Of the fuel at 15 degC. [kg/m3]

    Returns
    -------
    float or array
        Volume at 15 degC over time. [m3/s]
    """
    mass = (mass_kg + balance_error_kg + reading_error_kg + left_over_kg) * (1.0 + buoyancy)
    return mass / density_15c_kg_per_m3 / (duration_s + start_error_s - stop_error_s)


@dataclass(frozen=True, slots=True)
class LossOf:
    """
    The loss between two flows, as a function of shared inputs and of each catch's own.

    The own inputs of the catch without the kit end in ``_without``, those with it in ``_with``;
    every other input goes to both flows, so that what is shared cancels as far as it does.
    """

    flow: Model

    def __call__(self, **inputs: Any) -> Any:
        """Give -100 ln(q with / q without)."""
        flows = {}
        for side, other in (("with", "without"), ("without", "with")):
            flows[side] = self.flow(
                **{
                    name.removesuffix(f"_{side}"): value
                    for name, value in inputs.items()
                    if not name.endswith(f"_{other}")
                }
            )
        return -100.0 * np.log(flows["with"] / flows["without"])
