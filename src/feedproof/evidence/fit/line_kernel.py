"""
Many runs of one case under many sets of parameters, in one compiled call.

The circuits are those of the feed line; nothing of its physics is written here again.
"""

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.feedline.plan import FluidPlan, LinePlan, PumpPlan
from feedproof.feedline.solve import operating_points
from feedproof.feedline.surroundings import Surroundings
from feedproof.physics.fuel import walther_constants, walther_kinematic_viscosity

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

CELL_COLUMNS = 13
LENGTH = 1
"""Column of a pipe's row that holds its length."""


@formula
def solve_asks(
    sums: FloatArray,
    pipes: FloatArray,
    stretched: FloatArray,
    first_pipe: IntArray,
    fluids: FloatArray,
    walther: FloatArray,
    thicker: FloatArray,
    arounds: FloatArray,
    pumps: FloatArray,
    demands: FloatArray,
    first_point: IntArray,
    rule: int,
) -> FloatArray:
    """
    Solve the points of every ask under every set of parameters.

    Parameters
    ----------
    sums : array, shape (m, n_asks, 4)
        Cracking pressure, viscous, media and inertial resistance of the chains.
    pipes : array, shape (n_pipes, 8)
        Pipes of all asks, one ask after the other.
    stretched : array, shape (m, n_pipes)
        Factors on their lengths.
    first_pipe, first_point : array of int, shape (n_asks + 1,)
        Where each ask's pipes and points begin.
    fluids : array, shape (n_asks, 5)
        In the order of `FluidPlan`.
    walther : array, shape (n_asks, 5)
        Two temperatures with the kinematic viscosity there, and the temperature asked about:
        cool [K], [m2/s], warm [K], [m2/s], asked [K].
    thicker : array, shape (m, n_asks)
        Factors on the two viscosities.
    arounds : array, shape (m, n_asks, 4)
        In the order of `Surroundings`.
    pumps : array, shape (m, 12)
        In the order of `PumpPlan`.
    demands : array, shape (3, n_points)
        Pump speed [rev/s], wanted fuel and back-leak [m3/s].
    rule : int
        Friction rule.

    Returns
    -------
    array, shape (m, n_points, 9)
        States in the order of `FeedState`.
    """
    count = sums.shape[0]
    found = np.empty((count, demands.shape[1], 9))
    no_cells = np.empty((0, CELL_COLUMNS))
    for m in range(count):
        p = pumps[m]
        pump = PumpPlan(
            int(p[0]), p[1], p[2], p[3], p[4], p[5], p[6], p[7], p[8], p[9], p[10], p[11]
        )
        for i in range(first_point.shape[0] - 1):
            mine = pipes[first_pipe[i] : first_pipe[i + 1]].copy()
            for k in range(mine.shape[0]):
                mine[k, LENGTH] *= stretched[m, first_pipe[i] + k]
            line = LinePlan(
                sums[m, i, 0], sums[m, i, 1], sums[m, i, 2], sums[m, i, 3], mine, no_cells
            )
            f, a, w = fluids[i], arounds[m, i], walther[i]
            factor = thicker[m, i]
            slope_a, slope_b = walther_constants(w[0], w[1] * factor, w[2], w[3] * factor)
            viscosity = walther_kinematic_viscosity(w[4], slope_a, slope_b)
            fluid = FluidPlan(f[0], viscosity * f[0], f[2], f[3], f[4])
            around = Surroundings(a[0], a[1], a[2], a[3])
            low, high = first_point[i], first_point[i + 1]
            found[m, low:high] = operating_points(
                line,
                around,
                pump,
                fluid,
                demands[0, low:high],
                demands[1, low:high],
                demands[2, low:high],
                rule,
            )
    return found
