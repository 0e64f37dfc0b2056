"""What a plan needs of the feed line, predicted at the reference conditions."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.app.configurations import circuit_for
from feedproof.app.slopes import hold_of
from feedproof.case.case import Case
from feedproof.feedline.pull import engine_speeds
from feedproof.feedline.sensitivity import LineDerivatives, line_derivatives

FloatArray = NDArray[np.float64]

POINTS = 25


@dataclass(frozen=True, slots=True, kw_only=True)
class Foreseen:
    """
    What the feed line is predicted to do at the reference conditions.

    Parameters
    ----------
    baseline_pa : array, shape (n,)
        Depression along the pull without a kit. [Pa]
    added_pa : float
        Largest mean depression that a planned kit adds along the pull. [Pa]
    slopes : LineDerivatives
        How the baseline answers to the conditions.
    hold_rev_per_s : float
        Engine speed of the steady catch. [rev/s]
    hold_return_m3_per_s : float
        Return at that speed without load. [m3/s]
    hold_depression_pa, loaded_depression_pa : float
        Depression at that speed without load and at full load. [Pa]
    pull_return_m3_per_s : float
        Mean return along the pull. [m3/s]
    """

    baseline_pa: FloatArray
    added_pa: float
    slopes: LineDerivatives
    hold_rev_per_s: float
    hold_return_m3_per_s: float
    hold_depression_pa: float
    loaded_depression_pa: float
    pull_return_m3_per_s: float


def foresee(case: Case, sets: tuple[tuple[str, ...], ...]) -> Foreseen:
    """
    Predict what the plan needs of the feed line.

    Parameters
    ----------
    case : Case
        The case.
    sets : tuple of tuple of str
        Kits of each session.

    Returns
    -------
    Foreseen
        At the reference conditions.
    """
    speeds = np.linspace(case.pull.start_m_per_s, case.pull.stop_m_per_s, POINTS)
    bare = _along(case, (), speeds)
    added = [float(np.mean(_along(case, kits, speeds)[:, 1] - bare[:, 1])) for kits in sets]
    hold = hold_of(case)
    circuit = circuit_for(case, (), case.reference)
    still = circuit.held_without_load(hold)
    curve = case.vehicle.engine.speed_rev_per_s
    loaded_speed = np.array([min(max(hold, curve[0]), curve[-1])])
    _, injected = circuit.full_load(loaded_speed)
    loaded = circuit.at(float(loaded_speed[0]), float(injected[0]))
    return Foreseen(
        baseline_pa=bare[:, 1],
        added_pa=max(added, default=0.0),
        slopes=line_derivatives(
            case.vehicle,
            case.line_with(()),
            case.fuels[case.reference.fuel],
            case.reference,
            case.friction_rule,
            speeds[::6],
            hold,
        ),
        hold_rev_per_s=hold,
        hold_return_m3_per_s=still.return_m3_per_s,
        hold_depression_pa=still.depression_pa,
        loaded_depression_pa=loaded.depression_pa,
        pull_return_m3_per_s=float(np.mean(bare[:, 4])),
    )


def _along(case: Case, kits: tuple[str, ...], speeds: FloatArray) -> FloatArray:
    """Solve a configuration along the pull."""
    circuit = circuit_for(case, kits, case.reference)
    rotation = engine_speeds(circuit, speeds)
    _, injected = circuit.full_load(rotation)
    return circuit.at_many(rotation, injected)
