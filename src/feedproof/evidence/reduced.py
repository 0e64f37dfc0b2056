"""A run after cleaning: one number for each measure, a few speed-bin means, and what was done."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedproof.case.run import Role
from feedproof.core.findings import Finding

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """
    One named step of the cleaning, with what it did to this run.

    Parameters
    ----------
    name : str
        Name of the step.
    detail : str
        What it did, with figures.
    """

    name: str
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """
    What one cause leaves open in a run's correction to the reference conditions.

    Parameters
    ----------
    cause : str
        ``temperature``, ``level`` or ``ambient``.
    model_u : float
        Standard uncertainty from the derivative, with the sign of what was moved: all runs share
        the derivative's error. [Pa] or [log-percent]
    sensor_u : float
        Standard uncertainty from the reading of the condition, each run's own.
        [Pa] or [log-percent]
    """

    cause: str
    model_u: float
    sensor_u: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReducedRun:
    """
    What one run has to say, ready for comparison.

    Losses are on the log-percent scale of the decision: larger is worse.  NaN in an array and
    None in a number mean "not measured" or "not usable"; the findings say why.

    Parameters
    ----------
    number, configuration, session, setup : int, str, str, str
        From the run.
    role : Role
        What the run was for.
    position : float
        Place in its session's order of runs, from 0, warm-up runs left out. [-]
    speed_m_per_s : array, shape (n_bins,)
        Centres of the speed bins, the same for every run compared. [m/s]
    wheel_power_w, corrected_power_w : array, shape (n_bins,)
        Bin means. [W]
    depression_pa : array, shape (n_bins,)
        Bin means at the pump inlet, zero, head and condition corrected. [Pa]
    rail_deviation_pa : array, shape (n_bins,)
        Demanded minus actual rail pressure. [Pa]
    power_loss_log_percent, corrected_power_loss_log_percent : float or None
        -100 mean ln(P / 1 W) over the band.
    depression_mean_pa, depression_max_pa : float or None
        Over the band. [Pa]
    depression_measured_max_pa : float or None
        Largest over the band at the run's own conditions, zero and head taken off; None when
        it is censored or not usable. [Pa]
    depression_censored : bool
        True when the sensor was at its ceiling: the depression is a lower bound.
    depression_correction_pa, depression_correction_u_pa : float
        What bringing it to the reference conditions moved, and its uncertainty. [Pa]
    return_m3_per_s : float or None
        Caught return at 15 degC. [m3/s]
    return_loss_log_percent : float or None
        -100 ln(q / 1 m3/s).
    return_correction_log_percent, return_correction_u_log_percent : float
        As for depression, in log-percent.
    depression_doubts, return_doubts : tuple of Doubt
        The same uncertainties cause by cause; empty where there was no correction.
    rail_shortfall_pa, rail_shortfall_s : float or None
        Largest shortfall held, and the longest time above the margin's shortfall. [Pa], [s]
    fuel_temperature_k, fuel_level_fraction : float or None
        Means over the band. [K], [-]
    steps : tuple of Step
        Everything that was done, in order.
    findings : tuple of Finding
        Everything that must be known.
    """

    number: int
    configuration: str
    session: str
    setup: str
    role: Role
    position: float
    speed_m_per_s: FloatArray
    wheel_power_w: FloatArray
    corrected_power_w: FloatArray
    depression_pa: FloatArray
    rail_deviation_pa: FloatArray
    power_loss_log_percent: float | None = None
    corrected_power_loss_log_percent: float | None = None
    depression_mean_pa: float | None = None
    depression_max_pa: float | None = None
    depression_measured_max_pa: float | None = None
    depression_censored: bool = False
    depression_correction_pa: float = 0.0
    depression_correction_u_pa: float = 0.0
    return_m3_per_s: float | None = None
    return_loss_log_percent: float | None = None
    return_correction_log_percent: float = 0.0
    return_correction_u_log_percent: float = 0.0
    rail_shortfall_pa: float | None = None
    rail_shortfall_s: float | None = None
    fuel_temperature_k: float | None = None
    fuel_level_fraction: float | None = None
    depression_doubts: tuple[Doubt, ...] = field(default_factory=tuple)
    return_doubts: tuple[Doubt, ...] = field(default_factory=tuple)
    steps: tuple[Step, ...] = field(default_factory=tuple)
    findings: tuple[Finding, ...] = field(default_factory=tuple)
