"""
Orifice plate: the known loss that a test must find, and a flow meter.

Coefficients after ISO 5167-2.  Below a pipe Reynolds number of 5000 the coefficient has no
standing; a fuel line runs below it most of the time, so a positive control made from an orifice
must be measured, not only computed.
"""

import math

from feedproof.core.compiled import formula

TAPS_CORNER = 0
TAPS_D_AND_HALF_D = 1

_SMALL_PIPE_M = 0.07112
_INCH_M = 0.0254
_LEAST_REYNOLDS = 5000.0
_LEAST_PIPE_M = 0.05
_LEAST_BORE_M = 0.0125


@formula
def orifice_discharge_coefficient(
    bore_ratio: float, pipe_reynolds: float, pipe_bore_m: float, taps: int
) -> float:
    """
    Give the discharge coefficient of a sharp concentric orifice.

    Parameters
    ----------
    bore_ratio : float
        Orifice over pipe bore, 0.1 to 0.75 [1].
    pipe_reynolds : float
        Reynolds number on the pipe bore, at least 5000 [1].
    pipe_bore_m : float
        Pipe bore, at least 0.05 in the standard [m].
    taps : int
        `TAPS_CORNER` or `TAPS_D_AND_HALF_D` [1].

    Returns
    -------
    float
        Discharge coefficient; not a number at rest or for a tap code that does not exist [1].

    Notes
    -----
    ISO 5167-2, Reader-Harris/Gallagher.
    """
    if pipe_reynolds <= 0.0:
        return math.nan
    if taps == TAPS_CORNER:
        upstream = 0.0
        downstream = 0.0
    elif taps == TAPS_D_AND_HALF_D:
        upstream = 1.0
        downstream = 0.47
    else:
        return math.nan
    b = bore_ratio
    b4 = b**4
    a = math.pow(19000.0 * b / pipe_reynolds, 0.8)
    m = 2.0 * downstream / (1.0 - b)
    million = 1e6 / pipe_reynolds
    value = 0.5961 + 0.0261 * b * b - 0.216 * b4 * b4
    value += 0.000521 * math.pow(b * million, 0.7)
    value += (0.0188 + 0.0063 * a) * math.pow(b, 3.5) * math.pow(million, 0.3)
    tap_term = 0.043 + 0.080 * math.exp(-10.0 * upstream) - 0.123 * math.exp(-7.0 * upstream)
    value += tap_term * (1.0 - 0.11 * a) * b4 / (1.0 - b4)
    value -= 0.031 * (m - 0.8 * math.pow(m, 1.1)) * math.pow(b, 1.3)
    if pipe_bore_m < _SMALL_PIPE_M:
        value += 0.011 * (0.75 - b) * (2.8 - pipe_bore_m / _INCH_M)
    return value


@formula
def orifice_permanent_loss_coefficient(bore_ratio: float, discharge_coefficient: float) -> float:
    """
    Give the lasting loss coefficient of an orifice, on the pipe's velocity head.

    Parameters
    ----------
    bore_ratio : float
        Orifice over pipe bore, below 1 [1].
    discharge_coefficient : float
        Discharge coefficient [1].

    Returns
    -------
    float
        Loss coefficient of what is not recovered behind the plate [1].

    Notes
    -----
    ISO 5167-2: K = (sqrt(1 - b^4 (1 - C^2))/(C b^2) - 1)^2.
    """
    b2 = bore_ratio * bore_ratio
    c = discharge_coefficient
    return (math.sqrt(1.0 - b2 * b2 * (1.0 - c * c)) / (c * b2) - 1.0) ** 2


@formula
def orifice_expansibility(
    bore_ratio: float, upstream_abs_pa: float, downstream_abs_pa: float, isentropic_exponent: float
) -> float:
    """
    Give the expansibility factor of a gas through an orifice.

    Parameters
    ----------
    bore_ratio : float
        Orifice over pipe bore [1].
    upstream_abs_pa : float
        Absolute pressure before the plate [Pa].
    downstream_abs_pa : float
        Absolute pressure behind the plate, at least 0.75 of the other [Pa].
    isentropic_exponent : float
        Of the gas [1].

    Returns
    -------
    float
        Factor, 1 for a liquid [1].

    Notes
    -----
    ISO 5167-2:2003.
    """
    b4 = bore_ratio**4
    ratio = downstream_abs_pa / upstream_abs_pa
    expanded = math.pow(ratio, 1.0 / isentropic_exponent)
    return 1.0 - (0.351 + 0.256 * b4 + 0.93 * b4 * b4) * (1.0 - expanded)


@formula
def orifice_mass_flow(
    bore_m: float,
    pipe_bore_m: float,
    differential_pa: float,
    density_kg_per_m3: float,
    discharge_coefficient: float,
    expansibility_ratio: float,
) -> float:
    """
    Give the mass flow through an orifice plate.

    Parameters
    ----------
    bore_m : float
        Bore of the orifice [m].
    pipe_bore_m : float
        Bore of the pipe [m].
    differential_pa : float
        Pressure difference between the taps, signed [Pa].
    density_kg_per_m3 : float
        Density before the plate [kg/m3].
    discharge_coefficient : float
        Discharge coefficient [1].
    expansibility_ratio : float
        1 for a liquid [1].

    Returns
    -------
    float
        Mass flow with the sign of the pressure difference [kg/s].

    Notes
    -----
    ISO 5167-1.
    """
    ratio = bore_m / pipe_bore_m
    velocity_factor = discharge_coefficient / math.sqrt(1.0 - ratio**4)
    area_m2 = 0.25 * math.pi * bore_m * bore_m
    flow = math.sqrt(2.0 * density_kg_per_m3 * abs(differential_pa))
    return math.copysign(velocity_factor * expansibility_ratio * area_m2 * flow, differential_pa)


def orifice_range_faults(bore_ratio: float, pipe_reynolds: float, pipe_bore_m: float) -> list[str]:
    """
    Say in words where an orifice leaves ISO 5167-2.

    Parameters
    ----------
    bore_ratio : float
        Orifice over pipe bore [1].
    pipe_reynolds : float
        Reynolds number on the pipe bore [1].
    pipe_bore_m : float
        Pipe bore [m].

    Returns
    -------
    list of str
        One sentence per limit left; empty inside the standard.
    """
    faults = []
    if not 0.1 <= bore_ratio <= 0.75:
        faults.append(f"bore ratio {bore_ratio:g} lies outside 0.1 to 0.75 (ISO 5167-2)")
    least = max(_LEAST_REYNOLDS, 16000.0 * bore_ratio**2 if bore_ratio > 0.56 else 0.0)
    if pipe_reynolds < least:
        faults.append(
            f"pipe Reynolds number {pipe_reynolds:.0f} is below {least:.0f} (ISO 5167-2):"
            " measure the orifice instead"
        )
    if pipe_bore_m < _LEAST_PIPE_M:
        faults.append(f"pipe bore {pipe_bore_m:g} m is below {_LEAST_PIPE_M:g} m (ISO 5167-2)")
    if bore_ratio * pipe_bore_m < _LEAST_BORE_M:
        faults.append(
            f"orifice bore {bore_ratio * pipe_bore_m:g} m is below {_LEAST_BORE_M:g} m (ISO 5167-2)"
        )
    return faults
