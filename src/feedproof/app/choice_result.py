"""What ``choose`` says: wishes, kits that were looked at, answer and certainty."""

from dataclasses import dataclass
from enum import StrEnum

from feedproof.core.findings import Finding
from feedproof.kits.candidates import Kind
from feedproof.kits.front import Order

BASELINE_SHARE = 0.6
"""Share of the allowed depression, taken by the clean line without a kit under the worst declared
conditions, above which no kit is chosen: the project's own rule. [-]"""
JOINT_COST = 5.0
"""What the risk of air at one added joint is taken to cost: an assumption without a source. [-]"""
CHANGE_COST = 30.0
"""What a visit for the change of elements is taken to cost: an assumption without a source. [-]"""
HALVING_WORTH = 150.0
"""What a halving of the exposure is taken to be worth: an assumption without a source. [-]"""


class Answer(StrEnum):
    """What is right for the vehicle."""

    KIT = "kit"
    NONE = "none"
    NOTHING_FITS = "nothing_fits"
    TOO_RESTRICTED = "too_restricted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """
    What is asked of a kit.

    Parameters
    ----------
    at_least_m : float or None
        Interval that it must reach; None for that of the line without a kit, which a kit then may
        not shorten. [m]
    water : bool
        True when it must take out free water.
    most_space_m3 : float or None
        Room that there is for it. [m3]
    most_cost : float or None
        Cost that is borne, changes and the risk of air included. [-]
    joint_cost : float
        What the risk of air at one added joint is taken to cost. [-]
    change_cost : float
        What a visit for the change of elements costs, without the elements. [-]
    halving_worth : float
        What each halving of the exposure is worth. [-]
    baseline_share : float
        Share of the allowed depression above which the vehicle is too restricted already. [-]
    currency : str
        Word behind costs.
    left_out : tuple of str
        Items of the catalogue that are not to be used.
    assumed : tuple of str
        Which of these nobody declared and are assumptions.
    """

    at_least_m: float | None = None
    water: bool = False
    most_space_m3: float | None = None
    most_cost: float | None = None
    joint_cost: float = JOINT_COST
    change_cost: float = CHANGE_COST
    halving_worth: float = HALVING_WORTH
    baseline_share: float = BASELINE_SHARE
    currency: str = "cost"
    left_out: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedKit:
    """
    One candidate with all that is held against the others.

    Parameters
    ----------
    id : str
        Its name.
    kind : Kind
        What it adds.
    title : str
        In words.
    elements : tuple of str
        Its catalogue elements.
    joints : int
        Joints under depression that it adds. [-]
    bought_cost, whole_cost : float
        Parts; parts with the risk of air and the changes over 100 000 km, infinite without an
        interval. [-]
    space_m3 : float
        Room that it takes. [m3]
    exposure, exposure_low, exposure_high : float
        Of the clearance band over that without a kit; if vehicles are mild or harsh. [-]
    injected_per_l : float
        Particles of 4 um(c) and larger injected with a litre burnt. [1/L]
    clean_slack, end_slack : float
        Least share of a limit left under the worst conditions, clean and with its elements
        loaded as far as the interval says. [-]
    guard_pa : float
        What is kept from the maker's limit, since the prediction may be off, as in `service`; the
        shares above are those of limit and guard together. [Pa]
    end_pressure_abs_pa : float
        Inlet pressure at the end, where the least is left. [Pa]
    end_feed_margin : float
        Least feed margin there. [-]
    end_place : str
        The worst condition that it is at.
    interval_m : float
        Distance between changes; 0 where the clean line breaks a limit. [m]
    interval_rule : str
        What set it.
    takes_water : bool
        True with a water separator that is rated for the largest flow of the vehicle.
    sensor_distance_m : float or None
        Distance in which free water fills the bowl to its sensor, all of it taken; None without
        one. [m]
    score : float
        Smaller is better. [-]
    why_not : tuple of str
        Wishes and limits that it breaks; empty when none.
    on_front : bool
        True when no other candidate that breaks nothing dominates it.
    """

    id: str
    kind: Kind
    title: str
    elements: tuple[str, ...]
    joints: int
    bought_cost: float
    whole_cost: float
    space_m3: float
    exposure: float
    exposure_low: float
    exposure_high: float
    injected_per_l: float
    clean_slack: float
    end_slack: float
    guard_pa: float
    end_pressure_abs_pa: float
    end_feed_margin: float
    end_place: str
    interval_m: float
    interval_rule: str
    takes_water: bool
    sensor_distance_m: float | None
    score: float
    why_not: tuple[str, ...] = ()
    on_front: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Rival:
    """
    A candidate beside the best one.

    Parameters
    ----------
    id : str
        The other.
    order : Order
        Probability that the best one is the better of the two.
    """

    id: str
    order: Order


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """
    What ``choose`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-choice``, its version, and the version of the program.
    title, note, vehicle : str
        From the case.
    catalogue : str
        Where the candidates come from.
    wishes : Wishes
        What was asked.
    limit_abs_pa : float or None
        The pump maker's limit. [Pa]
    baseline_share : float or None
        Share of the allowed depression that the clean line without a kit takes at most under the
        worst conditions; None where no limit is known. [-]
    baseline_slack : float
        Least share of a limit left to it, the prediction's guard kept. [-]
    baseline_guard_pa : float
        That guard; 0 where the line breaks the limit itself. [Pa]
    baseline_place : str
        The condition of that share.
    answer : Answer
        What is right.
    released : bool
        False where the answer may not be acted upon.
    best : str or None
        The candidate with the best score that breaks nothing; where the vehicle is too
        restricted already, the one that would be.
    rivals : tuple of Rival
        The runner-up with other elements first, then the best of each other kind.
    looked_at, fitting : int
        Candidates in all, and those that break nothing. [-]
    kits : tuple of RatedKit
        The front's best for each set of elements, the best of each kind, and the worst
        secondary; by score.
    keeps_fraction : mapping of str to float
        Share of drawn vehicles that keep every limit up to the interval, for the best of each
        kind. [-]
    rule : str
        How the best one was picked.
    sentences : tuple of str
        The answer in words.
    primary_or_secondary, starves : str
        The two questions of every customer, answered.
    findings : tuple of Finding
        What is assumed, and what must be known.
    """

    format: str
    version: int
    program: str
    title: str
    note: str
    vehicle: str
    catalogue: str
    wishes: Wishes
    limit_abs_pa: float | None
    baseline_share: float | None
    baseline_slack: float
    baseline_guard_pa: float
    baseline_place: str
    answer: Answer
    released: bool
    best: str | None
    rivals: tuple[Rival, ...]
    looked_at: int
    fitting: int
    kits: tuple[RatedKit, ...]
    keeps_fraction: dict[str, float]
    rule: str
    sentences: tuple[str, ...]
    primary_or_secondary: str
    starves: str
    findings: tuple[Finding, ...]

    def kit(self, name: str | None) -> RatedKit | None:
        """
        Find a kit.

        Parameters
        ----------
        name : str or None
            Its id.

        Returns
        -------
        RatedKit or None
            None where there is none.
        """
        return next((each for each in self.kits if each.id == name), None)

    def best_of(self, kind: Kind) -> RatedKit | None:
        """
        Find the best kit of a kind that breaks nothing.

        Parameters
        ----------
        kind : Kind
            The kind.

        Returns
        -------
        RatedKit or None
            None where each breaks something.
        """
        return next((each for each in self.kits if each.kind is kind and not each.why_not), None)
