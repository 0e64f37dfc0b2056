"""Pulsation of the pump against the sampling of the logger."""

import numpy as np
from numpy.typing import NDArray

from feedproof.case.case import Case
from feedproof.core.findings import Finding, note
from feedproof.evidence.assemble import Trace
from feedproof.evidence.filters import sample_period
from feedproof.physics.kinematics import engine_speed

FloatArray = NDArray[np.float64]

# Below this many samples per pump revolution a pulsation may appear as a slow wave.
SAMPLES_PER_PULSATION = 10.0


def nominal_engine_speed(case: Case, speed_m_per_s: FloatArray) -> FloatArray:
    """
    Give the engine speed that the gearing makes of a road speed.

    Parameters
    ----------
    case : Case
        For the gearing.
    speed_m_per_s : array, shape (n,)
        Road speeds. [m/s]

    Returns
    -------
    array, shape (n,)
        Engine speeds. [rev/s]
    """
    gearing = case.vehicle.gearing
    return np.array(
        [
            engine_speed(
                float(speed),
                gearing.rolling_radius_m,
                gearing.tyre_slip_fraction,
                gearing.gear_ratio,
                gearing.final_drive_ratio,
            )
            for speed in speed_m_per_s
        ]
    )


def warn_of_aliasing(
    trace: Trace, pump_rev_per_s: float, place: str, findings: list[Finding]
) -> None:
    """
    Note a sampling rate that needs a filter in the instrument.

    Parameters
    ----------
    trace : Trace
        The depression's samples.
    pump_rev_per_s : float
        Lowest pump speed of the band. [rev/s]
    place : str
        Of the run, for the finding.
    findings : list of Finding
        Added to.
    """
    rate = 1.0 / sample_period(trace.time_s[np.isfinite(trace.raw)])
    if rate < SAMPLES_PER_PULSATION * pump_rev_per_s:
        text = f"sampled at {rate:.0f} Hz while the pump turns {pump_rev_per_s:.0f} times a second"
        text += " or more: without a low-pass filter in the instrument the mean may be wrong by"
        findings.append(note(f"{place}, depression", f"{text} as much as the pulsation."))
