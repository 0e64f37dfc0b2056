"""
The difference between baseline and candidate, its limits, and which of five answers they allow.

One method for every number of runs: least squares with a straight drift, a run-to-run scatter
from the runs themselves strengthened by a declared archive, the uncertainties that more runs do
not lower added in quadrature, and one-sided 95 % limits against the agreed margin.  Larger is
worse on every scale; the difference is candidate less baseline.

The guarded decision is that of ISO 14253-1 and JCGM 106 with a guard band of k u; the same limits
are a non-inferiority t test at 5 %.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.outcome import Answer
from feedproof.core.errors import InputError
from feedproof.evidence.archive import Archive, settle_scatter
from feedproof.evidence.designs import Design, fit_design
from feedproof.evidence.limits import classify, coverage
from feedproof.evidence.students import CONFIDENCE, student_quantile, student_survival


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """
    A difference with everything that its answer rests on, on the scale of the losses.

    Parameters
    ----------
    estimate, lower, upper : float
        Candidate less baseline, and its one-sided 95 % limits; limits are infinite when the
        runs allow none.
    standard_uncertainty : float
        Of the estimate; infinite when unknown.
    coverage_factor, degrees_of_freedom : float or None
        Factor k and effective degrees of freedom; None when there are no limits. [-]
    margin : float or None
        As given.
    answer : Answer
        One of the five.
    repeatability, repeatability_dof : float or None
        Run-to-run standard deviation used, and its degrees of freedom.
    data_sd : float or None
        The one from these runs alone; None when no degree of freedom is left.
    u_repeatability, u_setup, u_drift, u_type_b : float
        Components of the standard uncertainty.
    drift_bound : float
        Added to both limits as it is.
    drift_per_run : float or None
        Fitted drift per place; None where it could not be fitted.
    design : Design
        Weights, in the order of the places.
    order : str
        Such as ``ABBA``.
    confidence : float
        Of each limit, one-sided. [-]
    tags, reasons : tuple of str
        Marks and sentences.
    """

    estimate: float
    lower: float
    upper: float
    standard_uncertainty: float
    coverage_factor: float | None
    degrees_of_freedom: float | None
    margin: float | None
    answer: Answer
    repeatability: float | None
    repeatability_dof: float | None
    data_sd: float | None
    u_repeatability: float
    u_setup: float
    u_drift: float
    u_type_b: float
    drift_bound: float
    drift_per_run: float | None
    design: Design
    order: str
    confidence: float
    tags: tuple[str, ...]
    reasons: tuple[str, ...]

    @property
    def u_other(self) -> float:
        """Give what more runs do not lower."""
        return math.sqrt(self.u_setup**2 + self.u_drift**2 + self.u_type_b**2)

    @property
    def flip_repeatability(self) -> float | None:
        """
        Give the repeatability at which the answer becomes another.

        For an answer that tells, the next larger one; for "cannot tell", the next smaller one
        that would tell.  None when there is no such figure.
        """
        if self.repeatability is None or self.coverage_factor is None:
            return None
        gaps = [self.estimate]
        if self.margin is not None:
            gaps += [self.margin - self.estimate, self.estimate - self.margin]
        crossings = [s for gap in gaps if (s := self._repeatability_at(gap)) is not None]
        if self.answer is Answer.CANNOT_TELL:
            return max((s for s in crossings if s <= self.repeatability), default=None)
        return min((s for s in crossings if s >= self.repeatability), default=None)

    def _repeatability_at(self, half_width: float) -> float | None:
        """Find the repeatability that gives a half-width, or None when even 0 gives more."""
        factor, dof = math.sqrt(self.design.variance_factor), self.repeatability_dof
        target = half_width - self.drift_bound
        if dof is None or target <= coverage(0.0, dof, self.u_other, self.confidence)[0]:
            return None
        low, high = 0.0, target / (factor * student_quantile(self.confidence, math.inf))
        for _ in range(100):  # halves to the last bit; a fixed count gives the same digits
            middle = 0.5 * (low + high)
            if coverage(middle * factor, dof, self.u_other, self.confidence)[0] < target:
                low = middle
            else:
                high = middle
        return high


def compare(
    losses: NDArray[np.float64],
    candidate: NDArray[np.bool_],
    position: NDArray[np.float64],
    setup: Sequence[str],
    *,
    archive: Archive | None = None,
    setup_sd: float = 0.0,
    drift_per_run: float | None = None,
    drift_bound_per_run: float | None = None,
    type_b_u: float = 0.0,
    margin: float | None = None,
    confidence: float = CONFIDENCE,
) -> Comparison:
    """
    Compare the runs of one session.

    Parameters
    ----------
    losses : array, shape (n,)
        One figure for each run, larger is worse; on any one scale.
    candidate : array of bool, shape (n,)
        True for a run of the candidate.
    position : array, shape (n,)
        Place in the order. [-]
    setup : sequence of str, length n
        Plumbing of each run.
    archive : Archive or None
        Declared repeatability.
    setup_sd : float
        Scatter each time the plumbing is opened; 0 when the archive holds it already.
    drift_per_run : float or None
        Declared standard uncertainty of drift per place, used only where drift cannot be
        fitted; None or 0 is "not declared".
    drift_bound_per_run : float or None
        Declared hard bound instead: added to the limits as it is.
    type_b_u : float
        Standard uncertainty of the difference from instruments.
    margin : float or None
        Agreed margin.
    confidence : float
        One-sided, of each limit. [-]

    Returns
    -------
    Comparison
        Estimate, limits, answer and what they rest on.

    Raises
    ------
    InputError
        Lists of different length, a figure that is not finite, a negative uncertainty, no run
        of one of the two.

    Notes
    -----
    The order in which the runs are stored does not matter, to the last digit.

    Examples
    --------
    >>> found = compare(
    ...     np.array([0.0, 1.0, 1.2, 0.2]), np.array([False, True, True, False]),
    ...     np.arange(4.0), ["a"] * 4,
    ...     archive=Archive(standard_deviation=0.5, degrees_of_freedom=8), margin=3.0,
    ... )
    >>> round(found.estimate, 6), found.answer.value
    (1.0, 'small_loss_inside_margin')
    """
    uncertainties = (setup_sd, drift_per_run or 0.0, drift_bound_per_run or 0.0, type_b_u)
    _check(losses, candidate, position, setup, uncertainties)
    rows = sorted(zip(position.tolist(), candidate.tolist(), setup, losses.tolist(), strict=True))
    flags = [row[1] for row in rows]
    places = [row[0] for row in rows]
    design = fit_design(flags, places)
    values = [row[3] for row in rows]
    estimate, drift, rss = _fit(design, flags, places, values)
    scatter = settle_scatter(rss, design.degrees_of_freedom, archive, max(map(abs, values)))
    s, dof = scatter.standard_deviation, scatter.degrees_of_freedom
    tags, reasons = list(scatter.tags), list(scatter.reasons)
    u_drift, bound, drift_known = _declared_drift(design, drift_per_run, drift_bound_per_run)
    if not design.drift_fitted and drift_known and design.mean_gap != 0.0:
        tags.append("drift_declared")
    u_setup = setup_sd * math.sqrt(design.setup_factor([row[2] for row in rows]))
    u_repeatability = math.inf if s is None else s * math.sqrt(design.variance_factor)
    k: float | None = None
    effective: float | None = None
    half = math.inf
    if not drift_known:
        tags.append("drift_unknown")
        reasons.append(
            "With this order drift cannot be told from the candidate, and no drift was declared."
        )
    elif not math.isfinite(type_b_u):
        tags.append("uncertainty_unknown")
        reasons.append("The uncertainty of a correction cannot be told, so there are no limits.")
    elif dof is not None:
        u_other = math.sqrt(u_setup**2 + u_drift**2 + type_b_u**2)
        half, k, effective = coverage(u_repeatability, dof, u_other, confidence)
        half += bound
    lower, upper = estimate - half, estimate + half
    if upper < 0.0:
        tags.append("apparent_gain")
        reasons.append(
            "The figures lie wholly on the better side of zero. A filter cannot add power or flow:"
            " suspect order, drift or correction."
        )
    return Comparison(
        estimate=estimate,
        lower=lower,
        upper=upper,
        standard_uncertainty=math.sqrt(u_repeatability**2 + u_setup**2 + u_drift**2 + type_b_u**2)
        if drift_known
        else math.inf,
        coverage_factor=k,
        degrees_of_freedom=effective,
        margin=margin,
        answer=classify(lower, upper, margin),
        repeatability=s,
        repeatability_dof=dof,
        data_sd=scatter.data_sd,
        u_repeatability=u_repeatability,
        u_setup=u_setup,
        u_drift=u_drift,
        u_type_b=type_b_u,
        drift_bound=bound,
        drift_per_run=drift if design.drift_fitted else None,
        design=design,
        order="".join("B" if flag else "A" for flag in flags),
        confidence=confidence,
        tags=tuple(tags),
        reasons=tuple(reasons),
    )


def probability_beyond(comparison: Comparison, value: float) -> float:
    """
    Give the probability, on a flat prior, that the difference is above a value.

    Parameters
    ----------
    comparison : Comparison
        A comparison with limits.
    value : float
        A margin, or 0. On the scale of the losses.

    Returns
    -------
    float
        1 - T((value - d) / u); NaN when the comparison has no limits. [-]
    """
    if comparison.degrees_of_freedom is None:
        return math.nan
    distance = value - comparison.estimate
    return student_survival(
        distance / comparison.standard_uncertainty, comparison.degrees_of_freedom
    )


def _fit(
    design: Design, flags: Sequence[bool], places: Sequence[float], values: Sequence[float]
) -> tuple[float, float, float]:
    """Give difference, drift per place and residual sum of squares."""
    n = len(values)
    mean, t_mean, b_mean = (math.fsum(x) / n for x in (values, places, flags))
    y = [value - mean for value in values]
    d = math.fsum(c * x for c, x in zip(design.weights, y, strict=True))
    gamma = math.fsum(c * x for c, x in zip(design.drift_weights, y, strict=True))
    residuals = [
        x - d * (flag - b_mean) - gamma * (place - t_mean)
        for x, flag, place in zip(y, flags, places, strict=True)
    ]
    return d, gamma, math.fsum(r * r for r in residuals)


def _declared_drift(
    design: Design, drift_per_run: float | None, bound_per_run: float | None
) -> tuple[float, float, bool]:
    """Give drift's standard uncertainty, its hard bound, and whether drift is dealt with."""
    gap = abs(design.mean_gap)
    if design.drift_fitted or gap == 0.0:
        return 0.0, 0.0, True
    u = (drift_per_run or 0.0) * gap
    bound = (bound_per_run or 0.0) * gap
    return u, bound, u > 0.0 or bound > 0.0


def _check(
    losses: NDArray[np.float64],
    candidate: NDArray[np.bool_],
    position: NDArray[np.float64],
    setup: Sequence[str],
    uncertainties: Sequence[float],
) -> None:
    """Refuse lists of different length, figures that are not finite, negative uncertainties."""
    sizes = {len(losses), len(candidate), len(position), len(setup)}
    if len(sizes) != 1:
        raise InputError.at("comparison", f"lists of different length: {sorted(sizes)}")
    values = losses.tolist() + position.tolist()
    if not all(map(math.isfinite, values)):
        raise InputError.at("comparison", "a loss or a place in the order is not a finite number")
    if not all(u >= 0.0 for u in uncertainties):
        raise InputError.at("comparison", f"uncertainties {uncertainties}: none may be negative")
