"""Small systems in a fixed order, against exact fractions."""

from fractions import Fraction

import numpy as np
import pytest

from feedproof.evidence.fit.element_solve import RankError, factor, forward, inverse, solve


def hilbert(size: int) -> list[list[float]]:
    return [[1.0 / (i + j + 1.0) for j in range(size)] for i in range(size)]


def exact(matrix: list[list[float]], right: list[float]) -> list[float]:
    """Solve by elimination in fractions: no rounding at all."""
    rows = [
        [Fraction(v) for v in row] + [Fraction(b)] for row, b in zip(matrix, right, strict=True)
    ]
    size = len(rows)
    for i in range(size):
        for k in range(size):
            if k != i:
                share = rows[k][i] / rows[i][i]
                rows[k] = [a - share * b for a, b in zip(rows[k], rows[i], strict=True)]
    return [float(row[-1] / row[i]) for i, row in enumerate(rows)]


@pytest.mark.parametrize("size", [1, 2, 3, 4, 5])
def test_a_badly_conditioned_system_is_solved_as_well_as_its_condition_allows(size: int) -> None:
    matrix, right = hilbert(size), [1.0 + i for i in range(size)]

    found = solve(factor(matrix), right)

    allowed = 1e-15 * float(np.linalg.cond(np.array(matrix)))
    assert found == pytest.approx(exact(matrix, right), rel=allowed + 1e-14)


def test_the_inverse_is_that_of_a_general_library_and_symmetric() -> None:
    matrix = hilbert(4)

    found = inverse(factor(matrix))

    assert np.array(found) == pytest.approx(np.linalg.inv(np.array(matrix)), rel=1e-10)
    assert all(found[i][j] == found[j][i] for i in range(4) for j in range(4))


def test_half_solutions_multiply_to_a_quadratic_form() -> None:
    matrix, u, v = hilbert(3), [1.0, -2.0, 0.5], [0.3, 0.2, 0.1]
    factored = factor(matrix)

    halves = sum(a * b for a, b in zip(forward(factored, u), forward(factored, v), strict=True))

    whole = sum(a * b for a, b in zip(u, solve(factored, v), strict=True))
    assert halves == pytest.approx(whole, rel=1e-11)


@pytest.mark.parametrize("scale", [1e-12, 1.0, 1e12])
def test_an_unknown_that_follows_from_others_is_named_in_any_unit(scale: float) -> None:
    columns = np.array([[1.0, 2.0, 4.0], [1.0, 3.0, 5.0], [1.0, 4.0, 6.0], [1.0, 5.5, 7.5]])
    columns[:, 2] *= scale
    matrix = (columns.T @ columns).tolist()

    with pytest.raises(RankError) as caught:
        factor(matrix)

    assert caught.value.unknown == 2


def test_an_unknown_that_nothing_depends_on_is_named() -> None:
    with pytest.raises(RankError) as caught:
        factor([[1.0, 0.0], [0.0, 0.0]])

    assert caught.value.unknown == 1
