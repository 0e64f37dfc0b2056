"""What a line and its pump are asked under: the two small bundles that every solver takes."""

from typing import NamedTuple

NO_AIR_DRAWN_K = 293.15
"""Air temperature where nothing draws air, so that it does not matter. [K]"""


class Surroundings(NamedTuple):
    """
    The world around a line.

    Fields in order: depression at the pump inlet without flow, air pressure, pressure at which
    the fuel is saturated with air (that of the gas above it, since the foaming return keeps it
    saturated) [Pa]; temperature of the air that a leak draws in [K].
    """

    static_pa: float
    ambient_abs_pa: float
    saturation_abs_pa: float
    air_temperature_k: float


class Demand(NamedTuple):
    """
    What an operating point asks of the pump.

    Fields in order: pump speed [rev/s]; fuel that the engine wants and back-leak [m3/s].
    """

    pump_speed_rev_per_s: float
    injected_m3_per_s: float
    backleak_m3_per_s: float
