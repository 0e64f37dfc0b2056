"""The verb ``sensitivity``: what the room hangs on, and how far a prediction of it can be off."""

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from feedproof.app.predicting import BASELINE, kit_sets
from feedproof.app.progress import Progress, silent
from feedproof.app.sensitivity_inputs import (
    QUANTITIES,
    TRANSITION,
    Inputs,
    inputs_of,
)
from feedproof.app.sensitivity_model import TopModel, end_changes, local_slopes, top_model
from feedproof.app.sensitivity_parts import part_sensitivities
from feedproof.app.sensitivity_result import (
    Effect,
    InputSensitivity,
    PredictionInterval,
    RoomVerdict,
    SensitiveConfiguration,
    Sensitivity,
)
from feedproof.case.case import Case
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, note, warning
from feedproof.feedline.variance import VarianceIndices, check_samples, variance_indices

FloatArray = NDArray[np.float64]

BASE_SAMPLES, SEED = 1024, 1
LOW_PROBABILITY, HIGH_PROBABILITY = 0.05, 0.95
CONFIDENCE = 0.95


def sensitivity_case(
    case: Case,
    *,
    kits: tuple[str, ...] | None = None,
    changes: dict[str, Any] | None = None,
    samples: int = BASE_SAMPLES,
    seed: int = SEED,
    progress: Progress = silent,
) -> Sensitivity:
    """
    Say what the room at the top of the pull hangs on.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str, optional
        Configurations asked for; all when left out.
    changes : dict, optional
        Fields of `Conditions` to set in place of the case's reference conditions.
    samples : int
        Base samples, a power of 2; each input costs that many more.
    seed : int
        Seed of the sampling, 0 or more.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    Sensitivity
        Derivatives, indices and intervals of the baseline and each configuration.

    Raises
    ------
    InputError
        A number of samples or a seed that cannot be used; a sample that cannot be solved.
    MissingError
        A kit that the case does not have.
    """
    from feedproof import __version__

    check_samples(samples, "--samples")
    if seed < 0:
        raise InputError.at("--seed", f"{seed} is below 0.", "Give a whole number, 0 or more.")
    changes = changes or {}
    conditions = replace(case.reference, **changes)
    sets = ((), *kit_sets(case, kits))
    found = tuple(
        sensitive_configuration(case, each, changes, samples, seed, progress) for each in sets
    )
    lost = inputs_of(case, (), conditions.fuel).unplaced
    return Sensitivity(
        format="feedproof-sensitivity",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        friction_rule=case.friction_rule,
        conditions=conditions,
        limit_abs_pa=case.vehicle.pump.maker_limit_abs_pa,
        base_samples=samples,
        seed=seed,
        configurations=found,
        unplaced=lost,
        findings=_findings(case, lost),
    )


def sensitive_configuration(
    case: Case,
    kits: tuple[str, ...],
    changes: dict[str, Any],
    samples: int = BASE_SAMPLES,
    seed: int = SEED,
    progress: Progress = silent,
) -> SensitiveConfiguration:
    """
    Sample one configuration.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids; empty is the baseline.
    changes : dict
        Fields of `Conditions` to set in place of the case's reference conditions.
    samples, seed : int
        As for `sensitivity_case`.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    SensitiveConfiguration
        Parts, inputs and intervals.
    """
    name = "+".join(kits) if kits else BASELINE
    fuel = replace(case.reference, **changes).fuel
    inputs = inputs_of(case, kits, fuel)
    count = len(inputs.varied) + 1
    # Two sets, a page for each input, and both sets once more by the friction rule of the case.
    total = samples * (count + 4)
    done = 0

    def told() -> None:
        nonlocal done
        done += 1
        if done % 256 == 0 or done == total:
            progress(done, total, f"sampling {name}")

    model = top_model(case, kits, changes, inputs.varied, told)
    indices = variance_indices(model.sampled, count, base_samples=samples, seed=seed)
    by_rule = model.sampled_by_rule(indices.points)
    limit_known = case.vehicle.pump.maker_limit_abs_pa is not None
    verdict, probability = _verdict(indices.outcomes[:, 0], known=limit_known)
    return SensitiveConfiguration(
        configuration=name,
        intervals=_intervals(model, indices, by_rule),
        verdict=verdict,
        below_zero_probability=probability[0],
        below_zero_low=probability[1],
        below_zero_high=probability[2],
        inputs=_input_sensitivities(inputs, model, indices),
        parts=part_sensitivities(model),
        elsewhere=inputs.elsewhere,
    )


def _verdict(
    room: FloatArray, *, known: bool
) -> tuple[RoomVerdict, tuple[float | None, float | None, float | None]]:
    """Hold the samples of the room against zero."""
    if not known:
        return RoomVerdict.NO_LIMIT_KNOWN, (None, None, None)
    below = int(np.count_nonzero(room < 0.0))
    # Points of a Sobol' sequence spread better than random ones, so this interval is a wide one.
    ends = stats.binomtest(below, room.size).proportion_ci(CONFIDENCE, method="wilson")
    verdict = RoomVerdict.CANNOT_TELL
    if ends.high <= LOW_PROBABILITY:
        verdict = RoomVerdict.HOLDS
    elif ends.low >= HIGH_PROBABILITY:
        verdict = RoomVerdict.BROKEN
    return verdict, (below / room.size, float(ends.low), float(ends.high))


def _intervals(
    model: TopModel, indices: VarianceIndices, by_rule: FloatArray
) -> tuple[PredictionInterval, ...]:
    """Give the interval of each quantity."""
    nominal = model.outcome()
    chosen = [LOW_PROBABILITY, 0.5, HIGH_PROBABILITY]
    everything = np.quantile(indices.outcomes, chosen, axis=0)
    inputs_alone = np.quantile(by_rule, chosen, axis=0)
    return tuple(
        PredictionInterval(
            quantity=quantity,
            as_given=float(nominal[q]),
            low=float(everything[0, q]),
            median=float(everything[1, q]),
            high=float(everything[2, q]),
            inputs_low=float(inputs_alone[0, q]),
            inputs_median=float(inputs_alone[1, q]),
            inputs_high=float(inputs_alone[2, q]),
            first_sum=float(indices.first_sum[q]),
            first_sum_low=float(indices.first_sum_low[q]),
            first_sum_high=float(indices.first_sum_high[q]),
            total_sum=float(indices.total_sum[q]),
            total_sum_low=float(indices.total_sum_low[q]),
            total_sum_high=float(indices.total_sum_high[q]),
        )
        for q, quantity in enumerate(QUANTITIES)
    )


def _input_sensitivities(
    inputs: Inputs, model: TopModel, indices: VarianceIndices
) -> tuple[InputSensitivity, ...]:
    """Put derivatives, moves to the ends and indices together, largest in the room first."""
    slopes, ends = local_slopes(model), end_changes(model)
    edges = model.edges()
    found = [
        InputSensitivity(
            path=each.path,
            text=each.value.text,
            value=each.value.value,
            low=each.low,
            high=each.high,
            distribution=each.distribution,
            source=each.value.source,
            effects=_effects(indices, i, slopes[i], each.high - each.low, ends[i]),
        )
        for i, each in enumerate(inputs.varied)
    ]
    found.append(
        InputSensitivity(
            path=TRANSITION,
            text=model.case.friction_rule,
            value=float("nan"),
            low=0.0,
            high=1.0,
            distribution="rectangular",
            source="edge rules of the transition from laminar to turbulent flow",
            effects=_effects(
                indices, len(inputs.varied), edges[1] - edges[0], 1.0, edges - model.outcome()
            ),
        )
    )
    # Nothing moves: there is no order, and NaN must not make one.
    return tuple(sorted(found, key=lambda each: -np.nan_to_num(each.effects[0].total)))


def _effects(
    indices: VarianceIndices, column: int, slope: FloatArray, width: float, ends: FloatArray
) -> tuple[Effect, ...]:
    """Give what one input does to each quantity."""
    return tuple(
        Effect(
            quantity=quantity,
            per_unit=float(slope[q]),
            per_range=float(slope[q] * width),
            at_low=float(ends[0, q]),
            at_high=float(ends[1, q]),
            first=float(indices.first[q, column]),
            first_low=float(indices.first_low[q, column]),
            first_high=float(indices.first_high[q, column]),
            total=float(indices.total[q, column]),
            total_low=float(indices.total_low[q, column]),
            total_high=float(indices.total_high[q, column]),
        )
        for q, quantity in enumerate(QUANTITIES)
    )


def _findings(case: Case, lost: tuple[str, ...]) -> tuple[Finding, ...]:
    """Say what the reader must know."""
    findings = []
    if case.vehicle.pump.maker_limit_abs_pa is None:
        findings.append(
            warning(
                "vehicle.pump.maker_limit_abs",
                "no limit known: the absolute inlet pressure stands in place of the room, and"
                " nothing is called within a limit.",
                "Ask the pump's maker for the least absolute inlet pressure.",
            )
        )
    findings.extend(
        note(path, "has a range that is not varied here; the value is taken as exact.")
        for path in lost
    )
    return tuple(findings)
