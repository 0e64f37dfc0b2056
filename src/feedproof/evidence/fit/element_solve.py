"""
Small symmetric systems in a fixed order, so that every machine prints the same digits.

Libraries of linear algebra choose other instructions on other processors and differ in the last
bits.  The systems of a fit have two to six unknowns: written out, with exactly rounded sums, they
cost microseconds and always give the same digits.
"""

import math
from collections.abc import Sequence
from operator import mul

Matrix = list[list[float]]

LEAST_PIVOT = 1e-13
"""Below this share of its diagonal a pivot is rounding: the unknown cannot be told. [-]"""


class RankError(ArithmeticError):
    """
    An unknown that the data cannot tell from those before it.

    Parameters
    ----------
    unknown : int
        Its place, counted from 0.
    """

    def __init__(self, unknown: int) -> None:
        self.unknown = unknown
        super().__init__(f"unknown {unknown} cannot be told from those before it")


def factor(matrix: Sequence[Sequence[float]]) -> tuple[list[float], Matrix]:
    """
    Factor a symmetric positive definite matrix after scaling its diagonal to one.

    Parameters
    ----------
    matrix : sequence of sequence of float, shape (n, n)
        Only the lower triangle is read.

    Returns
    -------
    scale : list of float, length n
        Square roots of the diagonal.
    lower : list of list of float, shape (n, n)
        Lower triangle L with ``matrix[i][j] = scale[i] scale[j] (L L^T)[i][j]``. [-]

    Raises
    ------
    RankError
        A diagonal that is not positive, or a pivot below `LEAST_PIVOT`.

    Notes
    -----
    Cholesky's method.  Scaling makes the limit on a pivot independent of units: a pivot is one
    less the squared multiple correlation of its unknown with those before it.
    """
    size = len(matrix)
    scale: list[float] = []
    for i in range(size):
        if not matrix[i][i] > 0.0:
            raise RankError(i)
        scale.append(math.sqrt(matrix[i][i]))
    lower = [[0.0] * size for _ in range(size)]
    for i in range(size):
        for j in range(i):
            known = math.fsum(lower[i][k] * lower[j][k] for k in range(j))
            lower[i][j] = (matrix[i][j] / (scale[i] * scale[j]) - known) / lower[j][j]
        pivot = 1.0 - math.fsum(lower[i][k] * lower[i][k] for k in range(i))
        if not pivot > LEAST_PIVOT:
            raise RankError(i)
        lower[i][i] = math.sqrt(pivot)
    return scale, lower


def forward(factored: tuple[list[float], Matrix], right: Sequence[float]) -> list[float]:
    """
    Do the first half of a solution.

    Parameters
    ----------
    factored : tuple
        As `factor` gives it.
    right : sequence of float, length n
        Right-hand side.

    Returns
    -------
    list of float, length n
        Such that the product of two of them is one right-hand side times the solution of the
        other.
    """
    scale, lower = factored
    middle: list[float] = []
    for i, value in enumerate(right):
        known = math.fsum(map(mul, lower[i], middle)) if i else 0.0
        middle.append((value / scale[i] - known) / lower[i][i])
    return middle


def solve(factored: tuple[list[float], Matrix], right: Sequence[float]) -> list[float]:
    """
    Solve a factored system.

    Parameters
    ----------
    factored : tuple
        As `factor` gives it.
    right : sequence of float, length n
        Right-hand side.

    Returns
    -------
    list of float, length n
        The unknowns.

    Examples
    --------
    >>> [round(x, 12) for x in solve(factor([[4.0, 2.0], [2.0, 3.0]]), [10.0, 9.0])]
    [1.5, 2.0]
    """
    scale, lower = factored
    size = len(scale)
    middle = forward(factored, right)
    answer = [0.0] * size
    for i in reversed(range(size)):
        known = math.fsum(lower[k][i] * answer[k] for k in range(i + 1, size))
        answer[i] = (middle[i] - known) / lower[i][i]
    return [value / s for value, s in zip(answer, scale, strict=True)]


def inverse(factored: tuple[list[float], Matrix]) -> Matrix:
    """
    Invert a factored matrix.

    Parameters
    ----------
    factored : tuple
        As `factor` gives it.

    Returns
    -------
    list of list of float, shape (n, n)
        The inverse, made exactly symmetric.
    """
    size = len(factored[0])
    columns = [solve(factored, [float(i == j) for i in range(size)]) for j in range(size)]
    return [[0.5 * (columns[j][i] + columns[i][j]) for j in range(size)] for i in range(size)]
