"""What the runs read, and what the line with given parameters would have made them read."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.evidence.fit.line_model import Ask, LineModel
from feedproof.evidence.fit.parameters import GAUGE, TRANSITION, Parameters
from feedproof.feedline.feed_circuit import NO_LOAD_FUEL_FRACTION
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

DEPRESSION, RETURN = 1, 4
"""Columns of a state."""
EDGES = (int(FrictionRule.LAMINAR_LATE), int(FrictionRule.TURBULENT_EARLY))


@dataclass(frozen=True, slots=True, kw_only=True)
class FitRun:
    """
    What one run brings to the fit, at its own conditions.

    Parameters
    ----------
    number, session, setup : int, str, str
        From the run.
    configuration : str
        What was in the line; ``@loaded`` marks a loaded element.
    kits : tuple of str
        Kit ids.
    conditions : Conditions
        Fuel, temperature, level, air and loading as measured.
    engine_speed_rev_per_s, depression_pa : array, shape (n,)
        Speed bins with a usable depression, zero and head taken off, brought to no other
        condition. [rev/s], [Pa]
    bins : array of int, shape (n,)
        Their numbers among the session's bins.
    return_m3_per_s : float or None
        Caught return at 15 degC. [m3/s]
    return_speed_rev_per_s : array, shape (k,)
        Engine speeds that the catch stands for, alike in weight. [rev/s]
    return_load_fraction : float
        Fuel burnt there over that of full load. [-]
    """

    number: int
    session: str
    setup: str
    configuration: str
    kits: tuple[str, ...]
    conditions: Conditions
    engine_speed_rev_per_s: FloatArray
    depression_pa: FloatArray
    bins: IntArray
    return_m3_per_s: float | None = None
    return_speed_rev_per_s: FloatArray | None = None
    return_load_fraction: float = NO_LOAD_FUEL_FRACTION

    @property
    def has_return(self) -> bool:
        """Say whether a return was caught."""
        return self.return_m3_per_s is not None and self.return_speed_rev_per_s is not None

    def ask(self) -> Ask:
        """Give what the line is asked for this run: the bins, then the catch."""
        speeds, loads = [self.engine_speed_rev_per_s], [np.ones(self.depression_pa.size)]
        if self.has_return and self.return_speed_rev_per_s is not None:
            speeds.append(self.return_speed_rev_per_s)
            loads.append(np.full(self.return_speed_rev_per_s.size, self.return_load_fraction))
        return Ask(
            kits=self.kits,
            conditions=self.conditions,
            engine_speed_rev_per_s=np.concatenate(speeds),
            load_fraction=np.concatenate(loads),
        )


class RunsModel:
    """
    Readings of all runs, measured and as the line would give them.

    Parameters
    ----------
    case : Case
        The case.
    runs : sequence of FitRun
        The runs.
    parameters : Parameters
        What is fitted.
    """

    def __init__(self, case: Case, runs: Sequence[FitRun], parameters: Parameters) -> None:
        self.case = case
        self.runs = tuple(runs)
        self.parameters = parameters
        self.line = LineModel(case, [run.ask() for run in runs])
        measured, of_run, bins, returns = _readings(self.runs)
        self.measured = measured
        self.of_run = of_run
        self.bins = bins
        self.is_return = bins < 0
        self._depressions = np.flatnonzero(~self.is_return)
        self._points, self._catches = _points(self.runs)
        self._to_15c = np.array([_to_15c(self.line, i) for i in returns])
        self._half_edge = self._transition()

    def predicted(self, whitened: FloatArray) -> FloatArray:
        """
        Give what the runs would read.

        Parameters
        ----------
        whitened : array, shape (m, p)
            Prior standard deviations from the described values. [-]

        Returns
        -------
        array, shape (m, n)
            Depressions [Pa] and caught returns on the scale 100 ln(q / 1 m3/s) [log-percent], in
            the order of the readings.
        """
        values = self.parameters.values(whitened)
        states = self.line.states(values)
        found = np.empty((whitened.shape[0], self.measured.size))
        offset = values.of(GAUGE, 0.0)[:, None]
        edge = values.of(TRANSITION, 0.0)[:, None] * self._half_edge
        found[:, self._depressions] = states[:, self._points, DEPRESSION] + offset + edge
        for place, points, ratio in zip(
            np.flatnonzero(self.is_return), self._catches, self._to_15c, strict=True
        ):
            flow = states[:, points, RETURN].mean(axis=1) * ratio
            # A pump that returns nothing has no logarithm: such parameters have no likelihood.
            found[:, place] = np.where(flow > 0.0, 100.0 * np.log(np.maximum(flow, 1e-300)), np.nan)
        return found

    def described(self) -> FloatArray:
        """
        Give what the runs would read if the line were as described.

        Returns
        -------
        array, shape (n,)
            As `predicted`.
        """
        described: FloatArray = self.predicted(np.zeros((1, len(self.parameters))))[0]
        return described

    def _transition(self) -> FloatArray:
        """Give half of what lies between the two edge rules, at each depression. [Pa]."""
        at = self.parameters.values(np.zeros((1, len(self.parameters))))
        low, high = (self.line.states(at, rule)[0, self._points, DEPRESSION] for rule in EDGES)
        half: FloatArray = (high - low) / 2.0
        return half

    def moved(self, temperature_k: float, level: float) -> FloatArray:
        """
        Give what the described line would read at slightly other conditions.

        Parameters
        ----------
        temperature_k, level : float
            Added to every run's fuel temperature [K] and level [-].

        Returns
        -------
        array, shape (n,)
            As `described`.
        """
        runs = [
            replace(
                run,
                conditions=replace(
                    run.conditions,
                    fuel_temperature_k=run.conditions.fuel_temperature_k + temperature_k,
                    fuel_level_fraction=run.conditions.fuel_level_fraction + level,
                ),
            )
            for run in self.runs
        ]
        return RunsModel(self.case, runs, self.parameters).described()


def _readings(
    runs: Sequence[FitRun],
) -> tuple[FloatArray, IntArray, IntArray, list[int]]:
    """Give readings, the run and the bin of each (-1 for a return), and the runs with returns."""
    values: list[float] = []
    of_run: list[int] = []
    bins: list[int] = []
    returns = []
    for i, run in enumerate(runs):
        values += run.depression_pa.tolist()
        bins += run.bins.tolist()
        of_run += [i] * run.depression_pa.size
        if run.has_return and run.return_m3_per_s is not None:
            values.append(100.0 * float(np.log(run.return_m3_per_s)))
            bins.append(-1)
            of_run.append(i)
            returns.append(i)
    return np.array(values), np.array(of_run, dtype=np.int64), np.array(bins, np.int64), returns


def _points(runs: Sequence[FitRun]) -> tuple[IntArray, list[IntArray]]:
    """Give the model's point of each depression, and the points of each catch."""
    depressions: list[int] = []
    catches = []
    first = 0
    for run in runs:
        count = run.depression_pa.size
        depressions += range(first, first + count)
        first += count
        if run.has_return and run.return_speed_rev_per_s is not None:
            more = run.return_speed_rev_per_s.size
            catches.append(np.arange(first, first + more))
            first += more
    return np.array(depressions, dtype=np.int64), catches


def _to_15c(line: LineModel, index: int) -> float:
    """Give the density of an ask's fuel over that at 15 degC."""
    circuit = line.circuits[index]
    fuel = line.case.fuels[circuit.conditions.fuel]
    return circuit.fluid.density_kg_per_m3 / fuel.density_15c_kg_per_m3
