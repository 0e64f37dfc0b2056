"""What a case's runs are to be judged as: sets of kits, and what the runs were for."""

import numpy as np

from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.case.run import Role
from feedproof.core.errors import MissingError
from feedproof.evidence.trial import BASELINE
from feedproof.feedline.circuit import FeedCircuit, build_circuit
from feedproof.feedline.pull import engine_speeds
from feedproof.feedline.pump_state import FeedState


def candidates(case: Case) -> tuple[tuple[tuple[str, ...], Role], ...]:
    """
    Give what is to be judged: each set of kits with what its runs were for.

    Parameters
    ----------
    case : Case
        With its runs.

    Returns
    -------
    tuple of (kit ids, Role)
        In the order of the runs.
    """
    seen = [(run.kits, run.role) for run in case.runs if run.kits and run.role is not Role.WARM_UP]
    return tuple(dict.fromkeys(seen))


def label(kits: tuple[str, ...], role: Role) -> str:
    """
    Name what is judged; a loaded element is told apart from a clean one.

    Parameters
    ----------
    kits : tuple of str
        Kit ids.
    role : Role
        What the runs are for.

    Returns
    -------
    str
        Such as ``secondary`` or ``secondary@loaded``.
    """
    name = "+".join(kits) if kits else BASELINE
    return f"{name}@loaded" if role is Role.LOADED else name


def circuit_for(case: Case, kits: tuple[str, ...], conditions: Conditions) -> FeedCircuit:
    """
    Lower a configuration of a case under conditions.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids; empty is the baseline.
    conditions : Conditions
        The conditions.

    Returns
    -------
    FeedCircuit
        Ready to be asked.

    Raises
    ------
    MissingError
        The conditions name a fuel that the case does not have.
    """
    if conditions.fuel not in case.fuels:
        raise MissingError.at(
            "fuel",
            f"the case has no fuel {conditions.fuel!r}.",
            f"It has: {', '.join(case.fuels)}.",
        )
    return build_circuit(
        case.vehicle,
        case.line_with(kits),
        case.fuels[conditions.fuel],
        conditions,
        case.friction_rule,
    )


def top_state(
    case: Case, circuit: FeedCircuit, speed_m_per_s: float | None = None
) -> tuple[FeedState, float]:
    """
    Solve the top of the pull.

    Parameters
    ----------
    case : Case
        For the pull.
    circuit : FeedCircuit
        The circuit.
    speed_m_per_s : float, optional
        Another road speed at full load. [m/s]

    Returns
    -------
    tuple of FeedState and float
        State and engine speed. [rev/s]
    """
    top = case.pull.stop_m_per_s if speed_m_per_s is None else speed_m_per_s
    speed = engine_speeds(circuit, np.array([top]))
    _, injected = circuit.full_load(speed)
    return circuit.at(float(speed[0]), float(injected[0])), float(speed[0])
