"""The document of a fit, put together from its pieces."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from feedproof.app.fit_elements import AddedElement
from feedproof.app.fit_result import (
    FittedParameter,
    Inseparable,
    LineFit,
    Misdescribed,
    SampleFacts,
)
from feedproof.app.fit_words import (
    bias_sentence,
    caution_sentence,
    learned_sentence,
    misdescribed_sentence,
    not_learned_sentence,
)
from feedproof.case.case import Case
from feedproof.core.findings import Finding
from feedproof.evidence.fit.disagreement import Check, Overall
from feedproof.evidence.fit.estimate import (
    Estimate,
    information_eigenvalues,
    inseparable,
    learned,
)
from feedproof.evidence.fit.foreseen import Foreseen, interval_of
from feedproof.evidence.fit.parameters import Parameters
from feedproof.evidence.fit.posterior import Posterior
from feedproof.evidence.fit.runs_model import RunsModel
from feedproof.evidence.fit.scatter import Errors

FloatArray = NDArray[np.float64]

SEED = 1
KEPT_DRAWS = 1000
"""Draws that a result holds where they are asked for."""
NORMAL_95 = 1.6448536269514722
"""95 % point of the normal law: exact to the digits given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """
    What the fit is made of, between its steps.

    Parameters
    ----------
    case : Case
        The case as described.
    model : RunsModel
        All runs.
    errors : Errors
        Of the readings.
    covariance : array, shape (n, n)
        Of the readings' errors.
    found : Estimate
        Parameters after the runs.
    posterior : Posterior
        A sample of them.
    bad : mapping of str to Check
        Kits that are not as described.
    """

    case: Case
    model: RunsModel
    errors: Errors
    covariance: FloatArray
    found: Estimate
    posterior: Posterior
    bad: Mapping[str, Check]

    @property
    def parameters(self) -> Parameters:
        """Give the parameters."""
        return self.model.parameters


def described_parameters(work: Work) -> tuple[FittedParameter, ...]:
    """
    Describe each parameter before and after the runs.

    Parameters
    ----------
    work : Work
        The fit.

    Returns
    -------
    tuple of FittedParameter
        In their order.
    """
    found, draws = work.found, work.parameters.values(work.posterior.whitened)
    best = work.parameters.values(found.whitened[None, :])
    told = []
    for i, (one, said) in enumerate(zip(work.parameters.each, learned(found), strict=True)):
        ends = [one.value(z) for z in (0.0, -NORMAL_95, NORMAL_95)]
        told.append(
            FittedParameter(
                name=one.name,
                meaning=one.meaning,
                unit=one.unit,
                described=1.0 if one.is_factor else 0.0,
                before=interval_of(ends[0], ends[1], ends[2]),
                after=interval_of(*np.quantile(draws.table[:, i], [0.5, 0.05, 0.95]).tolist()),
                best=float(best.table[0, i]),
                moved=float(found.whitened[i]),
                ratio=said.ratio,
                alone_ratio=said.alone_ratio,
                word=said.word,
                partners=said.partners,
                source=one.source,
            )
        )
    return tuple(told)


def fit_document(
    work: Work,
    case_sha256: str,
    parameters: tuple[FittedParameter, ...],
    before: tuple[tuple[Check, ...], Overall],
    after: tuple[tuple[Check, ...], Overall],
    foreseen: tuple[Foreseen, ...],
    elements: tuple[AddedElement, ...],
    findings: tuple[Finding, ...],
    *,
    keep: bool,
) -> LineFit:
    """
    Put the document together.

    Parameters
    ----------
    work : Work
        The fit.
    case_sha256 : str
        Hash of the case document.
    parameters : tuple of FittedParameter
        From `described_parameters`.
    before, after : tuple of (tuple of Check, Overall)
        Runs against the described and the fitted line.
    foreseen : tuple of Foreseen
        Predictions.
    elements : tuple of AddedElement
        What each kit adds.
    findings : tuple of Finding
        What must be known.
    keep : bool
        Keep draws of the parameters.

    Returns
    -------
    LineFit
        The document.
    """
    from feedproof import __version__

    case, drawn = work.case, work.posterior
    return LineFit(
        format="feedproof-fit",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        case_sha256=case_sha256,
        log_sha256={log.name: log.sha256 for run in case.runs for log in run.logs},
        computed=datetime.now(UTC).replace(microsecond=0),
        learned=learned_sentence(parameters, len(work.model.runs)),
        not_learned=not_learned_sentence(parameters),
        caution=caution_sentence(after[0], parameters),
        bias=bias_sentence(before[0], after[0]),
        runs=tuple(run.number for run in work.model.runs),
        parameters=parameters,
        inseparable=tuple(
            Inseparable(first=first, second=second, correlation=correlation)
            for first, second, correlation in inseparable(work.found)
        ),
        information=tuple(information_eigenvalues(work.found).tolist()),
        correlations=tuple(map(tuple, work.found.correlations.tolist())),
        before=before[0],
        after=after[0],
        before_overall=before[1],
        after_overall=after[1],
        misdescribed=tuple(
            Misdescribed(kit=kit, check=check, sentence=misdescribed_sentence(kit, check))
            for kit, check in work.bad.items()
        ),
        foreseen=foreseen,
        elements=elements,
        scatter=work.errors.notes,
        sample=SampleFacts(
            draws=len(drawn.whitened),
            seed=SEED,
            acceptance=drawn.acceptance,
            effective=drawn.effective,
            r_hat=drawn.r_hat,
        ),
        draws=_kept(work) if keep else {},
        findings=tuple(dict.fromkeys(findings)),
    )


def _kept(work: Work) -> dict[str, tuple[float, ...]]:
    """Give evenly thinned draws of the parameters."""
    drawn = work.posterior.whitened
    rows = np.linspace(0, len(drawn) - 1, min(KEPT_DRAWS, len(drawn))).astype(int)
    table = work.parameters.values(drawn[rows]).table
    return {name: tuple(table[:, i].tolist()) for i, name in enumerate(work.parameters.names)}
