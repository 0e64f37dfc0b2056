"""Separators in a line: flow through each, size of drops there, and what each lets pass."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feedproof.case.parts import Element, LiftPump, Part
from feedproof.case.supply import Separator
from feedproof.core.errors import InputError
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.network_circuit import NetworkCircuit
from feedproof.feedline.pump_state import FeedState
from feedproof.kits.passage import passage
from feedproof.kits.water_balance import Caught
from feedproof.kits.water_ranges import (
    COARSE_DROPLETS,
    HAZE_DROPLETS,
    PUMPED_DROPLETS,
    RATED_VISCOSITY_PA_S,
    Range,
)
from feedproof.physics.fuel_water import (
    SEPARATOR_SLOPE,
    SeparatorRating,
    separator_cut_size,
    separator_penetration,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeparatorUse:
    """
    One separator at one operating point.

    Parameters
    ----------
    element : str
        Id of the element.
    state : str
        Name of the operating point.
    flow_m3_per_s : float
        Flow through it. [m3/s]
    side : str
        ``suction``, or ``pressure`` behind a running lift pump.
    droplet_m : Range
        Drops that are drawn. [m]
    cut_m : float
        Drop size of which it takes half at this flow and viscosity. [m]
    passed_fraction, haze_passed_fraction : Range
        Share that passes of drawn drops, and of haze. [-]
    doubts : tuple of str
        Where this use leaves what the rating has shown.
    """

    element: str
    state: str
    flow_m3_per_s: float
    side: str
    droplet_m: Range
    cut_m: float
    passed_fraction: Range
    haze_passed_fraction: Range
    doubts: tuple[str, ...]


def rating_of(separator: Separator, element: str) -> SeparatorRating:
    """
    Give a separator's rating, its viscosity assumed.

    Parameters
    ----------
    separator : Separator
        As declared.
    element : str
        Id of its element, for messages.

    Returns
    -------
    SeparatorRating
        Ready to be asked.

    Raises
    ------
    InputError
        A rating that says nothing, a bowl or a sensor that cannot be.
    """
    sensor = separator.sensor_m3
    if separator.bowl_m3 < 0.0 or (sensor is not None and not 0.0 <= sensor <= separator.bowl_m3):
        raise InputError.at(
            element,
            f"its bowl holds {1e6 * separator.bowl_m3:g} mL"
            + ("" if sensor is None else f" and its sensor answers at {1e6 * sensor:g} mL")
            + ": a bowl holds 0 or more, and a sensor answers before it is full.",
            "Correct the bowl or the sensor.",
        )
    try:
        return SeparatorRating(
            droplet_m=separator.droplet_m,
            efficiency_fraction=separator.efficiency_fraction,
            flow_m3_per_s=separator.flow_m3_per_s,
            viscosity_pa_s=RATED_VISCOSITY_PA_S,
            side=separator.side,
        )
    except ValueError as fault:
        raise InputError.at(element, f"{fault}.", "Correct the rating of its separator.") from fault


def separated(circuit: FeedCircuit) -> dict[str, Separator]:
    """
    List the elements of a line that take out water.

    Parameters
    ----------
    circuit : FeedCircuit
        Chain or network.

    Returns
    -------
    dict of str to Separator
        By id, in the order of the line; an element without a separator takes nothing.
    """
    return {
        element.id: element.separator
        for element in circuit.line.elements
        if element.separator is not None
    }


def uses(circuit: FeedCircuit, state: FeedState, name: str) -> tuple[SeparatorUse, ...]:
    """
    Say what each separator of a line does at an operating point.

    Parameters
    ----------
    circuit : FeedCircuit
        Chain or network.
    state : FeedState
        A solved point of it.
    name : str
        Its name, such as ``full load``.

    Returns
    -------
    tuple of SeparatorUse
        In the order of the line.
    """
    return tuple(
        _use(circuit, state, name, element, separator)
        for element, separator in separated(circuit).items()
    )


def _use(
    circuit: FeedCircuit, state: FeedState, name: str, element: str, separator: Separator
) -> SeparatorUse:
    """Say what one separator does."""
    rating = rating_of(separator, element)
    flow = flow_through(circuit, state, element)
    pumped = behind_a_pump(circuit, state, element)
    droplets = PUMPED_DROPLETS if pumped else COARSE_DROPLETS
    side = "pressure" if pumped else "suction"
    cut = separator_cut_size(
        rating.cut_m(),
        flow,
        rating.flow_m3_per_s,
        circuit.fluid.dynamic_viscosity_pa_s,
        rating.viscosity_pa_s,
    )
    return SeparatorUse(
        element=element,
        state=name,
        flow_m3_per_s=flow,
        side=side,
        droplet_m=droplets,
        cut_m=cut,
        passed_fraction=_passed(droplets, cut),
        haze_passed_fraction=_passed(HAZE_DROPLETS, cut),
        doubts=(*rating.doubts(droplets.typical, flow, side), *_too_coarse(rating, droplets)),
    )


def _too_coarse(rating: SeparatorRating, droplets: Range) -> list[str]:
    """Doubt a share that is better than the rating has shown."""
    if droplets.typical <= rating.droplet_m:
        return []
    return [
        f"drops of {1e6 * droplets.typical:.0f} um are coarser than the"
        f" {1e6 * rating.droplet_m:.0f} um of the rating: a better share than the rated"
        f" {100 * rating.efficiency_fraction:g} % follows from a curve, it was not shown"
    ]


def _passed(droplets: Range, cut_m: float) -> Range:
    """Give the share that passes: the finest drops pass most."""
    most, typical, least = (
        float(separator_penetration(size, cut_m, SEPARATOR_SLOPE)) for size in droplets.levels
    )
    return Range(low=least, typical=typical, high=most)


def flow_through(circuit: FeedCircuit, state: FeedState, element: str) -> float:
    """
    Give the flow through an element.

    Parameters
    ----------
    circuit : FeedCircuit
        Chain or network.
    state : FeedState
        A solved point of it.
    element : str
        Id.

    Returns
    -------
    float
        Flow, whichever way it goes. [m3/s]
    """
    if not isinstance(circuit, NetworkCircuit):
        return state.feed_m3_per_s
    found = circuit.drawn(state)
    for link in circuit.network.links:
        if any(part.id == element for part in link.parts):
            return abs(found.flow_m3_per_s[link.parts[0].id])
    raise InputError.at(element, "is no part of the line.")


def behind_a_pump(circuit: FeedCircuit, state: FeedState, element: str) -> bool:
    """
    Say whether fuel has passed a running lift pump before an element.

    Parameters
    ----------
    circuit : FeedCircuit
        Chain or network.
    state : FeedState
        A solved point of it.
    element : str
        Id.

    Returns
    -------
    bool
        True behind one: drops are finer there.
    """
    way: Sequence[Part] = circuit.line.parts
    if isinstance(circuit, NetworkCircuit):
        way = [step.part for step in circuit.steps(state, through=(element,))]
    for part in way:
        if isinstance(part, LiftPump) and part.running:
            return True
        if isinstance(part, Element) and part.id == element:
            return False
    # Not on the way of most of the fuel: any running pump is taken as one ahead of it.
    return any(isinstance(part, LiftPump) and part.running for part in circuit.line.parts)


def caught_by(
    circuit: FeedCircuit, state: FeedState, found: Sequence[SeparatorUse], *, full: bool = False
) -> Caught:
    """
    Give the share of the free water that each separator of a line takes.

    Parameters
    ----------
    circuit : FeedCircuit
        Chain or network.
    state : FeedState
        A solved point of it.
    found : sequence of SeparatorUse
        The separators at that point.
    full : bool
        True when all bowls are full: then all passes.

    Returns
    -------
    Caught
        Typical drops first, then the coarsest and the finest.  Separators behind each other are
        met by drops of one size, which flatters the second a little.
    """
    penetration = {
        use.element: np.ones(6)
        if full
        else np.array([*_first(use.passed_fraction), *_first(use.haze_passed_fraction)])
        for use in found
    }
    if not penetration:
        return Caught(elements=(), coarse=np.zeros((0, 3)), haze=np.zeros((0, 3)))
    way = passage(circuit, state, penetration)
    return Caught(elements=way.elements, coarse=way.catch[:, :3], haze=way.catch[:, 3:])


def _first(figure: Range) -> tuple[float, float, float]:
    """Put the typical figure first."""
    return figure.typical, figure.low, figure.high
