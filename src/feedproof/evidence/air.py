"""
Wheel power beside its correction to reference air by three published texts.

The uncorrected power is judged; the corrected one stands beside it, because a modern boost
control already makes up for the air and a correction would count it twice.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedproof.case.run import Run
from feedproof.case.vehicle import ChargeCooling, Engine
from feedproof.core.findings import Finding, warning
from feedproof.physics.atmosphere import dry_pressure
from feedproof.physics.power_correction import (
    EngineGroup,
    PowerStandard,
    correction_range_faults,
    fuel_per_cycle,
    power_correction_factor,
)

FloatArray = NDArray[np.float64]

GROUPS = {
    ChargeCooling.NATURAL: EngineGroup.NATURAL_OR_MECHANICAL,
    ChargeCooling.TURBO_AIR: EngineGroup.TURBO,
    ChargeCooling.TURBO_LIQUID: EngineGroup.TURBO_LIQUID_COOLED,
}
_TITLES = {
    PowerStandard.ISO_1585: "ISO 1585",
    PowerStandard.UN_R85: "UN R85",
    PowerStandard.SAE_J1349: "SAE J1349",
}
_REVOLUTIONS_PER_CYCLE = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerFactors:
    """
    Correction factors of one run.

    Parameters
    ----------
    factors : mapping of PowerStandard to array, shape (n_bins,)
        Corrected over measured power, per bin. [-]
    dry_pressure_abs_pa : float
        Dry air pressure. [Pa]
    findings : tuple of Finding
        Limits of validity that the run has left.
    """

    factors: dict[PowerStandard, FloatArray]
    dry_pressure_abs_pa: float
    findings: tuple[Finding, ...] = field(default_factory=tuple)

    def describe(self) -> str:
        """
        Write the factors in words.

        Returns
        -------
        str
            Range of the factor over the bins for each text.
        """
        return "; ".join(
            f"{_TITLES[standard]} {np.nanmin(factor):.4f} to {np.nanmax(factor):.4f}"
            for standard, factor in self.factors.items()
        )


def full_load_fuel(engine: Engine, engine_rev_per_s: FloatArray) -> FloatArray:
    """
    Give the fuel burnt at full load from the engine's curves.

    Parameters
    ----------
    engine : Engine
        Full-load torque and specific consumption.
    engine_rev_per_s : array, shape (n,)
        Engine speed. [rev/s]

    Returns
    -------
    array, shape (n,)
        Fuel mass flow. [kg/s]
    """
    speeds = np.asarray(engine.speed_rev_per_s)
    torque = np.interp(engine_rev_per_s, speeds, np.asarray(engine.torque_nm))
    consumption = np.interp(
        engine_rev_per_s, speeds, np.asarray(engine.specific_consumption_kg_per_j)
    )
    return np.asarray(2.0 * np.pi * engine_rev_per_s * torque * consumption, dtype=np.float64)


def power_factors(
    run: Run,
    engine: Engine,
    engine_rev_per_s: FloatArray,
    fuel_kg_per_s: FloatArray,
    place: str,
) -> PowerFactors:
    """
    Give the factors by ISO 1585, UN R85 and SAE J1349.

    Parameters
    ----------
    run : Run
        Air in the cell.
    engine : Engine
        Displacement, charge and boost.
    engine_rev_per_s, fuel_kg_per_s : array, shape (n_bins,)
        Engine speed and fuel burnt. [rev/s], [kg/s]
    place : str
        Run, for messages.

    Returns
    -------
    PowerFactors
        Per text, with each limit of validity that is left as a finding.
    """
    dry = dry_pressure(
        run.ambient_pressure_abs_pa, run.air_temperature_k, run.relative_humidity_fraction
    )
    group = int(GROUPS[engine.charge])
    factors: dict[PowerStandard, FloatArray] = {}
    told: dict[str, None] = {}
    for standard in PowerStandard:
        factor = np.full(engine_rev_per_s.size, np.nan)
        for number, speed in enumerate(engine_rev_per_s):
            if not (np.isfinite(speed) and np.isfinite(fuel_kg_per_s[number])):
                continue
            per_cycle = fuel_per_cycle(
                float(fuel_kg_per_s[number]),
                engine.displacement_m3,
                float(speed),
                _REVOLUTIONS_PER_CYCLE,
            )
            factor[number] = power_correction_factor(
                dry,
                run.air_temperature_k,
                per_cycle / engine.boost_ratio,
                group,
                int(standard),
            )
        factors[standard] = factor
        if np.isfinite(factor).any():
            worst = float(factor[np.nanargmax(np.abs(factor - 1.0))])
            for fault in correction_range_faults(dry, run.air_temperature_k, worst):
                about = f"{_TITLES[standard]}: " if fault.startswith("correction") else ""
                told[about + fault] = None
    remedy = "Judge the uncorrected power only."
    findings = tuple(warning(f"{place}, power correction", f"{text}.", remedy) for text in told)
    return PowerFactors(factors=factors, dry_pressure_abs_pa=dry, findings=findings)
