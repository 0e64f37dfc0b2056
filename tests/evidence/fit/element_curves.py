"""Curves and data of published fits, for the checks of the least squares core."""

from collections.abc import Callable, Sequence

import numpy as np

from feedproof.evidence.fit.element_points import CurveAt, FloatArray, Group


class Plain:
    """A curve that is the same for every run."""

    def __init__(self, at: Callable[[Sequence[float], FloatArray], CurveAt]) -> None:
        self._at = at

    def at(
        self, parameters: Sequence[float], run: int, x: FloatArray, factor_error: float
    ) -> CurveAt:
        assert run >= 0
        assert factor_error == 0.0
        return self._at(parameters, x)


def line(parameters: Sequence[float], x: FloatArray) -> CurveAt:
    """Give y = b0 + b1 x."""
    b0, b1 = parameters
    one = np.ones_like(x)
    return CurveAt(b0 + b1 * x, b1 * one, (one, x), 0.0 * x)


def misra(parameters: Sequence[float], x: FloatArray) -> CurveAt:
    """Give y = b1 (1 - exp(-b2 x))."""
    b1, b2 = parameters
    e = np.exp(-b2 * x)
    return CurveAt(b1 * (1.0 - e), b1 * b2 * e, (1.0 - e, b1 * x * e), 0.0 * x)


def power(parameters: Sequence[float], x: FloatArray) -> CurveAt:
    """Give y = b1 x^b2."""
    b1, b2 = parameters
    p = x**b2
    return CurveAt(b1 * p, b1 * b2 * p / x, (p, b1 * p * np.log(x)), 0.0 * x)


def odrpack_example(parameters: Sequence[float], x: FloatArray) -> CurveAt:
    """Give y = b1 + b2 (exp(b3 x) - 1)^2, the explicit example of the ODRPACK user's guide."""
    b1, b2, b3 = parameters
    e = np.exp(b3 * x)
    m = e - 1.0
    columns = (np.ones_like(x), m * m, 2.0 * b2 * m * e * x)
    return CurveAt(b1 + b2 * m * m, 2.0 * b2 * b3 * m * e, columns, 0.0 * x)


def group(
    x: Sequence[float],
    y: Sequence[float],
    u_x: Sequence[float] | float = 0.0,
    u_y: Sequence[float] | float = 1.0,
    u_offset: float = 0.0,
    u_scale: float = 0.0,
) -> Group:
    """Make a group from plain lists."""
    xs, ys = np.array(x, dtype=float), np.array(y, dtype=float)
    return Group(
        x=xs,
        y=ys,
        u_x=np.broadcast_to(np.asarray(u_x, dtype=float), xs.shape).copy(),
        u_y=np.broadcast_to(np.asarray(u_y, dtype=float), xs.shape).copy(),
        u_offset=u_offset,
        u_scale=u_scale,
    )


# Pearson (Phil. Mag. 2, 1901, 559), weights of York (Can. J. Phys. 44, 1966, 1079).
PEARSON_X = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4]
PEARSON_Y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5]
YORK_WEIGHT_X = [1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0]
YORK_WEIGHT_Y = [1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0]

# NIST StRD, nonlinear regression, lower level of difficulty.
MISRA_Y = [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02]
MISRA_Y += [44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78]
MISRA_X = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8]
MISRA_X += [378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0]
DANWOOD_Y = [2.138, 3.421, 3.597, 4.340, 4.882, 5.660]
DANWOOD_X = [1.309, 1.471, 1.490, 1.565, 1.611, 1.680]

# ODRPACK user's guide (NISTIR 89-4103, 1989), explicit example; 0 and 100 are exact.
ODRPACK_X = [0.0, 0.0, 5.0, 7.0, 7.5, 10.0, 16.0, 26.0, 30.0, 34.0, 34.5, 100.0]
ODRPACK_Y = [1265.0, 1263.6, 1258.0, 1254.0, 1253.0, 1249.8]
ODRPACK_Y += [1237.0, 1218.0, 1220.6, 1213.8, 1215.5, 1212.0]
ODRPACK_U_X = [0.0, 0.0, *[1.0] * 9, 0.0]
