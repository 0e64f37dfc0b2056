"""
From the reading of a pressure sensor to the depression at the pump inlet at reference conditions.

Zero and head first, then fuel temperature, level and ambient pressure by derivatives that are
given as values: this room does not ask the line.  A correction carries an uncertainty, and a
comparison that leans too hard on corrections is refused.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.run import Channel, Instrument
from feedproof.core.findings import Finding, note, warning
from feedproof.evidence.reduced import Doubt
from feedproof.physics.atmosphere import STANDARD_GRAVITY_M_PER_S2
from feedproof.physics.fuel import linear_density

FloatArray = NDArray[np.float64]

MODEL_UNCERTAINTY_SHARE = 0.3
"""Relative standard uncertainty of a derivative unless stated: the project's own judgement."""
CAUSES = ("temperature", "level", "ambient")
TEMPERATURE_U_K = 0.5
LEVEL_U_FRACTION = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """
    How depression and return answer to the conditions, for one configuration.

    Parameters
    ----------
    speed_m_per_s : array, shape (n,)
        Road speeds of the arrays below, increasing. [m/s]
    depression_per_k, depression_per_level, depression_per_ambient : array, shape (n,)
        Derivatives of the depression at the pump inlet by fuel temperature, level fraction and
        ambient pressure. [Pa/K], [Pa], [-]
    return_percent_per_k, return_percent_per_level, return_percent_per_ambient : float
        Derivatives of 100 ln(return). [1/K], [-], [1/Pa]
    slope_decay_per_k : float
        How fast the derivatives by temperature fade as the fuel warms: their logarithm's own
        derivative, 0 for a straight line. [1/K]
    relative_uncertainty : tuple of float
        Relative standard uncertainty of the derivatives of the depression by temperature, level
        and ambient pressure. [-]
    return_relative_uncertainty : float
        The same of the three derivatives of the return. [-]
    """

    speed_m_per_s: FloatArray
    depression_per_k: FloatArray
    depression_per_level: FloatArray
    depression_per_ambient: FloatArray
    return_percent_per_k: float = 0.0
    return_percent_per_level: float = 0.0
    return_percent_per_ambient: float = 0.0
    slope_decay_per_k: float = 0.0
    relative_uncertainty: tuple[float, float, float] = (MODEL_UNCERTAINTY_SHARE,) * 3
    return_relative_uncertainty: float = MODEL_UNCERTAINTY_SHARE


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """
    Conditions of a run as measured.

    Parameters
    ----------
    fuel_temperature_k : float or None
        At the pump inlet; None when not measured. [K]
    fuel_level_fraction : float
        Fuel over capacity. [-]
    ambient_pressure_abs_pa : float
        Air pressure. [Pa]
    """

    fuel_temperature_k: float | None
    fuel_level_fraction: float
    ambient_pressure_abs_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """
    What must be added to a reading, and how well that is known.

    Parameters
    ----------
    added : array, shape (n,)
        To be added. [Pa] or [log-percent]
    mean, standard_uncertainty : float
        Mean of ``added`` and its standard uncertainty; infinite when it cannot be told.
        [Pa] or [log-percent]
    doubts : tuple of Doubt
        The standard uncertainty cause by cause; empty when nothing was corrected.
    findings : tuple of Finding
        What is missing.
    """

    added: FloatArray
    mean: float
    standard_uncertainty: float
    doubts: tuple[Doubt, ...] = ()
    findings: tuple[Finding, ...] = field(default_factory=tuple)


def sensor_zero(
    before_pa: float | None, after_pa: float | None, limit_pa: float, place: str
) -> tuple[float, tuple[Finding, ...]]:
    """
    Give the zero of the sensor as the mean of before and after the run.

    Parameters
    ----------
    before_pa, after_pa : float or None
        Reading at rest, as depression, sensor open to the air. [Pa]
    limit_pa : float
        Largest change that is not flagged. [Pa]
    place : str
        Run, for messages.

    Returns
    -------
    float
        To be subtracted from every reading. [Pa]
    tuple of Finding
        A changed or missing zero.
    """
    known = [zero for zero in (before_pa, after_pa) if zero is not None]
    if not known:
        text = "no zero recorded; 0 is taken."
        return 0.0, (warning(place, text, "Read the sensor at rest before and after each run."),)
    if len(known) == 1:
        text = "zero recorded only once; its change over the run is unknown."
        return known[0], (warning(place, text, "Read it before and after."),)
    change = abs(known[1] - known[0])
    if change > limit_pa:
        text = f"zero moved by {change:.0f} Pa over the run, more than {limit_pa:.0f} Pa."
        return sum(known) / 2.0, (warning(place, text, "Let the sensor warm up; repeat the run."),)
    return sum(known) / 2.0, ()


def sensor_head(instrument: Instrument, fuel: Fuel, temperature_k: float) -> float:
    """
    Give the head of the sensor's line, to be subtracted from the depression read.

    Parameters
    ----------
    instrument : Instrument
        Height of the sensor above the inlet, and whether its line holds fuel.
    fuel : Fuel
        For its density.
    temperature_k : float
        Of the fuel in the line. [K]

    Returns
    -------
    float
        rho g h, so that D_inlet = D_gauge - rho g h; 0 for a line filled with air. [Pa]

    Notes
    -----
    Hydrostatics.  0.10 m of fuel of 835 kg/m3 is 0.82 kPa.
    """
    if not instrument.gauge_line_filled:
        return 0.0
    density = linear_density(fuel.density_15c_kg_per_m3, fuel.expansion_per_k, temperature_k)
    return density * STANDARD_GRAVITY_M_PER_S2 * instrument.gauge_above_inlet_m


def as_depression(
    channel: Channel, values: FloatArray, ambient_pressure_abs_pa: float
) -> FloatArray:
    """
    Turn an inlet pressure in any of its three forms into a depression.

    Parameters
    ----------
    channel : Channel
        Depression, gauge pressure or absolute pressure at the inlet.
    values : array, shape (n,)
        Samples. [Pa]
    ambient_pressure_abs_pa : float
        Air pressure during the run. [Pa]

    Returns
    -------
    array, shape (n,)
        Depression, positive below ambient. [Pa]

    Raises
    ------
    ValueError
        The channel is no inlet pressure.
    """
    if channel is Channel.INLET_DEPRESSION:
        return values.copy()
    if channel is Channel.INLET_PRESSURE_GAUGE:
        return -values
    if channel is Channel.INLET_PRESSURE_ABS:
        return ambient_pressure_abs_pa - values
    raise ValueError(f"{channel} is no inlet pressure")


def depression_correction(
    sensitivity: Sensitivity | None,
    state: State,
    reference: Conditions,
    speed_m_per_s: FloatArray,
    place: str,
) -> Correction:
    """
    Give what brings a depression to the reference conditions.

    Parameters
    ----------
    sensitivity : Sensitivity or None
        Of the run's configuration; None when none was given.
    state : State
        Conditions of the run.
    reference : Conditions
        Conditions wanted.
    speed_m_per_s : array, shape (n_bins,)
        Bin centres. [m/s]
    place : str
        Run, for messages.

    Returns
    -------
    Correction
        Per bin; nothing is added, with infinite uncertainty, when it cannot be told.
    """
    missing = _missing(sensitivity, state, place, "depression")
    if sensitivity is None or state.fuel_temperature_k is None:
        nothing = np.zeros(speed_m_per_s.size)
        return Correction(added=nothing, mean=0.0, standard_uncertainty=math.inf, findings=missing)
    slopes = [
        np.interp(speed_m_per_s, sensitivity.speed_m_per_s, slope)
        for slope in (
            sensitivity.depression_per_k,
            sensitivity.depression_per_level,
            sensitivity.depression_per_ambient,
        )
    ]
    brought = _bring(
        slopes,
        state,
        reference,
        sensitivity.relative_uncertainty,
        sensitivity.slope_decay_per_k,
    )
    return replace(brought, findings=_outside(sensitivity, speed_m_per_s, place))


def return_correction(
    sensitivity: Sensitivity | None, state: State, reference: Conditions, place: str
) -> Correction:
    """
    Give what brings a caught return to the reference conditions, on the loss scale.

    Parameters
    ----------
    sensitivity, state, reference, place
        As for `depression_correction`.

    Returns
    -------
    Correction
        One value, to be added to -100 ln q. [log-percent]
    """
    missing = _missing(sensitivity, state, place, "return")
    if sensitivity is None or state.fuel_temperature_k is None:
        return Correction(
            added=np.zeros(1), mean=0.0, standard_uncertainty=math.inf, findings=missing
        )
    # The loss falls as the return rises.
    slopes = [
        np.array([-slope])
        for slope in (
            sensitivity.return_percent_per_k,
            sensitivity.return_percent_per_level,
            sensitivity.return_percent_per_ambient,
        )
    ]
    return _bring(slopes, state, reference, (sensitivity.return_relative_uncertainty,) * 3)


def _bring(
    slopes: Sequence[FloatArray],
    state: State,
    reference: Conditions,
    shares: Sequence[float],
    decay_per_k: float = 0.0,
) -> Correction:
    """Sum the three corrections and keep the doubts about each."""
    temperature = state.fuel_temperature_k
    assert temperature is not None
    steps = (
        _faded(reference.fuel_temperature_k - temperature, decay_per_k),
        reference.fuel_level_fraction - state.fuel_level_fraction,
        reference.ambient_pressure_abs_pa - state.ambient_pressure_abs_pa,
    )
    parts = [slope * step for slope, step in zip(slopes, steps, strict=True)]
    sensors = (
        abs(float(slopes[0].mean())) * TEMPERATURE_U_K,
        abs(float(slopes[1].mean())) * LEVEL_U_FRACTION,
        0.0,
    )
    # A warm and a level correction of unlike sign must not hide each other's doubt, so each
    # cause keeps its own.
    doubts = tuple(
        Doubt(cause=cause, model_u=share * float(part.mean()), sensor_u=sensor)
        for cause, part, share, sensor in zip(CAUSES, parts, shares, sensors, strict=True)
    )
    added = np.asarray(sum(parts), dtype=np.float64)
    return Correction(
        added=added,
        mean=float(added.mean()),
        standard_uncertainty=math.hypot(*(u for d in doubts for u in (d.model_u, d.sensor_u))),
        doubts=doubts,
    )


def _faded(step_k: float, decay_per_k: float) -> float:
    """
    Give the step that a slope of the reference temperature must be taken over.

    The slope fades as the viscosity does: exp(c (T - T_ref)), integrated from the run's
    temperature to the reference.
    """
    bent = -decay_per_k * step_k
    return step_k * math.expm1(bent) / bent if abs(bent) > 1e-9 else step_k


def _missing(
    sensitivity: Sensitivity | None, state: State, place: str, measure: str
) -> tuple[Finding, ...]:
    """Say what a correction lacks."""
    if sensitivity is None:
        text = f"{measure} not brought to reference: no derivatives for this configuration."
        return (warning(place, text, "Give the sensitivities of its line."),)
    if state.fuel_temperature_k is None:
        text = f"{measure} not brought to reference: fuel temperature at the inlet not measured."
        return (warning(place, text, "Log the fuel temperature at the pump inlet."),)
    return ()


def _outside(
    sensitivity: Sensitivity, speed_m_per_s: FloatArray, place: str
) -> tuple[Finding, ...]:
    """Note bins beyond the speeds for which derivatives were given."""
    known = sensitivity.speed_m_per_s
    out = (speed_m_per_s < known[0]) | (speed_m_per_s > known[-1])
    if not out.any():
        return ()
    text = f"{int(out.sum())} bins lie beyond the speeds of the derivatives; the end value is used."
    return (note(place, text),)
