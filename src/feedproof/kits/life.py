"""
How far elements last: sampled vehicles followed from fill to fill until the line is at its limit.

In a chain only the sum of the media's resistances matters, and how much of it the line bears under
the worst declared conditions is found by solving it once.  Dirt enters with the fuel that is
burnt, not with the feed that goes round: each fill is followed exactly (see
`feedproof.physics.tank_filling`), size by size.
"""

import math
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.core.errors import InputError
from feedproof.feedline.chain_circuit import ChainCircuit
from feedproof.feedline.envelope import threads
from feedproof.feedline.grid import least_slacks
from feedproof.kits.life_samples import follow_samples
from feedproof.kits.loading import Loader, state_columns
from feedproof.kits.passage import Passage
from feedproof.physics.blocking import BlockingLaw

FloatArray = NDArray[np.float64]

MOST_MEDIA_RATIO = 1e4
"""Growth of all media beyond which a line is said to bear anything. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class AllowedMedia:
    """
    How much media resistance a line bears.

    Parameters
    ----------
    per_m3 : float
        Sum over its elements at which the first limit is reached; infinite where none is. [1/m3]
    clean_per_m3 : float
        The same sum when clean. [1/m3]
    deciding : Conditions
        Where the limit is reached first.
    clean_slack : float
        Least share of a limit left there when clean; below 0 the line bears no dirt at all. [-]
    """

    per_m3: float
    clean_per_m3: float
    deciding: Conditions
    clean_slack: float


def with_media(circuit: ChainCircuit, media_per_m3: float) -> ChainCircuit:
    """
    Give the same circuit with another sum of media resistances.

    Parameters
    ----------
    circuit : ChainCircuit
        A summed chain.
    media_per_m3 : float
        The sum. [1/m3]

    Returns
    -------
    ChainCircuit
        Its staircase still shows the elements as they were.
    """
    return replace(circuit, plan=circuit.plan._replace(media_per_m3=media_per_m3))


def summed_chain(loader: Loader, conditions: Conditions) -> ChainCircuit:
    """
    Lower a clean line that must be a chain in sums.

    Parameters
    ----------
    loader : Loader
        The line.
    conditions : Conditions
        Its own loading is passed over.

    Returns
    -------
    ChainCircuit
        Clean.

    Raises
    ------
    InputError
        The line has branches, or depends on the place along it.
    """
    circuit = loader.circuit(conditions, 0.0)
    if not isinstance(circuit, ChainCircuit) or circuit.cells_of_part:
        raise InputError.at(
            "line",
            "the life of a line with branches, soft hoses or gas that comes out along it cannot be"
            " followed yet: there the sum of its media does not say all.",
            "Ask for check values, which are solved for any line.",
        )
    return circuit


def allowed_media(loader: Loader, worst: Sequence[Conditions]) -> AllowedMedia:
    """
    Find the media resistance at which the worst declared conditions are just kept.

    Parameters
    ----------
    loader : Loader
        The line.
    worst : sequence of Conditions
        As declared.

    Returns
    -------
    AllowedMedia
        The least over the conditions.

    Raises
    ------
    InputError
        No condition; a line that is no chain in sums.
    """
    if not worst:
        raise InputError.at(
            "worst", "no worst conditions are declared, and none are guessed.", "Declare [[worst]]."
        )
    found = []
    for place, conditions in enumerate(worst):
        circuit = summed_chain(loader, conditions)
        clean = circuit.plan.media_per_m3
        slack = _slack(loader, circuit, clean)
        media = clean if slack < 0.0 else _largest_media(loader, circuit, clean)
        found.append((slack if slack < 0.0 else 0.0, media, place, clean, slack))
    _, media, place, clean, slack = min(found)
    return AllowedMedia(per_m3=media, clean_per_m3=clean, deciding=worst[place], clean_slack=slack)


def _slack(loader: Loader, circuit: ChainCircuit, media_per_m3: float) -> float:
    """Give the least share of a limit left with a sum of media resistances."""
    speeds = loader.engine_speed_rev_per_s
    _, injected = circuit.full_load(speeds)
    states = with_media(circuit, media_per_m3).at_many(speeds, injected)
    _, slack, _ = least_slacks(state_columns(states), loader.limits)
    return float(np.min(slack))


def _largest_media(loader: Loader, circuit: ChainCircuit, clean_per_m3: float) -> float:
    """Halve the bracket of the media resistance at which the slack ends."""
    low, high = clean_per_m3, 2.0 * clean_per_m3
    while _slack(loader, circuit, high) >= 0.0:
        low, high = high, 2.0 * high
        if high > MOST_MEDIA_RATIO * clean_per_m3:
            return math.inf
    for _ in range(60):
        middle = 0.5 * (low + high)
        if _slack(loader, circuit, middle) >= 0.0:
            low = middle
        else:
            high = middle
    return low


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicles:
    """
    Samples of vehicles of one kind.

    Parameters
    ----------
    contamination_kg_per_m3, feed_m3_per_s, injected_m3_per_s, fuel_use_m2 : array, shape (n,)
        As for `follow_samples`.
    capacity_ratio : array, shape (n, n_e)
        Each element's capacity over the typical one. [-]
    """

    contamination_kg_per_m3: FloatArray
    feed_m3_per_s: FloatArray
    injected_m3_per_s: FloatArray
    fuel_use_m2: FloatArray
    capacity_ratio: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """
    What became of the samples.

    Parameters
    ----------
    reached_m : array, shape (n,)
        Distance at which the line bears no more; infinite beyond the grid. [m]
    sum_per_m3 : array, shape (n, n_g)
        Sum of the media's resistances along the grid. [1/m3]
    captured_kg : array, shape (n, n_e)
        What elements hold at the end of the grid. [kg]
    """

    reached_m: FloatArray
    sum_per_m3: FloatArray
    captured_kg: FloatArray


def follow(
    vehicles: Vehicles,
    *,
    mass_share: FloatArray,
    entering_kg_per_m3: FloatArray,
    passage: Passage,
    media_per_m3: FloatArray,
    scale_kg: FloatArray,
    laws: Sequence[str],
    volume_m3: tuple[float, float],
    allowed_per_m3: float,
    grid_m: FloatArray,
) -> Followed:
    """
    Follow samples of vehicles, shared among threads.

    Parameters
    ----------
    vehicles : Vehicles
        The samples.
    mass_share, entering_kg_per_m3, media_per_m3, allowed_per_m3, grid_m
        As for `follow_samples`.
    passage : Passage
        What each element catches, elements in the order of `media_per_m3`.
    scale_kg : array, shape (n_e,)
        Typical scale of each element's law; infinite for one that never fills. [kg]
    laws : sequence of str
        Law of each element by name, such as ``cake``.
    volume_m3 : tuple of float
        Fuel in the tank when it is filled, and after. [m3]

    Returns
    -------
    Followed
        The same digits however many threads there are.
    """
    codes = np.array([int(BlockingLaw[law.upper()]) for law in laws], dtype=np.int64)
    count = vehicles.fuel_use_m2.size

    def part(rows: slice) -> tuple[FloatArray, FloatArray, FloatArray]:
        return follow_samples(
            vehicles.contamination_kg_per_m3[rows],
            vehicles.feed_m3_per_s[rows],
            vehicles.injected_m3_per_s[rows],
            vehicles.fuel_use_m2[rows],
            np.ascontiguousarray(vehicles.capacity_ratio[rows] * scale_kg),
            mass_share,
            entering_kg_per_m3,
            passage.through,
            passage.catch,
            media_per_m3,
            codes,
            np.array(volume_m3),
            allowed_per_m3,
            grid_m,
        )

    edges = np.linspace(0, count, min(threads(), count) + 1).astype(int).tolist()
    with ThreadPoolExecutor() as pool:
        parts = list(pool.map(part, [slice(*pair) for pair in pairwise(edges)]))
    reached, noted, captured = (np.concatenate(each) for each in zip(*parts, strict=True))
    return Followed(reached_m=reached, sum_per_m3=noted, captured_kg=captured)
