"""
The verb ``fit``: what the runs of a case teach about its line, its pump and its elements.

The rooms meet here: evidence cleans and fits, the feed line is asked by the fit itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.configurations import label
from feedproof.app.fit_data import fit_runs
from feedproof.app.fit_document import SEED, Work, described_parameters, fit_document
from feedproof.app.fit_elements import element_lines
from feedproof.app.fit_priors import priors_of
from feedproof.app.fit_result import (
    FittedParameter,
    LineFit,
)
from feedproof.app.fit_words import (
    check_sentence,
    left_description,
    misdescribed_sentence,
)
from feedproof.app.progress import Progress, silent
from feedproof.app.proving import reduce_all
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.case.log import Log
from feedproof.case.margin import Measure
from feedproof.case.run import Role
from feedproof.core.errors import MissingError
from feedproof.core.findings import Finding, note, warning
from feedproof.evidence.archive import archive_of
from feedproof.evidence.fit.disagreement import (
    Check,
    Overall,
    Standing,
    check_groups,
    derivatives,
    misdescribed,
    readings_without,
)
from feedproof.evidence.fit.estimate import (
    estimate,
)
from feedproof.evidence.fit.foreseen import Foreseen, Samples, foresee, range_of_tests
from feedproof.evidence.fit.groups import changed_case
from feedproof.evidence.fit.parameters import Parameters
from feedproof.evidence.fit.posterior import normal_sample, sample
from feedproof.evidence.fit.runs_model import FitRun, RunsModel
from feedproof.evidence.fit.scatter import covariance, errors_of_runs

FloatArray = NDArray[np.float64]

BEFORE_DRAWS, SLOW_DRAWS = 4000, 400
"""Draws before the runs, and before and after them where the line is no plain chain."""


def fitted_case(case: Case, fit: LineFit) -> Case:
    """
    Give the case as the fit found it, so that any verb can be asked of it.

    Parameters
    ----------
    case : Case
        The case that was fitted.
    fit : LineFit
        From `fit_case`.

    Returns
    -------
    Case
        With the best parameters in its parts, pump, tank and fuels.
    """
    return changed_case(case, fit.values())


def fit_case(
    case: Case,
    logs: Mapping[int, Sequence[Log]],
    case_sha256: str,
    findings: tuple[Finding, ...] = (),
    *,
    asked: Conditions | None = None,
    keep: bool = False,
    progress: Progress = silent,
) -> LineFit:
    """
    Fit a case to all its runs.

    Parameters
    ----------
    case : Case
        The case with its runs.
    logs : mapping of int to sequence of Log
        By run number.
    case_sha256 : str
        Hash of the document that the case was read from.
    findings : tuple of Finding
        What is known already; kept in the result.
    asked : Conditions, optional
        Conditions that are predicted beside the reference and the worst ones.
    keep : bool
        Keep draws of the parameters in the result.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    LineFit
        Parameters, what was learned, checks and predictions.

    Raises
    ------
    MissingError
        No run, or neither repeats nor a declared repeatability.
    InputError
        Logs that cannot be used.
    """
    if not any(run.role is not Role.WARM_UP and not run.excluded for run in case.runs):
        raise MissingError.at("run", "the case has no run to fit to.", "Add runs with add-run.")
    runs, told = fit_runs(case, reduce_all(case, logs, progress))
    if not any(run.depression_pa.size for run in runs):
        raise MissingError.at(
            "run",
            "no run has a depression that can be used.",
            "Log the depression at the pump inlet and the fuel temperature.",
        )
    progress(0, 3, "fitting")
    wanted = _asked(case, runs, asked)
    parameters, judged = _parameters(case, runs, wanted)
    work = _work(case, runs, parameters, progress)
    before = _before(work)
    after = _after(work)
    progress(2, 3, "fitting")
    foreseen = _foreseen(work, wanted, after[0])
    described = described_parameters(work)
    elements, about = element_lines(case, work.model, work.found, work.errors)
    progress(3, 3, "fitting")
    return fit_document(
        work,
        case_sha256,
        described,
        before,
        after,
        foreseen,
        elements,
        (*findings, *told, *judged, *about, *_findings(work, described, before, after)),
        keep=keep,
    )


def _asked(
    case: Case, runs: Sequence[FitRun], more: Conditions | None
) -> list[tuple[str, tuple[str, ...], Conditions]]:
    """Give what is predicted: each configuration that was run, at reference, worst and asked."""
    sets = dict.fromkeys([(), *(run.kits for run in runs)])
    sets = {kits: None for kits in sets if not any(case.kits[kit].control for kit in kits)}
    conditions = [replace(case.reference, name="reference"), *case.worst]
    conditions += [more] if more is not None else []
    asked = []
    for each in conditions:
        for kits in sets:
            present = {element.id for element in case.line_with(kits).elements}
            held = {part: mass for part, mass in each.captured_mass_kg.items() if part in present}
            asked.append((label(kits, Role.COMPARE), kits, replace(each, captured_mass_kg=held)))
    return asked


def _parameters(
    case: Case,
    runs: Sequence[FitRun],
    wanted: Sequence[tuple[str, tuple[str, ...], Conditions]],
) -> tuple[Parameters, tuple[Finding, ...]]:
    """Give the parameters that runs or predictions hang on."""
    conditions = [run.conditions for run in runs] + [each for _, _, each in wanted]
    return priors_of(
        case,
        [kit for run in runs for kit in run.kits],
        [part for each in conditions for part, mass in each.captured_mass_kg.items() if mass > 0],
        [each.fuel for each in conditions],
    )


def _work(case: Case, runs: Sequence[FitRun], parameters: Parameters, progress: Progress) -> Work:
    """Fit and sample."""
    model = RunsModel(case, runs, parameters)
    declared = case.repeatability.get(Measure.INLET_DEPRESSION)
    errors = errors_of_runs(
        model,
        depression=archive_of(declared),
        returns=archive_of(case.repeatability.get(Measure.CAUGHT_RETURN)),
        setup_pa=declared.setup_standard_deviation if declared else 0.0,
    )
    spread = covariance(model, errors)
    bad = misdescribed(model, spread)
    kept = readings_without(model, frozenset(bad))

    def predicted(points: FloatArray) -> FloatArray:
        return model.predicted(points)[:, kept]

    inner = spread[np.ix_(kept, kept)]
    found = estimate(predicted, model.measured[kept], inner, parameters)
    progress(1, 3, "fitting")
    if model.line.compiled:
        drawn = sample(predicted, model.measured[kept], inner, found, seed=SEED)
    else:
        drawn = normal_sample(found, seed=SEED, draws=SLOW_DRAWS)
    return Work(
        case=case,
        model=model,
        errors=errors,
        covariance=spread,
        found=found,
        posterior=drawn,
        bad=bad,
    )


def _before(work: Work) -> tuple[tuple[Check, ...], Overall]:
    """Hold the runs against the described line."""
    slopes = derivatives(work.model, np.zeros(len(work.parameters)))
    return check_groups(work.model, work.covariance, work.model.described(), slopes @ slopes.T)


def _after(work: Work) -> tuple[tuple[Check, ...], Overall]:
    """Hold the runs that were fitted against the fitted line."""
    found = work.found
    slopes = derivatives(work.model, found.whitened)
    good = [
        run.configuration for run in work.model.runs if not set(run.kits).intersection(work.bad)
    ]
    return check_groups(
        work.model,
        work.covariance,
        work.model.predicted(found.whitened[None, :])[0],
        # What the fit took from these readings is no part of what they can differ by any more.
        -slopes @ found.covariance @ slopes.T,
        wanted=good,
    )


def _foreseen(
    work: Work,
    wanted: Sequence[tuple[str, tuple[str, ...], Conditions]],
    after: Sequence[Check],
) -> tuple[Foreseen, ...]:
    """Predict where it was asked for; nothing is concluded where runs and fit contradict."""
    apart = any(check.standing is Standing.BEYOND for check in after)
    rng = np.random.default_rng(SEED)
    draws = BEFORE_DRAWS if work.model.line.compiled else SLOW_DRAWS
    states = work.model.line.states(work.parameters.values(work.found.whitened[None, :]))[0]
    return foresee(
        work.case,
        wanted,
        Samples(
            parameters=work.parameters,
            before=rng.normal(size=(draws, len(work.parameters))),
            after=work.posterior.whitened,
            seed=SEED,
        ),
        range_of_tests(work.model.runs, states[:, 0]),
        {kit: f"kit {kit} is not as described" for kit in work.bad},
        "runs and fit contradict" if apart else "",
    )


def _findings(
    work: Work,
    parameters: Sequence[FittedParameter],
    before: tuple[tuple[Check, ...], Overall],
    after: tuple[tuple[Check, ...], Overall],
) -> list[Finding]:
    """Say what the reader of a fit must know."""
    found = [
        warning(f"kit {kit}", misdescribed_sentence(kit, check)) for kit, check in work.bad.items()
    ]
    found += [
        warning(f"session {check.session}", check_sentence(check))
        for check in before[0]
        if check.standing is Standing.BEYOND and not _of_bad(work, check)
    ]
    found += [
        warning(
            f"session {check.session}",
            f"after the fit {check.configuration} still differs by"
            f" {check.difference:+.3g} ({check.measure}), more than it may: the runs contradict"
            " each other or the line's law.",
            "Look at these runs: zero, leaks, level, another element.",
        )
        for check in after[0]
        if check.standing is Standing.BEYOND
    ]
    if not after[1].agrees:
        text = (
            f"runs and fitted line together differ more than expected: chi-square"
            f" {after[1].chi_square:.1f}, below {after[1].expected_below:.1f} in 95 of 100 cases."
        )
        found.append(warning("fit", text))
    found += [note("fit", sentence) for sentence in left_description(parameters)]
    if work.posterior.approximate:
        text = "the line is no plain chain: intervals are of the normal law around the best fit."
        found.append(note("fit", text))
    elif not work.posterior.reliable:
        text = (
            f"the sample of the parameters is worth {work.posterior.effective:.0f} independent"
            f" draws only (R-hat {work.posterior.r_hat:.3f}): its intervals are rough."
        )
        found.append(warning("fit", text))
    return found


def _of_bad(work: Work, check: Check) -> bool:
    """Say whether a check is of a kit that was taken out."""
    kits = next(run.kits for run in work.model.runs if run.configuration == check.configuration)
    return bool(set(kits).intersection(work.bad))
