"""What the verb ``plan`` says."""

from dataclasses import dataclass

from feedproof.case.margin import Margins, Measure
from feedproof.core.findings import Finding
from feedproof.evidence.archives.choice import ArchiveUse
from feedproof.evidence.plan.improve import FirstStep, StepShare, WhatIf
from feedproof.evidence.plan.measure_plan import OrderFigures
from feedproof.evidence.plan.sequential import SequentialOption


@dataclass(frozen=True, slots=True, kw_only=True)
class BaselineRepeats:
    """
    What repeats of the baseline alone would give to one A-B-A.

    Parameters
    ----------
    runs, degrees_of_freedom : int
        Baseline runs in one session, and what they leave after a straight drift. [-]
    smallest_in_repeatabilities : float
        Smallest margin that A-B-A would then exclude, in repeatabilities. [-]
    """

    runs: int
    degrees_of_freedom: int
    smallest_in_repeatabilities: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurePlan:
    """
    The plan for one measure; losses in log-percent, depression in Pa.

    Parameters
    ----------
    measure : Measure
        Of what.
    unit : str
        ``log-percent`` or ``Pa``.
    margin : float or None
        On that scale; None where there is none.
    margin_source : str
        Where it comes from, or why there is none.
    repeatability, degrees_of_freedom : float or None
        As declared, judged ones with the degrees of freedom that they count for; None without.
    repeatability_source : str
        As declared.
    orders : tuple of OrderFigures
        Side by side, the traps last.
    planned : OrderFigures
        Of the order to drive.
    needed_order : str or None
        The least order that reaches the chance for this measure alone; None when none does.
    instruments : str
        Those that the plan takes.
    steps : tuple of StepShare
        What each step costs in the planned order, the dearest first.
    what_ifs : tuple of WhatIf
        Other instruments, those at hand first.
    first_step : FirstStep or None
        What to improve first; None without a repeatability.
    baseline_repeats : tuple of BaselineRepeats
        What repeats would give; empty where a repeatability is declared.
    """

    measure: Measure
    unit: str
    margin: float | None
    margin_source: str
    repeatability: float | None
    degrees_of_freedom: float | None
    repeatability_source: str
    orders: tuple[OrderFigures, ...]
    planned: OrderFigures
    needed_order: str | None
    instruments: str
    steps: tuple[StepShare, ...]
    what_ifs: tuple[WhatIf, ...]
    first_step: FirstStep | None
    baseline_repeats: tuple[BaselineRepeats, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """
    How far runs may be apart in one condition.

    Parameters
    ----------
    condition : str
        ``fuel_temperature``, ``fuel_level`` or ``ambient_pressure``.
    unit : str
        K, a fraction (1) or Pa.
    as_it_is : float or None
        Difference that moves the depression by no more than a fifth of what the plan can tell
        from nothing: compared without leaning on the model.
    corrected : float
        Largest difference that is corrected through the model; beyond it a comparison is refused.
    moves_pa : float
        What one unit of it moves the baseline's mean depression by.
    why : str
        What sets the larger one.
    """

    condition: str
    unit: str
    as_it_is: float | None
    corrected: float
    moves_pa: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlProposal:
    """
    A positive control: an orifice of known loss that the test must find.

    Parameters
    ----------
    measure : Measure
        In which measure it must be found.
    place : str
        Where it stands, in words.
    bore_m : float or None
        Bore whose predicted loss is one and a half margins; None when the model gives none. [m]
    largest_bore_m, smallest_bore_m : float or None
        Bores of one and of two margins. [m]
    loss : float or None
        Predicted mean loss over the pull with that bore. [log-percent] or [Pa]
    added_pa : float or None
        Depression that it adds at the top of the pull. [Pa]
    pressure_abs_pa : float or None
        Least absolute inlet pressure over the pull. [Pa]
    acts_from_m_per_s : float or None
        Road speed from which power is lost; None for depression, which it adds everywhere.
        [m/s]
    below_limit : bool
        The inlet falls below the limit of the pump's maker.
    sentence : str
        The same in words.
    """

    measure: Measure
    place: str
    bore_m: float | None
    largest_bore_m: float | None
    smallest_bore_m: float | None
    loss: float | None
    added_pa: float | None
    pressure_abs_pa: float | None
    acts_from_m_per_s: float | None
    below_limit: bool
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchPlan:
    """
    How to catch the return.

    Parameters
    ----------
    in_neutral : bool
        A steady catch without load stands for full load (pump that overflows to the tank).
    engine_speed_rev_per_s : float
        Of the hold. [rev/s]
    duration_s : float
        Of one catch. [s]
    return_m3_per_s : float
        Predicted. [m3/s]
    volume_m3 : float
        That the measure must hold. [m3]
    neutral_depression_pa, loaded_depression_pa : float
        Predicted at that speed without load and at full load: whoever reads two figures further
        apart has a system that answers to load. [Pa]
    """

    in_neutral: bool
    engine_speed_rev_per_s: float
    duration_s: float
    return_m3_per_s: float
    volume_m3: float
    neutral_depression_pa: float
    loaded_depression_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionPlan:
    """
    What ``plan`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-plan``, its version, and the version of the program.
    title, note, vehicle : str
        From the case.
    configurations : tuple of str
        Sets of kits, each a session against the baseline.
    chance : float
        Asked for, of excluding each margin when there is no loss. [-]
    replumbed : bool
        Every change-over opens the line.
    order : str
        To drive, in each session.
    runs_each : int
        Runs of each that count. [-]
    reasons : tuple of str
        Why this order.
    chance_of_all : float or None
        At least this chance that all margins that can be excluded are. [-]
    answer : tuple of str, shape (2,)
        What to drive, and what it can and cannot exclude.
    margins : Margins
        As the case has them.
    measures : tuple of MeasurePlan
        Wheel power, caught return, depression.
    sequential : SequentialOption
        Looks as an alternative.
    windows : tuple of Window
        How far runs may be apart.
    catch : CatchPlan
        How to catch the return.
    controls : tuple of ControlProposal
        Positive controls.
    findings : tuple of Finding
        What must be known.
    sheet : str
        File of the run sheet; empty when none was asked for.
    archive : ArchiveUse or None
        What was looked up in an archive of repeatability; None without one.
    """

    format: str
    version: int
    program: str
    title: str
    note: str
    vehicle: str
    configurations: tuple[str, ...]
    chance: float
    replumbed: bool
    order: str
    runs_each: int
    reasons: tuple[str, ...]
    chance_of_all: float | None
    answer: tuple[str, ...]
    margins: Margins
    measures: tuple[MeasurePlan, ...]
    sequential: SequentialOption
    windows: tuple[Window, ...]
    catch: CatchPlan
    controls: tuple[ControlProposal, ...]
    findings: tuple[Finding, ...]
    sheet: str = ""
    archive: ArchiveUse | None = None
