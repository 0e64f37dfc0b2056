"""What protection and service ask of a case: its elements as filters, its tank, its duty."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.configurations import circuit_for
from feedproof.app.predicting import kit_sets
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.case.parts import Element
from feedproof.case.supply import Duty, Rating, Supply
from feedproof.core.errors import MissingError
from feedproof.core.findings import Finding, error, note, warning
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.pump_state import FeedState
from feedproof.kits.filters import penetrations
from feedproof.kits.protection import Filling, delivered
from feedproof.physics.cleanliness import distribution_of_codes
from feedproof.physics.size_bins import DEFAULT_EDGES_M, bin_masses

FloatArray = NDArray[np.float64]

EDGES_M = DEFAULT_EDGES_M
STRAINER = "strainer"


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyPoint:
    """
    A line at the mean point of its duty.

    Parameters
    ----------
    circuit : FeedCircuit
        At the reference conditions, clean.
    state : FeedState
        At the duty's engine speed and load.
    """

    circuit: FeedCircuit
    state: FeedState


def supply_and_duty(case: Case, verb: str) -> tuple[Supply, Duty]:
    """
    Give what a case says of its fuel and its use.

    Parameters
    ----------
    case : Case
        The case.
    verb : str
        Who asks, for the message.

    Returns
    -------
    tuple of Supply and Duty
        As declared.

    Raises
    ------
    MissingError
        One or both are not declared; both are told at once.
    """
    missing = [
        error(
            name,
            f"{verb} needs [{name}] and the case declares none; nothing is guessed in its place.",
            remedy,
        )
        for name, found, remedy in (
            (
                "supply",
                case.supply,
                "Declare the fuel as it comes: cleanliness code, contamination, water.",
            ),
            (
                "duty",
                case.duty,
                "Declare fuel use, distance in a year, mean engine speed and load.",
            ),
        )
        if found is None
    ]
    if missing or case.supply is None or case.duty is None:
        raise MissingError(missing)
    return case.supply, case.duty


def candidate_sets(case: Case, kits: tuple[str, ...] | None) -> tuple[tuple[str, ...], ...]:
    """
    Give the configurations to be asked about.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str or None
        Those asked for; None for the baseline and all that is no control.

    Returns
    -------
    tuple of tuple of str
        The baseline first.
    """
    return (
        (),
        *(
            each
            for each in kit_sets(case, kits)
            if kits is not None or not any(case.kits[kit_id].control for kit_id in each)
        ),
    )


def duty_point(case: Case, kits: tuple[str, ...], duty: Duty) -> DutyPoint:
    """
    Solve a line at the mean point of its duty.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids.
    duty : Duty
        Mean engine speed and load.

    Returns
    -------
    DutyPoint
        With clean elements at the reference conditions.
    """
    circuit = circuit_for(case, kits, replace(case.reference, captured_mass_kg={}))
    speed = duty.engine_speed_rev_per_s
    _, full = circuit.full_load(np.array([speed]))
    return DutyPoint(circuit=circuit, state=circuit.at(speed, duty.load_fraction * float(full[0])))


def rated_elements(case: Case, kits: tuple[str, ...]) -> dict[str, Rating]:
    """
    Give the elements of a configuration that say how they filter.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids.

    Returns
    -------
    dict of str to Rating
        In the order of the line.
    """
    return {
        element.id: element.rating
        for element in case.line_with(kits).elements
        if element.rating is not None
    }


def penetrations_of(ratings: dict[str, Rating]) -> dict[str, FloatArray]:
    """
    Give what elements let pass, by size.

    Parameters
    ----------
    ratings : dict of str to Rating
        By element.

    Returns
    -------
    dict of str to array, shape (n_b,)
        By element. [-]
    """
    return {name: penetrations(rating, name, EDGES_M) for name, rating in ratings.items()}


def filling_of(case: Case, supply: Supply, duty: Duty) -> Filling:
    """
    Give how the tank is filled.

    Parameters
    ----------
    case : Case
        For the tank.
    supply : Supply
        The fuel as it comes.
    duty : Duty
        Levels between which it is filled.

    Returns
    -------
    Filling
        Dust that the tank breathes in is given the sizes of the dirt in the fuel.
    """
    capacity = case.vehicle.tank.capacity_m3
    counts = distribution_of_codes(supply.cleanliness)
    numbers = delivered(counts, EDGES_M)
    counted_kg_per_m3 = float(np.sum(bin_masses(counts, EDGES_M)))
    return Filling(
        low_m3=max(duty.refuel_at_fraction, 1e-3) * capacity,
        high_m3=duty.refuel_to_fraction * capacity,
        edges_m=EDGES_M,
        delivered_per_m3=numbers,
        entering_per_m3=numbers * supply.breather_dust_kg_per_m3 / counted_kg_per_m3,
        delivered_kg_per_m3=counted_kg_per_m3,
    )


def mass_shares(supply: Supply) -> FloatArray:
    """
    Give the share of the weighed dirt in each band of size.

    Parameters
    ----------
    supply : Supply
        For the code.

    Returns
    -------
    array, shape (n_b,)
        By the masses of the counted particles; adds up to 1. [-]
    """
    masses = np.array(bin_masses(distribution_of_codes(supply.cleanliness), EDGES_M))
    return np.asarray(masses / masses.sum(), dtype=np.float64)


def rating_findings(case: Case, sets: tuple[tuple[str, ...], ...]) -> tuple[Finding, ...]:
    """
    Say what is assumed of elements.

    Parameters
    ----------
    case : Case
        The case.
    sets : tuple of tuple of str
        Configurations.

    Returns
    -------
    tuple of Finding
        Elements that nobody rated, and factors that nobody declared.
    """
    elements: dict[str, Element] = {
        element.id: element for kits in sets for element in case.line_with(kits).elements
    }
    findings = []
    alike: dict[tuple[float, float, float], list[str]] = {}
    for name, element in elements.items():
        if element.rating is None and element.role != STRAINER:
            findings.append(
                warning(
                    name,
                    "is not rated: it is taken as letting all particles pass.",
                    "Give two points of its filtration ratio.",
                )
            )
        elif element.rating is not None and element.rating.assumed:
            rating = element.rating
            factors = (rating.field_size_factor, rating.field_slope_factor, rating.bypass_fraction)
            alike.setdefault(factors, []).append(name)
    findings.extend(
        warning(
            part.id,
            "filters in the return line. It stops nothing on the way from tank to pump: fuel that"
            " is drawn for the first time meets it only behind the pump. What returns through it"
            " enters the tank cleaner, so that the tank holds fewer particles in the long run. The"
            " figures leave that out: with it they are no worse than told.",
            "Do not count it as protection of the pump; see that it does not hold the return back.",
        )
        for part in case.vehicle.return_line.parts
        if isinstance(part, Element)
    )
    for (size, slope, bypass), names in alike.items():
        findings.append(
            note(
                ", ".join(names),
                f"in the vehicle sizes are taken as {size:g} times, slopes as {slope:g} times those"
                f" of the laboratory, {100 * bypass:g} % passes the seals: assumptions without a"
                " source.",
                "Declare field_size_factor, field_slope_factor and bypass if you know them.",
            )
        )
    return tuple(findings)


def declared_fuels(case: Case) -> tuple[str, ...]:
    """
    Give the fuels that a case declares conditions with.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    tuple of str
        That of the reference first: any of them may be in the tank when a gauge is read.
    """
    return tuple(dict.fromkeys(each.fuel for each in (case.reference, *case.worst)))


def workshop_of(case: Case) -> Conditions:
    """
    Give the conditions under which a gauge is read.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Conditions
        The reference conditions: the workshop's own air, level and fuel, on flat ground.
    """
    return replace(
        case.reference, captured_mass_kg={}, road_pitch_rad=0.0, name="workshop, flat ground"
    )
