"""A summed chain solved over a grid of conditions, and how far each state is from its limits."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.feedline.plan import LinePlan, PumpPlan, fluid_at
from feedproof.feedline.solve import feed_share, operating_point
from feedproof.feedline.surroundings import NO_AIR_DRAWN_K, Demand, Surroundings

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


class GridLimits(NamedTuple):
    """
    What every state of a grid must keep.

    Fields in order: least absolute pressure and largest depression, not a number where none is
    known [Pa]; most free gas [-]; least feed margin [-].
    """

    least_pressure_abs_pa: float
    largest_depression_pa: float
    most_free_gas_fraction: float
    least_feed_margin: float


@formula
def solve_grid(
    line: LinePlan,
    media_per_m3: FloatArray,
    fluids: FloatArray,
    static_pa: FloatArray,
    ambient_abs_pa: FloatArray,
    tank_below_pa: float,
    pump: PumpPlan,
    pump_speed_rev_per_s: FloatArray,
    injected_m3_per_s: FloatArray,
    backleak_m3_per_s: FloatArray,
    rule: int,
) -> FloatArray:
    """
    Solve a summed chain over temperatures, air pressures, loadings and speeds.

    Parameters
    ----------
    line : LinePlan
        The chain without dirt.
    media_per_m3 : array, shape (n_m,)
        Media resistance at each loading. [1/m3]
    fluids : array, shape (n_t, 5)
        Rows in the order of `FluidPlan`.
    static_pa : array, shape (n_t,)
        Depression without flow. [Pa]
    ambient_abs_pa : array, shape (n_z,)
        Air pressures. [Pa]
    tank_below_pa : float
        Tank below ambient. [Pa]
    pump : PumpPlan
        The pump.
    pump_speed_rev_per_s, backleak_m3_per_s : array, shape (n_v,)
        Speeds and back-leak. [rev/s], [m3/s]
    injected_m3_per_s : array, shape (n_t, n_v)
        Fuel wanted. [m3/s]
    rule : int
        Friction rule.

    Returns
    -------
    array, shape (n_t, n_z, n_m, n_v, 4)
        Depression, absolute pressure, feed margin, free gas.
    """
    n_t, n_z = fluids.shape[0], ambient_abs_pa.shape[0]
    n_m, n_v = media_per_m3.shape[0], pump_speed_rev_per_s.shape[0]
    states = np.empty((n_t, n_z, n_m, n_v, 4))
    for i in range(n_t):
        fluid = fluid_at(fluids, i)
        for j in range(n_z):
            ambient = ambient_abs_pa[j]
            around = Surroundings(static_pa[i], ambient, ambient - tank_below_pa, NO_AIR_DRAWN_K)
            for k in range(n_m):
                loaded = LinePlan(
                    line.crack_pa,
                    line.viscous_per_m3,
                    media_per_m3[k],
                    line.inertial_per_m4,
                    line.pipes,
                    line.cells,
                )
                guess = last = 1.0
                for m in range(n_v):
                    demand = Demand(
                        pump_speed_rev_per_s[m], injected_m3_per_s[i, m], backleak_m3_per_s[m]
                    )
                    state = operating_point(loaded, around, pump, fluid, demand, rule, guess)
                    share = feed_share(state, pump, demand)
                    # Along the speeds the share bends gently: its straight continuation saves
                    # a step of the next point.
                    guess = share if m == 0 else min(2.0 * share - last, 1.0)
                    last = share
                    states[i, j, k, m, 0] = state.depression_pa
                    states[i, j, k, m, 1] = state.pressure_abs_pa
                    states[i, j, k, m, 2] = state.feed_margin
                    states[i, j, k, m, 3] = state.free_gas_fraction
    return states


@formula
def least_slacks(states: FloatArray, limits: GridLimits) -> tuple[FloatArray, FloatArray, IntArray]:
    """
    Give how far states are from the limit that is nearest to each.

    Parameters
    ----------
    states : array, shape (n, 4)
        Depression and absolute pressure [Pa], feed margin and free gas [-].
    limits : GridLimits
        What must hold.

    Returns
    -------
    room_pa : array, shape (n,)
        Absolute pressure less its limit; not a number where none is known. [Pa]
    slack : array, shape (n,)
        Least share of a limit that is left, over the limits that are known; -1 where a figure of
        the state is not a number, which keeps nothing. [-]
    binding : array of int, shape (n,)
        Which: 0 absolute pressure, 1 depression, 2 free gas, 3 feed margin.
    """
    count = states.shape[0]
    room, slack = np.empty(count), np.empty(count)
    binding = np.empty(count, dtype=np.int64)
    absolute, depression = limits.least_pressure_abs_pa, limits.largest_depression_pa
    for i in range(count):
        least, which = math.inf, 0
        if not math.isnan(absolute):
            least = states[i, 1] / absolute - 1.0
        if not math.isnan(depression) and 1.0 - states[i, 0] / depression < least:
            least, which = 1.0 - states[i, 0] / depression, 1
        free = 1.0 - states[i, 3] / limits.most_free_gas_fraction
        if free < least:
            least, which = free, 2
        margin = states[i, 2] / limits.least_feed_margin - 1.0
        if margin < least:
            least, which = margin, 3
        # No comparison with a figure that is none is true, so it would pass every limit unseen.
        # Limits of gas and margin are always known: one that is none may not pass either.
        if math.isnan(states[i, 1]) or math.isnan(states[i, 0]):
            least, which = -1.0, 0
        elif math.isnan(free):
            least, which = -1.0, 2
        elif math.isnan(margin):
            least, which = -1.0, 3
        room[i] = states[i, 1] - absolute
        slack[i] = least
        binding[i] = which
    return room, slack, binding
