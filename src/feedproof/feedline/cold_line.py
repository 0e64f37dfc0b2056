"""A feed line as a cold start sees it: wall ahead of the filter, filter, wall behind it."""

import math
from dataclasses import dataclass

from feedproof.case.line import Line
from feedproof.case.parts import Cooler, Element
from feedproof.case.vehicle import Vehicle
from feedproof.core.errors import InputError
from feedproof.feedline.cold_data import ColdData, tank_wall_m2
from feedproof.feedline.profile import wall_area_m2


@dataclass(frozen=True, slots=True, kw_only=True)
class ColdLine:
    """
    Walls and heat capacities between tank, pump and tank.

    Parameters
    ----------
    tank_w_per_k, ahead_w_per_k, filter_w_per_k, behind_w_per_k, return_w_per_k : float
        Heat loss to the air for each kelvin: of the tank, of the line ahead of the filters, of
        the filters, of the line behind them, of the return line. [W/K]
    filter_heat_j_per_k : float
        Heat capacity of the filter housings without fuel. [J/K]
    filter_volume_m3 : float
        Fuel in them. [m3]
    cooler_fraction : float
        Share of the return's distance to the air that its coolers take away. [-]
    warmed : tuple of str
        Ids of the elements that led-back return warms; all of them without one.
    ahead : tuple of str
        Ids of elements ahead of the place where return is led back: they see the tank's fuel.
    """

    tank_w_per_k: float
    ahead_w_per_k: float
    filter_w_per_k: float
    behind_w_per_k: float
    return_w_per_k: float
    filter_heat_j_per_k: float
    filter_volume_m3: float
    cooler_fraction: float
    warmed: tuple[str, ...]
    ahead: tuple[str, ...]


def cold_line(vehicle: Vehicle, line: Line, data: ColdData) -> ColdLine:
    """
    Lump a line for its warming.

    Parameters
    ----------
    vehicle : Vehicle
        For tank, return line and thermostatic return.
    line : Line
        Tank to pump inlet, with kits.
    data : ColdData
        Walls and housings.

    Returns
    -------
    ColdLine
        The filters as one stirred volume, those ahead of the led-back return left out; strainers
        belong to the tank.

    Raises
    ------
    InputError
        No filter element is there to be warmed.
    """
    mixing = _mixing_place(vehicle, line)
    filters = {
        place: part
        for place, part in enumerate(line.parts)
        if isinstance(part, Element) and part.role != "strainer"
    }
    warmed = {place: part for place, part in filters.items() if place >= mixing}
    if not warmed:
        raise InputError.at(
            "line",
            "no filter element stands where the fuel is warmed, so there is nothing to wait for.",
            "Describe the factory filter, or lead the return back ahead of it.",
        )
    first = mixing if vehicle.recirculation is not None else min(warmed)
    elements = tuple(warmed.values())
    walls = [data.line_wall_w_per_m2_k * wall_area_m2(part) for part in line.parts]
    coolers = [part for part in vehicle.return_line.parts if isinstance(part, Cooler)]
    described = math.fsum(wall_area_m2(part) for part in vehicle.return_line.parts)
    return_wall = described if vehicle.return_line.parts else data.return_wall_m2
    return ColdLine(
        tank_w_per_k=data.tank_wall_w_per_m2_k * tank_wall_m2(vehicle),
        ahead_w_per_k=math.fsum(walls[:first]),
        filter_w_per_k=data.housing_loss_w_per_k * len(elements),
        behind_w_per_k=math.fsum(walls[first:]),
        return_w_per_k=data.line_wall_w_per_m2_k * return_wall,
        filter_heat_j_per_k=data.housing_heat_j_per_k * len(elements),
        filter_volume_m3=math.fsum(_volume_m3(part, data) for part in elements),
        cooler_fraction=1.0 - math.prod(1.0 - part.effectiveness_fraction for part in coolers),
        warmed=tuple(part.id for part in elements),
        ahead=tuple(part.id for place, part in filters.items() if place < mixing),
    )


def _volume_m3(part: Element, data: ColdData) -> float:
    """Give the fuel in a housing."""
    return part.volume_m3 if part.volume_m3 > 0.0 else data.housing_volume_m3


def _mixing_place(vehicle: Vehicle, line: Line) -> int:
    """Find the first part behind the node where return is led back; 0 without one."""
    if vehicle.recirculation is None:
        return 0
    node = vehicle.recirculation.to_node
    for place, part in enumerate(line.parts):
        if part.from_node == node:
            return place
        if part.to_node == node:
            return place + 1
    return 0
