"""One configuration under the conditions of a question, solved as `predict` does it."""

import math

import numpy as np

from feedproof.app.bands import predict_band
from feedproof.app.configurations import circuit_for, top_state
from feedproof.app.predicting import BASELINE, owners_of
from feedproof.app.spoken import configuration_words
from feedproof.app.what_if_result import WhatIfConfiguration
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.feedline.assess import assess
from feedproof.feedline.envelope import ORDER, Binding, EnvelopeLimits
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.grid import GridLimits, least_slacks
from feedproof.feedline.network_circuit import NetworkCircuit
from feedproof.feedline.pull import POINTS, PullPrediction, predict_pull
from feedproof.feedline.staircase import staircase

EVERY, EVERY_SLOW = 2, 10
"""Every so many points of the pull that `predict` solves; the second while dragging, where each
point of a network must be looked at again and again (tees, soft hoses, air holes)."""


def solved(
    case: Case,
    kits: tuple[str, ...],
    conditions: Conditions,
    speed_m_per_s: float,
    place: int,
    *,
    ranges: bool,
) -> WhatIfConfiguration:
    """
    Solve one configuration.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids; empty is the baseline.
    conditions : Conditions
        The conditions.
    speed_m_per_s : float
        Road speed of staircase and drawing. [m/s]
    place : int
        0 for the baseline, then 1 and 2.
    ranges : bool
        False leaves the ranges out.

    Returns
    -------
    WhatIfConfiguration
        The answer.

    Raises
    ------
    InputError
        There is no such state; it names the part.
    """
    name = "+".join(kits) if kits else BASELINE
    circuit = circuit_for(case, kits, conditions)
    state, speed = top_state(case, circuit, speed_m_per_s)
    bare = state
    if kits:
        bare, _ = top_state(case, circuit_for(case, (), conditions), speed_m_per_s)
    pull = predict_pull(circuit, case.pull, name, _points(circuit, ranges=ranges), edges=ranges)
    slack, binding, binding_speed = _binding(case, pull)
    owners = owners_of(case, kits)
    limit = case.vehicle.pump.maker_limit_abs_pa
    low, high = _range(case, kits, conditions, speed_m_per_s) if ranges else (None, None)
    allowed = None if limit is None else conditions.ambient_pressure_abs_pa - limit
    words = configuration_words(case, name)
    return WhatIfConfiguration(
        configuration=name,
        short=words.short,
        title=words.title,
        place=place,
        pull=pull,
        staircase=staircase(circuit, state, speed, name, owners),
        legs=circuit.legs(state, owners),
        owners=owners,
        state=state,
        assessment=assess(state, bare, limit, kit=bool(kits)),
        depression_low_pa=low,
        depression_high_pa=high,
        room_low_pa=None if allowed is None or high is None else allowed - high,
        room_high_pa=None if allowed is None or low is None else allowed - low,
        slack=slack,
        binding=binding,
        binding_speed_m_per_s=binding_speed,
        vapour_margin_pa=circuit.vapour_margin_pa(state, speed),
        back_pressure_pa=circuit.back_pressure_pa(state),
    )


def _points(circuit: FeedCircuit, *, ranges: bool) -> int:
    """Give how many points of the pull to solve, all of them points of `predict` as well."""
    slow = isinstance(circuit, NetworkCircuit) and circuit.is_local and not ranges
    return (POINTS - 1) // (EVERY_SLOW if slow else EVERY) + 1


def _range(
    case: Case, kits: tuple[str, ...], conditions: Conditions, speed_m_per_s: float
) -> tuple[float, float]:
    """Give the range of the depression at one speed. [Pa]."""
    _, low, high = predict_band(case, kits, np.array([speed_m_per_s]), conditions)
    return float(low[0]), float(high[0])


def _binding(case: Case, pull: PullPrediction) -> tuple[float, Binding, float]:
    """Give the least slack along the pull, which limit has it, and at what speed. [m/s]."""
    limits = EnvelopeLimits(least_pressure_abs_pa=case.vehicle.pump.maker_limit_abs_pa)
    least = limits.least_pressure_abs_pa
    states = np.column_stack(
        (pull.depression_pa, pull.pressure_abs_pa, pull.feed_margin, pull.free_gas_fraction)
    )
    _, slack, binding = least_slacks(
        states,
        GridLimits(
            math.nan if least is None else least,
            math.nan,
            limits.most_free_gas_fraction,
            limits.least_feed_margin,
        ),
    )
    worst = int(np.argmin(slack))
    return float(slack[worst]), ORDER[int(binding[worst])], float(pull.speed_m_per_s[worst])
