"""A predicted depression with its range: inputs and the transition of the friction."""

import numpy as np
from numpy.typing import NDArray

from feedproof.app.configurations import circuit_for
from feedproof.app.spread import Contribution, contributions, curve_u_pa
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.feedline.pull import engine_speeds
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]


def predict_band(
    case: Case, kits: tuple[str, ...], speed_m_per_s: FloatArray, conditions: Conditions
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """
    Predict the depression at road speeds, with its range.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids.
    speed_m_per_s : array, shape (n,)
        Road speeds. [m/s]
    conditions : Conditions
        Under which.

    Returns
    -------
    tuple of array, shape (n,)
        Prediction, and its low and high end: transition and inputs' ranges (two standard
        uncertainties). [Pa]
    """
    circuit = circuit_for(case, kits, conditions)
    speeds = engine_speeds(circuit, speed_m_per_s)
    _, injected = circuit.full_load(speeds)
    centre = circuit.at_many(speeds, injected)[:, 1]
    edges = [
        circuit.at_many(speeds, injected, rule=int(rule))[:, 1]
        for rule in (FrictionRule.LAMINAR_LATE, FrictionRule.TURBULENT_EARLY)
    ]

    def curve(other: Case) -> FloatArray:
        changed = circuit_for(other, kits, conditions)
        rotation = engine_speeds(changed, speed_m_per_s)
        _, wanted = changed.full_load(rotation)
        return changed.at_many(rotation, wanted)[:, 1]

    wide = 2.0 * curve_u_pa(case, curve)
    low = np.minimum(centre, np.minimum(*edges)) - wide
    high = np.maximum(centre, np.maximum(*edges)) + wide
    return centre, low, high


def influences(
    case: Case, kits: tuple[str, ...], conditions: Conditions
) -> tuple[Contribution, ...]:
    """
    Say how much each ranged input moves the depression at the top of the pull.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids.
    conditions : Conditions
        Under which.

    Returns
    -------
    tuple of Contribution
        The largest first; one input moved at a time, to the ends of its range.
    """
    top = np.array([case.pull.stop_m_per_s])

    def depression(other: Case) -> float:
        circuit = circuit_for(other, kits, conditions)
        speeds = engine_speeds(circuit, top)
        _, wanted = circuit.full_load(speeds)
        return float(circuit.at_many(speeds, wanted)[0, 1])

    return contributions(case, depression)
