"""What ``sensitivity`` says, as frozen values."""

from dataclasses import dataclass
from enum import StrEnum

from feedproof.app.sensitivity_parts import PartSensitivity
from feedproof.case.conditions import Conditions
from feedproof.core.findings import Finding


class RoomVerdict(StrEnum):
    """What the samples of the room say about the limit."""

    HOLDS = "holds"
    BROKEN = "broken"
    CANNOT_TELL = "cannot_tell"
    NO_LIMIT_KNOWN = "no_limit_known"


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """
    What one input does to one quantity.

    Parameters
    ----------
    quantity : str
        ``room`` [Pa] (the absolute inlet pressure where no limit is known), ``depression`` [Pa],
        ``feed_margin`` [-] or ``return`` [m3/s].
    per_unit, per_range : float
        Local central derivative, by one SI unit of the input and by the width of its range.
    at_low, at_high : float
        Change with the input at its low and at its high end, the others as the case has them.
    first, first_low, first_high : float
        First-order Sobol' index and its 95 % interval; not a number where nothing moves the
        quantity. [-]
    total, total_low, total_high : float
        Total index and its interval. [-]
    """

    quantity: str
    per_unit: float
    per_range: float
    at_low: float
    at_high: float
    first: float
    first_low: float
    first_high: float
    total: float
    total_low: float
    total_high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class InputSensitivity:
    """
    One uncertain input.

    Parameters
    ----------
    path : str
        Path in the case, or ``friction_transition``: a weight from 0, laminar for long, to 1,
        turbulent early, between the outcomes of those two rules.
    text : str
        The value as the case writes it.
    value, low, high : float
        Value and ends of its range; the transition has no value of its own. [SI]
    distribution : str
        ``rectangular`` or ``triangular``.
    source : str
        Source of the value.
    effects : tuple of Effect
        One for each quantity.
    """

    path: str
    text: str
    value: float
    low: float
    high: float
    distribution: str
    source: str
    effects: tuple[Effect, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictionInterval:
    """
    A predicted quantity with what its inputs leave open.

    Parameters
    ----------
    quantity : str
        As in `Effect`.
    as_given : float
        With every value and the friction rule as the case has them.
    low, median, high : float
        5, 50 and 95 % of the samples of all inputs and of the transition.
    inputs_low, inputs_median, inputs_high : float
        The same of the inputs alone, by the friction rule of the case.
    first_sum, first_sum_low, first_sum_high : float
        Sum of the first-order indices and its 95 % interval; what is missing to 1 comes from
        inputs acting together. [-]
    total_sum, total_sum_low, total_sum_high : float
        Sum of the total indices and its interval; inputs acting together bring no more than its
        excess over 1. [-]
    """

    quantity: str
    as_given: float
    low: float
    median: float
    high: float
    inputs_low: float
    inputs_median: float
    inputs_high: float
    first_sum: float
    first_sum_low: float
    first_sum_high: float
    total_sum: float
    total_sum_low: float
    total_sum_high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SensitiveConfiguration:
    """
    One configuration.

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    intervals : tuple of PredictionInterval
        One for each quantity.
    verdict : RoomVerdict
        Whether the room is below zero with at most 5 %, at least 95 %, or something between, the
        error of sampling counted in.
    below_zero_probability, below_zero_low, below_zero_high : float or None
        Share of the samples whose room is below zero, and its 95 % interval (Wilson); None where
        no limit is known. [-]
    inputs : tuple of InputSensitivity
        What moves the room, the largest total index first.
    parts : tuple of PartSensitivity
        Parts of the line, tank to pump inlet.
    elsewhere : tuple of str
        Paths of ranged values that belong to another kit or fuel.
    """

    configuration: str
    intervals: tuple[PredictionInterval, ...]
    verdict: RoomVerdict
    below_zero_probability: float | None
    below_zero_low: float | None
    below_zero_high: float | None
    inputs: tuple[InputSensitivity, ...]
    parts: tuple[PartSensitivity, ...]
    elsewhere: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """
    What ``sensitivity`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-sensitivity``, its version, and the version of the program.
    title, note, vehicle : str
        From the case.
    friction_rule : str
        Rule between laminar and turbulent flow.
    conditions : Conditions
        The conditions asked about.
    limit_abs_pa : float or None
        The pump maker's limit. [Pa]
    base_samples, seed : int
        Points in each of the two sets that were sampled, and the seed.
    configurations : tuple of SensitiveConfiguration
        The baseline first.
    unplaced : tuple of str
        Paths of ranged values that are not varied but taken as exact.
    findings : tuple of Finding
        What must be known.
    """

    format: str
    version: int
    program: str
    title: str
    note: str
    vehicle: str
    friction_rule: str
    conditions: Conditions
    limit_abs_pa: float | None
    base_samples: int
    seed: int
    configurations: tuple[SensitiveConfiguration, ...]
    unplaced: tuple[str, ...]
    findings: tuple[Finding, ...]
