"""How each row of gas and vapour at an inlet is computed by the project."""

import math

from feedproof.core import units
from feedproof.physics import cavitation, gas
from tests.published.rows import Runner


def crane_7_32() -> float:
    """Give the suction head available of the book's cold-water pump, in metres."""
    density = 62.364 * 0.45359237 / 0.3048**3
    source = units.to_si(5.0, "psi") + 101325.0
    vapour = units.to_si(0.256, "psi")
    losses_pa = 6 * 0.3048 * density * 9.80665
    return cavitation.net_positive_suction_head(source, vapour, losses_pa, 25 * 0.3048, density)


KV_PER_SI = 3600.0 * math.sqrt(1e5)


def control_valve(recovery: float) -> Runner:
    """Wait to give Kv of the standard's control valve with hot water, 680 to 220 kPa."""

    def run() -> float:
        ratio = cavitation.critical_pressure_ratio_factor(70.1e3, 22120e3)
        choked = cavitation.choked_pressure_difference(recovery, 680e3, 70.1e3, ratio)
        return cavitation.valve_flow_coefficient(0.1, 460e3, choked, 965.4) * KV_PER_SI

    return run


RUNNERS: dict[str, Runner] = {
    "E001": lambda: cavitation.cavitation_number(2e5, 1e4, 1000.0, 10.0),
    "E002": lambda: crane_7_32() / 0.3048,
    "E003": crane_7_32,
    "E004": lambda: cavitation.net_positive_suction_head(95e3, 100.0, 15e3, 0.5, 830.0),
    "E006": lambda: cavitation.critical_pressure_ratio_factor(70.1e3, 22120e3),
    "E007": control_valve(0.9),
    "E007C": control_valve(0.6),
    "E007R": lambda: cavitation.valve_reynolds_number(
        360.0 / 3600.0, 3.26e-7, 165.0 / KV_PER_SI, 0.9, 0.46, 0.15
    ),
    "E009": lambda: cavitation.choked_pressure_difference(0.6, 680e3, 70.1e3, 0.94) / 1e3,
    "E010": lambda: gas.equilibrium_free_gas_ratio(70e3, 95e3, 0.12),
}
