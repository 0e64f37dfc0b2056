"""
Budgets of wheel power, of its change on one roller, and of power corrected to reference air.

Exponents of the correction (0.7, 1.2, 1.5) are those of `feedproof.physics.power_correction`,
from memory of ISO 1585, UN R85 and SAE J1349; no sensitivity is typed here, each is the
derivative of that correction.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.evidence.budget.doubt import Doubt, Source
from feedproof.evidence.budget.measurand import Measurand
from feedproof.physics.power_correction import EngineGroup, PowerStandard, power_correction_factor

FloatArray = NDArray[np.float64]


def wheel_power(*, power_w: Any, torque_error: Any, speed_error: Any) -> Any:
    """
    Give the wheel power from what the roller reads.

    Parameters
    ----------
    power_w : float or array
        Torque times speed as read. [W]
    torque_error, speed_error : float or array
        Errors of both, as ratios. [-]

    Returns
    -------
    float or array
        Wheel power. [W]
    """
    return power_w * (1.0 + torque_error) * (1.0 + speed_error)


def power_loss(*, loss_percent: Any, slope_error: Any, drift: Any) -> Any:
    """
    Give the loss between two powers on one roller.

    Parameters
    ----------
    loss_percent : float or array
        -100 ln of the ratio of readings. [log-percent]
    slope_error : float or array
        Error of the roller's slope. [-]
    drift : float or array
        What of the roller's error moved between the readings, as a ratio. [-]

    Returns
    -------
    float or array
        Loss. [log-percent]

    Notes
    -----
    A factor common to both readings cancels in the ratio: what the class allows is left only
    where the scale is not straight.
    """
    return loss_percent * (1.0 + slope_error) - 100.0 * np.log1p(drift)


@dataclass(frozen=True, slots=True)
class CorrectedPower:
    """
    Power corrected to reference air, by one published text.

    Parameters
    ----------
    group : EngineGroup
        Charge of the engine.
    standard : PowerStandard
        The text.
    """

    group: EngineGroup
    standard: PowerStandard

    def __call__(
        self,
        *,
        power_w: Any,
        torque_error: Any,
        speed_error: Any,
        dry_pressure_abs_pa: Any,
        air_temperature_k: Any,
        corrected_fuel_kg_per_m3: Any,
    ) -> Any:
        """
        Give the corrected power.

        Parameters
        ----------
        power_w, torque_error, speed_error : float or array
            As of `wheel_power`. [W], [-]
        dry_pressure_abs_pa, air_temperature_k : float or array
            Dry air. [Pa], [K]
        corrected_fuel_kg_per_m3 : float or array
            Fuel per cycle over boost ratio, from which the engine's exponent follows. [kg/m3]

        Returns
        -------
        float or array
            Power at reference air. [W]
        """
        pressure, temperature, fuel = np.broadcast_arrays(
            *(
                np.atleast_1d(np.asarray(each, dtype=np.float64))
                for each in (dry_pressure_abs_pa, air_temperature_k, corrected_fuel_kg_per_m3)
            )
        )
        factor = correction_factors(
            np.ascontiguousarray(pressure),
            np.ascontiguousarray(temperature),
            np.ascontiguousarray(fuel),
            int(self.group),
            int(self.standard),
        )
        read = wheel_power(power_w=power_w, torque_error=torque_error, speed_error=speed_error)
        return read * (factor if factor.size > 1 else float(factor[0]))


@formula
def correction_factors(
    dry_pressure_abs_pa: FloatArray,
    air_temperature_k: FloatArray,
    corrected_fuel_kg_per_m3: FloatArray,
    group: int,
    standard: int,
) -> FloatArray:
    """
    Give the factor to reference air for many airs.

    Parameters
    ----------
    dry_pressure_abs_pa, air_temperature_k, corrected_fuel_kg_per_m3 : array, shape (n,)
        Dry air, and fuel per cycle over boost ratio. [Pa], [K], [kg/m3]
    group, standard : int, int
        Codes of an `EngineGroup` and a `PowerStandard`.

    Returns
    -------
    array, shape (n,)
        Factors. [-]
    """
    found = np.empty(dry_pressure_abs_pa.size)
    for n in range(dry_pressure_abs_pa.size):
        found[n] = power_correction_factor(
            dry_pressure_abs_pa[n],
            air_temperature_k[n],
            corrected_fuel_kg_per_m3[n],
            group,
            standard,
        )
    return found


def power_at_wheel(*, power_w: float, torque: Doubt, speed: Doubt) -> Measurand:
    """
    Describe one wheel power.

    Parameters
    ----------
    power_w : float
        As read. [W]
    torque, speed : Doubt
        Of the roller, as ratios. [-]

    Returns
    -------
    Measurand
        In W.
    """
    return Measurand(
        quantity="wheel power",
        unit="W",
        model=wheel_power,
        sources=_roller(torque, speed),
        fixed=(("power_w", power_w),),
    )


def power_difference(*, loss_percent: float, torque: Doubt, drift: Doubt) -> Measurand:
    """
    Describe a loss of wheel power on one roller.

    Parameters
    ----------
    loss_percent : float
        As read. [log-percent]
    torque : Doubt
        Of the roller's torque, taken as the error of its slope, as a ratio. [-]
    drift : Doubt
        Of the roller between the readings, as a ratio. [-]

    Returns
    -------
    Measurand
        In log-percent.

    Notes
    -----
    That the slope is off by no more than the class is an assumption, as it is of a gauge.
    """
    return Measurand(
        quantity="loss of wheel power, one roller",
        unit="log-percent",
        model=power_loss,
        sources=(
            Source(
                symbol="slope_error", name="slope of the roller", value=0.0, unit="1", doubt=torque
            ),
            Source(symbol="drift", name="drift of the roller", value=0.0, unit="1", doubt=drift),
        ),
        fixed=(("loss_percent", loss_percent),),
    )


def power_corrected(
    *,
    power_w: float,
    torque: Doubt,
    speed: Doubt,
    dry_pressure_abs_pa: float,
    dry_pressure: Doubt,
    air_temperature_k: float,
    air_temperature: Doubt,
    corrected_fuel_kg_per_m3: float,
    corrected_fuel: Doubt,
    group: EngineGroup,
    standard: PowerStandard,
) -> Measurand:
    """
    Describe one power corrected to reference air.

    Parameters
    ----------
    power_w : float
        As read. [W]
    torque, speed : Doubt
        Of the roller, as ratios. [-]
    dry_pressure_abs_pa, dry_pressure : float, Doubt
        Dry air pressure and its doubt. [Pa]
    air_temperature_k, air_temperature : float, Doubt
        Air temperature and its doubt. [K]
    corrected_fuel_kg_per_m3, corrected_fuel : float, Doubt
        Fuel per cycle over boost ratio and its doubt. [kg/m3]
    group : EngineGroup
        Charge of the engine.
    standard : PowerStandard
        Text that the correction follows.

    Returns
    -------
    Measurand
        In W.
    """
    return Measurand(
        quantity="wheel power corrected to reference air",
        unit="W",
        model=CorrectedPower(group, standard),
        sources=(
            *_roller(torque, speed),
            Source(
                symbol="dry_pressure_abs_pa",
                name="pressure of the dry air",
                value=dry_pressure_abs_pa,
                unit="Pa",
                doubt=dry_pressure,
            ),
            Source(
                symbol="air_temperature_k",
                name="temperature of the air",
                value=air_temperature_k,
                unit="K",
                doubt=air_temperature,
            ),
            Source(
                symbol="corrected_fuel_kg_per_m3",
                name="fuel per cycle over boost",
                value=corrected_fuel_kg_per_m3,
                unit="kg/m3",
                doubt=corrected_fuel,
            ),
        ),
        fixed=(("power_w", power_w),),
    )


def _roller(torque: Doubt, speed: Doubt) -> tuple[Source, Source]:
    """List the doubts of a roller."""
    return (
        Source(
            symbol="torque_error", name="torque of the roller", value=0.0, unit="1", doubt=torque
        ),
        Source(symbol="speed_error", name="speed of the roller", value=0.0, unit="1", doubt=speed),
    )
