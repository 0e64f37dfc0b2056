"""How far a line may load: the dirt at which the worst declared conditions are just kept."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.vehicle import Vehicle
from feedproof.core.errors import InputError
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.grid import GridLimits, least_slacks
from feedproof.feedline.pump_state import FeedState

FloatArray = NDArray[np.float64]

MOST_DIRT_KG = 1.0
"""More dirt than any element on a vehicle holds: where a search gives up. [kg]"""
DIRT_TOLERANCE_KG = 1e-7
_COLUMNS = [
    FeedState._fields.index(name)
    for name in ("depression_pa", "pressure_abs_pa", "feed_margin", "free_gas_fraction")
]


def state_columns(states: FloatArray) -> FloatArray:
    """
    Take out of states what limits are held against.

    Parameters
    ----------
    states : array, shape (n, 9)
        Rows in the order of `FeedState`.

    Returns
    -------
    array, shape (n, 4)
        As `feedproof.feedline.grid.least_slacks` wants it.
    """
    return np.ascontiguousarray(states[:, _COLUMNS])


@dataclass(frozen=True, slots=True, kw_only=True)
class Loader:
    """
    A line whose elements load together.

    Parameters
    ----------
    vehicle, line : Vehicle, Line
        What is asked about, kits let in.
    fuels : mapping of str to Fuel
        By the names that conditions use.
    rule : str
        Friction rule.
    shares : mapping of str to float
        Share of the captured dirt that each element holds, by id; they add up to 1. [-]
    engine_speed_rev_per_s : array, shape (n,)
        Engine speeds at full load over which a condition must be kept. [rev/s]
    limits : GridLimits
        What must be kept.
    """

    vehicle: Vehicle
    line: Line
    fuels: Mapping[str, Fuel]
    rule: str
    shares: Mapping[str, float]
    engine_speed_rev_per_s: FloatArray
    limits: GridLimits

    def __post_init__(self) -> None:
        """Refuse shares that are none, and elements that the line does not have."""
        known = {element.id for element in self.line.elements}
        for name, share in self.shares.items():
            if name not in known:
                raise InputError.at(
                    name, "holds a share of the dirt and is no element of this line."
                )
            if not 0.0 <= share <= 1.0:
                raise InputError.at(name, f"holds a share of {share:g}, not 0 to 1.")
        whole = sum(self.shares.values())
        if not abs(whole - 1.0) <= 1e-9:
            raise InputError.at("shares", f"the shares of dirt add up to {whole:g}, not to 1.")

    def masses(self, dirt_kg: float) -> dict[str, float]:
        """
        Share dirt out among the elements.

        Parameters
        ----------
        dirt_kg : float
            In all of them together. [kg]

        Returns
        -------
        dict of str to float
            By element. [kg]
        """
        return {name: share * dirt_kg for name, share in self.shares.items()}

    def circuit(self, conditions: Conditions, dirt_kg: float) -> FeedCircuit:
        """
        Lower the line under conditions, with dirt in its elements.

        Parameters
        ----------
        conditions : Conditions
            Its own loading is passed over for elements that hold a share.
        dirt_kg : float
            In all elements together. [kg]

        Returns
        -------
        FeedCircuit
            Ready to be asked.

        Raises
        ------
        InputError
            The dirt shuts an element.
        """
        return build_circuit(
            self.vehicle,
            self.line,
            self.fuels[conditions.fuel],
            replace(
                conditions,
                # What is declared of elements that do not load here stays.
                captured_mass_kg={**self._declared(conditions), **self.masses(dirt_kg)},
            ),
            self.rule,
        )

    def _declared(self, conditions: Conditions) -> dict[str, float]:
        """Give what conditions declare of elements of this line that hold no share."""
        present = {element.id for element in self.line.elements}
        return {
            name: mass
            for name, mass in conditions.captured_mass_kg.items()
            if name in present and self.shares.get(name, 0.0) == 0.0
        }

    def slack(self, conditions: Conditions, dirt_kg: float) -> float:
        """
        Give the least share of a limit that is left under conditions.

        Parameters
        ----------
        conditions, dirt_kg
            As for `circuit`.

        Returns
        -------
        float
            Below 0 where a limit is broken, and -1 where the dirt shuts an element. [-]
        """
        try:
            circuit = self.circuit(conditions, dirt_kg)
        except InputError:
            if dirt_kg == 0.0:
                raise
            return -1.0
        _, injected = circuit.full_load(self.engine_speed_rev_per_s)
        states = circuit.at_many(self.engine_speed_rev_per_s, injected)
        _, slack, _ = least_slacks(state_columns(states), self.limits)
        return float(np.min(slack))


@dataclass(frozen=True, slots=True, kw_only=True)
class AllowedDirt:
    """
    How much dirt a line may hold.

    Parameters
    ----------
    dirt_kg : float or None
        In all elements together when the first limit is reached; None where the clean line
        breaks one already. [kg]
    deciding : Conditions
        Where that happens first.
    clean_slack : float
        Least share of a limit left when clean, there. [-]
    unlimited : bool
        True when no dirt that was tried reaches a limit.
    """

    dirt_kg: float | None
    deciding: Conditions
    clean_slack: float
    unlimited: bool = False


def allowed_dirt(loader: Loader, worst: Sequence[Conditions]) -> AllowedDirt:
    """
    Find the dirt at which the worst declared conditions are just kept.

    Parameters
    ----------
    loader : Loader
        The line.
    worst : sequence of Conditions
        Declared worst conditions; their own loading is passed over.

    Returns
    -------
    AllowedDirt
        The least over the conditions, found by solving the line again and again, not by
        extrapolating a reading.

    Raises
    ------
    InputError
        No condition was declared.
    """
    if not worst:
        raise InputError.at(
            "worst",
            "no worst conditions are declared, and none are guessed.",
            "Declare [[worst]]: the coldest fuel, the highest road, the steepest climb.",
        )
    clean = [(loader.slack(conditions, 0.0), index) for index, conditions in enumerate(worst)]
    least, index = min(clean)
    if least < 0.0:
        return AllowedDirt(dirt_kg=None, deciding=worst[index], clean_slack=least)
    found = [
        (_where_slack_ends(partial(loader.slack, each)), place) for place, each in enumerate(worst)
    ]
    dirt, place = min(found)
    return AllowedDirt(
        dirt_kg=dirt,
        deciding=worst[place],
        clean_slack=clean[place][0],
        unlimited=dirt >= MOST_DIRT_KG,
    )


def _where_slack_ends(slack: Callable[[float], float]) -> float:
    """Halve the bracket of the dirt at which a falling slack crosses zero."""
    low, high = 0.0, 1e-3
    while slack(high) >= 0.0:
        low, high = high, 2.0 * high
        if high > MOST_DIRT_KG:
            return MOST_DIRT_KG
    while high - low > DIRT_TOLERANCE_KG:
        middle = 0.5 * (low + high)
        if slack(middle) >= 0.0:
            low = middle
        else:
            high = middle
    return low
