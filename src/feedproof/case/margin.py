"""What was agreed before the runs: margins, declared repeatability, worst conditions."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Measure(StrEnum):
    """What is judged."""

    WHEEL_POWER = "wheel_power"
    CAUGHT_RETURN = "caught_return"
    INLET_DEPRESSION = "inlet_depression"
    RAIL_PRESSURE = "rail_pressure"


@dataclass(frozen=True, slots=True, kw_only=True)
class Margins:
    """
    Largest losses that were agreed to be harmless, and when.

    Parameters
    ----------
    wheel_power_fraction, caught_return_fraction : float
        Largest loss of power and of return. [-]
    return_do_not_release_fraction : float
        Best estimate of return loss at which a kit is not released whatever the
        statistics. [-]
    rail_deviation_pa, rail_deviation_s : float
        Shortfall of rail pressure, and how long, at which a kit is not released. [Pa], [s]
    declared : datetime or None
        When they were declared, from the journal; None when the journal has no line.
    source : str
        Who or what they come from.
    looks : tuple of int
        Runs with the kit after which the answer may be looked at, rising; empty for once, when
        all runs are done. [-]
    primary : Measure
        The measure that headlines.
    """

    wheel_power_fraction: float = 0.02
    caught_return_fraction: float = 0.05
    return_do_not_release_fraction: float = 0.10
    rail_deviation_pa: float = 5.0e6
    rail_deviation_s: float = 2.0
    declared: datetime | None = None
    source: str = ""
    looks: tuple[int, ...] = ()
    primary: Measure = Measure.WHEEL_POWER


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeatability:
    """
    Declared run-to-run standard deviation of one measure on this rig with this procedure.

    Parameters
    ----------
    measure : Measure
        Of what.
    standard_deviation : float
        In the measure's own scale: log-percent for power and return, Pa for depression.
    degrees_of_freedom : float
        How well it is known. [-]
    source : str
        From which repeats, or "judged".
    setup_standard_deviation : float
        Added scatter each time the plumbing is opened; 0 when it is in the figure above.
    drift_per_run : float
        Standard uncertainty of drift from run to run, used only where drift cannot be
        fitted.
    drift_bound_per_run : float
        Hard bound on drift from run to run instead: added to the limits as it is, and used only
        where drift cannot be fitted.
    """

    measure: Measure
    standard_deviation: float
    degrees_of_freedom: float
    source: str
    setup_standard_deviation: float = 0.0
    drift_per_run: float = 0.0
    drift_bound_per_run: float = 0.0
