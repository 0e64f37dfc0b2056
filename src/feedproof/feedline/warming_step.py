"""
One step of a warm-up: tank and filter as two stirred volumes, solved exactly over the step.

Temperatures count from the air's, so that every heat loss is a coefficient times one of them.
With the flows of the moment held, both follow two linear equations; their solution and its
integrals come from one matrix exponential, and the heat that went each way from the integrals.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

from feedproof.feedline.cold_line import ColdLine
from feedproof.physics.heat import heated_rise, wall_passed_share

FloatArray = NDArray[np.float64]


class Streams(NamedTuple):
    """
    Heat capacity flows of a moment and the power put into the return.

    Fields in order: drawn from the tank, led back into the feed line, returned to the tank,
    burnt [W/K]; pumps' work that stays in the return, heater [W].
    """

    drawn_w_per_k: float
    led_back_w_per_k: float
    returned_w_per_k: float
    burnt_w_per_k: float
    pump_w: float
    heater_w: float

    @property
    def feed_w_per_k(self) -> float:
        """Give the heat capacity flow through filter and pump. [W/K]."""
        return self.drawn_w_per_k + self.led_back_w_per_k

    @property
    def return_rise_k(self) -> float:
        """Give the rise of the return over the pump's inlet. [K]."""
        leaving = self.led_back_w_per_k + self.returned_w_per_k
        return heated_rise(self.pump_w, leaving) if leaving > 0.0 else 0.0


class Heats(NamedTuple):
    """
    Heat since the start, counted from the air's temperature [J].

    Fields in order: put in by pumps and heater; lost to the air; carried off by burnt fuel.
    """

    put_in_j: float
    lost_j: float
    burnt_j: float


class Along(NamedTuple):
    """Temperatures above the air's along the circuit: pump inlet, return at pump, at tank [K]."""

    inlet_k: float
    return_k: float
    tank_return_k: float


def along(filter_above_k: float, streams: Streams, line: ColdLine) -> Along:
    """
    Follow the fuel from the filter through the pump back to the tank.

    Parameters
    ----------
    filter_above_k : float
        Filter above the air. [K]
    streams : Streams
        Flows of the moment.
    line : ColdLine
        Walls.

    Returns
    -------
    Along
        Above the air. [K]
    """
    inlet = filter_above_k * wall_passed_share(line.behind_w_per_k, streams.feed_w_per_k)
    hot = inlet + streams.return_rise_k
    cooled = hot * (1.0 - line.cooler_fraction)
    return Along(
        inlet, hot, cooled * wall_passed_share(line.return_w_per_k, streams.returned_w_per_k)
    )


def step(
    tank_above_k: float,
    filter_above_k: float,
    tank_j_per_k: float,
    filter_j_per_k: float,
    streams: Streams,
    line: ColdLine,
    duration_s: float,
) -> tuple[float, float, Heats]:
    """
    Advance tank and filter over a time in which the flows are held.

    Parameters
    ----------
    tank_above_k, filter_above_k : float
        Above the air at the start. [K]
    tank_j_per_k, filter_j_per_k : float
        Heat capacities at the start; the tank loses what is burnt. [J/K]
    streams : Streams
        Flows.
    line : ColdLine
        Walls.
    duration_s : float
        Length of the step. [s]

    Returns
    -------
    tuple of float, float and Heats
        Tank and filter above the air at the end [K]; heat of the step [J].
    """
    ahead = wall_passed_share(line.ahead_w_per_k, streams.drawn_w_per_k)
    behind = wall_passed_share(line.behind_w_per_k, streams.feed_w_per_k)
    home = wall_passed_share(line.return_w_per_k, streams.returned_w_per_k)
    kept = 1.0 - line.cooler_fraction
    rise = streams.return_rise_k
    matrix = np.zeros((5, 5))
    # d(tank, filter, 1, integral of tank, integral of filter)/dt
    matrix[0, :3] = (
        -(streams.returned_w_per_k + line.tank_w_per_k),
        streams.returned_w_per_k * kept * home * behind,
        streams.returned_w_per_k * kept * home * rise,
    )
    matrix[1, :3] = (
        streams.drawn_w_per_k * ahead,
        streams.led_back_w_per_k * behind - streams.feed_w_per_k - line.filter_w_per_k,
        streams.led_back_w_per_k * rise + streams.heater_w,
    )
    burnt_j_per_k = streams.burnt_w_per_k * duration_s
    matrix[0] /= tank_j_per_k - 0.5 * burnt_j_per_k
    matrix[1] /= filter_j_per_k
    matrix[3, 0] = matrix[4, 1] = 1.0
    end = expm(duration_s * matrix) @ np.array([tank_above_k, filter_above_k, 1.0, 0.0, 0.0])
    of_tank, of_filter = float(end[3]), float(end[4])
    of_inlet = behind * of_filter
    of_return = of_inlet + rise * duration_s
    lost = (
        line.tank_w_per_k * of_tank
        + streams.drawn_w_per_k * (1.0 - ahead) * of_tank
        + line.filter_w_per_k * of_filter
        + streams.feed_w_per_k * (1.0 - behind) * of_filter
        + streams.returned_w_per_k * (1.0 - kept * home) * of_return
    )
    leaving = streams.led_back_w_per_k + streams.returned_w_per_k
    put_in = (leaving * rise + streams.heater_w) * duration_s
    heats = Heats(put_in, lost, streams.burnt_w_per_k * of_inlet)
    filled = float(end[1])
    # The equation holds the tank's content at its mean; its end is taken from the books, which
    # differ from the equation's by the third order of the step, so that no heat is lost.
    kept_j = tank_j_per_k * tank_above_k + heats.put_in_j - heats.lost_j - heats.burnt_j
    kept_j -= filter_j_per_k * (filled - filter_above_k)
    return kept_j / (tank_j_per_k - burnt_j_per_k), filled, heats
