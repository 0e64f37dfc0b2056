"""
What a cold start needs to know and no case says: each figure with its standing.

Nothing here is measured.  A figure is replaced by giving another one; the result lists them all,
so that none works in silence.
"""

import math
from dataclasses import dataclass, field, fields

from feedproof.case.vehicle import Vehicle
from feedproof.feedline.rail import RailData

INVENTED = "invented"
COMMON_PRACTICE = "common practice"
MEMORY = "memory, no source"
GIVEN = "given"


@dataclass(frozen=True, slots=True, kw_only=True)
class ColdData:
    """
    Heat capacities, walls, drive and start of a vehicle, with defaults that are no measurement.

    Parameters
    ----------
    tank_wall_w_per_m2_k : float
        Heat loss of the tank to the air. [W/(m2 K)]
    line_wall_w_per_m2_k : float
        Of feed and return line, on their inner wall. [W/(m2 K)]
    return_wall_m2 : float
        Inner wall of a return line that the case does not describe. [m2]
    housing_heat_j_per_k : float
        Heat capacity of one filter housing with its element, without fuel. [J/K]
    housing_volume_m3 : float
        Fuel in one filter housing whose volume the case does not say. [m3]
    housing_loss_w_per_k : float
        Heat loss of one filter housing to the air. [W/K]
    heater_w : float
        Electric heater in the factory filter. [W]
    pump_efficiency_fraction : float
        Hydraulic work of the high-pressure pump over that of its shaft. [-]
    drive_speed_fraction : float
        Engine speed of the drive over rated speed. [-]
    drive_load_fraction : float
        Fuel of the drive over that of full load at its speed. [-]
    drive_rail_pressure_pa : float
        Rail pressure of the drive. [Pa]
    cranking_speed_rev_per_s, idle_speed_rev_per_s : float
        Engine speed while cranking and at cold idle. [rev/s]
    start_fuel_fraction, idle_fuel_fraction : float
        Fuel of one injection over the swept volume of one cylinder. [-]
    high_pressure_m3_per_rev : float
        Fuel that the high-pressure pump takes per revolution of its shaft when wide open. [m3/rev]
    rail : RailData
        Rail and fuel in it.
    """

    tank_wall_w_per_m2_k: float = 10.0
    line_wall_w_per_m2_k: float = 30.0
    return_wall_m2: float = 0.12
    housing_heat_j_per_k: float = 500.0
    housing_volume_m3: float = 0.4e-3
    housing_loss_w_per_k: float = 0.5
    heater_w: float = 0.0
    pump_efficiency_fraction: float = 0.85
    drive_speed_fraction: float = 0.5
    drive_load_fraction: float = 0.3
    drive_rail_pressure_pa: float = 80e6
    cranking_speed_rev_per_s: float = 200.0 / 60.0
    idle_speed_rev_per_s: float = 800.0 / 60.0
    start_fuel_fraction: float = 8e-5
    idle_fuel_fraction: float = 2e-5
    high_pressure_m3_per_rev: float = 0.4e-6
    rail: RailData = field(default_factory=RailData)

    def start_fuel_m3_per_s(self, vehicle: Vehicle) -> float:
        """
        Give the fuel that a cranking engine wants.

        Parameters
        ----------
        vehicle : Vehicle
            For the swept volume.

        Returns
        -------
        float
            Each cylinder injects once in two revolutions. [m3/s]
        """
        swept = vehicle.engine.displacement_m3
        return 0.5 * self.start_fuel_fraction * swept * self.cranking_speed_rev_per_s

    def idle_fuel_m3_per_s(self, vehicle: Vehicle) -> float:
        """
        Give the fuel that a cold engine burns at idle.

        Parameters
        ----------
        vehicle : Vehicle
            For the swept volume.

        Returns
        -------
        float
            Each cylinder injects once in two revolutions. [m3/s]
        """
        swept = vehicle.engine.displacement_m3
        return 0.5 * self.idle_fuel_fraction * swept * self.idle_speed_rev_per_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """
    One figure that the case did not say.

    Parameters
    ----------
    name : str
        Field of `ColdData` or of `RailData`.
    meaning : str
        In words.
    value : float
        In SI.
    unit : str
        SI unit.
    standing : str
        Invented, common practice, memory or given.
    """

    name: str
    meaning: str
    value: float
    unit: str
    standing: str


_ABOUT: dict[str, tuple[str, str, str]] = {
    "tank_wall_w_per_m2_k": ("heat loss of the tank's wall", "W/(m2 K)", COMMON_PRACTICE),
    "line_wall_w_per_m2_k": ("heat loss of the lines' inner wall", "W/(m2 K)", INVENTED),
    "return_wall_m2": ("inner wall of a return line not described", "m2", INVENTED),
    "housing_heat_j_per_k": ("heat capacity of a filter housing", "J/K", INVENTED),
    "housing_volume_m3": ("fuel in a filter housing that gives no volume", "m3", INVENTED),
    "housing_loss_w_per_k": ("heat loss of a filter housing", "W/K", INVENTED),
    "heater_w": ("electric heater in the filter", "W", INVENTED),
    "pump_efficiency_fraction": ("efficiency of the high-pressure pump", "-", COMMON_PRACTICE),
    "drive_speed_fraction": ("engine speed of the drive over rated speed", "-", INVENTED),
    "drive_load_fraction": ("fuel of the drive over full load", "-", INVENTED),
    "drive_rail_pressure_pa": ("rail pressure of the drive", "Pa", INVENTED),
    "cranking_speed_rev_per_s": ("cranking speed", "rev/s", COMMON_PRACTICE),
    "idle_speed_rev_per_s": ("cold idle speed", "rev/s", COMMON_PRACTICE),
    "start_fuel_fraction": ("start injection over swept volume", "-", COMMON_PRACTICE),
    "idle_fuel_fraction": ("cold idle injection over swept volume", "-", COMMON_PRACTICE),
    "high_pressure_m3_per_rev": (
        "intake of the high-pressure pump per revolution",
        "m3/rev",
        MEMORY,
    ),
    "volume_m3": ("fuel in rail and lines", "m3", INVENTED),
    "bulk_modulus_pa": ("bulk modulus of fuel at rail pressure", "Pa", COMMON_PRACTICE),
    "start_pressure_pa": ("rail pressure of the first injection", "Pa", COMMON_PRACTICE),
}


def assumptions(data: ColdData) -> tuple[Assumption, ...]:
    """
    List every figure with its standing.

    Parameters
    ----------
    data : ColdData
        As used.

    Returns
    -------
    tuple of Assumption
        A figure that differs from its default stands as given.
    """
    usual = ColdData()
    listed = []
    for part, default in ((data, usual), (data.rail, usual.rail)):
        for each in fields(part):
            if each.name == "rail":
                continue
            value, meant = getattr(part, each.name), getattr(default, each.name)
            meaning, unit, standing = _ABOUT[each.name]
            if value != meant:
                standing = GIVEN
            listed.append(
                Assumption(
                    name=each.name, meaning=meaning, value=value, unit=unit, standing=standing
                )
            )
    return tuple(listed)


def tank_wall_m2(vehicle: Vehicle) -> float:
    """
    Give the wall of the tank.

    Parameters
    ----------
    vehicle : Vehicle
        For its capacity.

    Returns
    -------
    float
        That of a cube of the tank's capacity, the least that a box can have: a flat tank loses
        more (invented). [m2]
    """
    return 6.0 * math.pow(vehicle.tank.capacity_m3, 2.0 / 3.0)
