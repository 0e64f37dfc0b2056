"""
What the readings leave open: the run is the unit, and its bins are no replicates.

A reading's error is made of the noise of its bin, of an offset that all bins of its run share,
of one that all runs of a set-up share, of what the run's own temperature and level leave open,
and of the model's own bias, which all runs of a configuration share.
"""

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.core.errors import MissingError
from feedproof.evidence.archive import Archive, Scatter, settle_scatter
from feedproof.evidence.corrections import LEVEL_U_FRACTION, TEMPERATURE_U_K
from feedproof.evidence.fit.runs_model import FitRun, RunsModel

FloatArray = NDArray[np.float64]

MODEL_SHARE = 0.01
"""
Standard uncertainty of the line's law at one speed of one configuration, over the depression: the
project's own judgement.  What the transition of the friction leaves open is a parameter of its own.
"""
LEAST_POINT_SHARE = 0.002
"""Least noise of a bin over the depression: digits and speed."""
RETURN_COMMON_PERCENT = 1.2
"""
What all catches share: the jug's own error (0.5 %) and the fuel that a hold without load is taken
to burn (30 % of about 3 L/h in 80): judged. [log-percent]
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """
    Standard deviations of the readings' errors.

    Parameters
    ----------
    run_pa, setup_pa, point_pa : float
        Of a run's offset, of a set-up's, of one bin's noise. [Pa]
    return_percent, return_common_percent : float
        Of one catch, and of what all catches share. [log-percent]
    model_share : float
        Of the line's law over the depression. [-]
    temperature_k, level : float
        Of a run's fuel temperature [K] and level [-].
    notes : tuple of str
        Where they come from.
    """

    run_pa: float
    setup_pa: float
    point_pa: float
    return_percent: float
    return_common_percent: float = RETURN_COMMON_PERCENT
    model_share: float = MODEL_SHARE
    temperature_k: float = TEMPERATURE_U_K
    level: float = LEVEL_U_FRACTION
    notes: tuple[str, ...] = ()


def errors_of_runs(
    model: RunsModel,
    *,
    depression: Archive | None,
    returns: Archive | None,
    setup_pa: float = 0.0,
) -> Errors:
    """
    Settle the scatter from the runs and from what was declared.

    Parameters
    ----------
    model : RunsModel
        The runs beside the described line; only differences among runs of one configuration in
        one session count, so that a line that is not as described does no harm.
    depression, returns : Archive or None
        Declared repeatability. [Pa], [log-percent]
    setup_pa : float
        Declared scatter of a set-up. [Pa]

    Returns
    -------
    Errors
        For `covariance`.

    Raises
    ------
    MissingError
        Neither repeats nor a declared repeatability.
    """
    residuals = model.measured - model.described()
    groups = _repeats(model.runs)
    offsets = np.array(
        [
            float(np.mean(mine)) if (mine := residuals[_of(model, i)]).size else math.nan
            for i in range(len(model.runs))
        ]
    )
    total, freedom = _spread(offsets, groups)
    notes = []
    run = settle_scatter(total, freedom, depression, float(np.max(np.abs(model.measured))))
    run_pa = _inflated(run, "inlet_depression")
    notes.append(
        f"A run's depression scatters by {run_pa:.0f} Pa as a whole"
        f" ({run.degrees_of_freedom or 0.0:.0f} degrees of freedom)."
    )
    notes += run.reasons
    caught = np.full(len(model.runs), np.nan)
    caught[model.of_run[model.is_return]] = residuals[model.is_return]
    return_percent = math.nan
    if model.is_return.any():
        total, freedom = _spread(caught, groups)
        settled = settle_scatter(total, freedom, returns, 100.0)
        return_percent = _inflated(settled, "caught_return")
        notes += settled.reasons
    return Errors(
        run_pa=run_pa,
        setup_pa=setup_pa,
        point_pa=_point_noise(model, residuals, groups),
        return_percent=return_percent,
        notes=tuple(notes),
    )


def _of(model: RunsModel, run: int) -> NDArray[np.bool_]:
    """Give the depressions of a run."""
    mine: NDArray[np.bool_] = (model.of_run == run) & ~model.is_return
    return mine


def _repeats(runs: Sequence[FitRun]) -> list[list[int]]:
    """Put together the runs of one configuration in one session."""
    groups: dict[Hashable, list[int]] = {}
    for i, run in enumerate(runs):
        groups.setdefault((run.session, run.configuration), []).append(i)
    return list(groups.values())


def _spread(values: FloatArray, groups: Sequence[Sequence[int]]) -> tuple[float, int]:
    """Sum squares about each group's mean, with their degrees of freedom."""
    total, freedom = 0.0, 0
    for group in groups:
        held = values[list(group)]
        held = held[np.isfinite(held)]
        if held.size > 1:
            total += float(((held - held.mean()) ** 2).sum())
            freedom += held.size - 1
    return total, freedom


def _inflated(found: Scatter, measure: str) -> float:
    """Widen a scatter by how well it is known: the variance of Student's t."""
    if found.standard_deviation is None:
        raise MissingError.at(
            f"repeatability.{measure}",
            "the runs do not repeat and no repeatability is declared: nobody can say what a"
            " difference between runs and prediction means.",
            "Declare the repeatability of this rig, or repeat the runs.",
        )
    freedom = found.degrees_of_freedom or 1.0
    wider = freedom / (freedom - 2.0) if freedom > 3.0 else 3.0
    return found.standard_deviation * math.sqrt(wider)


def _point_noise(model: RunsModel, residuals: FloatArray, groups: Sequence[Sequence[int]]) -> float:
    """Give the noise of one bin: what is left of repeats without run and bin means."""
    least = LEAST_POINT_SHARE * float(np.mean(np.abs(model.measured[~model.is_return])))
    total, freedom = 0.0, 0
    for group in groups:
        rows = [residuals[_of(model, i)] for i in group]
        rows = [row - row.mean() for row in rows if row.size]
        if len(rows) < 2 or len({row.size for row in rows}) > 1:
            continue
        table = np.stack(rows)
        total += float(((table - table.mean(axis=0)) ** 2).sum())
        freedom += (table.shape[0] - 1) * (table.shape[1] - 1)
    return max(least, math.sqrt(total / freedom)) if freedom > 0 else 5.0 * least


def covariance(model: RunsModel, errors: Errors) -> FloatArray:
    """
    Give the covariance of the readings' errors.

    Parameters
    ----------
    model : RunsModel
        For the readings and the described line.
    errors : Errors
        Standard deviations.

    Returns
    -------
    array, shape (n, n)
        Readings in the model's order.
    """
    runs, described = model.of_run, model.described()
    lost = ~model.is_return
    both = lost[:, None] & lost[None, :]
    setups = _labels([(run.session, run.setup) for run in model.runs])[runs]
    kinds = _labels([run.configuration for run in model.runs])[runs]
    same_run = (runs[:, None] == runs[None, :]) & both
    same_setup = (setups[:, None] == setups[None, :]) & both
    same_law = (kinds[:, None] == kinds[None, :]) & (model.bins[:, None] == model.bins) & both
    law = errors.model_share * np.where(lost, described, 0.0)
    total: FloatArray = (
        np.diag(np.where(lost, errors.point_pa**2, 0.0))
        + errors.run_pa**2 * same_run
        + errors.setup_pa**2 * same_setup
        + np.outer(law, law) * same_law
    )
    caught = model.is_return
    if caught.any():
        total += np.diag(np.where(caught, errors.return_percent**2, 0.0))
        total += errors.return_common_percent**2 * np.outer(caught, caught)
    own = runs[:, None] == runs[None, :]
    for change in (
        model.moved(errors.temperature_k, 0.0) - described,
        model.moved(0.0, errors.level) - described,
    ):
        total += np.outer(change, change) * own
    return total


def _labels(keys: Sequence[Hashable]) -> NDArray[np.int64]:
    """Give equal keys one number."""
    known = {key: number for number, key in enumerate(dict.fromkeys(keys))}
    return np.array([known[key] for key in keys], dtype=np.int64)
