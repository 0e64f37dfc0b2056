"""
The declared worst conditions as a bench: many lines, one after the other, held against the limits.

A candidate changes nothing but the sums of the chain, so the vehicle, its fuels and surroundings
are lowered once.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.core.errors import InputError
from feedproof.feedline.chain_circuit import ChainCircuit
from feedproof.feedline.grid import GridLimits, least_slacks
from feedproof.feedline.plan import LinePlan
from feedproof.feedline.pump_state import FeedState
from feedproof.kits.life import MOST_MEDIA_RATIO, summed_chain
from feedproof.kits.loading import Loader, state_columns

FloatArray = NDArray[np.float64]

HALVINGS = 45
_FEED = FeedState._fields.index("feed_m3_per_s")
_DEPRESSION = FeedState._fields.index("depression_pa")
_PRESSURE = FeedState._fields.index("pressure_abs_pa")
_MARGIN = FeedState._fields.index("feed_margin")


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """
    A line where a limit is nearest.

    Parameters
    ----------
    slack : float
        Least share of a limit left. [-]
    place : int
        Which of the worst conditions.
    depression_pa, pressure_abs_pa, feed_margin : float
        There. [Pa], [Pa], [-]
    """

    slack: float
    place: int
    depression_pa: float
    pressure_abs_pa: float
    feed_margin: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """
    The worst conditions, ready to be asked about any chain.

    Parameters
    ----------
    circuits : tuple of ChainCircuit
        The line without a kit under each condition.
    names : tuple of str
        Of the conditions.
    engine_speed_rev_per_s : array, shape (n,)
        Full-load speeds over which they must be kept. [rev/s]
    injected_m3_per_s : tuple of array, shape (n,)
        Fuel at full load, by condition. [m3/s]
    limits : GridLimits
        What must hold.
    """

    circuits: tuple[ChainCircuit, ...]
    names: tuple[str, ...]
    engine_speed_rev_per_s: FloatArray
    injected_m3_per_s: tuple[FloatArray, ...]
    limits: GridLimits

    def guarded(self, guard_pa: float) -> "Bench":
        """
        Raise the pressure that must be left by what a prediction may be off.

        Parameters
        ----------
        guard_pa : float
            Kept from the limit. [Pa]

        Returns
        -------
        Bench
            With limit and guard in one.
        """
        least = self.limits.least_pressure_abs_pa + guard_pa
        return replace(self, limits=self.limits._replace(least_pressure_abs_pa=least))

    def ask(self, plan: LinePlan, media_per_m3: float) -> Found:
        """
        Hold a line with a sum of media resistances against the limits.

        Parameters
        ----------
        plan : LinePlan
            The chain in sums.
        media_per_m3 : float
            Its media. [1/m3]

        Returns
        -------
        Found
            At the condition and speed where the least is left.
        """
        best: Found | None = None
        loaded = plan._replace(media_per_m3=media_per_m3)
        for place, (circuit, injected) in enumerate(
            zip(self.circuits, self.injected_m3_per_s, strict=True)
        ):
            states = replace(circuit, plan=loaded).at_many(self.engine_speed_rev_per_s, injected)
            _, slack, _ = least_slacks(state_columns(states), self.limits)
            row = int(np.argmin(slack))
            if best is None or float(slack[row]) < best.slack:
                best = Found(
                    slack=float(slack[row]),
                    place=place,
                    depression_pa=float(states[row, _DEPRESSION]),
                    pressure_abs_pa=float(states[row, _PRESSURE]),
                    feed_margin=float(np.min(states[:, _MARGIN])),
                )
        if best is None:
            raise InputError.at("worst", "no worst conditions are declared, and none are guessed.")
        return best

    def bears(self, plan: LinePlan) -> float:
        """
        Find the sum of media resistances at which the first limit is reached.

        Parameters
        ----------
        plan : LinePlan
            A clean chain in sums.

        Returns
        -------
        float
            At least 0; infinite where nothing that was tried reaches a limit. What a clean line
            has above it breaks a limit already. [1/m3]
        """
        if self.ask(plan, 0.0).slack < 0.0:
            return 0.0
        low, high = 0.0, max(plan.media_per_m3, 1.0)
        most = MOST_MEDIA_RATIO * high
        while self.ask(plan, high).slack >= 0.0:
            low, high = high, 2.0 * high
            if high > most:
                return math.inf
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            if self.ask(plan, middle).slack >= 0.0:
                low = middle
            else:
                high = middle
        return low

    def largest_feed_m3_per_s(self) -> float:
        """
        Give the largest flow of the line without a kit.

        Returns
        -------
        float
            At full load under the worst conditions. [m3/s]
        """
        return max(
            float(np.max(circuit.at_many(self.engine_speed_rev_per_s, injected)[:, _FEED]))
            for circuit, injected in zip(self.circuits, self.injected_m3_per_s, strict=True)
        )

    def share_used(self, plan: LinePlan) -> tuple[float, int]:
        """
        Give how much of the allowed depression a clean line takes.

        Parameters
        ----------
        plan : LinePlan
            A clean chain in sums.

        Returns
        -------
        tuple of float and int
            Largest share over the conditions, and at which; not a number where no limit is
            known. [-]
        """
        least = self.limits.least_pressure_abs_pa
        if math.isnan(least):
            return math.nan, 0
        shares = []
        for circuit, injected in zip(self.circuits, self.injected_m3_per_s, strict=True):
            states = replace(circuit, plan=plan).at_many(self.engine_speed_rev_per_s, injected)
            allowed = circuit.around.ambient_abs_pa - least
            largest = float(np.max(states[:, _DEPRESSION]))
            shares.append(largest / allowed if allowed > 0.0 else math.inf)
        place = int(np.argmax(shares))
        return shares[place], place


def bench_of(loader: Loader, worst: Sequence[Conditions]) -> Bench:
    """
    Lower a line under its worst conditions.

    Parameters
    ----------
    loader : Loader
        The line without a kit.
    worst : sequence of Conditions
        As declared.

    Returns
    -------
    Bench
        Ready to be asked.

    Raises
    ------
    InputError
        No condition; a line that is no chain in sums.
    """
    if not worst:
        raise InputError.at(
            "worst",
            "no worst conditions are declared, and none are guessed.",
            "Declare [[worst]]: the coldest fuel, the highest road, the steepest climb.",
        )
    circuits = tuple(summed_chain(loader, each) for each in worst)
    speeds = loader.engine_speed_rev_per_s
    return Bench(
        circuits=circuits,
        names=tuple(each.name or each.fuel for each in worst),
        engine_speed_rev_per_s=speeds,
        injected_m3_per_s=tuple(each.full_load(speeds)[1] for each in circuits),
        limits=loader.limits,
    )
