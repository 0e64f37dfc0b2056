"""
Where runs and prediction disagree by more than both allow, session by session and kit by kit.

Each configuration with a kit is first held against a fit of all other runs, so that a kit that is
not as described can neither hide in its own factors nor be taken up by the line's.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv

from feedproof.evidence.fit.estimate import estimate
from feedproof.evidence.fit.runs_model import RunsModel
from feedproof.evidence.students import student_quantile

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

FALSE_ALARM = 0.05
"""Chance of any false alarm over all groups that are looked at."""


class Standing(StrEnum):
    """How runs stand to a prediction."""

    WITHIN_RUNS = "within_runs"
    WITHIN_BOTH = "within_both"
    BEYOND = "beyond"


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """
    Runs of one configuration in one session against a prediction.

    Parameters
    ----------
    session, configuration, measure : str
        Of which; the measure is ``depression`` or ``return``.
    runs : tuple of int
        Run numbers.
    difference : float
        Measured less predicted, mean over runs and bins. [Pa] or [log-percent]
    predicted : float
        The mean predicted. [Pa] or [log-percent]
    runs_u, both_u : float
        Standard uncertainty of the difference from the runs alone, and from runs and prediction
        together. [Pa] or [log-percent]
    standing : Standing
        Within what the runs can tell, within what both allow, or beyond it.
    """

    session: str
    configuration: str
    measure: str
    runs: tuple[int, ...]
    difference: float
    predicted: float
    runs_u: float
    both_u: float
    standing: Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Overall:
    """
    All checks together.

    Parameters
    ----------
    chi_square : float
        Square of the differences over their covariance. [-]
    degrees_of_freedom : int
        Number of differences. [-]
    expected_below : float
        What it stays below in 95 of 100 cases that are as assumed. [-]
    """

    chi_square: float
    degrees_of_freedom: int
    expected_below: float

    @property
    def agrees(self) -> bool:
        """Say whether the differences are no larger than expected."""
        return self.chi_square <= self.expected_below


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """Readings that are averaged together."""

    session: str
    configuration: str
    measure: str
    readings: IntArray


def check_groups(
    model: RunsModel,
    covariance: FloatArray,
    predicted: FloatArray,
    spread: FloatArray,
    *,
    wanted: Sequence[str] | None = None,
    looks: int = 0,
) -> tuple[tuple[Check, ...], Overall]:
    """
    Hold runs against a prediction, group by group.

    Parameters
    ----------
    model : RunsModel
        For the readings.
    covariance : array, shape (n, n)
        Of the readings' errors.
    predicted : array, shape (n,)
        Prediction of the readings.
    spread : array, shape (n, n)
        Its covariance with what the readings do not share with it: that of prior predictions is
        added to the readings'; after a fit to the same readings it is taken off.
    wanted : sequence of str, optional
        Configurations to look at; all when left out.
    looks : int
        Groups that are looked at in all, where others are looked at elsewhere. [-]

    Returns
    -------
    tuple of Check
        One for each session, configuration and measure.
    Overall
        All of them together.
    """
    groups = _groups(model, wanted)
    weights = np.zeros((len(groups), model.measured.size))
    for row, group in enumerate(groups):
        weights[row, group.readings] = 1.0 / group.readings.size
    off = weights @ (model.measured - predicted)
    alone = weights @ covariance @ weights.T
    both = weights @ (covariance + spread) @ weights.T
    bound = student_quantile(1.0 - FALSE_ALARM / 2.0 / max(looks, len(groups), 1), math.inf)
    checks = []
    for row, group in enumerate(groups):
        runs_u, both_u = (math.sqrt(max(each[row, row], 0.0)) for each in (alone, both))
        size = abs(float(off[row]))
        standing = Standing.BEYOND
        if size <= 2.0 * runs_u and size <= bound * both_u:
            standing = Standing.WITHIN_RUNS
        elif size <= bound * both_u:
            standing = Standing.WITHIN_BOTH
        checks.append(
            Check(
                session=group.session,
                configuration=group.configuration,
                measure=group.measure,
                runs=tuple(model.runs[i].number for i in np.unique(model.of_run[group.readings])),
                difference=float(off[row]),
                predicted=float((weights @ predicted)[row]),
                runs_u=runs_u,
                both_u=both_u,
                standing=standing,
            )
        )
    return tuple(checks), _overall(off, both)


def _groups(model: RunsModel, wanted: Sequence[str] | None) -> list[_Group]:
    """Put the readings together by session, configuration and measure."""
    keys: dict[tuple[str, str, str], list[int]] = {}
    for reading, run in enumerate(model.of_run):
        one = model.runs[run]
        if wanted is not None and one.configuration not in wanted:
            continue
        measure = "return" if model.is_return[reading] else "depression"
        keys.setdefault((one.session, one.configuration, measure), []).append(reading)
    return [
        _Group(session=s, configuration=c, measure=m, readings=np.array(found, dtype=np.int64))
        for (s, c, m), found in keys.items()
    ]


def _overall(off: FloatArray, covariance: FloatArray) -> Overall:
    """Weigh all differences together, without the directions in which nothing can be told."""
    values, vectors = np.linalg.eigh(covariance)
    held = values > 1e-9 * values.max() if values.size else values > 0.0
    along = vectors.T @ off
    count = int(held.sum())
    return Overall(
        chi_square=float((along[held] ** 2 / values[held]).sum()),
        degrees_of_freedom=count,
        expected_below=chi_square_quantile(0.95, count),
    )


def chi_square_quantile(probability: float, degrees_of_freedom: int) -> float:
    """
    Give what a chi-square stays below with a probability.

    Parameters
    ----------
    probability : float
        Between 0 and 1. [-]
    degrees_of_freedom : int
        0 gives 0. [-]

    Returns
    -------
    float
        The quantile. [-]
    """
    half = degrees_of_freedom / 2.0
    return 2.0 * float(gammaincinv(half, probability)) if half > 0.0 else 0.0


def without_kit(
    model: RunsModel, covariance: FloatArray, kit: str, left_out: frozenset[str] = frozenset()
) -> tuple[Check, ...]:
    """
    Hold the depressions of all configurations with a kit against a fit of everything else.

    Parameters
    ----------
    model : RunsModel
        All runs.
    covariance : array, shape (n, n)
        Of the readings' errors.
    kit : str
        Which one to leave out of the fit.
    left_out : frozenset of str
        Other kits whose runs are left out of the fit too.

    Returns
    -------
    tuple of Check
        Its runs against what the fit of the rest and the description of the kit give; the errors
        that its readings share with the rest are counted as if they did not.
    """
    mine = {run.configuration for run in model.runs if kit in run.kits}
    rest = readings_without(model, left_out | {kit})
    found = estimate(
        lambda points: model.predicted(points)[:, rest],
        model.measured[rest],
        covariance[np.ix_(rest, rest)],
        model.parameters,
    )
    slopes = derivatives(model, found.whitened)
    checks, _ = check_groups(
        model,
        covariance,
        model.predicted(found.whitened[None, :])[0],
        slopes @ found.covariance @ slopes.T,
        wanted=sorted(mine),
        looks=len(_groups(model, None)),
    )
    return tuple(check for check in checks if check.measure == "depression")


def readings_without(model: RunsModel, kits: frozenset[str]) -> IntArray:
    """
    List the readings without the depressions of some kits.

    Parameters
    ----------
    model : RunsModel
        All runs.
    kits : frozenset of str
        Kits whose depressions are left out; their caught returns stay.

    Returns
    -------
    array of int
        Positions among the readings.
    """
    out = np.array([bool(kits.intersection(model.runs[i].kits)) for i in model.of_run])
    return np.flatnonzero(~(out & ~model.is_return))


def misdescribed(model: RunsModel, covariance: FloatArray) -> dict[str, Check]:
    """
    Find the kits whose runs lie beyond what runs, line and their description allow.

    Parameters
    ----------
    model : RunsModel
        All runs.
    covariance : array, shape (n, n)
        Of the readings' errors.

    Returns
    -------
    dict of str to Check
        The worst check by kit, the worst kit first.  One kit is taken out at a time, so that it
        cannot be charged to another.
    """
    kits = list(dict.fromkeys(kit for run in model.runs for kit in run.kits))
    out: dict[str, Check] = {}
    while len(out) < len(kits):
        found = [
            (kit, check)
            for kit in kits
            if kit not in out
            for check in without_kit(model, covariance, kit, frozenset(out))
            if check.standing is Standing.BEYOND
            and not set(_kits_of(model, check.configuration)).intersection(out)
        ]
        if not found:
            break
        # A kit by itself is the better witness: of several together any could be the wrong one.
        alone = min(len(_kits_of(model, check.configuration)) for _, check in found)
        kit, check = max(
            (each for each in found if len(_kits_of(model, each[1].configuration)) == alone),
            key=lambda each: abs(each[1].difference) / each[1].both_u,
        )
        out[kit] = check
    return out


def _kits_of(model: RunsModel, configuration: str) -> tuple[str, ...]:
    """Give the kits of a configuration."""
    return next(run.kits for run in model.runs if run.configuration == configuration)


def derivatives(model: RunsModel, whitened: FloatArray) -> FloatArray:
    """
    Differentiate the readings by the parameters.

    Parameters
    ----------
    model : RunsModel
        The model.
    whitened : array, shape (p,)
        Where.

    Returns
    -------
    array, shape (n, p)
        Per prior standard deviation.
    """
    step = 1e-3
    count = whitened.size
    moved = np.concatenate([step * np.eye(count), -step * np.eye(count)])
    found = model.predicted(whitened + moved)
    slopes: FloatArray = ((found[:count] - found[count:]) / (2.0 * step)).T
    return slopes
