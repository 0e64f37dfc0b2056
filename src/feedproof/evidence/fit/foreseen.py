"""What the fitted line does where nobody tested it, with its interval and how far out that is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.evidence.fit.line_model import Ask, LineModel, circuit_of
from feedproof.evidence.fit.parameters import TRANSITION, Parameters
from feedproof.evidence.fit.runs_model import EDGES, FitRun
from feedproof.evidence.fit.scatter import MODEL_SHARE
from feedproof.feedline.pull import engine_speeds

FloatArray = NDArray[np.float64]

FEED, DEPRESSION, PRESSURE, RETURN, MARGIN = 0, 1, 2, 4, 6
"""Columns of a state."""
LOW, HIGH = 0.05, 0.95
TEMPERATURE_SLACK_K, FLOW_SLACK, PRESSURE_SLACK_PA = 2.0, 0.05, 2000.0
"""How far outside what was tested still counts as tested: the project's own rule."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """
    A predicted quantity.

    Parameters
    ----------
    middle, low, high : float
        Median, and the ends that 5 % each lie beyond.
    """

    middle: float
    low: float
    high: float

    @property
    def width(self) -> float:
        """Give the distance of the ends."""
        return self.high - self.low


@dataclass(frozen=True, slots=True, kw_only=True)
class Foreseen:
    """
    One configuration at the top of the pull under one set of conditions.

    Parameters
    ----------
    configuration, condition : str
        Of which, where.
    conditions : Conditions
        The same in full.
    described_abs_pa : float
        Inlet pressure of the line as described. [Pa]
    unfitted, fitted : Interval
        Inlet pressure from what was believed before the runs, and after them. [Pa]
    return_m3_per_s, feed_margin : Interval
        After the runs. [m3/s], [-]
    below_limit : float or None
        Chance that the inlet pressure is below the pump maker's limit; None without a limit. [-]
    beyond_tests : tuple of str
        In what this lies outside the tested range; empty when it does not.
    withheld : str
        Why nothing is concluded from it; empty when something may be.
    """

    configuration: str
    condition: str
    conditions: Conditions
    described_abs_pa: float
    unfitted: Interval
    fitted: Interval
    return_m3_per_s: Interval
    feed_margin: Interval
    below_limit: float | None
    beyond_tests: tuple[str, ...]
    withheld: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tested:
    """
    What the runs have covered.

    Parameters
    ----------
    fuels : frozenset of str
        Fuels used.
    fuel_temperature_k, ambient_pressure_abs_pa, feed_m3_per_s : tuple of float
        Least and greatest. [K], [Pa], [m3/s]
    captured_mass_kg : mapping of str to float
        Most dirt held, by element.
    """

    fuels: frozenset[str]
    fuel_temperature_k: tuple[float, float]
    ambient_pressure_abs_pa: tuple[float, float]
    feed_m3_per_s: tuple[float, float]
    captured_mass_kg: Mapping[str, float]


def range_of_tests(runs: Sequence[FitRun], feed_m3_per_s: FloatArray) -> Tested:
    """
    Say what the runs have covered.

    Parameters
    ----------
    runs : sequence of FitRun
        The runs.
    feed_m3_per_s : array, shape (n,)
        Fitted feed at their points. [m3/s]

    Returns
    -------
    Tested
        The ranges.
    """
    temperatures = [run.conditions.fuel_temperature_k for run in runs]
    pressures = [run.conditions.ambient_pressure_abs_pa for run in runs]
    held: dict[str, float] = {}
    for run in runs:
        for part_id, mass in run.conditions.captured_mass_kg.items():
            held[part_id] = max(held.get(part_id, 0.0), mass)
    return Tested(
        fuels=frozenset(run.conditions.fuel for run in runs),
        fuel_temperature_k=(min(temperatures), max(temperatures)),
        ambient_pressure_abs_pa=(min(pressures), max(pressures)),
        feed_m3_per_s=(float(feed_m3_per_s.min()), float(feed_m3_per_s.max())),
        captured_mass_kg=held,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Samples:
    """
    Parameters before and after the runs.

    Parameters
    ----------
    parameters : Parameters
        In the order of the columns.
    before, after : array, shape (n, p)
        Draws in prior standard deviations.
    seed : int
        Of what the line's own law leaves open.
    """

    parameters: Parameters
    before: FloatArray
    after: FloatArray
    seed: int = 1


def foresee(
    case: Case,
    asked: Sequence[tuple[str, tuple[str, ...], Conditions]],
    samples: Samples,
    tested: Tested,
    withheld: Mapping[str, str],
    everywhere: str = "",
) -> tuple[Foreseen, ...]:
    """
    Predict the top of the pull where it was asked for.

    Parameters
    ----------
    case : Case
        The case as described.
    asked : sequence of (str, kit ids, Conditions)
        Configurations by name, with what they are asked under.
    samples : Samples
        Parameters before and after the runs.
    tested : Tested
        What the runs have covered.
    withheld : mapping of str to str
        Kits that nothing may be concluded of, with the reason.
    everywhere : str
        Why nothing may be concluded at all; empty when something may be.

    Returns
    -------
    tuple of Foreseen
        In the order asked.
    """
    if not asked:
        return ()
    line = LineModel(case, [_top(case, kits, conditions) for _, kits, conditions in asked])
    nothing = np.zeros((1, len(samples.parameters)))
    described = line.states(samples.parameters.values(nothing))[0]
    low, high = (line.states(samples.parameters.values(nothing), rule)[0] for rule in EDGES)
    half = (high[:, DEPRESSION] - low[:, DEPRESSION]) / 2.0
    rng = np.random.default_rng(samples.seed)
    before, after = (
        _states(line, samples.parameters, drawn, half, rng)
        for drawn in (samples.before, samples.after)
    )
    limit = case.vehicle.pump.maker_limit_abs_pa
    found = []
    for i, (name, kits, conditions) in enumerate(asked):
        pressures = after[:, i, PRESSURE]
        below = None if limit is None else float(np.mean(pressures < limit))
        fitted = _interval(pressures)
        feed = _interval(after[:, i, FEED])
        found.append(
            Foreseen(
                configuration=name,
                condition=conditions.name or "as asked",
                conditions=conditions,
                described_abs_pa=float(described[i, PRESSURE]),
                unfitted=_interval(before[:, i, PRESSURE]),
                fitted=fitted,
                return_m3_per_s=_interval(after[:, i, RETURN]),
                feed_margin=_interval(after[:, i, MARGIN]),
                below_limit=below,
                beyond_tests=_beyond(tested, conditions, feed),
                withheld=everywhere or "; ".join(withheld[kit] for kit in kits if kit in withheld),
            )
        )
    return tuple(found)


def _top(case: Case, kits: tuple[str, ...], conditions: Conditions) -> Ask:
    """Ask for the top of the pull at full load."""
    nowhere = np.empty(0)
    ask = Ask(
        kits=kits, conditions=conditions, engine_speed_rev_per_s=nowhere, load_fraction=nowhere
    )
    speeds = engine_speeds(circuit_of(case, ask), np.array([case.pull.stop_m_per_s]))
    return replace(ask, engine_speed_rev_per_s=speeds, load_fraction=np.ones(1))


def _states(
    line: LineModel,
    parameters: Parameters,
    drawn: FloatArray,
    half_edge_pa: FloatArray,
    rng: np.random.Generator,
) -> FloatArray:
    """Solve all draws, with what transition and law leave open in the depression."""
    values = parameters.values(drawn)
    states = line.states(values)
    law = MODEL_SHARE * rng.normal(size=states.shape[:2]) * states[:, :, DEPRESSION]
    moved = values.of(TRANSITION, 0.0)[:, None] * half_edge_pa + law
    states[:, :, DEPRESSION] += moved
    states[:, :, PRESSURE] -= moved
    return states


def _interval(values: FloatArray) -> Interval:
    """Give median and ends."""
    low, middle, high = (float(each) for each in np.quantile(values, [LOW, 0.5, HIGH]))
    return interval_of(middle, low, high)


def interval_of(middle: float, low: float, high: float) -> Interval:
    """
    Make an interval.

    Parameters
    ----------
    middle, low, high : float
        Median and ends.

    Returns
    -------
    Interval
        The same.
    """
    return Interval(middle=middle, low=low, high=high)


def _beyond(tested: Tested, conditions: Conditions, feed: Interval) -> tuple[str, ...]:
    """Say in what conditions lie outside the tested range."""
    told = []
    if conditions.fuel not in tested.fuels:
        told.append(f"fuel {conditions.fuel} was not tested")
    low, high = tested.fuel_temperature_k
    asked = conditions.fuel_temperature_k
    if not low - TEMPERATURE_SLACK_K <= asked <= high + TEMPERATURE_SLACK_K:
        told.append(
            f"fuel at {asked - 273.15:.0f} °C, tested from {low - 273.15:.0f} to"
            f" {high - 273.15:.0f} °C"
        )
    low, high = tested.ambient_pressure_abs_pa
    air = conditions.ambient_pressure_abs_pa
    if not low - PRESSURE_SLACK_PA <= air <= high + PRESSURE_SLACK_PA:
        told.append(
            f"air at {air / 1e3:.1f} kPa, tested from {low / 1e3:.1f} to {high / 1e3:.1f} kPa"
        )
    low, high = tested.feed_m3_per_s
    if not low * (1.0 - FLOW_SLACK) <= feed.middle <= high * (1.0 + FLOW_SLACK):
        told.append(
            f"feed {3.6e6 * feed.middle:.0f} L/h, tested from {3.6e6 * low:.0f} to"
            f" {3.6e6 * high:.0f} L/h"
        )
    for part_id, mass in conditions.captured_mass_kg.items():
        most = tested.captured_mass_kg.get(part_id, 0.0)
        if mass > most:
            told.append(f"{part_id} holding {1e3 * mass:.0f} g, tested up to {1e3 * most:.0f} g")
    return tuple(told)
