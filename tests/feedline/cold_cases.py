"""The reference vehicle, soaked: with and without a thermostat that leads warm return back."""

from dataclasses import replace

import numpy as np

from feedproof.case.line import Line, Recirculation
from feedproof.case.parts import Part
from feedproof.case.vehicle import Vehicle
from feedproof.feedline.cold_data import ColdData
from feedproof.feedline.warming import ColdVehicle, warm_up
from feedproof.feedline.warming_result import WarmUp
from tests.feedline import reference

PULL_SPEEDS_REV_PER_S = np.linspace(1728.0, 3457.0, 5) / 60.0
# INVENTED: four fifths of the return below 10, one twentieth above 50 degrees Celsius.
THERMOSTAT = Recirculation(
    to_node="head",
    cold_fraction=0.8,
    warm_fraction=0.05,
    cold_temperature_k=283.15,
    warm_temperature_k=323.15,
)


def vehicle(pump: str = "new", *, thermostat: bool = False, **changes: object) -> Vehicle:
    """Make the reference vehicle with its strainer told apart from its filter."""
    body = reference.vehicle(pump)
    parts = tuple(_named(part, thermostat) for part in body.line.parts)
    body = replace(body, line=Line(parts=parts), recirculation=THERMOSTAT if thermostat else None)
    return replace(body, **changes)


def _named(part: Part, thermostat: bool) -> Part:
    """Name the strainer's role, and the node ahead of the filter where it is needed."""
    if part.id == "strainer":
        return replace(part, role="strainer")
    if part.id == "primer_checks" and thermostat:
        return replace(part, to_node="head")
    return part


def cold(
    body: Vehicle,
    soak_c: float,
    *kits: str,
    ambient_c: float | None = None,
    fuel: str = "winter",
    data: ColdData | None = None,
    level: float = 0.5,
) -> ColdVehicle:
    """Soak a vehicle."""
    return ColdVehicle(
        vehicle=body,
        line=body.line.with_kits([reference.kit(name) for name in kits]),
        fuel=reference.fuel_of(fuel),
        conditions=reference.conditions(0.0, fuel=fuel, fuel_level_fraction=level),
        rule="blend_colebrook",
        soak_k=soak_c + 273.15,
        ambient_k=(soak_c if ambient_c is None else ambient_c) + 273.15,
        data=data or ColdData(),
    )


def driven(asked: ColdVehicle, **times: float) -> WarmUp:
    """Drive it."""
    return warm_up(asked, PULL_SPEEDS_REV_PER_S, **times)
