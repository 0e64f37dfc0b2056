"""
The uncertain inputs of a prediction, and a model of the top of the pull that is cheap to sample.

An input is a value of the case that came with a range.  What is not known of the transition from
laminar to turbulent flow is no value of the case but of the model; it is sampled as one more
input, a weight between the outcomes of its two edge rules.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.app.spread import unplaced, with_value
from feedproof.case.case import Case
from feedproof.core.values import SourcedValue
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]

QUANTITIES = ("room", "depression", "feed_margin", "return")
"""What is predicted, in this order: [Pa], [Pa], [-], [m3/s]."""
TRANSITION = "friction_transition"
"""Name of the model's own uncertainty among the inputs."""
EDGES = (FrictionRule.LAMINAR_LATE, FrictionRule.TURBULENT_EARLY)
RECTANGULAR, TRIANGULAR = "rectangular", "triangular"


@dataclass(frozen=True, slots=True, kw_only=True)
class RangedInput:
    """
    One value of the case with the ends between which it is believed to lie.

    Parameters
    ----------
    path : str
        Its path in the case.
    value : SourcedValue
        As the case holds it.
    low, high : float
        Ends; an end that the case does not give is the value itself. [SI]
    """

    path: str
    value: SourcedValue
    low: float
    high: float

    @property
    def distribution(self) -> str:
        """Give the distribution: a rectangle, unless the source of the value says triangular."""
        return TRIANGULAR if TRIANGULAR in self.value.source.lower() else RECTANGULAR

    def at(self, probability: FloatArray) -> FloatArray:
        """
        Give the value that is not exceeded with a probability.

        Parameters
        ----------
        probability : array, shape (n,)
            From 0 to 1. [-]

        Returns
        -------
        array, shape (n,)
            In SI: even over the range, or a triangle with its peak at the value.

        Notes
        -----
        JCGM 100:2008 (GUM) 4.3.7 for ends and nothing else, 4.3.9 for a triangle.
        """
        width = self.high - self.low
        if self.distribution == RECTANGULAR:
            return self.low + probability * width
        peak = self.value.value - self.low
        rising = np.sqrt(probability * width * peak)
        falling = width - np.sqrt((1.0 - probability) * width * (width - peak))
        return self.low + np.where(probability * width < peak, rising, falling)


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """
    The ranged values of a case, sorted out for one configuration.

    Parameters
    ----------
    varied : tuple of RangedInput
        Those that the prediction can move, by path: the order of the document plays no part.
    elsewhere : tuple of str
        Paths of those that belong to another kit or fuel.
    unplaced : tuple of str
        Paths of those that the prediction does not know how to move.
    """

    varied: tuple[RangedInput, ...]
    elsewhere: tuple[str, ...]
    unplaced: tuple[str, ...]


def inputs_of(case: Case, kits: tuple[str, ...], fuel: str) -> Inputs:
    """
    Sort out the ranged values of a case.

    Parameters
    ----------
    case : Case
        The case with its book of values.
    kits : tuple of str
        Kit ids of the configuration.
    fuel : str
        The fuel asked about.

    Returns
    -------
    Inputs
        What is varied, and what is not.
    """
    others = tuple(f"kit[{kit_id}]." for kit_id in case.kits if kit_id not in kits)
    others += tuple(f"fuel.{name}." for name in case.fuels if name != fuel)
    varied, elsewhere = [], []
    lost = set(unplaced(case))
    for path, value in sorted(case.values.items()):
        low = value.value if value.low is None else value.low
        high = value.value if value.high is None else value.high
        if low == high or path in lost:
            continue
        if path.startswith(others):
            elsewhere.append(path)
        elif all(with_value(case, path, value, end) is not None for end in (low, high)):
            varied.append(RangedInput(path=path, value=value, low=low, high=high))
    return Inputs(varied=tuple(varied), elsewhere=tuple(elsewhere), unplaced=tuple(sorted(lost)))
