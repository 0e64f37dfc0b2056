"""What a report is made from: everything it prints is handed in, nothing is asked for."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.margin import Margins, Measure, Repeatability
from feedproof.case.outcome import Verdict
from feedproof.core.findings import Finding
from feedproof.evidence.reduced import ReducedRun
from feedproof.feedline.pull import PullPrediction
from feedproof.feedline.staircase import Staircase
from feedproof.report.model_claims import CurveClaim, ModelledLoss

FloatArray = NDArray[np.float64]

BASELINE = "baseline"
"""Name of the configuration without a kit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KitWords:
    """
    A configuration in words.

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    short : str
        Name of at most three words, for labels in pictures.
    title : str
        What it is.
    control : bool
        True for a loss put in on purpose, which is no kit.
    """

    configuration: str
    short: str
    title: str
    control: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredInlet:
    """
    Depression measured at the pump inlet at the highest speed compared.

    Parameters
    ----------
    configuration : str
        Of which.
    depression_pa, expanded_u_pa : float
        Mean over its runs and expanded uncertainty. [Pa]
    runs : tuple of int
        Runs that it is the mean of.
    censored : bool
        True when the sensor was at its ceiling: a lower bound.
    """

    configuration: str
    depression_pa: float
    expanded_u_pa: float
    runs: tuple[int, ...] = ()
    censored: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveBand:
    """
    Mean of a measure along the pull with its simultaneous band.

    Parameters
    ----------
    measure : Measure
        Wheel power in W or inlet depression in Pa.
    configuration : str
        Of which.
    speed_m_per_s : array, shape (n_bins,)
        Road speed. [m/s]
    mean, lower, upper : array, shape (n_bins,)
        In SI.
    """

    measure: Measure
    configuration: str
    speed_m_per_s: FloatArray
    mean: FloatArray
    lower: FloatArray
    upper: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Bias:
    """
    Measured less predicted depression of one configuration.

    Parameters
    ----------
    configuration : str
        Of which.
    mean_pa, u_pa : float
        Mean of measured less predicted, and its expanded uncertainty. [Pa]
    predicted_pa, predicted_low_pa, predicted_high_pa : float
        Prediction and its range. [Pa]
    sentence : str
        What it means.
    """

    configuration: str
    mean_pa: float
    u_pa: float
    predicted_pa: float
    predicted_low_pa: float
    predicted_high_pa: float
    sentence: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class InletPoint:
    """
    Pump inlet of one configuration under one set of conditions, predicted.

    Parameters
    ----------
    configuration : str
        Of which.
    conditions : Conditions
        Under which.
    depression_pa, expanded_u_pa, pressure_abs_pa : float
        At the inlet. [Pa]
    room_pa : float or None
        Absolute pressure less the pump's limit; None when no limit is known. [Pa]
    """

    configuration: str
    conditions: Conditions
    depression_pa: float
    expanded_u_pa: float
    pressure_abs_pa: float
    room_pa: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class EnvelopeMap:
    """
    One configuration over fuel temperature and altitude, the least over the speeds of the pull.

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    fuel_temperature_k : array, shape (n_t,)
        Axis. [K]
    altitude_m : array, shape (n_z,)
        Axis, ISO 2533. [m]
    loadings : tuple of str
        Names of the loadings, the heaviest last.
    room_pa : array, shape (n_loadings, n_t, n_z)
        Room to the maker's limit; NaN when none is known. [Pa]
    slack : array, shape (n_loadings, n_t, n_z)
        Least slack over all limits; negative where one is broken. [-]
    binding : tuple of tuple of tuple of str
        Limit of least slack at each point.
    cloud_point_k : float
        Of the fuel. [K]
    """

    configuration: str
    fuel_temperature_k: FloatArray
    altitude_m: FloatArray
    loadings: tuple[str, ...]
    room_pa: FloatArray
    slack: FloatArray
    binding: tuple[tuple[tuple[str, ...], ...], ...]
    cloud_point_k: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """
    A table as it is printed.

    Parameters
    ----------
    caption : str
        What it shows.
    head : tuple of str
        Heads of the columns; the first column names the row.
    rows : tuple of tuple of str
        Cells in words.
    note : str
        A line below it.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class InputValue:
    """
    A number of the case with its range and source.

    Parameters
    ----------
    path : str
        Where it stands in the case.
    text : str
        As written, with its unit.
    range_text : str
        Lowest to highest in words; empty when none was given.
    source : str
        Where it comes from; empty when the case does not say.
    """

    path: str
    text: str
    range_text: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fingerprint:
    """
    An input or result by its hash.

    Parameters
    ----------
    kind : str
        ``case``, ``log``, ``result``, ``journal``.
    name : str
        Name of the file or id of the result.
    sha256 : str
        Hash of its bytes.
    """

    kind: str
    name: str
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Exclusion:
    """
    A run left out, and why.

    Parameters
    ----------
    number : int
        Number of the run.
    configuration : str
        What was in the line.
    reason : str
        From the journal.
    """

    number: int
    configuration: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Publication:
    """
    Everything that the page and the paper print.

    Parameters
    ----------
    title, note : str
        Of the case; a note that says "invented" is printed as a banner.
    vehicle_name, program_version : str
        In words.
    computed : datetime
        Time of the results, with offset; the paper carries it as its own time.
    friction_rule : str
        Friction between laminar and turbulent flow, in words.
    start_m_per_s, stop_m_per_s : float
        Ends of the pull. [m/s]
    reference : Conditions
        Conditions of predictions and comparisons.
    worst : tuple of InletPoint
        Each configuration under each declared worst condition.
    kits : tuple of KitWords
        Every configuration spoken of, baseline first; the order gives colour and dash.
    staircases : tuple of Staircase
        At full load and one speed, that of the measured inlets where there are any; baseline first.
    measured_inlets : tuple of MeasuredInlet
        The staircases' measured ends.
    predictions : tuple of PullPrediction
        One for each configuration.
    runs : tuple of ReducedRun
        As reduced.
    verdicts : tuple of Verdict
        One for each kit.
    curve_claims : tuple of CurveClaim
        One for each kit and measure that has a curve.
    biases : tuple of Bias
        Measured less predicted.
    losses : tuple of ModelledLoss
        Losses of power and return beside those that the described line predicts.
    bands : tuple of CurveBand
        Means with their bands.
    plans : tuple of Table
        Planned against reached.
    budgets : tuple of Table
        Uncertainty budgets, line by line.
    margins : Margins
        As agreed, with their date.
    repeatability : tuple of Repeatability
        As declared.
    limit_abs_pa, limit_source : float or None, str
        The pump maker's least absolute inlet pressure. [Pa]
    exclusions : tuple of Exclusion
        Runs left out.
    findings : tuple of Finding
        About the case and the calculations; findings of runs are in ``runs``.
    inputs : tuple of InputValue
        Numbers with their sources.
    fingerprints : tuple of Fingerprint
        Hashes of all inputs and ids of results.
    catch_words : str
        How the return was caught, to begin a sentence, such as ``At a steady 3000 rpm``; empty
        when over the pull.
    cautions : tuple of str
        Cautions of this case, printed before the general ones.
    envelopes : tuple of EnvelopeMap
        Where each configuration holds.
    """

    title: str
    note: str
    vehicle_name: str
    program_version: str
    computed: datetime
    friction_rule: str
    start_m_per_s: float
    stop_m_per_s: float
    reference: Conditions
    kits: tuple[KitWords, ...]
    staircases: tuple[Staircase, ...]
    predictions: tuple[PullPrediction, ...]
    runs: tuple[ReducedRun, ...]
    verdicts: tuple[Verdict, ...]
    margins: Margins
    limit_abs_pa: float | None
    limit_source: str = ""
    worst: tuple[InletPoint, ...] = ()
    measured_inlets: tuple[MeasuredInlet, ...] = ()
    curve_claims: tuple[CurveClaim, ...] = ()
    biases: tuple[Bias, ...] = ()
    losses: tuple[ModelledLoss, ...] = ()
    bands: tuple[CurveBand, ...] = ()
    plans: tuple[Table, ...] = ()
    budgets: tuple[Table, ...] = ()
    repeatability: tuple[Repeatability, ...] = ()
    exclusions: tuple[Exclusion, ...] = ()
    findings: tuple[Finding, ...] = ()
    inputs: tuple[InputValue, ...] = ()
    fingerprints: tuple[Fingerprint, ...] = ()
    cautions: tuple[str, ...] = ()
    catch_words: str = ""
    envelopes: tuple[EnvelopeMap, ...] = ()

    @property
    def invented(self) -> bool:
        """Say whether the case calls its data invented."""
        return "invented" in self.note.lower()

    def kit(self, configuration: str) -> KitWords:
        """
        Find a configuration's words.

        Parameters
        ----------
        configuration : str
            ``baseline`` or kits joined by ``+``.

        Returns
        -------
        KitWords
            Its own name stands for a configuration that has no words.
        """
        for kit in self.kits:
            if kit.configuration == configuration:
                return kit
        name = "no kit" if configuration == BASELINE else configuration.replace("+", " + ")
        return KitWords(configuration=configuration, short=name, title=name)

    def place(self, configuration: str) -> int:
        """
        Give a configuration's place, which decides its colour and dash.

        Parameters
        ----------
        configuration : str
            ``baseline`` or kits joined by ``+``.

        Returns
        -------
        int
            0 for the baseline.
        """
        names = [kit.configuration for kit in self.kits if kit.configuration != BASELINE]
        if configuration == BASELINE:
            return 0
        return names.index(configuration) + 1 if configuration in names else len(names) + 1
