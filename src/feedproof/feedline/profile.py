"""Fuel temperature along the line, between the tank and the pump inlet."""

import math
from collections.abc import Sequence

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.parts import Part, Pipe
from feedproof.feedline.network_nodes import INLET, TANK, Link
from feedproof.feedline.plan import FluidPlan, lower_fluid


def wall_area_m2(part: Part) -> float:
    """
    Give the wall by which a part's fuel changes its temperature.

    Parameters
    ----------
    part : Part
        Any part.

    Returns
    -------
    float
        Inner wall of a pipe; 0 for all others. [m2]
    """
    return math.pi * part.bore_m * part.length_m if isinstance(part, Pipe) else 0.0


def part_temperatures(parts: tuple[Part, ...], conditions: Conditions) -> tuple[float, ...]:
    """
    Give the temperature in the middle of each part of a chain.

    Parameters
    ----------
    parts : tuple of Part
        Tank to pump inlet.
    conditions : Conditions
        Temperatures at the pump inlet and, where it is given, at the tank.

    Returns
    -------
    tuple of float
        Between the two ends in proportion to the wall passed, which is exact where the air along
        the line is much farther from the fuel than the fuel's own change; the same everywhere
        without a tank temperature. [K]
    """
    end = conditions.fuel_temperature_k
    start = (
        end if conditions.tank_fuel_temperature_k is None else conditions.tank_fuel_temperature_k
    )
    areas = [wall_area_m2(part) for part in parts]
    whole = math.fsum(areas)
    if whole == 0.0 or start == end:
        return (end,) * len(parts)
    passed = 0.0
    temperatures = []
    for area in areas:
        temperatures.append(start + (end - start) * (passed + 0.5 * area) / whole)
        passed += area
    return tuple(temperatures)


def part_fluids(
    parts: tuple[Part, ...], fuel: Fuel, conditions: Conditions
) -> tuple[FluidPlan, ...]:
    """
    Give the fuel in each part of a chain.

    Parameters
    ----------
    parts : tuple of Part
        Tank to pump inlet.
    fuel : Fuel
        The fuel.
    conditions : Conditions
        Its temperatures.

    Returns
    -------
    tuple of FluidPlan
        One for each part.
    """
    known: dict[float, FluidPlan] = {}
    fluids = []
    for temperature in part_temperatures(parts, conditions):
        if temperature not in known:
            known[temperature] = lower_fluid(fuel, temperature)
        fluids.append(known[temperature])
    return tuple(fluids)


def network_temperatures(
    links: Sequence[Link], conditions: Conditions, mixed_at: str | None
) -> tuple[float, ...]:
    """
    Give the temperature of each link of a network.

    Parameters
    ----------
    links : sequence of Link
        Feed line and return line.
    conditions : Conditions
        Temperatures at the pump inlet and, where it is given, at the tank.
    mixed_at : str or None
        Node where warm return is led back, if there is one.

    Returns
    -------
    tuple of float
        Without return led back, by the least wall between the tank and the link's middle, as in a
        chain.  With it the fuel has the tank's temperature up to the node where both mix and that
        of the pump inlet from there on. [K]
    """
    end = conditions.fuel_temperature_k
    start = (
        end if conditions.tank_fuel_temperature_k is None else conditions.tank_fuel_temperature_k
    )
    if start == end:
        return (end,) * len(links)
    walls = [math.fsum(wall_area_m2(part) for part in link.parts) for link in links]
    if mixed_at is not None:
        upstream = _reached(links, mixed_at)
        return tuple(
            start if link.second in upstream or link.second == mixed_at else end for link in links
        )
    passed = _least_walls(links, walls)
    whole = passed.get(INLET, 0.0)
    if whole == 0.0:
        return (end,) * len(links)
    return tuple(
        start
        + (end - start)
        * min((min(passed[link.first], passed[link.second]) + 0.5 * wall) / whole, 1.0)
        if not link.in_return
        else end
        for link, wall in zip(links, walls, strict=True)
    )


def _reached(links: Sequence[Link], stop: str) -> set[str]:
    """List the nodes that the tank reaches in the order of the parts without passing a node."""
    reached = {TANK}
    for _ in links:
        reached |= {
            link.second
            for link in links
            if not link.in_return and link.first in reached and link.second != stop
        }
    return reached


def _least_walls(links: Sequence[Link], walls: Sequence[float]) -> dict[str, float]:
    """Give the least wall between the tank and each node."""
    passed = {TANK: 0.0}
    for _ in links:
        for link, wall in zip(links, walls, strict=True):
            for near, far in ((link.first, link.second), (link.second, link.first)):
                if not link.in_return and near in passed:
                    passed[far] = min(passed.get(far, math.inf), passed[near] + wall)
    return passed


def _ends(conditions: Conditions) -> tuple[float, float]:
    """Give the temperatures at the tank and at the pump inlet."""
    end = conditions.fuel_temperature_k
    tank = conditions.tank_fuel_temperature_k
    return (end if tank is None else tank), end
