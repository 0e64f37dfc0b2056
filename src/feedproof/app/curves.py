"""Means and bands along the pull, and what can be claimed over the whole curve."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.proof import CurveClaim, MeanCurve
from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer
from feedproof.case.run import Role
from feedproof.evidence.archive import Archive, pooled_archive
from feedproof.evidence.comparison import compare
from feedproof.evidence.curve import CurveComparison, compare_curve
from feedproof.evidence.looks import confidence_of
from feedproof.evidence.outcomes import log_percent, plain_percent
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.trial import BASELINE

FloatArray = NDArray[np.float64]


def mean_curves(
    case: Case, reduced: Sequence[ReducedRun]
) -> tuple[tuple[MeanCurve, ...], tuple[CurveClaim, ...]]:
    """
    Give the means to draw with their bands, and the claims over the whole curve.

    Parameters
    ----------
    case : Case
        The case.
    reduced : sequence of ReducedRun
        All reduced runs.

    Returns
    -------
    curves : tuple of MeanCurve
        For wheel power and depression of each configuration in each session.
    claims : tuple of CurveClaim
        For wheel power of each kit.
    """
    curves: list[MeanCurve] = []
    claims: list[CurveClaim] = []
    groups = _groups(case, reduced)
    for measure in (Measure.WHEEL_POWER, Measure.INLET_DEPRESSION):
        sets = {key: _losses_of(runs, key[1], measure) for key, runs in groups.items()}
        for (session, name, role), losses in sets.items():
            if losses is None:
                continue
            # Two or four runs cannot tell the scatter of single bins; other sessions of the same
            # rig and procedure can, and what contradicts them is dropped in the comparison.
            others: dict[str, _Losses] = {}
            for key, other in sets.items():
                # One kit a session: two share its baseline runs and are no independent evidence.
                if key[0] != session and other is not None:
                    others.setdefault(key[0], other)
            title = f"{name}@loaded" if role is Role.LOADED else name
            more, claim = _curves_of(
                case, losses, _archive(tuple(others.values())), session, title, measure
            )
            curves.extend(more)
            claims.extend(claim)
    return tuple(curves), tuple(claims)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Losses:
    """Curves of one kit and the baseline in one session, as losses."""

    speed_m_per_s: FloatArray
    base: FloatArray
    losses: FloatArray
    candidate: NDArray[np.bool_]
    position: FloatArray
    setup: tuple[str, ...]


def _groups(
    case: Case, reduced: Sequence[ReducedRun]
) -> dict[tuple[str, str, Role], list[ReducedRun]]:
    """Put each kit's runs of a session together with the session's baseline runs."""
    roles = {run.number: run.role for run in case.runs}
    groups: dict[tuple[str, str, Role], list[ReducedRun]] = {}
    for session in dict.fromkeys(run.session for run in reduced):
        runs = [run for run in reduced if run.session == session]
        base = [run for run in runs if run.configuration == BASELINE]
        for run in runs:
            if run.configuration != BASELINE:
                key = (session, run.configuration, roles[run.number])
                groups.setdefault(key, [*base]).append(run)
    return groups


def _losses_of(group: Sequence[ReducedRun], name: str, measure: Measure) -> _Losses | None:
    """Give the curves in the bins that every run has, or None when there is nothing to compare."""
    power = measure is Measure.WHEEL_POWER
    usable = [run for run in group if power or not run.depression_censored]
    values = np.array([run.wheel_power_w if power else run.depression_pa for run in usable])
    flags = np.array([run.configuration == name for run in usable])
    if values.size == 0 or flags.all() or not flags.any():
        return None
    bins = np.isfinite(values).all(axis=0)
    if not bins.any():
        return None
    values = values[:, bins]
    return _Losses(
        speed_m_per_s=usable[0].speed_m_per_s[bins],
        base=values[~flags].mean(axis=0),
        losses=-100.0 * np.log(values) if power else values,
        candidate=flags,
        position=np.array([run.position for run in usable]),
        setup=tuple(run.setup for run in usable),
    )


def _archive(others: Sequence[_Losses]) -> Archive | None:
    """Pool the scatter of single bins over other sessions, drift removed; None without any."""
    deviations, freedoms = [], []
    for one in others:
        found = [
            compare(
                np.ascontiguousarray(one.losses[:, j]),
                one.candidate,
                one.position,
                one.setup,
                archive=None,
                setup_sd=0.0,
                drift_per_run=None,
                type_b_u=0.0,
                margin=None,
            )
            for j in range(one.losses.shape[1])
        ]
        nu = found[0].design.degrees_of_freedom
        squares = [each.data_sd**2 for each in found if each.data_sd is not None]
        if nu > 0 and squares:
            # Bins of one run move together: their number adds no degrees of freedom.
            deviations.append(float(np.sqrt(np.mean(squares))))
            freedoms.append(float(nu))
    if not freedoms or not any(deviations):
        return None
    return pooled_archive(deviations, freedoms, "other sessions of this case")


def _curves_of(
    case: Case,
    given: _Losses,
    archive: Archive | None,
    session: str,
    title: str,
    measure: Measure,
) -> tuple[list[MeanCurve], list[CurveClaim]]:
    """Compare one kit's curves with the baseline's in one session."""
    power = measure is Measure.WHEEL_POWER
    count = given.losses.shape[1]
    declared = case.repeatability.get(measure)
    found = compare_curve(
        given.losses,
        given.candidate,
        given.position,
        given.setup,
        archives=None if archive is None else [archive] * count,
        setup_sd=declared.setup_standard_deviation if declared else 0.0,
        drift_per_run=declared.drift_per_run if declared else None,
        drift_bound_per_run=declared.drift_bound_per_run if declared else None,
        confidence=confidence_of(case.margins.looks),
        margin=log_percent(case.margins.wheel_power_fraction) if power else None,
    )
    speeds, base = given.speed_m_per_s, given.base
    baseline = MeanCurve(
        measure=measure,
        configuration=BASELINE,
        session=session,
        speed_m_per_s=speeds,
        mean=base,
        lower=base,
        upper=base,
    )
    curves = [baseline, _with_band(found, replace(baseline, configuration=title))]
    return curves, [_claim(found, speeds, title, session)] if power else []


def _with_band(found: CurveComparison, on: MeanCurve) -> MeanCurve:
    """Put the difference with its band on the baseline's mean."""
    if on.measure is Measure.WHEEL_POWER:
        # A loss in log-percent: the upper limit of the loss is the lower edge of the power.
        mean, lower, upper = (
            on.mean * np.exp(-each / 100.0)
            for each in (found.estimate, found.drawn_upper, found.drawn_lower)
        )
    else:
        mean, lower, upper = (
            on.mean + each for each in (found.estimate, found.drawn_lower, found.drawn_upper)
        )
    return replace(on, mean=mean, lower=lower, upper=upper)


def _claim(found: CurveComparison, speeds: FloatArray, title: str, session: str) -> CurveClaim:
    """Say whether the margin is excluded at every speed, and where a loss is shown."""
    open_speeds = [
        float(speed)
        for speed, answer in zip(speeds, found.answers, strict=True)
        if answer not in (Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS)
    ]
    open_bins = [f"{3.6 * speed:.0f}" for speed in open_speeds]
    half = 0.5 * float(speeds[1] - speeds[0]) if speeds.size > 1 else 0.0
    worst = int(np.argmax(found.upper))
    pooled = "scatter_pooled_over_bins" in found.tags
    known = "repeatability_unknown" not in found.tags
    return CurveClaim(
        measure=Measure.WHEEL_POWER,
        configuration=title,
        session=session,
        holds=found.nowhere_more,
        sentence="Every speed band excludes the margin by itself."
        if found.nowhere_more
        else f"Not excluded near {', '.join(open_bins)} km/h.",
        low_m_per_s=float(speeds[0]) - half,
        high_m_per_s=float(speeds[-1]) + half,
        worst_upper_percent=plain_percent(float(found.upper[worst])),
        worst_speed_m_per_s=float(speeds[worst]),
        open_speed_m_per_s=tuple(open_speeds),
        loss_at_m_per_s=tuple(float(speed) for speed in speeds[found.located]),
        scatter_from=("pooled" if pooled else "archive") if known else "unknown",
        degrees_of_freedom=min(found.degrees_of_freedom),
    )
