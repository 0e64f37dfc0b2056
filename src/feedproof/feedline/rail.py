"""
How fast a rail loses its pressure when fuel runs short, and how fast it fills at a start.

The rail holds a few cubic centimetres of stiff fuel: a shortfall that no flow meter would notice
empties its pressure within seconds.  A starved engine falls off a cliff, it does not sag.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.core.units import from_si
from feedproof.feedline.feed_circuit import FeedCircuit
from feedproof.feedline.pump_state import FeedState
from feedproof.physics.kinematics import rail_pressure_rise_rate

FloatArray = NDArray[np.float64]

DEVIATIONS_PA = (11e6, 20e6)
"""Shortfalls of rail pressure at which control units store a code or cut power when they last some
seconds: common practice, no source. [Pa]"""
# Below this share of what is wanted a difference is rounding of the solver.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class RailData:
    """
    A rail with its lines.

    Parameters
    ----------
    volume_m3 : float
        Fuel in rail, lines and injectors: 25 cm3 is an invented figure for 3 litres. [m3]
    bulk_modulus_pa : float
        Of the fuel at rail pressure: 1.4 GPa is common practice at about 100 MPa. [Pa]
    start_pressure_pa : float
        Rail pressure from which the control unit injects: common practice 15 to 25 MPa. [Pa]
    """

    volume_m3: float = 25e-6
    bulk_modulus_pa: float = 1.4e9
    start_pressure_pa: float = 20e6


@dataclass(frozen=True, slots=True, kw_only=True)
class RailShortfall:
    """
    What a shortfall does to the rail.

    Parameters
    ----------
    wanted_m3_per_s, delivered_m3_per_s : float
        Fuel that the engine wants, and that is there for it. [m3/s]
    shortfall_m3_per_s : float
        Their difference, 0 where nothing is short. [m3/s]
    fall_rate_pa_per_s : float
        Rate at which the rail pressure falls while the injection is not cut. [Pa/s]
    deviation_pa : tuple of float
        Shortfalls of pressure that are asked about. [Pa]
    duration_s : tuple of float
        Time until the rail is that far below its demand; infinite where nothing is short. [s]
    text : str
        The same in one sentence.
    """

    wanted_m3_per_s: float
    delivered_m3_per_s: float
    shortfall_m3_per_s: float
    fall_rate_pa_per_s: float
    deviation_pa: tuple[float, ...]
    duration_s: tuple[float, ...]
    text: str

    @property
    def is_starved(self) -> bool:
        """Say whether anything is short."""
        return self.shortfall_m3_per_s > 0.0


def rail_shortfall(
    wanted_m3_per_s: float, delivered_m3_per_s: float, rail: RailData | None = None
) -> RailShortfall:
    """
    Say how fast the rail falls when less fuel is there than is wanted.

    Parameters
    ----------
    wanted_m3_per_s : float
        Fuel that the engine wants. [m3/s]
    delivered_m3_per_s : float
        Fuel that is there for injection, back-leak taken off. [m3/s]
    rail : RailData, optional
        The rail; its defaults when left out.

    Returns
    -------
    RailShortfall
        The shortest times there can be: the back-leak shrinks with the pressure, and the control
        unit cuts the injection before long.
    """
    rail = rail or RailData()
    short = wanted_m3_per_s - delivered_m3_per_s
    if short <= _ROUNDING * wanted_m3_per_s:
        short = 0.0
    rate = -rail_pressure_rise_rate(rail.bulk_modulus_pa, rail.volume_m3, -short)
    durations = tuple(each / rate if rate > 0.0 else math.inf for each in DEVIATIONS_PA)
    return RailShortfall(
        wanted_m3_per_s=wanted_m3_per_s,
        delivered_m3_per_s=delivered_m3_per_s,
        shortfall_m3_per_s=short,
        fall_rate_pa_per_s=rate,
        deviation_pa=DEVIATIONS_PA,
        duration_s=durations,
        text=_sentence(short, rate, durations),
    )


def rail_of_state(
    state: FeedState, wanted_m3_per_s: float, rail: RailData | None = None
) -> RailShortfall:
    """
    Say how fast the rail falls in a solved state of the feed line.

    Parameters
    ----------
    state : FeedState
        Starved or not.
    wanted_m3_per_s : float
        Fuel that it was asked for. [m3/s]
    rail : RailData, optional
        The rail.

    Returns
    -------
    RailShortfall
        As of `rail_shortfall`.
    """
    return rail_shortfall(wanted_m3_per_s, state.injected_m3_per_s, rail)


def rail_of_full_load(
    circuit: FeedCircuit, engine_speed_rev_per_s: FloatArray, rail: RailData | None = None
) -> RailShortfall:
    """
    Say how fast the rail falls where a full-load pull is shortest of fuel.

    Parameters
    ----------
    circuit : FeedCircuit
        Line, pump, fuel and conditions.
    engine_speed_rev_per_s : array, shape (n,)
        Engine speeds of the pull. [rev/s]
    rail : RailData, optional
        The rail.

    Returns
    -------
    RailShortfall
        At the speed where most is missing.

    Raises
    ------
    InputError
        A speed outside the full-load curve; a network that has no state.
    """
    _, wanted = circuit.full_load(engine_speed_rev_per_s)
    given = circuit.at_many(engine_speed_rev_per_s, wanted)[:, 3]
    worst = int(np.argmax(wanted - given))
    return rail_shortfall(float(wanted[worst]), float(given[worst]), rail)


def build_up_duration_s(net_flow_m3_per_s: float, rail: RailData | None = None) -> float:
    """
    Give the time in which a full rail without pressure reaches that of the first injection.

    Parameters
    ----------
    net_flow_m3_per_s : float
        Flow into the rail less the back-leak. [m3/s]
    rail : RailData, optional
        The rail.

    Returns
    -------
    float
        Time; infinite where nothing comes in. A rail that has run empty must fill with liquid
        first, which takes its volume over the flow, tens of seconds. [s]
    """
    rail = rail or RailData()
    rate = rail_pressure_rise_rate(rail.bulk_modulus_pa, rail.volume_m3, net_flow_m3_per_s)
    return rail.start_pressure_pa / rate if rate > 0.0 else math.inf


def _sentence(short: float, rate: float, durations: tuple[float, ...]) -> str:
    """Say it in words."""
    if short <= 0.0:
        return "Nothing is short: the rail holds its pressure."
    reached = " and ".join(
        f"{from_si(deviation, 'MPa', 'pressure'):.0f} MPa after {duration:.2g} s"
        for deviation, duration in zip(DEVIATIONS_PA, durations, strict=True)
    )
    return (
        f"Short by {from_si(short, 'L/h', 'flow'):.1f} L/h: the rail loses"
        f" {from_si(rate, 'MPa', 'pressure'):.3g} MPa/s and is {reached} below its demand, unless"
        " the injection is cut before."
    )
