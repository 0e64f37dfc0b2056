"""A figure that was simulated before this code was written, and how near to it a rate must come."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SIGMAS = 4.0
"""Of the difference of two simulations: about one of 16000 sound figures is further off."""


@dataclass(frozen=True, kw_only=True)
class Figure:
    """
    One published rate of the method's own simulation.

    ``printed`` was rounded to ``digits`` and came from ``behind`` sessions; ``trials`` repeats the
    simulation and says of each session whether what is counted happened.
    """

    name: str
    printed: float
    trials: Callable[[np.random.Generator, int], NDArray[np.bool_]]
    behind: int = 3000
    digits: int = 3
    cost: int = 1
    """Sessions are this many times dearer than plain ones: the command takes fewer of them."""

    def measure(self, repeats: int) -> tuple[float, int]:
        """Give the rate and the sessions behind it; the seed is the figure's own name."""
        rng = np.random.default_rng(list(self.name.encode()))
        found = self.trials(rng, max(1000, repeats // self.cost))
        return float(found.mean()), int(found.size)

    def allowance(self, repeats: int) -> float:
        """Give half a printed unit and four binomial standard errors of both simulations."""
        # The rate behind the print may lie half a unit nearer to one half; and a printed 0 or 1 of
        # n sessions may be 3/n away from it (rule of three).
        unit = 0.5 * 10.0**-self.digits
        least = max(3.0 / self.behind, unit)
        rate = self.printed + math.copysign(unit, 0.5 - self.printed)
        rate = min(max(rate, least), 1.0 - least)
        error = math.sqrt(rate * (1.0 - rate) * (1.0 / repeats + 1.0 / self.behind))
        return unit + SIGMAS * error

    def explain(self, found: float, repeats: int) -> str:
        """Say what was found and what is allowed."""
        return (
            f"{self.name}: {found:.4f} in {repeats} sessions; printed {self.printed:g}, allowed"
            f" +-{self.allowance(repeats):.4f}"
        )
