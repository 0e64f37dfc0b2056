"""Water and what no filter stops, for the verb ``protect``."""

from dataclasses import dataclass

import numpy as np

from feedproof.app.rated import DutyPoint
from feedproof.case.case import Case
from feedproof.case.supply import Duty, Supply
from feedproof.core.findings import Finding, note
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.pump_state import FeedState
from feedproof.kits.unstopped import UnstoppedWords, unstopped
from feedproof.kits.water import WaterQuestion, water_of
from feedproof.kits.water_balance import Temperatures
from feedproof.kits.water_ranges import Range, ester_of
from feedproof.kits.water_slug import slug_of
from feedproof.kits.water_words import water_words

ASSUMED = "Assumed:"
ESTER_OF_UNKNOWN = Range(low=0.0, typical=0.05, high=0.07)
"""Ester in a diesel of which nobody says: up to what EN 590 allows. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterTold:
    """
    What becomes of the water with one configuration.

    Parameters
    ----------
    carried_typical, carried_low, carried_high : float or None
        Free water that reaches the pump over that in the line; None where there is none. [-]
    sentences : tuple of str
        The same in words, with bowls, a slug and doubts.
    assumed : tuple of str
        What all of it rests on, alike for every configuration.
    """

    carried_typical: float | None
    carried_low: float | None
    carried_high: float | None
    sentences: tuple[str, ...]
    assumed: tuple[str, ...]


def water_told(case: Case, supply: Supply, duty: Duty, point: DutyPoint) -> WaterTold:
    """
    Follow the water of one configuration.

    Parameters
    ----------
    case : Case
        The case.
    supply : Supply
        Water in the fuel as it comes.
    duty : Duty
        When the tank is filled.
    point : DutyPoint
        The line at its mean point.

    Returns
    -------
    WaterTold
        At the mean point, with a slug at the mean point and at full load.
    """
    fuel = case.fuels[case.reference.fuel]
    states = {"the duty's mean point": point.state, "full load": _full_load(point.circuit, duty)}
    found = water_of(
        point.circuit,
        states,
        WaterQuestion(
            supply=supply,
            duty=duty,
            capacity_m3=case.vehicle.tank.capacity_m3,
            fuel_density_kg_per_m3=fuel.density_15c_kg_per_m3,
            ester_fraction=ester_in(case),
            temperatures=temperatures_of(case, supply),
        ),
    )
    slugs = [slug_of(point.circuit, state, name) for name, state in states.items()]
    carried = found.carried_fraction
    words = water_words(found, slugs)
    return WaterTold(
        carried_typical=None if carried is None else carried.typical,
        carried_low=None if carried is None else carried.low,
        carried_high=None if carried is None else carried.high,
        sentences=tuple(line for line in words if not line.startswith(ASSUMED)),
        assumed=tuple(line for line in words if line.startswith(ASSUMED)),
    )


def temperatures_of(case: Case, supply: Supply) -> Temperatures:
    """
    Give the temperatures that fuel passes through.

    Parameters
    ----------
    case : Case
        For the declared conditions.
    supply : Supply
        For that of the delivery.

    Returns
    -------
    Temperatures
        Tank and filters at that of the delivery, where warmth does not hide free water; fuel that
        stands in the coldest declared condition behind them.
    """
    return Temperatures(
        delivery_k=supply.delivery_temperature_k,
        tank_k=supply.delivery_temperature_k,
        filter_k=supply.delivery_temperature_k,
        behind_k=min(each.fuel_temperature_k for each in (case.reference, *case.worst)),
    )


def ester_in(case: Case) -> Range:
    """
    Give the ester in the reference fuel.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Range
        Of its grade in the catalogue, else the range that EN 590 allows. [-]
    """
    grade = case.fuels[case.reference.fuel].grade
    known = ester_of(grade) if grade else None
    return known or ESTER_OF_UNKNOWN


def unstopped_for(case: Case) -> UnstoppedWords:
    """
    Say what no filter stops, for the reference fuel.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    UnstoppedWords
        Petrol first, with the instruction not to start the engine.
    """
    fuel = case.fuels[case.reference.fuel]
    return unstopped(fuel, book=case.values, ester_fraction=ester_in(case))


def water_findings(case: Case) -> tuple[Finding, ...]:
    """
    Say which temperatures and which ester the water was followed with.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    tuple of Finding
        Notes.
    """
    ester = ester_in(case)
    return (
        note(
            "water",
            "is followed with tank and filters at the temperature of the delivery, since warm"
            " filters would dissolve free water and hide it, and fuel that cools to the coldest"
            " declared condition behind them; ester in the fuel"
            f" {100 * ester.low:.0f} to {100 * ester.high:.0f} %.",
        ),
    )


def _full_load(circuit: FeedCircuit, duty: Duty) -> FeedState:
    """Solve full load at the duty's engine speed."""
    speed = duty.engine_speed_rev_per_s
    _, injected = circuit.full_load(np.array([speed]))
    return circuit.at(speed, float(injected[0]))
