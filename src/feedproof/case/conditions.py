"""The conditions under which a line is asked: air, fuel, level, slope, loading."""

from collections.abc import Mapping
from dataclasses import dataclass, field

STANDARD_PRESSURE_ABS_PA = 101325.0
"""Sea-level pressure of ISO 2533, [Pa]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """
    One state of the world around the line.

    Parameters
    ----------
    fuel : str
        Name of a fuel of the case.
    fuel_temperature_k : float
        At the pump inlet; of the whole line where the two below are not given. [K]
    ambient_pressure_abs_pa : float
        Air pressure. [Pa]
    fuel_level_fraction : float
        Fuel in the tank over its capacity. [-]
    road_pitch_rad : float
        Climb of the road, tank behind the pump positive. [rad]
    tank_depression_pa : float
        Tank below ambient, by a blocked breather. [Pa]
    captured_mass_kg : mapping of str to float
        Dirt held by elements, by id; absent means clean. [kg]
    tank_fuel_temperature_k : float or None
        Fuel as it leaves the tank; between there and the pump inlet the temperature changes with
        the wall that the fuel has passed. [K]
    return_fuel_temperature_k : float or None
        Fuel in the return line. [K]
    name : str
        Name in words.
    """

    fuel: str
    fuel_temperature_k: float
    ambient_pressure_abs_pa: float = STANDARD_PRESSURE_ABS_PA
    fuel_level_fraction: float = 0.5
    road_pitch_rad: float = 0.0
    tank_depression_pa: float = 0.0
    captured_mass_kg: Mapping[str, float] = field(default_factory=dict)
    tank_fuel_temperature_k: float | None = None
    return_fuel_temperature_k: float | None = None
    name: str = ""
