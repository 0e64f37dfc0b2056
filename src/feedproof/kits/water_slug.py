"""
A slug of water: what bowls hold of it, how much reaches the pump, and after how many seconds.

The slug moves as a plug, water alone, at the flow of the fuel.  A separator takes its share of
what arrives until its bowl is full, and then nothing.  In a network the slug keeps to the way that
most of the fuel takes.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from feedproof.case.parts import Element, Part, Pipe
from feedproof.core.errors import InputError
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.pump_state import FeedState
from feedproof.kits.water_ranges import Range
from feedproof.kits.water_separators import SeparatorUse, separated, uses

SLUG_M3 = 0.5e-3
"""Water that is sent through the line where nobody says how much: half a litre, chosen. [m3]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slug:
    """
    A slug of water at one operating point.

    Parameters
    ----------
    state : str
        Name of the operating point.
    flow_m3_per_s : float
        Feed. [m3/s]
    water_m3 : float
        Of the slug. [m3]
    held_m3 : tuple of (str, Range)
        What each bowl on the way holds of it, by element. [m3]
    reaches_pump_m3 : Range
        The rest. [m3]
    first_s : float
        Until the first of it is at the pump; from the volumes that are described, so at the
        earliest.  Infinite without flow. [s]
    flood_s : float or None
        Until all bowls are full and it arrives whole; None when they hold out. [s]
    """

    state: str
    flow_m3_per_s: float
    water_m3: float
    held_m3: tuple[tuple[str, Range], ...]
    reaches_pump_m3: Range
    first_s: float
    flood_s: float | None


def slug_of(
    circuit: FeedCircuit,
    state: FeedState,
    name: str,
    *,
    water_m3: float = SLUG_M3,
    filled_fraction: float = 0.0,
) -> Slug:
    """
    Send a slug of water through a line.

    Parameters
    ----------
    circuit : FeedCircuit
        Chain or network.
    state : FeedState
        A solved point of it.
    name : str
        Its name.
    water_m3 : float
        Water that the pick-up draws at once. [m3]
    filled_fraction : float
        Water in each bowl before, over what it holds. [-]

    Returns
    -------
    Slug
        What is held and what is not add up to the slug.

    Raises
    ------
    InputError
        A negative slug, or bowls that hold more than all or less than nothing.
    """
    if not 0.0 <= water_m3 < math.inf or not 0.0 <= filled_fraction <= 1.0:
        raise InputError.at(
            "slug",
            f"{1e6 * water_m3:g} mL of water into bowls filled to {100 * filled_fraction:g} %.",
            "Give 0 mL or more, and 0 to 100 %.",
        )
    steps = circuit.steps(state)
    by_id = {use.element: use for use in uses(circuit, state, name)}
    met = [by_id[step.part.id] for step in steps if step.part.id in by_id]
    room = {
        element: (1.0 - filled_fraction) * separator.bowl_m3
        for element, separator in separated(circuit).items()
    }
    bowls = [room[use.element] for use in met]
    levels = [
        _held(water_m3, [1.0 - share(use) for use in met], bowls)
        for share in (_least_passed, _typically_passed, _most_passed)
    ]
    rest = [max(water_m3 - sum(held), 0.0) for held in levels]
    flow = state.feed_m3_per_s
    first = sum(
        volume_of(step.part) / (step.flow_fraction * flow) if flow > 0.0 else math.inf
        for step in steps
        if volume_of(step.part) > 0.0
    )
    needed = _until_all_full([1.0 - use.passed_fraction.typical for use in met], bowls)
    flooded = flow > 0.0 and water_m3 > needed
    return Slug(
        state=name,
        flow_m3_per_s=flow,
        water_m3=water_m3,
        held_m3=tuple(
            (use.element, Range(low=min(each), typical=each[1], high=max(each)))
            for use, each in zip(met, zip(*levels, strict=True), strict=True)
        ),
        reaches_pump_m3=Range(low=min(rest), typical=rest[1], high=max(rest)),
        first_s=first,
        flood_s=first + needed / flow if flooded else None,
    )


def _least_passed(use: SeparatorUse) -> float:
    """Give the least share that passes a separator. [-]."""
    return use.passed_fraction.low


def _typically_passed(use: SeparatorUse) -> float:
    """Give the typical share that passes a separator. [-]."""
    return use.passed_fraction.typical


def _most_passed(use: SeparatorUse) -> float:
    """Give the greatest share that passes a separator. [-]."""
    return use.passed_fraction.high


def volume_of(part: Part) -> float:
    """
    Give the fuel that a part holds.

    Parameters
    ----------
    part : Part
        Any part.

    Returns
    -------
    float
        Of a pipe or a housing; 0 of what has no volume described. [m3]
    """
    if isinstance(part, Pipe):
        return 0.25 * math.pi * part.bore_m**2 * part.length_m
    return part.volume_m3 if isinstance(part, Element) else 0.0


def _held(water_m3: float, taken: Sequence[float], bowls: Sequence[float]) -> list[float]:
    """Give what each of several bowls in a row holds of a slug. [m3]."""
    held = []
    left = water_m3
    for share, bowl in zip(taken, bowls, strict=True):
        held.append(min(share * left, bowl))
        left -= held[-1]
    return held


def _until_all_full(taken: Sequence[float], bowls: Sequence[float]) -> float:
    """Give the water after which every one of several bowls in a row is full. [m3]."""
    most = 0.0
    for place, (share, bowl) in enumerate(zip(taken, bowls, strict=True)):
        if bowl == 0.0:
            continue
        if share <= 0.0:
            return math.inf
        # What the bowls ahead hold comes on top; a bowl ahead that is not yet full by then has a
        # greater need of its own, so that it decides.
        most = max(most, bowl / share + sum(bowls[:place]))
    return most
