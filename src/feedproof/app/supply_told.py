"""What a case leaves open of supply, duty and service, and what its two figures of dirt say."""

from collections.abc import Iterable

import numpy as np

from feedproof.app.rated import EDGES_M
from feedproof.case.case import Case
from feedproof.case.supply import Service
from feedproof.core.findings import Finding, note, warning
from feedproof.kits.service import FUEL_USE_SPREAD
from feedproof.physics.cleanliness import code_text, distribution_of_codes
from feedproof.physics.size_bins import bin_masses

SOURCE = "assumed, common practice"
FOR_PROTECTION = (
    "supply.free_water",
    "supply.dissolved_water",
    "supply.breather_dust",
    "duty.refuel_at",
    "duty.refuel_to",
)
FOR_SERVICE = (
    "supply.spread",
    "supply.soft_matter",
    "supply.breather_dust",
    "duty.refuel_at",
    "duty.refuel_to",
    "service.chance",
    "service.capacity_spread",
)
FOR_CHOICE = (*FOR_SERVICE, "supply.free_water")
MASS_AND_COUNT_FACTOR = 2.0
"""By how much a mass reckoned from counts is off at its best: shape and density of dust. [-]"""


def assumed_findings(case: Case, asked: Iterable[str]) -> tuple[Finding, ...]:
    """
    List what the program took because the case does not say it.

    Parameters
    ----------
    case : Case
        With supply and duty.
    asked : iterable of str
        Keys that the figures hang on, such as `FOR_SERVICE`.

    Returns
    -------
    tuple of Finding
        One note for each key that nobody declared: name, value, source.
    """
    values = _assumed(case)
    return tuple(
        note(key, f"{values[key]} ({SOURCE}).", "Declare it if you know it.")
        for key in asked
        if key in values
    )


def _assumed(case: Case) -> dict[str, str]:
    """Write the value of every key that nobody declared."""
    supply, duty = case.supply, case.duty
    service = case.service or Service(source="assumed", assumed=("chance", "capacity_spread"))
    found = {
        f"service.{key}": value
        for key, value in (
            ("chance", f"{100 * service.chance_fraction:g} % of vehicles reach the interval"),
            ("capacity_spread", f"spread {service.capacity_spread:g} of the capacity's logarithm"),
        )
        if key in service.assumed
    }
    if supply is not None:
        texts = {
            "spread": f"spread {supply.contamination_spread:g} of the contamination's logarithm",
            "soft_matter": f"{100 * supply.soft_fraction:g} % of the weighed dirt",
            "free_water": f"{1e6 * supply.free_water_fraction:g} mg/kg",
            "dissolved_water": f"{100 * supply.dissolved_saturation_fraction:g} % of saturation",
            "breather_dust": f"{1e6 * supply.breather_dust_kg_per_m3:g} mg/m³ of air",
        }
        found |= {f"supply.{key}": texts[key] for key in supply.assumed}
    if duty is not None:
        texts = {
            "refuel_at": f"filled at {100 * duty.refuel_at_fraction:g} % of the tank",
            "refuel_to": f"filled to {100 * duty.refuel_to_fraction:g} % of the tank",
        }
        found |= {f"duty.{key}": texts[key] for key in duty.assumed}
    return found


def fuel_use_finding() -> Finding:
    """
    Name the spread of fuel use, which no case declares.

    Returns
    -------
    Finding
        A note.
    """
    return note(
        "fuel use", f"spread {FUEL_USE_SPREAD:g} of its logarithm among vehicles ({SOURCE})."
    )


def dirt_findings(case: Case) -> tuple[Finding, ...]:
    """
    Hold the weighed dirt of a supply against what its counts weigh.

    Parameters
    ----------
    case : Case
        With supply; its reference fuel gives the density.

    Returns
    -------
    tuple of Finding
        One: a note where they agree within `MASS_AND_COUNT_FACTOR` or inside the declared range,
        else a warning; none without a supply.
    """
    supply = case.supply
    if supply is None:
        return ()
    density = case.fuels[case.reference.fuel].density_15c_kg_per_m3
    counts = distribution_of_codes(supply.cleanliness)
    counted = float(np.sum(bin_masses(counts, EDGES_M))) / density
    weighed = supply.contamination_fraction
    low = (supply.contamination_low_fraction or weighed) / MASS_AND_COUNT_FACTOR
    high = (supply.contamination_high_fraction or weighed) * MASS_AND_COUNT_FACTOR
    said = (
        f"{1e6 * weighed:.3g} mg/kg are declared as weighed, the counts of"
        f" {code_text(supply.cleanliness)} weigh about {1e6 * counted:.2g} mg/kg as mineral dust of"
        f" {1e6 * EDGES_M[0]:g} to {1e6 * EDGES_M[-1]:g} um(c)"
    )
    used = "Life follows what was weighed, protection what was counted."
    if low <= counted <= high:
        return (note("supply", f"{said}: they agree as well as mass and count can. {used}"),)
    ratio = counted / weighed
    times = f"{ratio:.1f} times as much" if ratio > 1.0 else f"{1.0 / ratio:.1f} times less"
    return (
        warning(
            "supply",
            f"{said}, {times}: more apart than a factor of {MASS_AND_COUNT_FACTOR:g} that shape and"
            f" density of dust explain. {used}",
            "Take mass and count from one sample, or say the range of the mass.",
        ),
    )
