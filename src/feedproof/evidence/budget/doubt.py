"""
What is known of one input of a budget: its size, its distribution, how well it is known.

A limit of error is a rectangle, the edges of a step are half the step away, a mark read by eye is
a triangle, a slow swing between two ends is an arcsine (JCGM 100:2008, 4.3 and F.2.2).
"""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


class Distribution(StrEnum):
    """Shape of what is believed about an input."""

    NORMAL = "normal"
    STUDENT = "t"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    ARCSINE = "arcsine"


class Evaluation(StrEnum):
    """How an uncertainty was found: A from repeated readings, B otherwise."""

    A = "A"
    B = "B"


DIVISORS = {
    Distribution.NORMAL: 1.0,
    Distribution.STUDENT: 1.0,
    Distribution.RECTANGULAR: math.sqrt(3.0),
    Distribution.TRIANGULAR: math.sqrt(6.0),
    Distribution.ARCSINE: math.sqrt(2.0),
}
"""From half-width (of normal and t: from standard uncertainty) to standard uncertainty. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """
    How far an input may be off.

    Parameters
    ----------
    size : float
        Half-width; of a normal law or Student's t the standard uncertainty. Unit of the input.
    distribution : Distribution
        Shape.
    degrees_of_freedom : float
        How well the size is known. [-]
    basis : str
        Where the size comes from.
    assumed : bool
        True when nobody declared it: the result must say so.
    """

    size: float
    distribution: Distribution
    degrees_of_freedom: float = math.inf
    basis: str = ""
    assumed: bool = False

    def __post_init__(self) -> None:
        """Refuse what is no size and no degrees of freedom."""
        if not (math.isfinite(self.size) and self.size >= 0.0):
            raise ValueError(f"size {self.size} of a doubt must be finite and not below 0")
        if not self.degrees_of_freedom > 0.0:
            raise ValueError(f"degrees of freedom {self.degrees_of_freedom} must be above 0")
        if self.distribution is Distribution.STUDENT and math.isinf(self.degrees_of_freedom):
            raise ValueError("Student's t needs finite degrees of freedom; take the normal law")

    @property
    def divisor(self) -> float:
        """Give what turns the size into a standard uncertainty."""
        return DIVISORS[self.distribution]

    @property
    def standard_uncertainty(self) -> float:
        """Give the standard uncertainty, in the unit of the input."""
        return self.size / self.divisor

    def times(self, factor: float) -> "Doubt":
        """Give the same doubt on another scale, such as percent of a span."""
        return replace(self, size=self.size * abs(factor))


def standard(
    u: float, basis: str = "", *, degrees_of_freedom: float = math.inf, assumed: bool = False
) -> Doubt:
    """
    Take a standard uncertainty as it is, normal.

    Parameters
    ----------
    u : float
        Standard uncertainty, in the unit of the input.
    basis : str
        Where it comes from.
    degrees_of_freedom : float
        How well it is known. [-]
    assumed : bool
        Nobody declared it.

    Returns
    -------
    Doubt
        Normal.
    """
    return Doubt(
        size=u,
        distribution=Distribution.NORMAL,
        degrees_of_freedom=degrees_of_freedom,
        basis=basis,
        assumed=assumed,
    )


def limit(half_width: float, basis: str = "", *, assumed: bool = False) -> Doubt:
    """
    Take a limit of error as a rectangle.

    Parameters
    ----------
    half_width : float
        The limit, in the unit of the input.
    basis : str
        Where it comes from.
    assumed : bool
        Nobody declared it.

    Returns
    -------
    Doubt
        Rectangular.
    """
    return Doubt(
        size=half_width, distribution=Distribution.RECTANGULAR, basis=basis, assumed=assumed
    )


def step(resolution: float, basis: str = "", *, assumed: bool = False) -> Doubt:
    """
    Take the step of a digital reading: half a step to each side.

    Parameters
    ----------
    resolution : float
        Smallest step, in the unit of the input.
    basis : str
        Where it comes from.
    assumed : bool
        Nobody declared it.

    Returns
    -------
    Doubt
        Rectangular, standard uncertainty step / sqrt 12.
    """
    return limit(0.5 * resolution, basis, assumed=assumed)


def mark(graduation: float, basis: str = "", *, assumed: bool = False) -> Doubt:
    """
    Take a mark read by eye: most likely right, at most one graduation off.

    Parameters
    ----------
    graduation : float
        Distance of two marks, in the unit of the input.
    basis : str
        Where it comes from.
    assumed : bool
        Nobody declared it.

    Returns
    -------
    Doubt
        Triangular, standard uncertainty graduation / sqrt 6.
    """
    return Doubt(
        size=graduation, distribution=Distribution.TRIANGULAR, basis=basis, assumed=assumed
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """
    One uncertain input of a model.

    Parameters
    ----------
    symbol : str
        Name of the model's parameter.
    name : str
        What it is, in words.
    value : float
        Best estimate.
    unit : str
        SI unit; 1 for a ratio.
    doubt : Doubt
        How far it may be off.
    evaluation : Evaluation
        A or B.
    count : int
        The input is the mean of so many independent ones with this doubt. [-]
    in_repeats : bool
        True when repeated runs show it in their scatter by themselves.
    """

    symbol: str
    name: str
    value: float
    unit: str
    doubt: Doubt
    evaluation: Evaluation = Evaluation.B
    count: int = 1
    in_repeats: bool = False

    def __post_init__(self) -> None:
        """Refuse a value that is no number and a mean of nothing."""
        if not math.isfinite(self.value):
            raise ValueError(f"{self.name}: value {self.value} is not a finite number")
        if self.count < 1:
            raise ValueError(f"{self.name}: a mean of {self.count} readings is none")

    @property
    def standard_uncertainty(self) -> float:
        """Give the standard uncertainty of the input, of a mean where it is one."""
        return self.doubt.standard_uncertainty / math.sqrt(self.count)

    def draw(self, random: np.random.Generator, trials: int) -> FloatArray:
        """
        Draw the input from its distribution.

        Parameters
        ----------
        random : numpy.random.Generator
            Where chance comes from.
        trials : int
            How many. [-]

        Returns
        -------
        array, shape (trials,)
            In the unit of the input.
        """
        total = np.zeros(trials)
        for _ in range(self.count):
            total += _unit_draw(self.doubt, random, trials)
        return self.value + self.doubt.size * total / self.count


def _unit_draw(doubt: Doubt, random: np.random.Generator, trials: int) -> FloatArray:
    """Draw from the distribution with size 1 about 0."""
    match doubt.distribution:
        case Distribution.NORMAL:
            return random.standard_normal(trials)
        case Distribution.STUDENT:
            return random.standard_t(doubt.degrees_of_freedom, trials)
        case Distribution.RECTANGULAR:
            return 2.0 * random.random(trials) - 1.0
        case Distribution.TRIANGULAR:
            return random.random(trials) - random.random(trials)
        case Distribution.ARCSINE:
            return np.asarray(np.sin(np.pi * (random.random(trials) - 0.5)), dtype=np.float64)
