"""How far a prediction can be off: the inputs' ranges and the transition of the friction."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from feedproof.case.case import Case
from feedproof.case.line import Line, Tee
from feedproof.case.vehicle import Vehicle
from feedproof.core.values import SourcedValue
from feedproof.physics.fuel_values import with_warm_viscosity

FloatArray = NDArray[np.float64]

# A path of the book of values names a value as the document does; the frozen case holds it under
# a name that adds the unit.  The name in the document is the start of the other, but for these.
_OTHER_NAMES = {
    "displacement": ("displacement_m3_per_rev", "displacement_m3"),
    "media_resistance": ("media_resistance_per_m",),
    # Of a check valve; an element's own has the longer name.
    "housing_inertial": ("inertial_per_m4",),
    "filling": ("filling_fraction",),
    "slip": ("slip_m3_per_s",),
    "viscosity_20c": ("viscosity_cool_m2_per_s",),
    "viscosity_40c": ("viscosity_warm_m2_per_s",),
}
# Tables of the document that became a field of the vehicle.
_VEHICLE_FIELDS = {
    "vehicle.engine": "engine",
    "vehicle.gearing": "gearing",
    "vehicle.tank": "tank",
    "vehicle.pump": "pump",
    "line": "line",
    "return": "return_line",
    "tee": "tees",
    "recirculation": "recirculation",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Contribution:
    """
    What one input's range does to a predicted depression.

    Parameters
    ----------
    path : str
        The value in the case.
    low_pa, high_pa : float
        Change of the depression with the value at its low and at its high end. [Pa]
    """

    path: str
    low_pa: float
    high_pa: float

    @property
    def standard_uncertainty_pa(self) -> float:
        """Half the width over root 3: the range taken as a rectangle. [Pa]."""
        return abs(self.high_pa - self.low_pa) / 2.0 / math.sqrt(3.0)


def contributions(case: Case, depression: Callable[[Case], float]) -> tuple[Contribution, ...]:
    """
    Vary every ranged value of the case by itself.

    Parameters
    ----------
    case : Case
        The case with its book of values.
    depression : callable
        Gives the depression of interest for a case. [Pa]

    Returns
    -------
    tuple of Contribution
        For each value that has a range and moves the depression, the largest first.
    """
    centre = depression(case)
    found = []
    for path, ends in _at_ends(case):
        moved = [depression(each) - centre for each in ends]
        if any(abs(move) > 1e-6 for move in moved):
            found.append(Contribution(path=path, low_pa=moved[0], high_pa=moved[1]))
    return tuple(sorted(found, key=lambda each: -each.standard_uncertainty_pa))


def curve_u_pa(case: Case, depression: Callable[[Case], FloatArray]) -> FloatArray:
    """
    Combine what every ranged value does to a curve, point by point, as independent.

    Parameters
    ----------
    case : Case
        The case with its book of values.
    depression : callable
        Gives the curve of interest for a case, shape (n,). [Pa]

    Returns
    -------
    array, shape (n,)
        Standard uncertainty, each range taken as a rectangle. [Pa]
    """
    square = np.zeros_like(depression(case))
    for _, (low, high) in _at_ends(case):
        square += (depression(high) - depression(low)) ** 2 / 12.0
    return np.sqrt(square)


def _at_ends(case: Case) -> Iterator[tuple[str, tuple[Case, Case]]]:
    """Go through the ranged values that can be moved: the case at the low and at the high end."""
    for path, value in case.values.items():
        if value.low is None and value.high is None:
            continue
        low, high = (
            with_value(case, path, value, value.value if end is None else end)
            for end in (value.low, value.high)
        )
        if low is not None and high is not None:
            yield path, (low, high)


def unplaced(case: Case) -> tuple[str, ...]:
    """
    List the ranged values that the range of a prediction does not know how to move.

    Parameters
    ----------
    case : Case
        The case with its book of values.

    Returns
    -------
    tuple of str
        Their paths; values of runs, margins and repeatability are no inputs of a prediction.
        Conditions and the sweep are what it is asked for: their ranges are listed, not moved.
    """
    no_inputs = ("run[", "margins", "repeatability", "instrument")
    return tuple(
        path
        for path, value in case.values.items()
        if (value.low is not None or value.high is not None)
        and not path.startswith(no_inputs)
        and with_value(case, path, value, value.value) is None
    )


def combined_u_pa(parts: tuple[Contribution, ...]) -> float:
    """
    Combine contributions as independent.

    Parameters
    ----------
    parts : tuple of Contribution
        From `contributions`.

    Returns
    -------
    float
        Standard uncertainty. [Pa]
    """
    return math.sqrt(math.fsum(part.standard_uncertainty_pa**2 for part in parts))


def with_value(case: Case, path: str, value: SourcedValue, new: float) -> Case | None:
    """
    Put another value in the place that a path names.

    Parameters
    ----------
    case : Case
        The case.
    path : str
        Such as ``vehicle.pump.slip``, ``line[steel_line].bore`` or ``tee[split].bore``.
    value : SourcedValue
        The value now there, by which the place is recognised.
    new : float
        The value to put there, in SI.

    Returns
    -------
    Case or None
        None when the path names nothing that a prediction depends on.
    """
    head, _, name = path.rpartition(".")
    part_id = head[head.rfind("[") + 1 : head.rfind("]")] if "[" in head else ""
    if head.startswith(("vehicle.", "line[", "return[", "tee[", "recirculation")):
        vehicle = _with_vehicle_value(case.vehicle, head, part_id, name, value, new)
        return None if vehicle is None else replace(case, vehicle=vehicle)
    if head.startswith("kit["):
        return _with_kit_part(case, part_id, name, value, new)
    if head.startswith("fuel."):
        fuel_name = head.removeprefix("fuel.")
        fuel = _with_field(case.fuels.get(fuel_name), name, value, new)
        if fuel is not None and name == "viscosity_40c" and _moves_together(case, fuel_name):
            fuel = with_warm_viscosity(case.fuels[fuel_name], new)
        return None if fuel is None else replace(case, fuels={**case.fuels, fuel_name: fuel})
    return None


def _with_vehicle_value(
    vehicle: Vehicle, head: str, part_id: str, name: str, value: SourcedValue, new: float
) -> Vehicle | None:
    """Replace a value of the vehicle or of its lines, or give None."""
    # A level in litres was divided by the capacity when the case was read.
    if head == "vehicle.tank" and name == "capacity":
        return None
    field = _VEHICLE_FIELDS.get(head.partition("[")[0])
    if field is None:
        return None
    held = getattr(vehicle, field)
    changed: Any
    if isinstance(held, Line):
        parts = _with_part(held.parts, part_id, name, value, new)
        changed = None if parts is None else replace(held, parts=parts)
    elif isinstance(held, tuple):
        changed = _with_tee(held, part_id, name, value, new)
    else:
        changed = _with_field(held, name, value, new)
    return None if changed is None else replace(vehicle, **{field: changed})


def _with_tee(
    tees: tuple[Tee, ...], node: str, name: str, value: SourcedValue, new: float
) -> tuple[Tee, ...] | None:
    """Replace a value of the tee at a node, or give None."""
    for index, tee in enumerate(tees):
        if tee.node == node:
            changed = _with_field(tee, name, value, new)
            return changed and (*tees[:index], changed, *tees[index + 1 :])
    return None


def _with_field(owner: Any, name: str, value: SourcedValue, new: float) -> Any:
    """Replace the field that belongs to a document's name, or give None."""
    if not is_dataclass(owner):
        return None
    wanted = _OTHER_NAMES.get(name, ())
    for field in fields(owner):
        held = getattr(owner, field.name)
        named = field.name in wanted or field.name == name or field.name.startswith(name + "_")
        if named and isinstance(held, float) and math.isclose(held, value.value, rel_tol=1e-9):
            return replace(owner, **{field.name: new})  # type: ignore[type-var]
    return None


def _moves_together(case: Case, fuel_name: str) -> bool:
    """Say whether one range stands for both viscosities of a fuel: that of a grade or a blend."""
    cool = case.values.get(f"fuel.{fuel_name}.viscosity_20c")
    ranged = cool is not None and (cool.low is not None or cool.high is not None)
    return bool(case.fuels[fuel_name].grade) and not ranged


def _with_part(
    parts: tuple[Any, ...], part_id: str, name: str, value: SourcedValue, new: float
) -> tuple[Any, ...] | None:
    """Replace a value of one part of a row of parts, or give None."""
    for index, part in enumerate(parts):
        if part.id == part_id:
            changed = _with_field(part, name, value, new)
            return changed and (*parts[:index], changed, *parts[index + 1 :])
    return None


def _with_kit_part(
    case: Case, part_id: str, name: str, value: SourcedValue, new: float
) -> Case | None:
    """Replace a value of a kit's part, or give None."""
    for kit in case.kits.values():
        for index, insertion in enumerate(kit.insertions):
            parts = _with_part(insertion.parts, part_id, name, value, new)
            if parts is not None:
                insertions = (
                    *kit.insertions[:index],
                    replace(insertion, parts=parts),
                    *kit.insertions[index + 1 :],
                )
                changed = replace(kit, insertions=insertions)
                return replace(case, kits={**case.kits, kit.id: changed})
    return None
