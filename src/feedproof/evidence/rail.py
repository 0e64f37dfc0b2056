"""
Rail pressure: a shortfall that is held too long decides by itself.

It shows a short feed before power does, because the control unit holds power as long as it can.
"""

from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome
from feedproof.evidence.trial import BASELINE, Trial, void_reason


def judge_rail(trial: Trial) -> Outcome:
    """
    Judge rail pressure by the longest shortfall in any run with the kit.

    Parameters
    ----------
    trial : Trial
        Runs, records and margins.

    Returns
    -------
    Outcome
        Loss beyond the margin when any run holds more than the agreed shortfall for longer than
        the agreed time, even where the margin was declared late; void where it was declared late
        and nothing is beyond; not tested where no run with the kit logged it.

    Notes
    -----
    No uncertainty is given: the sensor is the vehicle's own and both its demand and its reading
    come from one control unit.
    """
    logged = [run for run in trial.counted() if run.rail_shortfall_s is not None]
    kit = [run for run in logged if trial.is_candidate(run)]
    bare = [run for run in logged if not trial.is_candidate(run)]
    runs = {
        BASELINE: tuple(run.number for run in bare),
        trial.configuration: tuple(run.number for run in kit),
    }
    if not kit:
        return Outcome(
            measure=Measure.RAIL_PRESSURE,
            answer=Answer.NOT_TESTED,
            unit="Pa",
            runs=runs,
            reasons=("Demanded and actual rail pressure were not logged with the kit.",),
        )
    limit_s, limit_pa = trial.margins.rail_deviation_s, trial.margins.rail_deviation_pa
    longest_s = max(run.rail_shortfall_s or 0.0 for run in kit)
    largest = [run.rail_shortfall_pa for run in kit if run.rail_shortfall_pa is not None]
    bare_s = max((run.rail_shortfall_s or 0.0 for run in bare), default=None)
    figures = {"shortfall_s": longest_s, "shortfall_allowed_s": limit_s}
    if bare_s is not None:
        figures["baseline_shortfall_s"] = bare_s
    beyond = longest_s > limit_s
    reasons = [
        f"Rail pressure stayed more than {limit_pa / 1e6:.1f} MPa below its demand for"
        f" {longest_s:.1f} s at the longest; {limit_s:.1f} s are allowed."
    ]
    if beyond and bare_s is not None and bare_s > limit_s:
        reasons.append(
            f"The vehicle without a kit does so for {bare_s:.1f} s: it needs repair first."
        )
    silent = [
        run.number
        for run in trial.counted()
        if trial.is_candidate(run) and run.rail_shortfall_s is None
    ]
    if silent:
        reasons.append(f"Not logged in runs {', '.join(map(str, silent))}.")
    void = void_reason(trial)
    answer = Answer.LOSS_BEYOND if beyond else Answer.NO_LOSS_WITHIN
    if void and not beyond:
        answer, reasons = Answer.VOID, [void, *reasons]
    return Outcome(
        measure=Measure.RAIL_PRESSURE,
        answer=answer,
        estimate=max(largest, default=None),
        margin=limit_pa,
        unit="Pa",
        runs=runs,
        reasons=tuple(reasons),
        figures=figures,
    )
