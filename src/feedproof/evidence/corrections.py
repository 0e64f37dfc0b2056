"""
From the reading of a pressure sensor to the depression at the pump inlet at reference conditions.

Zero and head first, then fuel temperature, level and ambient pressure by derivatives that are
given as values: this room does not ask the line.  A correction carries an uncertainty, and a
comparison that leans too hard on corrections is refused.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.run import Channel, Instrument
from feedproof.core.findings import Finding, note, warning
from feedproof.evidence.reduced import ReducedRun
from feedproof.physics.atmosphere import STANDARD_GRAVITY_M_PER_S2
from feedproof.physics.fuel import linear_density

FloatArray = NDArray[np.float64]

MODEL_UNCERTAINTY_SHARE = 0.3
"""Relative standard uncertainty of a derivative unless stated: the project's own judgement."""
TEMPERATURE_U_K = 0.5
LEVEL_U_FRACTION = 0.02
LARGEST_DIFFERENCE_U_PA = 300.0
"""Project's own rule: a kit run 6 K warmer must be corrected to within 0.3 kPa."""
LARGEST_TEMPERATURE_DIFFERENCE_K = 10.0
"""Project's own rule: derivatives taken at one temperature are not carried further."""


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
    relative_uncertainty : float
        Relative standard uncertainty of all of them. [-]
    """

    speed_m_per_s: FloatArray
    depression_per_k: FloatArray
    depression_per_level: FloatArray
    depression_per_ambient: FloatArray
    return_percent_per_k: float = 0.0
    return_percent_per_level: float = 0.0
    return_percent_per_ambient: float = 0.0
    relative_uncertainty: float = MODEL_UNCERTAINTY_SHARE


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
    findings : tuple of Finding
        What is missing.
    """

    added: FloatArray
    mean: float
    standard_uncertainty: float
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
    added, uncertainty = _bring(slopes, state, reference, sensitivity.relative_uncertainty)
    outside = _outside(sensitivity, speed_m_per_s, place)
    return Correction(
        added=added,
        mean=float(added.mean()),
        standard_uncertainty=uncertainty,
        findings=outside,
    )


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
    added, uncertainty = _bring(slopes, state, reference, sensitivity.relative_uncertainty)
    return Correction(added=added, mean=float(added[0]), standard_uncertainty=uncertainty)


def difference_uncertainty(
    baseline: Sequence[ReducedRun],
    candidate: Sequence[ReducedRun],
    model_share: float = MODEL_UNCERTAINTY_SHARE,
) -> float:
    """
    Give the uncertainty of the difference of two configurations' mean corrections.

    Parameters
    ----------
    baseline, candidate : sequence of ReducedRun
        Runs compared, at least one each.
    model_share : float
        Relative standard uncertainty of the derivatives. [-]

    Returns
    -------
    float
        Standard uncertainty: the model's share of the difference, for both configurations
        share the model, with the sensors' part of each run in quadrature. [Pa]
    """
    means, sensors = [], 0.0
    for runs in (baseline, candidate):
        means.append(sum(run.depression_correction_pa for run in runs) / len(runs))
        for run in runs:
            model = model_share * run.depression_correction_pa
            sensors += max(run.depression_correction_u_pa**2 - model**2, 0.0) / len(runs) ** 2
    return math.hypot(model_share * (means[1] - means[0]), math.sqrt(sensors))


def refuse_depression(
    baseline: Sequence[ReducedRun],
    candidate: Sequence[ReducedRun],
    model_share: float = MODEL_UNCERTAINTY_SHARE,
) -> Finding | None:
    """
    Say whether two configurations may not be compared for depression.

    Parameters
    ----------
    baseline, candidate, model_share
        As for `difference_uncertainty`.

    Returns
    -------
    Finding or None
        The reason of the refusal; None when they may be compared.
    """
    place = f"{candidate[0].configuration} against {baseline[0].configuration}, depression"
    uncertainty = difference_uncertainty(baseline, candidate, model_share)
    if not uncertainty <= LARGEST_DIFFERENCE_U_PA:
        text = f"the corrections differ with an uncertainty of {uncertainty:.0f} Pa,"
        text += f" more than {LARGEST_DIFFERENCE_U_PA:.0f} Pa: comparison refused."
        return warning(place, text, "Log the fuel temperature; run both at like conditions.")
    temperatures = [
        [run.fuel_temperature_k for run in runs if run.fuel_temperature_k is not None]
        for runs in (baseline, candidate)
    ]
    if temperatures[0] and temperatures[1]:
        apart = abs(float(np.mean(temperatures[1])) - float(np.mean(temperatures[0])))
        if apart > LARGEST_TEMPERATURE_DIFFERENCE_K:
            text = f"fuel temperatures differ by {apart:.1f} K, more than"
            text += f" {LARGEST_TEMPERATURE_DIFFERENCE_K:.0f} K: comparison refused."
            return warning(place, text, "Run both at like fuel temperature.")
    return None


def _bring(
    slopes: Sequence[FloatArray], state: State, reference: Conditions, share: float
) -> tuple[FloatArray, float]:
    """Sum the three corrections and put their uncertainty together."""
    temperature = state.fuel_temperature_k
    assert temperature is not None
    steps = (
        reference.fuel_temperature_k - temperature,
        reference.fuel_level_fraction - state.fuel_level_fraction,
        reference.ambient_pressure_abs_pa - state.ambient_pressure_abs_pa,
    )
    parts = [slope * step for slope, step in zip(slopes, steps, strict=True)]
    # Sizes are added, not parts: a warm and a level correction of unlike sign must not hide
    # each other's doubt.
    size = sum(abs(float(part.mean())) for part in parts)
    sensors = math.hypot(
        float(slopes[0].mean()) * TEMPERATURE_U_K, float(slopes[1].mean()) * LEVEL_U_FRACTION
    )
    return np.asarray(sum(parts), dtype=np.float64), math.hypot(share * size, sensors)


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
