"""What ``prove`` says: the document's types."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.margin import Margins, Measure, Repeatability
from feedproof.case.outcome import Verdict
from feedproof.core.findings import Finding
from feedproof.core.values import SourcedValue
from feedproof.evidence.archives.choice import ArchiveUse
from feedproof.evidence.budget.measurand import Budget
from feedproof.evidence.looks import Look
from feedproof.evidence.reduced import ReducedRun

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanCurve:
    """
    Mean of one measure of one configuration along the pull, with its simultaneous band.

    Parameters
    ----------
    measure : Measure
        Wheel power or inlet depression.
    configuration, session : str, str
        Of which, in which session.
    speed_m_per_s, mean, lower, upper : array, shape (n_bins,)
        Road speed and the band that holds the whole curve with 95 %. [m/s], SI
    """

    measure: Measure
    configuration: str
    session: str
    speed_m_per_s: FloatArray
    mean: FloatArray
    lower: FloatArray
    upper: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveClaim:
    """
    Whether a loss beyond the margin is excluded at every speed.

    Parameters
    ----------
    measure : Measure
        Wheel power.
    configuration, session : str, str
        Of which, in which session.
    holds : bool
        True when every speed band excludes the margin by itself, each at the level of the average
        (an intersection of tests).
    sentence : str
        Where it does not.
    low_m_per_s, high_m_per_s : float
        Ends of the speed bands compared. [m/s]
    worst_upper_percent, worst_speed_m_per_s : float
        Highest upper limit of any band, and the middle of that band. [%], [m/s]
    open_speed_m_per_s : tuple of float
        Middles of the bands that do not exclude the margin. [m/s]
    loss_at_m_per_s : tuple of float
        Middles of the bands where a loss is shown, all looked at together (Bonferroni). [m/s]
    scatter_from : str
        ``archive``: scatter of single bands from other sessions; ``pooled``: from these runs over
        all bands; ``unknown``.
    degrees_of_freedom : float
        Least of the bands' scatter. [-]
    """

    measure: Measure
    configuration: str
    session: str
    holds: bool
    sentence: str
    low_m_per_s: float
    high_m_per_s: float
    worst_upper_percent: float
    worst_speed_m_per_s: float
    open_speed_m_per_s: tuple[float, ...]
    loss_at_m_per_s: tuple[float, ...]
    scatter_from: str
    degrees_of_freedom: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bias:
    """
    Measured against predicted depression at the reference conditions, band mean.

    Parameters
    ----------
    configuration, session : str, str
        Of which, in which session.
    runs : tuple of int
        Runs measured.
    measured_pa, predicted_pa : float
        Band means. [Pa]
    predicted_low_pa, predicted_high_pa : float
        Range of the prediction: transition of the friction and the inputs' ranges. [Pa]
    bias_pa, expanded_u_pa : float
        Measured less predicted, and its expanded uncertainty (95 %) from the measurement. [Pa]
    agrees : bool
        True when the measurement with its uncertainty meets the prediction's range.
    sentence : str
        What it means.
    """

    configuration: str
    session: str
    runs: tuple[int, ...]
    measured_pa: float
    predicted_pa: float
    predicted_low_pa: float
    predicted_high_pa: float
    bias_pa: float
    expanded_u_pa: float
    agrees: bool
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LossAgainstModel:
    """
    A measured loss of power or return against the one that the described line predicts.

    Parameters
    ----------
    measure : Measure
        Wheel power or caught return.
    configuration : str
        Of which.
    measured_percent, measured_expanded_percent : float
        Best estimate and its two-sided 95 % uncertainty. [%]
    predicted_percent, predicted_low_percent, predicted_high_percent : float
        Predicted, with its range: transition of the friction and the inputs' ranges. [%]
    agrees : bool
        True when the measurement with its uncertainty meets the prediction's range.
    sentence : str
        What it means.
    """

    measure: Measure
    configuration: str
    measured_percent: float
    measured_expanded_percent: float
    predicted_percent: float
    predicted_low_percent: float
    predicted_high_percent: float
    agrees: bool
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictWords:
    """
    One verdict in words, for two readers, from the same figures.

    Parameters
    ----------
    configuration : str
        Of which.
    customer : str
        Plain, at most about 120 words.
    engineer : str
        With estimate, limits, runs, order, repeatability, degrees of freedom, coverage factor and
        margin.
    """

    configuration: str
    customer: str
    engineer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstPrediction:
    """
    Inlet pressure predicted at one declared worst condition, moved by what the test showed.

    Parameters
    ----------
    configuration, condition : str, str
        Of which, where.
    predicted_abs_pa : float
        As predicted from the description. [Pa]
    moved_abs_pa : float
        Moved by the measured bias in proportion to the flow losses. [Pa]
    u_pa : float
        Its standard uncertainty. [Pa]
    """

    configuration: str
    condition: str
    predicted_abs_pa: float
    moved_abs_pa: float
    u_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """
    What ``prove`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-proof``, its version, and the version of the program.
    title, note, vehicle : str
        From the case.
    case_sha256 : str
        Hash of the case document.
    log_sha256 : mapping of str to str
        Hash of each log by its name.
    computed : datetime
        When.
    verdicts : tuple of Verdict
        One for each configuration and purpose; ``@loaded`` marks a loaded element.
    runs : tuple of ReducedRun
        Every run, reduced.
    curves : tuple of MeanCurve
        Means and bands.
    claims : tuple of CurveClaim
        Over the whole curve.
    biases : tuple of Bias
        Measured against predicted.
    losses : tuple of LossAgainstModel
        Losses of power and return, measured against predicted.
    looks : tuple of Look
        Sets of runs that were judged so far, those of this answer last.
    words : tuple of VerdictWords
        Each verdict for a customer and for an engineer.
    worst : tuple of WorstPrediction
        At the declared worst conditions.
    budgets : tuple of Budget
        Uncertainty budgets used.
    margins : Margins
        As agreed, with their date.
    repeatability : mapping of Measure to Repeatability
        As used: declared, or from the archive, as its source says.
    archive : ArchiveUse or None
        What was looked up in an archive, with the hashes of the lines used; None without one.
    limit_abs_pa : float or None
        The pump maker's limit. [Pa]
    reference : Conditions
        Conditions that the runs were brought to.
    friction_rule : str
        Of the predictions.
    values : mapping of str to SourcedValue
        Every quantity of the case as it was resolved.
    findings : tuple of Finding
        About the case and the whole.
    """

    format: str
    version: int
    program: str
    title: str
    note: str
    vehicle: str
    case_sha256: str
    log_sha256: Mapping[str, str]
    computed: datetime
    verdicts: tuple[Verdict, ...]
    runs: tuple[ReducedRun, ...]
    curves: tuple[MeanCurve, ...]
    claims: tuple[CurveClaim, ...]
    biases: tuple[Bias, ...]
    worst: tuple[WorstPrediction, ...]
    budgets: tuple[Budget, ...]
    margins: Margins
    repeatability: Mapping[Measure, Repeatability]
    limit_abs_pa: float | None
    reference: Conditions
    friction_rule: str
    values: Mapping[str, SourcedValue]
    losses: tuple[LossAgainstModel, ...] = ()
    looks: tuple[Look, ...] = ()
    words: tuple[VerdictWords, ...] = ()
    archive: ArchiveUse | None = None
    findings: tuple[Finding, ...] = field(default_factory=tuple)
