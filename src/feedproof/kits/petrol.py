"""What petrol does to a diesel fuel: viscosity, vapour pressure and flash point with ranges."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np

from feedproof.case.fuel import Fuel
from feedproof.core.values import SourcedValue
from feedproof.kits.flash_point import PETROL_LIMIT, flash_point_with_petrol
from feedproof.kits.water_ranges import Range
from feedproof.physics.blends import mole_fraction
from feedproof.physics.fuel import vapour_pressure
from feedproof.physics.fuel_blend import (
    MOLAR_MASS_DIESEL_KG_PER_MOL,
    MOLAR_MASS_PETROL_KG_PER_MOL,
    ViscosityRule,
    blend,
)
from feedproof.physics.fuel_catalogue import fuel_catalogue
from feedproof.physics.fuel_values import FIXED_VISCOSITY, CatalogueFuel, at_20_and_40

SHARES = (0.01, 0.02, 0.05, 0.10)
VAPOUR_TEMPERATURES_K = (293.15, 311.15, 343.15)
PETROL = "en228_petrol"
FLASH_OF = "en590_class_c"
"""Whose flash point is taken for a fuel that states none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PetrolEffect:
    """
    A diesel fuel with a share of petrol.

    Parameters
    ----------
    petrol_fraction : float
        Petrol blended in, by volume. [-]
    viscosity_20c_m2_per_s, viscosity_40c_m2_per_s : Range
        Kinematic viscosity; the range holds three blending rules. [m2/s]
    vapour_pressure_abs_pa : tuple of (float, Range)
        Vapour pressure by temperature. [K], [Pa]
    flash_point_k : Range
        Screening figure. [K]
    """

    petrol_fraction: float
    viscosity_20c_m2_per_s: Range
    viscosity_40c_m2_per_s: Range
    vapour_pressure_abs_pa: tuple[tuple[float, Range], ...]
    flash_point_k: Range


def petrol_effects(
    fuel: Fuel,
    book: Mapping[str, SourcedValue] | None = None,
    shares: tuple[float, ...] = (0.0, *SHARES),
) -> tuple[PetrolEffect, ...]:
    """
    Give what petrol does to a fuel.

    Parameters
    ----------
    fuel : Fuel
        A fuel of the case.
    book : mapping of str to SourcedValue, optional
        The case's book of values, which holds the fuel's ranges.
    shares : tuple of float
        Petrol by volume, each 0 to 1. [-]

    Returns
    -------
    tuple of PetrolEffect
        One for each share; the first, of none, is the fuel itself.
    """
    diesel, petrol = as_catalogue(fuel, book or {}), fuel_catalogue()[PETROL]
    return tuple(_effect(diesel, petrol, share) for share in shares)


def as_catalogue(fuel: Fuel, book: Mapping[str, SourcedValue]) -> CatalogueFuel:
    """
    Give a fuel of a case with its ranges.

    Parameters
    ----------
    fuel : Fuel
        The fuel.
    book : mapping of str to SourcedValue
        Ranges by path, ``fuel.NAME.PROPERTY``.

    Returns
    -------
    CatalogueFuel
        With a flash point: its own, its grade's, or that of ordinary road diesel.
    """
    number = {
        "density_15c": fuel.density_15c_kg_per_m3,
        "expansion": fuel.expansion_per_k,
        "viscosity_cool": fuel.viscosity_cool_m2_per_s,
        "temperature_cool": fuel.temperature_cool_k,
        "viscosity_warm": fuel.viscosity_warm_m2_per_s,
        "temperature_warm": fuel.temperature_warm_k,
        "cloud_point": fuel.cloud_point_k,
        "cfpp": fuel.cfpp_k,
        "ostwald_air": fuel.ostwald_air,
        "vapour_pressure_20c_abs": fuel.vapour_pressure_20c_abs_pa,
        "vapour_pressure_slope": fuel.vapour_pressure_slope_k,
        "petrol": fuel.petrol_fraction,
    }
    plain = {key: SourcedValue(value=value) for key, value in number.items()}
    values = dict(at_20_and_40(plain))
    for key, own in values.items():
        told = book.get(f"fuel.{fuel.name}.{key}")
        if told is not None and told.low is not None and told.high is not None:
            values[key] = SourcedValue(
                value=own.value, low=min(told.low, own.value), high=max(told.high, own.value)
            )
    values["flash_point"] = flash_of(fuel)[0]
    return CatalogueFuel(name=fuel.name, title=fuel.name, values=values, warnings={})


def flash_of(fuel: Fuel) -> tuple[SourcedValue, bool]:
    """
    Give the flash point of a fuel.

    Parameters
    ----------
    fuel : Fuel
        A fuel of the case, which states none.

    Returns
    -------
    tuple of SourcedValue and bool
        That of its grade, or of ordinary road diesel and True: assumed. [K]
    """
    grade = fuel_catalogue().get(fuel.grade)
    if grade is not None and "flash_point" in grade.values:
        return grade.values["flash_point"], False
    return fuel_catalogue()[FLASH_OF].values["flash_point"], True


def _effect(diesel: CatalogueFuel, petrol: CatalogueFuel, share: float) -> PetrolEffect:
    """Blend one share in."""
    mixed = {rule: blend(diesel, petrol, share, rule).values for rule in ViscosityRule}
    if share == 0.0:
        mixed = dict.fromkeys(ViscosityRule, diesel.values)
    cool, warm = (_over_rules([each[key] for each in mixed.values()]) for key in FIXED_VISCOSITY)
    taken = mixed[ViscosityRule.REFUTAS]
    at_20c, slope = (
        _ranged(taken[key]) for key in ("vapour_pressure_20c_abs", "vapour_pressure_slope")
    )
    return PetrolEffect(
        petrol_fraction=share,
        viscosity_20c_m2_per_s=cool,
        viscosity_40c_m2_per_s=warm,
        vapour_pressure_abs_pa=tuple(
            (temperature, _vapour(at_20c, slope, temperature))
            for temperature in VAPOUR_TEMPERATURES_K
        ),
        flash_point_k=_flash(diesel, petrol, share),
    )


def _ranged(value: SourcedValue) -> Range:
    """Give a sourced value as a range."""
    low = value.value if value.low is None else min(value.low, value.value)
    high = value.value if value.high is None else max(value.high, value.value)
    return Range(low=low, typical=value.value, high=high)


def _over_rules(values: list[SourcedValue]) -> Range:
    """Give the range over blending rules, the first one typical."""
    every = [_ranged(value) for value in values]
    return Range(
        low=min(each.low for each in every),
        typical=every[0].typical,
        high=max(each.high for each in every),
    )


def _vapour(at_20c_abs_pa: Range, slope_k: Range, temperature_k: float) -> Range:
    """Give the vapour pressure at a temperature."""
    every = [
        float(vapour_pressure(pressure, slope, temperature_k))
        for pressure, slope in product(at_20c_abs_pa.levels, slope_k.levels)
    ]
    typical = float(vapour_pressure(at_20c_abs_pa.typical, slope_k.typical, temperature_k))
    return Range(low=min(every), typical=typical, high=max(every))


def _flash(diesel: CatalogueFuel, petrol: CatalogueFuel, share: float) -> Range:
    """Give the flash point over all ends of what it rests on."""
    held = diesel.values["petrol"].value
    moles = mole_fraction(
        held + share * (1.0 - held),
        diesel.values["density_15c"].value,
        petrol.values["density_15c"].value,
        MOLAR_MASS_DIESEL_KG_PER_MOL,
        MOLAR_MASS_PETROL_KG_PER_MOL,
    )
    pressure, slope, flash = (
        _ranged(each)
        for each in (
            petrol.values["vapour_pressure_20c_abs"],
            petrol.values["vapour_pressure_slope"],
            diesel.values["flash_point"],
        )
    )
    limit = Range(low=PETROL_LIMIT[0], typical=PETROL_LIMIT[1], high=PETROL_LIMIT[2])
    every = [
        flash_point_with_petrol(moles, *ends)
        for ends in product(pressure.levels, slope.levels, limit.levels, flash.levels)
    ]
    typical = flash_point_with_petrol(
        moles, pressure.typical, slope.typical, limit.typical, flash.typical
    )
    return Range(low=float(np.min(every)), typical=typical, high=float(np.max(every)))
