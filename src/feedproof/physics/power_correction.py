"""
Correction of a compression-ignition engine's power to reference air.

Power only: a depression is never corrected by it.  Corrected and uncorrected values are given
side by side, since modern boost control already makes up for the air and UN R85 has dropped the
double correction for engines that do.  Formulas for spark-ignition engines are not here: on a
turbocharged diesel they inflate the power.

Standing: the engine factor 0.036 qc - 1.14, the three engine groups and the limits 0.9 to 1.1
were seen in print.  The exponents (1.5 in UN R85, 1.2 and 0.7 in ISO 1585 and SAE J1349) and the
knees (40 or 37.2 mg/(L cycle)) are from memory: confirm them in the texts before a report cites a
clause.  The step from 1.2 to 1.5 moves the factor by about 0.7 % at 308 K.
"""

import math
from enum import IntEnum

from feedproof.core.compiled import formula

REFERENCE_DRY_PRESSURE_PA = 99000.0
REFERENCE_TEMPERATURE_K = 298.0

GROUP_NATURAL_OR_MECHANICAL = 0
GROUP_TURBO = 1
GROUP_TURBO_LIQUID_COOLED = 2
STANDARD_ISO_1585 = 0
STANDARD_UN_R85 = 1
STANDARD_SAE_J1349 = 2

_UPPER_KNEE = 0.065
_LOWER_KNEE = 0.040
_LOWER_KNEE_SAE = 0.0372


class EngineGroup(IntEnum):
    """
    Group of a compression-ignition engine by its charging.

    Attributes
    ----------
    NATURAL_OR_MECHANICAL
        Naturally aspirated or mechanically charged.
    TURBO
        Turbocharged without charge cooling or with air-to-air cooling.
    TURBO_LIQUID_COOLED
        Turbocharged with liquid-cooled charge air.
    """

    NATURAL_OR_MECHANICAL = GROUP_NATURAL_OR_MECHANICAL
    TURBO = GROUP_TURBO
    TURBO_LIQUID_COOLED = GROUP_TURBO_LIQUID_COOLED


class PowerStandard(IntEnum):
    """
    Text that the correction follows.

    Attributes
    ----------
    ISO_1585
        ISO 1585, net power of road vehicles.
    UN_R85
        UN Regulation No. 85.
    SAE_J1349
        SAE J1349, 2004 family.
    """

    ISO_1585 = STANDARD_ISO_1585
    UN_R85 = STANDARD_UN_R85
    SAE_J1349 = STANDARD_SAE_J1349


@formula
def atmospheric_factor(
    dry_pressure_abs_pa: float, temperature_k: float, group: int, standard: int
) -> float:
    """
    Give the atmospheric factor fa.

    Parameters
    ----------
    dry_pressure_abs_pa : float
        Pressure of the dry ambient air, above 0 [Pa].
    temperature_k : float
        Temperature of the air at the engine's inlet, above 0 [K].
    group : int
        Code of an `EngineGroup` [1].
    standard : int
        Code of a `PowerStandard` [1].

    Returns
    -------
    float
        Factor, 1 at 99 kPa dry and 298 K [1].

    Notes
    -----
    Exponents from memory.  UN R85 knows turbocharged engines with or without cooling as one
    group: exponent 1.5 for both.
    """
    pressure_ratio = REFERENCE_DRY_PRESSURE_PA / dry_pressure_abs_pa
    temperature_ratio = temperature_k / REFERENCE_TEMPERATURE_K
    if group == GROUP_NATURAL_OR_MECHANICAL:
        return pressure_ratio * math.pow(temperature_ratio, 0.7)
    exponent = 1.2
    if standard == STANDARD_UN_R85:
        exponent = 1.5
    elif group == GROUP_TURBO_LIQUID_COOLED:
        exponent = 0.7
    return math.pow(pressure_ratio, 0.7) * math.pow(temperature_ratio, exponent)


@formula
def fuel_per_cycle(
    fuel_flow_kg_per_s: float,
    displacement_m3: float,
    engine_speed_rev_per_s: float,
    revolutions_per_cycle: float,
) -> float:
    """
    Give the fuel per cycle and displacement, q.

    Parameters
    ----------
    fuel_flow_kg_per_s : float
        Fuel burnt [kg/s].
    displacement_m3 : float
        Engine displacement, above 0 [m3].
    engine_speed_rev_per_s : float
        Engine speed, above 0 [rev/s].
    revolutions_per_cycle : float
        2 for four-stroke, 1 for two-stroke [rev].

    Returns
    -------
    float
        Fuel per cycle and displacement; 1 mg/(L cycle) is 0.001 [kg/m3].
    """
    return revolutions_per_cycle * fuel_flow_kg_per_s / (displacement_m3 * engine_speed_rev_per_s)


@formula
def engine_factor(corrected_fuel_kg_per_m3: float, standard: int) -> float:
    """
    Give the engine factor fm.

    Parameters
    ----------
    corrected_fuel_kg_per_m3 : float
        qc, the fuel per cycle over the boost pressure ratio (1 without boost) [kg/m3].
    standard : int
        Code of a `PowerStandard` [1].

    Returns
    -------
    float
        0.036 qc - 1.14 with qc in mg/(L cycle) [1]; 1.2 above 65; below the lower knee 0.3 (ISO
        1585 and UN R85, 40) or 0.2 (SAE J1349, 37.2, where the line reads 0.1992: the text's own
        step).

    Notes
    -----
    The line was seen, the knees are from memory.
    """
    lower = _LOWER_KNEE_SAE if standard == STANDARD_SAE_J1349 else _LOWER_KNEE
    if corrected_fuel_kg_per_m3 < lower:
        return 0.2 if standard == STANDARD_SAE_J1349 else 0.3
    if corrected_fuel_kg_per_m3 > _UPPER_KNEE:
        return 1.2
    return 36.0 * corrected_fuel_kg_per_m3 - 1.14


@formula
def power_correction_factor(
    dry_pressure_abs_pa: float,
    temperature_k: float,
    corrected_fuel_kg_per_m3: float,
    group: int,
    standard: int,
) -> float:
    """
    Give the factor that turns measured into reference power, fa^fm.

    Parameters
    ----------
    dry_pressure_abs_pa : float
        Pressure of the dry ambient air [Pa].
    temperature_k : float
        Temperature of the air at the engine's inlet [K].
    corrected_fuel_kg_per_m3 : float
        qc, the fuel per cycle over the boost pressure ratio [kg/m3].
    group : int
        Code of an `EngineGroup` [1].
    standard : int
        Code of a `PowerStandard` [1].

    Returns
    -------
    float
        Factor [1]; use it only where `correction_range_faults` is empty.
    """
    fa = atmospheric_factor(dry_pressure_abs_pa, temperature_k, group, standard)
    return math.pow(fa, engine_factor(corrected_fuel_kg_per_m3, standard))


def correction_range_faults(
    dry_pressure_abs_pa: float, temperature_k: float, factor: float
) -> list[str]:
    """
    Say in words which limits of the correction a test has left.

    Parameters
    ----------
    dry_pressure_abs_pa : float
        Pressure of the dry ambient air [Pa].
    temperature_k : float
        Temperature of the air at the engine's inlet [K].
    factor : float
        `power_correction_factor` [1].

    Returns
    -------
    list of str
        One sentence per limit left: report the power uncorrected then.

    Notes
    -----
    Limits of UN R85 (air: memory; factor: seen), used for all three texts.
    """
    faults = []
    if not 80000.0 <= dry_pressure_abs_pa <= 110000.0:
        faults.append(
            f"dry pressure {dry_pressure_abs_pa / 1000.0:.1f} kPa lies outside 80 to 110 kPa"
        )
    if not 283.0 <= temperature_k <= 313.0:
        faults.append(f"intake temperature {temperature_k:.1f} K lies outside 283 to 313 K")
    if not 0.9 <= factor <= 1.1:
        faults.append(f"correction factor {factor:.3f} lies outside 0.9 to 1.1")
    return faults
