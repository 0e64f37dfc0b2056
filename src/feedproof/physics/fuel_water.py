"""
Water in fuel: how much dissolves, what comes out on cooling, what a separator takes.

Nothing in a feed line stops dissolved water.  A separator takes free drops, coarse ones well and
fine ones badly; its rating holds for the drops, the flow and the side of the pump it was made at.
"""

import math
from dataclasses import dataclass
from functools import cache

from feedproof.core.compiled import formula
from feedproof.physics.value_tables import read_table

REFERENCE_TEMPERATURE_K = 293.15
WATER_DENSITY_KG_PER_M3 = 998.0
SIDES = ("suction", "pressure")
ISO_16332_FLOW_M3_PER_S = (50e-3 / 3600.0, 1500e-3 / 3600.0)
"""Rated flow that ISO 16332 tests, 50 to 1500 L/h: seen in its scope."""
NOT_STOPPED = (
    "dissolved water",
    "petrol and other liquids that mix with fuel",
    "additives",
)
"""What passes every filter and separator of a feed line."""
SEPARATOR_SLOPE = 2.0
"""Steepness of a separator's curve: declared assumption, settling makes the ratio go by d^2."""
# Drops much finer than those of the rating were never shown to be caught.
_FINEST_SHARE = 0.5


@formula
def water_solubility(
    temperature_k: float, solubility_20c_fraction: float, slope_per_k: float
) -> float:
    """
    Give the water that a fuel holds in solution.

    Parameters
    ----------
    temperature_k : float
        Fuel temperature, 263 to 343 [K].
    solubility_20c_fraction : float
        Water over fuel by mass at 20 degrees Celsius when saturated [kg/kg].
    slope_per_k : float
        Change of its logarithm with temperature [1/K].

    Returns
    -------
    float
        Water over fuel by mass [kg/kg].

    Notes
    -----
    w20 exp(k (T - 293.15 K)); 0.03 per K for diesel is from memory.
    """
    warmer = temperature_k - REFERENCE_TEMPERATURE_K
    return solubility_20c_fraction * math.exp(slope_per_k * warmer)


@formula
def blended_solubility(diesel_fraction: float, ester_fraction: float, ester_ratio: float) -> float:
    """
    Give the water that a blend of diesel and ester holds.

    Parameters
    ----------
    diesel_fraction : float
        Solubility in diesel at the temperature [kg/kg].
    ester_fraction : float
        Solubility in ester at the temperature [kg/kg].
    ester_ratio : float
        Ester in the blend, 0 to 1 [1].

    Returns
    -------
    float
        Water over fuel by mass [kg/kg].

    Notes
    -----
    Straight between the two: a declared assumption; measured blends lie on either side.
    """
    return (1.0 - ester_ratio) * diesel_fraction + ester_ratio * ester_fraction


@formula
def free_water_fraction(water_fraction: float, solubility_fraction: float) -> float:
    """
    Give the water that a fuel cannot hold in solution.

    Parameters
    ----------
    water_fraction : float
        All water over fuel by mass [kg/kg].
    solubility_fraction : float
        Solubility at the temperature [kg/kg].

    Returns
    -------
    float
        Free water over fuel by mass, not negative [kg/kg].

    Notes
    -----
    At equilibrium; fuel that cools fast is hazy for hours before the drops settle.
    """
    return max(water_fraction - solubility_fraction, 0.0)


@formula
def water_volume(
    fuel_volume_m3: float, fuel_density_kg_per_m3: float, water_fraction: float
) -> float:
    """
    Give the volume of water in an amount of fuel.

    Parameters
    ----------
    fuel_volume_m3 : float
        Fuel [m3].
    fuel_density_kg_per_m3 : float
        Its density [kg/m3].
    water_fraction : float
        Water over fuel by mass [kg/kg].

    Returns
    -------
    float
        Volume of the water as a liquid [m3].
    """
    return fuel_volume_m3 * fuel_density_kg_per_m3 * water_fraction / WATER_DENSITY_KG_PER_M3


@formula
def separator_cut_size(
    rated_cut_m: float,
    flow_m3_per_s: float,
    rated_flow_m3_per_s: float,
    dynamic_viscosity_pa_s: float,
    rated_viscosity_pa_s: float,
) -> float:
    """
    Give the drop size of which a separator takes half, at another flow and viscosity.

    Parameters
    ----------
    rated_cut_m : float
        Cut size at the rating's conditions [m].
    flow_m3_per_s : float
        Flow; at rest or backwards every drop settles in time [m3/s].
    rated_flow_m3_per_s : float
        Flow of the rating [m3/s].
    dynamic_viscosity_pa_s : float
        Viscosity of the fuel [Pa s].
    rated_viscosity_pa_s : float
        Viscosity of the rating's fuel [Pa s].

    Returns
    -------
    float
        Cut size, which goes by the square root of flow and viscosity; 0 at rest [m].

    Notes
    -----
    A declared assumption: a drop must settle (Stokes, speed by d^2/mu) faster than the fuel rises
    (speed by flow).  Coalescing media and low interfacial tension follow laws of their own.
    """
    if flow_m3_per_s <= 0.0:
        return 0.0
    harder = flow_m3_per_s * dynamic_viscosity_pa_s / (rated_flow_m3_per_s * rated_viscosity_pa_s)
    return rated_cut_m * math.sqrt(harder)


@formula
def separator_penetration(droplet_m: float, cut_m: float, slope: float) -> float:
    """
    Give the share of free water in drops of a size that passes a separator.

    Parameters
    ----------
    droplet_m : float
        Drop size [m].
    cut_m : float
        Drop size of which half is taken; 0 without flow, when all settles [m].
    slope : float
        Steepness [1].

    Returns
    -------
    float
        Penetration, 1/(1 + (d/d50)^s) [1].
    """
    if cut_m <= 0.0:
        return 0.0
    return 1.0 / (1.0 + math.pow(droplet_m / cut_m, slope))


@formula
def water_behind_separator(
    water_fraction: float, solubility_fraction: float, penetration_ratio: float
) -> float:
    """
    Give all water behind a separator.

    Parameters
    ----------
    water_fraction : float
        All water over fuel by mass before it [kg/kg].
    solubility_fraction : float
        Solubility at the temperature there [kg/kg].
    penetration_ratio : float
        Share of the free water that passes [1].

    Returns
    -------
    float
        Water over fuel by mass: what is dissolved passes whole [kg/kg].
    """
    free = free_water_fraction(water_fraction, solubility_fraction)
    return water_fraction - free * (1.0 - penetration_ratio)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeparatorRating:
    """
    What a separator was shown to do, in the manner of ISO 16332.

    Parameters
    ----------
    droplet_m : float
        Median drop size of the test [m].
    efficiency_fraction : float
        Share of the free water taken, above 0 and below 1 [1].
    flow_m3_per_s : float
        Flow of the test [m3/s].
    viscosity_pa_s : float
        Viscosity of the test's fuel [Pa s].
    side : str
        "suction" (coarse drops before a pump) or "pressure" (fine drops behind one).
    """

    droplet_m: float
    efficiency_fraction: float
    flow_m3_per_s: float
    viscosity_pa_s: float
    side: str

    def __post_init__(self) -> None:
        """Refuse a rating that leaves out what it holds for."""
        if self.side not in SIDES:
            raise ValueError(f"side {self.side!r} of a separator is not {' or '.join(SIDES)}")
        if not 0.0 < self.efficiency_fraction < 1.0:
            raise ValueError(
                f"separator efficiency {self.efficiency_fraction:g} is not above 0 and below 1:"
                " 95 % is 0.95"
            )
        for name in ("droplet_m", "flow_m3_per_s", "viscosity_pa_s"):
            if not 0.0 < getattr(self, name) < math.inf:
                raise ValueError(
                    f"{name} of a separator's rating is not above 0: an efficiency without drop"
                    " size, flow and viscosity says nothing"
                )

    def cut_m(self) -> float:
        """
        Give the drop size of which half is taken at the rating's conditions.

        Returns
        -------
        float
            Cut size [m].
        """
        ratio = self.efficiency_fraction / (1.0 - self.efficiency_fraction)
        return float(self.droplet_m / ratio ** (1.0 / SEPARATOR_SLOPE))

    def doubts(self, droplet_m: float, flow_m3_per_s: float, side: str) -> list[str]:
        """
        Say in words where a use leaves what the rating has shown.

        Parameters
        ----------
        droplet_m : float
            Drop size in use [m].
        flow_m3_per_s : float
            Flow in use [m3/s].
        side : str
            Side in use.

        Returns
        -------
        list of str
            One sentence per departure.
        """
        doubts = []
        if side != self.side:
            doubts.append(
                f"rated on the {self.side} side, used on the {side} side: drops behind a pump are"
                " finer than before it, the rating does not carry over"
            )
        if droplet_m < _FINEST_SHARE * self.droplet_m:
            doubts.append(
                f"drops of {droplet_m * 1e6:.0f} um are much finer than the"
                f" {self.droplet_m * 1e6:.0f} um of the rating: extrapolated"
            )
        if flow_m3_per_s > self.flow_m3_per_s:
            doubts.append(
                f"flow {flow_m3_per_s * 3.6e6:.0f} L/h is above the"
                f" {self.flow_m3_per_s * 3.6e6:.0f} L/h of the rating: extrapolated"
            )
        low, high = ISO_16332_FLOW_M3_PER_S
        if not low <= self.flow_m3_per_s <= high:
            doubts.append(
                f"rated at {self.flow_m3_per_s * 3.6e6:.0f} L/h, outside the"
                f" {low * 3.6e6:.0f} to {high * 3.6e6:.0f} L/h that ISO 16332 tests"
            )
        return doubts


@dataclass(frozen=True, slots=True, kw_only=True)
class Solubility:
    """
    Solubility of water in a fuel with its range.

    Parameters
    ----------
    at_20c_fraction : float
        Typical, by mass at 20 degrees Celsius [kg/kg].
    low_fraction, high_fraction : float
        Range [kg/kg].
    slope_per_k : float
        Change of its logarithm with temperature [1/K].
    source : str
        Where it is from.
    """

    at_20c_fraction: float
    low_fraction: float
    high_fraction: float
    slope_per_k: float
    source: str


@cache
def solubility_of(kind: str) -> Solubility:
    """
    Give the solubility of water in a kind of fuel.

    Parameters
    ----------
    kind : str
        "diesel" or "ester".

    Returns
    -------
    Solubility
        Typical value with its range.

    Raises
    ------
    ValueError
        There is no such kind.
    """
    rows = {(row["item"], row["property"]): row for row in read_table("water_in_fuel")}
    if (kind, "solubility_20c") not in rows:
        kinds = sorted({item for item, _ in rows})
        raise ValueError(f"no kind of fuel {kind!r}: there are {', '.join(kinds)}")
    at_20c, slope = rows[kind, "solubility_20c"], rows[kind, "slope"]
    return Solubility(
        at_20c_fraction=float(at_20c["value"]),
        low_fraction=float(at_20c["low"]),
        high_fraction=float(at_20c["high"]),
        slope_per_k=float(slope["value"]),
        source=at_20c["source"],
    )
