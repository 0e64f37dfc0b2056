"""The top of a pull as a function of its uncertain inputs, cheap enough to be sampled."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from feedproof.app.configurations import circuit_for
from feedproof.app.sensitivity_inputs import (
    EDGES,
    QUANTITIES,
    RangedInput,
)
from feedproof.app.sensitivity_places import Places, find_places
from feedproof.case.case import Case
from feedproof.case.line import Line
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error
from feedproof.feedline.circuit import FeedCircuit, build_circuit
from feedproof.feedline.pull import engine_speeds
from feedproof.feedline.pump_state import FeedState

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class TopModel:
    """
    The top of the pull as a function of the inputs.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids; empty is the baseline.
    changes : dict
        Fields of the conditions that are set in place of the case's reference conditions.
    inputs : tuple of RangedInput
        What is varied.
    places : Places
        Where the inputs' values go in the case.
    told : callable
        Called after each solved sample.
    """

    case: Case
    kits: tuple[str, ...]
    changes: dict[str, Any]
    inputs: tuple[RangedInput, ...]
    places: Places
    told: Callable[[], None]

    def circuit(self, values: FloatArray | None = None) -> tuple[FeedCircuit, FloatArray]:
        """
        Lower the configuration with other values of the inputs.

        Parameters
        ----------
        values : array, shape (n_inputs,), optional
            In the order of the inputs; those of the case when left out. [SI]

        Returns
        -------
        tuple of FeedCircuit and array
            The circuit; engine speed and injected flow at the top of the pull.
            [rev/s], [m3/s]
        """
        case = self.case if values is None else self.places.put(values.tolist())
        circuit = circuit_for(case, self.kits, replace(case.reference, **self.changes))
        return circuit, top_demand(circuit, case)

    def outcome(self, values: FloatArray | None = None) -> FloatArray:
        """
        Solve the top of the pull by the friction rule of the case.

        Parameters
        ----------
        values : array, shape (n_inputs,), optional
            As for `circuit`.

        Returns
        -------
        array, shape (n_quantities,)
            In the order of `QUANTITIES`.
        """
        circuit, demand = self.circuit(values)
        return solved(circuit, demand)

    def edges(self, values: FloatArray | None = None) -> FloatArray:
        """
        Solve the top of the pull by both edge rules of the transition.

        Parameters
        ----------
        values : array, shape (n_inputs,), optional
            As for `circuit`.

        Returns
        -------
        array, shape (2, n_quantities)
            Laminar for long first.
        """
        circuit, demand = self.circuit(values)
        return np.stack([solved(circuit, demand, int(rule)) for rule in EDGES])

    def values_at(self, points: FloatArray) -> FloatArray:
        """
        Turn points of the unit cube into values of the inputs.

        Parameters
        ----------
        points : array, shape (n, n_inputs + 1)
            The last column is the transition's. [-]

        Returns
        -------
        array, shape (n, n_inputs)
            In SI.
        """
        columns = [each.at(points[:, i]) for i, each in enumerate(self.inputs)]
        return np.stack(columns, axis=1) if columns else np.empty((len(points), 0))

    def sampled(self, points: FloatArray) -> FloatArray:
        """
        Solve many samples, the transition as one more input.

        Parameters
        ----------
        points : array, shape (n, n_inputs + 1)
            Points of the unit cube; the last column weighs the outcomes of the two edge rules.

        Returns
        -------
        array, shape (n, n_quantities)
            In the order of `QUANTITIES`.
        """
        edges = self._each(self.edges, points)
        weight = points[:, -1:]
        return (1.0 - weight) * edges[:, 0] + weight * edges[:, 1]

    def sampled_by_rule(self, points: FloatArray) -> FloatArray:
        """
        Solve many samples by the friction rule of the case alone.

        Parameters
        ----------
        points : array, shape (n, n_inputs + 1)
            Points of the unit cube; the last column plays no part.

        Returns
        -------
        array, shape (n, n_quantities)
            In the order of `QUANTITIES`.
        """
        return self._each(self.outcome, points)

    def _each(self, solve: Callable[[FloatArray], FloatArray], points: FloatArray) -> FloatArray:
        """Solve each sample; one without a solution stops all, since leaving it out would lie."""
        found = []
        for values in self.values_at(points):
            try:
                found.append(solve(values))
            except InputError as fault:
                raise InputError((_no_solution(self.inputs, values), *fault.findings)) from fault
            self.told()
        return np.stack(found)


def _no_solution(inputs: tuple[RangedInput, ...], values: FloatArray) -> Finding:
    """Say which sample has no solution."""
    sample = ", ".join(
        f"{each.path} = {value:.6g} ({each.low:.6g} to {each.high:.6g})"
        for each, value in zip(inputs, values.tolist(), strict=True)
    )
    return error(
        "sensitivity",
        f"inside the ranges of the inputs there is a sample that cannot be solved: {sample} (SI).",
        "Narrow the ranges to where the line works; what is wrong there follows.",
    )


def top_model(
    case: Case,
    kits: tuple[str, ...],
    changes: dict[str, Any],
    inputs: tuple[RangedInput, ...],
    told: Callable[[], None],
) -> TopModel:
    """
    Make the model of a configuration.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids; empty is the baseline.
    changes : dict
        Fields of the conditions that are set in place of the case's reference conditions.
    inputs : tuple of RangedInput
        What is varied.
    told : callable
        Called after each solved sample.

    Returns
    -------
    TopModel
        Ready to be sampled.
    """
    ranges = {each.path: (each.value, each.low, each.high) for each in inputs}
    return TopModel(
        case=case,
        kits=kits,
        changes=changes,
        inputs=inputs,
        places=find_places(case, ranges),
        told=told,
    )


def top_demand(circuit: FeedCircuit, case: Case) -> FloatArray:
    """
    Give what the top of the pull asks of a circuit.

    Parameters
    ----------
    circuit : FeedCircuit
        The circuit.
    case : Case
        For the pull.

    Returns
    -------
    array, shape (2,)
        Engine speed and injected flow. [rev/s], [m3/s]
    """
    speed = engine_speeds(circuit, np.array([case.pull.stop_m_per_s]))
    _, injected = circuit.full_load(speed)
    return np.array([speed[0], injected[0]])


def solved(circuit: FeedCircuit, demand: FloatArray, rule: int | None = None) -> FloatArray:
    """
    Solve a circuit and give what is predicted of it.

    Parameters
    ----------
    circuit : FeedCircuit
        The circuit.
    demand : array, shape (2,)
        From `top_demand`.
    rule : int, optional
        Another friction rule than the circuit's own.

    Returns
    -------
    array, shape (n_quantities,)
        In the order of `QUANTITIES`; without a limit the room is the absolute inlet pressure.
    """
    state: FeedState = circuit.at(float(demand[0]), float(demand[1]), rule=rule)
    limit = circuit.vehicle.pump.maker_limit_abs_pa
    room = state.pressure_abs_pa - (0.0 if limit is None else limit)
    return np.array([room, state.depression_pa, state.feed_margin, state.return_m3_per_s])


def with_line(circuit: FeedCircuit, case: Case, line: Line) -> FeedCircuit:
    """
    Lower another line in place of a circuit's.

    Parameters
    ----------
    circuit : FeedCircuit
        For vehicle and conditions.
    case : Case
        For fuel and friction rule.
    line : Line
        The other line.

    Returns
    -------
    FeedCircuit
        Ready to be asked.
    """
    conditions = circuit.conditions
    return build_circuit(
        circuit.vehicle, line, case.fuels[conditions.fuel], conditions, case.friction_rule
    )


STEP = 0.01
"""Half width of a central difference over the input's range: local, yet far above rounding."""


def local_slopes(model: TopModel) -> FloatArray:
    """
    Differentiate the prediction by each input, at the values of the case.

    Parameters
    ----------
    model : TopModel
        The top of the pull.

    Returns
    -------
    array, shape (n_inputs, n_quantities)
        Per SI unit of the input; one-sided where its value stands at an end of its range.
    """
    centre = np.array([each.value.value for each in model.inputs])
    slopes = np.zeros((len(model.inputs), len(QUANTITIES)))
    for i, each in enumerate(model.inputs):
        step = STEP * (each.high - each.low)
        ends = centre[i] + np.array(
            [-min(step, max(centre[i] - each.low, 0.0)), min(step, max(each.high - centre[i], 0.0))]
        )
        below, above = (model.outcome(_put(centre, i, end)) for end in ends)
        slopes[i] = (above - below) / (ends[1] - ends[0])
    return slopes


def end_changes(model: TopModel) -> FloatArray:
    """
    Move each input to the ends of its range, by itself.

    Parameters
    ----------
    model : TopModel
        The top of the pull.

    Returns
    -------
    array, shape (n_inputs, 2, n_quantities)
        Changes against the prediction, low end first.
    """
    centre = np.array([each.value.value for each in model.inputs])
    nominal = model.outcome()
    changes = np.zeros((len(model.inputs), 2, len(QUANTITIES)))
    for i, each in enumerate(model.inputs):
        for side, end in enumerate((each.low, each.high)):
            changes[i, side] = model.outcome(_put(centre, i, end)) - nominal
    return changes


def _put(values: FloatArray, place: int, value: float) -> FloatArray:
    """Replace one value."""
    changed = values.copy()
    changed[place] = value
    return changed
