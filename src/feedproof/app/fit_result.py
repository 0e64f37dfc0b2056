"""What ``fit`` says: the document's types."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from feedproof.app.fit_elements import AddedElement
from feedproof.core.findings import Finding
from feedproof.evidence.fit.disagreement import Check, Overall
from feedproof.evidence.fit.foreseen import Foreseen, Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedParameter:
    """
    One parameter before and after the runs.

    Parameters
    ----------
    name, meaning, unit : str
        A ``factor`` on what the case says, or an amount in ``Pa``, ``m`` or ``1``.
    described : float
        What the case says: 1 for a factor, else 0.
    before, after : Interval
        Median with 5 and 95 %, before and after the runs.
    best : float
        Where runs and prior together are met best.
    moved : float
        The same in prior standard deviations from what the case says. [-]
    ratio : float
        Standard deviation after over before the runs. [-]
    alone_ratio : float
        The same if all other parameters were known. [-]
    word : str
        ``learned``, ``partly``, ``only together`` or ``not learned``.
    partners : tuple of str
        Parameters that it cannot be told from.
    source : str
        Where the prior comes from.
    """

    name: str
    meaning: str
    unit: str
    described: float
    before: Interval
    after: Interval
    best: float
    moved: float
    ratio: float
    alone_ratio: float
    word: str
    partners: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Inseparable:
    """
    Two parameters of which only a combination is known.

    Parameters
    ----------
    first, second : str
        The parameters.
    correlation : float
        After the runs; below 0 their sum is known, above 0 their difference. [-]
    """

    first: str
    second: str
    correlation: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Misdescribed:
    """
    A kit whose runs lie beyond what runs, line and description allow.

    Parameters
    ----------
    kit : str
        The kit.
    check : Check
        Its runs against a fit of all others and its description.
    sentence : str
        What it means.
    """

    kit: str
    check: Check
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleFacts:
    """
    The sample of the parameters after the runs.

    Parameters
    ----------
    draws, seed : int
        Number of draws, and their seed.
    acceptance, effective, r_hat : float
        As in `feedproof.evidence.fit.posterior.Posterior`. [-]
    """

    draws: int
    seed: int
    acceptance: float
    effective: float
    r_hat: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFit:
    """
    What ``fit`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-fit``, its version, and the version of the program.
    title, note, vehicle : str
        From the case.
    case_sha256 : str
        Hash of the case document.
    log_sha256 : mapping of str to str
        Hash of each log by its name.
    computed : datetime
        When.
    learned, not_learned : str
        One sentence each: what these runs teach, and what they do not.
    caution : str
        Why the fit is not to be relied on; empty where nothing speaks against it.
    bias : str
        How the line without a kit stood to its description, and how it stands to the fit.
    runs : tuple of int
        Runs that the fit rests on.
    parameters : tuple of FittedParameter
        Before and after.
    inseparable : tuple of Inseparable
        Pairs of which only a combination is known.
    information : tuple of float
        How strongly the runs inform each independent combination of the parameters, in units of
        what was known before; above 1 the runs say more. [-]
    correlations : tuple of tuple of float
        Of the parameters after the runs, in their order. [-]
    before, after : tuple of Check
        Runs against the described line and against the fitted one.
    before_overall, after_overall : Overall
        All of them together.
    misdescribed : tuple of Misdescribed
        Kits that are not as described; their depressions are no part of the fit.
    foreseen : tuple of Foreseen
        The top of the pull at the reference, the worst and the asked conditions.
    elements : tuple of AddedElement
        Added elements: what each adds at a stated flow and temperature.
    scatter : tuple of str
        Errors of the readings and where they come from.
    sample : SampleFacts
        How the intervals were sampled.
    draws : mapping of str to tuple of float
        Values of the parameters, draw by draw, where they were asked for; else empty.
    findings : tuple of Finding
        What must be known.
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
    learned: str
    not_learned: str
    caution: str
    bias: str
    runs: tuple[int, ...]
    parameters: tuple[FittedParameter, ...]
    inseparable: tuple[Inseparable, ...]
    information: tuple[float, ...]
    correlations: tuple[tuple[float, ...], ...]
    before: tuple[Check, ...]
    after: tuple[Check, ...]
    before_overall: Overall
    after_overall: Overall
    misdescribed: tuple[Misdescribed, ...]
    foreseen: tuple[Foreseen, ...]
    elements: tuple[AddedElement, ...]
    scatter: tuple[str, ...]
    sample: SampleFacts
    draws: Mapping[str, tuple[float, ...]]
    findings: tuple[Finding, ...] = field(default_factory=tuple)

    def values(self) -> dict[str, float]:
        """
        Give the best parameters.

        Returns
        -------
        dict of str to float
            Factors and amounts by name.
        """
        return {one.name: one.best for one in self.parameters}
