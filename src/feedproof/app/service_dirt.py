"""What the samples of the verb ``service`` rest on: dirt by band, soft matter, findings."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from feedproof.app.rated import mass_shares
from feedproof.app.supply_told import (
    FOR_SERVICE,
    assumed_findings,
    dirt_findings,
    fuel_use_finding,
)
from feedproof.case.case import Case
from feedproof.case.parts import Element
from feedproof.case.supply import Supply
from feedproof.core.findings import Finding, note, warning
from feedproof.kits.passage import Passage
from feedproof.kits.service import SOFT_WEIGHT

FloatArray = NDArray[np.float64]


def dirt_by_band(supply: Supply, shares: FloatArray) -> FloatArray:
    """Share the weighed dirt out: hard by size, soft matter as what it blocks like."""
    hard = shares * (1.0 - supply.soft_fraction)
    return np.append(hard, SOFT_WEIGHT * supply.soft_fraction)


def dust_by_band(supply: Supply, shares: FloatArray) -> FloatArray:
    """Give the dust of the air that replaces the fuel: no soft matter is in it."""
    return np.append(shares * supply.breather_dust_kg_per_m3, 0.0)


def with_soft(values: FloatArray, soft: FloatArray) -> FloatArray:
    """Add a band for soft matter, which is caught like the finest particles."""
    return np.concatenate([values, soft], axis=-1)


def dirt_shares_of(way: Passage, loading: dict[str, Element], supply: Supply) -> dict[str, float]:
    """Give the share of all captured dirt that each element holds."""
    shares = mass_shares(supply)
    held = {name: float(np.sum(way.catch[way.elements.index(name)] * shares)) for name in loading}
    whole = sum(held.values())
    return {name: mass / whole for name, mass in held.items()} if whole > 0.0 else {}


def service_findings(
    case: Case, supply: Supply, assumed: Sequence[str] = FOR_SERVICE
) -> tuple[Finding, ...]:
    """Say what the samples rest on, and which keys were assumed."""
    findings = [
        note(
            "soft matter",
            f"{100 * supply.soft_fraction:g} % of the weighed dirt: a gram of it is taken to block"
            f" like {SOFT_WEIGHT:g} g of test dust and to be caught like the finest particles;"
            " assumptions without a source.",
        ),
        note(
            "service",
            "is a prediction: it does not know the runs. A kit that `prove` does not release gets"
            " no interval from this page; what the runs show of the line (`fit`) is not in it.",
        ),
        note(
            "a second element",
            "shares the dirt, so that a line with one more may last longer although it restricts"
            " more when clean.",
        ),
        note(
            "limits",
            "are kept over the speeds of the declared pull, not beyond it, and check values are the"
            " depression at the pump inlet: correct a gauge that hangs above or below it by the"
            " head in its line. A fuller tank reads less.",
        ),
        note(
            "samples",
            "draw contamination by its spread among places"
            + (
                ", and its median lognormal between the declared low (5 %) and high (95 %)."
                if supply.contamination_low_fraction or supply.contamination_high_fraction
                else "; no low and high are declared, so that its median is taken as known."
            ),
        ),
        note(
            "life",
            "is an order of magnitude: contamination, capacity and fuel use are drawn lognormal"
            " and independent. Correct it by the gauge's history, and never run beyond an alarm.",
        ),
    ]
    if case.service is None:
        findings.insert(
            0,
            warning(
                "service",
                "no [service] is declared: nothing but the samples bounds the interval.",
                "Declare the longest distance and time, such as the vehicle maker's.",
            ),
        )
    return (
        *findings,
        fuel_use_finding(),
        *assumed_findings(case, assumed),
        *dirt_findings(case),
    )
