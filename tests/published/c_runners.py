"""How each row of the atmosphere and of the power correction is computed by the project."""

from feedproof.physics import atmosphere, power_adjustment, power_correction
from feedproof.physics.power_correction import EngineGroup, PowerStandard
from tests.published.rows import Result, Runner

NATURAL = int(EngineGroup.NATURAL_OR_MECHANICAL)
TURBO = int(EngineGroup.TURBO)
LIQUID = int(EngineGroup.TURBO_LIQUID_COOLED)
ISO = int(PowerStandard.ISO_1585)
R85 = int(PowerStandard.UN_R85)
SAE = int(PowerStandard.SAE_J1349)


def standard_air(altitude_m: float) -> Runner:
    """Wait to give temperature in K, pressure in hPa and density at a geopotential altitude."""
    return lambda: (
        atmosphere.standard_temperature(altitude_m),
        atmosphere.standard_pressure(altitude_m) / 100.0,
        atmosphere.standard_density(altitude_m),
    )


def air_at_height(height_m: float) -> Runner:
    """Wait to give temperature, pressure in Pa and density at a geometric height."""

    def run() -> Result:
        altitude_m = atmosphere.geopotential_altitude(height_m)
        return (
            atmosphere.standard_temperature(altitude_m),
            atmosphere.standard_pressure(altitude_m),
            atmosphere.standard_density(altitude_m),
        )

    return run


def factors(kpa: float, kelvin: float, mg_per_l: float, group: int, standard: int) -> Runner:
    """Wait to give atmospheric factor, engine factor and their power."""

    def run() -> Result:
        qc = mg_per_l * 1e-3
        return (
            power_correction.atmospheric_factor(kpa * 1e3, kelvin, group, standard),
            power_correction.engine_factor(qc, standard),
            power_correction.power_correction_factor(kpa * 1e3, kelvin, qc, group, standard),
        )

    return run


def adjusted(
    kpa: float, kelvin: float, coolant: float, exponents: tuple[float, float, float]
) -> Runner:
    """Wait to give indicated and brake power of a site over reference, efficiency 0.8."""

    def run() -> Result:
        k = power_adjustment.indicated_power_ratio(kpa * 1e3, kelvin, coolant, *exponents)
        return k, power_adjustment.brake_power_ratio(k, 0.8)

    return run


def knees() -> Result:
    """Give the engine factor at 40, 65 and 37.2 mg/(L cycle)."""
    return (
        power_correction.engine_factor(0.040, R85),
        power_correction.engine_factor(0.065, R85),
        power_correction.engine_factor(0.0372, SAE),
    )


RUNNERS: dict[str, Runner] = {
    "C001": standard_air(0.0),
    "C002": standard_air(500.0),
    "C003": standard_air(1000.0),
    "C005": standard_air(2000.0),
    "C006": standard_air(2500.0),
    "C007": standard_air(3000.0),
    "C009": standard_air(5000.0),
    "C010": air_at_height(2000.0),
    "C011": air_at_height(4000.0),
    "C013": lambda: (
        atmosphere.water_saturation_pressure(293.15),
        atmosphere.water_saturation_pressure(298.15),
        atmosphere.water_saturation_pressure(308.15),
    ),
    "C014": lambda: atmosphere.dry_pressure(100e3, 298.15, 0.5) / 1e3,
    "C015": factors(96.0, 303.0, 50.0, NATURAL, R85),
    "C016": factors(90.0, 308.0, 50.0, TURBO, R85),
    "C017": factors(101.3, 293.0, 55.0, TURBO, R85),
    "C018": factors(84.0, 303.0, 35.0, TURBO, R85),
    "C020": factors(96.0, 303.0, 50.0, NATURAL, ISO),
    "C021": factors(90.0, 308.0, 50.0, TURBO, ISO),
    "C022": factors(90.0, 308.0, 50.0, LIQUID, ISO),
    "C024": factors(96.0, 303.0, 38.0, NATURAL, SAE),
    "C025": factors(90.0, 308.0, 35.0, TURBO, SAE),
    "C027": lambda: power_correction.fuel_per_cycle(5e-3, 2.2e-3, 4000.0 / 60.0, 2.0) * 1e3,
    "C028": knees,
    "C032": adjusted(90.0, 308.0, 298.0, (1.0, 0.75, 0.0)),
    "C033": adjusted(85.0, 313.0, 320.0, (0.7, 1.2, 1.0)),
    "C034": adjusted(80.0, 303.0, 298.0, (0.7, 2.0, 0.0)),
    "C036": lambda: power_adjustment.brake_power_ratio(1.056, 0.85),
    "C035": lambda: power_correction.power_correction_factor(99e3, 298.0, 0.05, TURBO, R85),
}
