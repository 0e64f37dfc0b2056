"""
Water from the delivery to the pump, one fill: where each part of it ends.

All shares are by mass over fuel.  Three things happen in turn.  In the tank water and fuel come to
equilibrium, free water settles, and a share of it is drawn.  At the separators fuel has the
temperature of the line: what it cannot hold there is free, coarse where it was drawn as drops and
haze where it came out of solution.  Behind them it may cool again, and nothing takes that out.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.kits.water_ranges import SolubilityGrid

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Temperatures:
    """
    Temperatures that fuel passes through.

    Parameters
    ----------
    delivery_k : float
        At which it is delivered. [K]
    tank_k : float
        Of the tank, which a hot return heats. [K]
    filter_k : float
        At the separators. [K]
    behind_k : float
        The coldest behind them, as in a vehicle that is parked. [K]
    """

    delivery_k: float
    tank_k: float
    filter_k: float
    behind_k: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Caught:
    """
    What the separators do to the two kinds of free water.

    Parameters
    ----------
    elements : tuple of str
        Elements with a separator, in the order of the line.
    coarse, haze : array, shape (n_e, n_d)
        Share of drawn drops, and of haze, that each takes, for each size of drop; the typical
        size first. [-]
    """

    elements: tuple[str, ...]
    coarse: FloatArray
    haze: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """
    Where the water of a fill ends, water over fuel by mass.

    Every array holds one number for each combination of solubility and drop size, the typical one
    first.  Delivered is settled, caught or reaches the pump; what reaches the pump is free there,
    falls out when the fuel cools behind the separators, or stays dissolved.

    Parameters
    ----------
    dissolved_delivered, free_delivered : array, shape (n,)
        As it comes. [-]
    settled : array, shape (n,)
        Free in the tank and not drawn. [-]
    drawn_free : array, shape (n,)
        Free water that leaves the tank with the feed. [-]
    coarse, haze : array, shape (n,)
        Free at the separators: drawn as drops, and out of solution on the way. [-]
    caught : array, shape (n_e, n)
        Taken by each separator. [-]
    pump_free : array, shape (n,)
        Carried over: free behind the separators. [-]
    falls_out : array, shape (n,)
        Dissolved at the separators, free at the coldest temperature behind them. [-]
    stays_dissolved : array, shape (n,)
        Dissolved there too. [-]
    """

    dissolved_delivered: FloatArray
    free_delivered: FloatArray
    settled: FloatArray
    drawn_free: FloatArray
    coarse: FloatArray
    haze: FloatArray
    caught: FloatArray
    pump_free: FloatArray
    falls_out: FloatArray
    stays_dissolved: FloatArray


def balance(
    *,
    solubility: SolubilityGrid,
    temperatures: Temperatures,
    saturation_fraction: float,
    free_fraction: float,
    drawn_fraction: float,
    caught: Caught,
) -> Balance:
    """
    Follow the water of one fill.

    Parameters
    ----------
    solubility : SolubilityGrid
        Of the fuel.
    temperatures : Temperatures
        That it passes through.
    saturation_fraction : float
        Dissolved water over what the fuel can dissolve at delivery, 0 to 1. [-]
    free_fraction : float
        Free water delivered over fuel by mass. [-]
    drawn_fraction : float
        Share of the tank's free water that is drawn, 0 to 1. [-]
    caught : Caught
        What the separators take.

    Returns
    -------
    Balance
        Nothing is made or lost.
    """
    sizes = caught.coarse.shape[1]
    # Solubility along rows, drop sizes along columns; the typical pair comes first when raveled.
    at_delivery, in_tank, at_filter, behind = (
        np.repeat(solubility.at(each), sizes)
        for each in (
            temperatures.delivery_k,
            temperatures.tank_k,
            temperatures.filter_k,
            temperatures.behind_k,
        )
    )
    delivered = saturation_fraction * at_delivery
    free = np.full_like(delivered, free_fraction)
    dissolved = np.minimum(delivered + free, in_tank)
    in_sump = delivered + free - dissolved
    drawn = drawn_fraction * in_sump
    # Drawn drops dissolve while the fuel of the line can take them up.
    haze = np.maximum(dissolved - at_filter, 0.0)
    coarse = np.maximum(drawn - np.maximum(at_filter - dissolved, 0.0), 0.0)
    turns = solubility.at(temperatures.delivery_k).size
    taken = np.tile(caught.coarse, turns) * coarse + np.tile(caught.haze, turns) * haze
    carried = coarse + haze - taken.sum(axis=0)
    in_solution = dissolved + drawn - coarse - haze
    falls_out = np.maximum(in_solution - behind, 0.0)
    return Balance(
        dissolved_delivered=delivered,
        free_delivered=free,
        settled=in_sump - drawn,
        drawn_free=drawn,
        coarse=coarse,
        haze=haze,
        caught=taken,
        pump_free=carried,
        falls_out=falls_out,
        stays_dissolved=in_solution - falls_out,
    )
