"""What is fitted: parameters with what was believed of each before the runs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

GAUGE, HEIGHT, TRANSITION = "gauge", "tank.height", "friction.transition"
LINE_VISCOUS, LINE_INERTIAL, LINE_ELEMENT = "line.viscous", "line.inertial", "line.element"
PUMP = ("displacement", "slip", "half_pressure", "softness", "gas_release")


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """
    One parameter with its prior.

    Parameters
    ----------
    name : str
        Such as ``line.viscous`` or ``kit.secondary.inertial``.
    meaning : str
        In words.
    unit : str
        ``factor`` (on what the case says), ``Pa``, ``m`` or ``1``.
    standard_deviation : float
        Before the runs; of the logarithm of a factor, else in the unit.
    source : str
        Where that comes from.
    """

    name: str
    meaning: str
    unit: str
    standard_deviation: float
    source: str

    @property
    def is_factor(self) -> bool:
        """Say whether it multiplies what the case says."""
        return self.unit == "factor"

    def value(self, whitened: float) -> float:
        """
        Turn prior standard deviations from the described value into the value itself.

        Parameters
        ----------
        whitened : float
            Prior standard deviations above what the case says. [-]

        Returns
        -------
        float
            A factor, or an amount in the parameter's unit.
        """
        moved = self.standard_deviation * whitened
        return math.exp(moved) if self.is_factor else moved


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameters:
    """
    All parameters of a fit, in order.

    Parameters
    ----------
    each : tuple of Parameter
        In the order of every array of this room.
    """

    each: tuple[Parameter, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Give the names in order."""
        return tuple(one.name for one in self.each)

    def __len__(self) -> int:
        """Count them."""
        return len(self.each)

    def values(self, whitened: FloatArray) -> "Values":
        """
        Turn whitened points into values.

        Parameters
        ----------
        whitened : array, shape (m, p)
            Prior standard deviations from the described values. [-]

        Returns
        -------
        Values
            By name.
        """
        moved = whitened * np.array([one.standard_deviation for one in self.each])
        factors = np.array([one.is_factor for one in self.each], dtype=bool)
        return Values(
            names=self.names, table=np.where(factors, np.exp(np.where(factors, moved, 0.0)), moved)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Values:
    """
    Values of the parameters at many points.

    Parameters
    ----------
    names : tuple of str
        Columns.
    table : array, shape (m, p)
        Factors, and amounts in their units.
    """

    names: tuple[str, ...]
    table: FloatArray

    def of(self, name: str, default: float = 1.0) -> FloatArray:
        """
        Give one parameter's values.

        Parameters
        ----------
        name : str
            Of the parameter.
        default : float
            What stands for a parameter that is not fitted.

        Returns
        -------
        array, shape (m,)
            Its values.
        """
        if name in self.names:
            return self.table[:, self.names.index(name)]
        return np.full(self.table.shape[0], default)

    def factors(self, names: Sequence[str]) -> FloatArray:
        """
        Give the factors of several parameters; those that are not fitted are 1.

        Parameters
        ----------
        names : sequence of str
            Of the parameters.

        Returns
        -------
        array, shape (m, n)
            In the order of the names.
        """
        columns = [self.of(name) for name in names]
        return np.stack(columns, axis=1) if columns else np.ones((self.table.shape[0], 0))

    def at(self, row: int) -> dict[str, float]:
        """
        Give the values of one point.

        Parameters
        ----------
        row : int
            Which.

        Returns
        -------
        dict of str to float
            By name.
        """
        return dict(zip(self.names, self.table[row].tolist(), strict=True))
