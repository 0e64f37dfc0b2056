"""Means and bands along the pull, and what can be claimed over the whole curve."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from feedproof.app.proof import CurveClaim, MeanCurve
from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer
from feedproof.case.run import Role
from feedproof.evidence.curve import CurveComparison, compare_curve
from feedproof.evidence.outcomes import log_percent
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
    roles = {run.number: run.role for run in case.runs}
    for session in dict.fromkeys(run.session for run in reduced):
        runs = [run for run in reduced if run.session == session]
        names = dict.fromkeys(
            (run.configuration, roles[run.number]) for run in runs if run.configuration != BASELINE
        )
        for name, role in names:
            group = [
                run
                for run in runs
                if run.configuration == BASELINE
                or (roles[run.number] is role and run.configuration == name)
            ]
            title = f"{name}@loaded" if role is Role.LOADED else name
            for measure in (Measure.WHEEL_POWER, Measure.INLET_DEPRESSION):
                more, claim = _curves_of(case, group, session, name, title, measure)
                curves.extend(more)
                claims.extend(claim)
    return tuple(curves), tuple(claims)


def _curves_of(
    case: Case,
    group: list[ReducedRun],
    session: str,
    name: str,
    title: str,
    measure: Measure,
) -> tuple[list[MeanCurve], list[CurveClaim]]:
    """Compare one kit's curves with the baseline's in one session."""
    power = measure is Measure.WHEEL_POWER
    usable = [run for run in group if power or not run.depression_censored]
    values = np.array([run.wheel_power_w if power else run.depression_pa for run in usable])
    flags = np.array([run.configuration == name for run in usable])
    if values.size == 0 or flags.all() or not flags.any():
        return [], []
    bins = np.isfinite(values).all(axis=0)
    if not bins.any():
        return [], []
    values = values[:, bins]
    speeds = usable[0].speed_m_per_s[bins]
    losses = -100.0 * np.log(values) if power else values
    margin = log_percent(case.margins.wheel_power_fraction) if power else None
    found = compare_curve(
        losses,
        flags,
        np.array([run.position for run in usable]),
        [run.setup for run in usable],
        # The declared repeatability is that of the band mean; single bins scatter more, so their
        # scatter is pooled from these runs.  With too few runs there is no band, and none is drawn.
        archives=None,
        margin=margin,
    )
    base = values[~flags].mean(axis=0)
    names = {"measure": measure, "session": session, "speed_m_per_s": speeds}
    curves = [
        MeanCurve(configuration=BASELINE, mean=base, lower=base, upper=base, **names),
        _with_band(found, base, title, power=power, **names),
    ]
    return curves, [_claim(found, speeds, title, session)] if power else []


def _with_band(
    found: CurveComparison,
    base: FloatArray,
    title: str,
    *,
    power: bool,
    measure: Measure,
    session: str,
    speed_m_per_s: FloatArray,
) -> MeanCurve:
    """Put the difference with its band on the baseline's mean."""
    if power:
        # A loss in log-percent: the upper limit of the loss is the lower edge of the power.
        mean, lower, upper = (
            base * np.exp(-each / 100.0)
            for each in (found.estimate, found.drawn_upper, found.drawn_lower)
        )
    else:
        mean, lower, upper = (
            base + each for each in (found.estimate, found.drawn_lower, found.drawn_upper)
        )
    return MeanCurve(
        measure=measure,
        configuration=title,
        session=session,
        speed_m_per_s=speed_m_per_s,
        mean=mean,
        lower=lower,
        upper=upper,
    )


def _claim(found: CurveComparison, speeds: FloatArray, title: str, session: str) -> CurveClaim:
    """Say whether the margin is excluded at every speed."""
    open_bins = [
        f"{3.6 * speed:.0f}"
        for speed, answer in zip(speeds, found.answers, strict=True)
        if answer not in (Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS)
    ]
    return CurveClaim(
        measure=Measure.WHEEL_POWER,
        configuration=title,
        session=session,
        holds=found.nowhere_more,
        sentence="Every speed band excludes the margin by itself."
        if found.nowhere_more
        else f"Not excluded near {', '.join(open_bins)} km/h.",
    )
