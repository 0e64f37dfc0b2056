"""
Blends of two fuels, property by property, with the viscosity rule named.

Density, expansion and dissolved air go by volume (the Ostwald coefficient of ASTM D2779 is a
straight line in density, so its volume-weighted mean is what it gives for the blend), heating
value and water by mass, vapour pressure by mole after Raoult (screening).  Cloud point and CFPP
follow no fraction: wax of the one comes out in the other, so the higher is taken and said.
"""

from collections.abc import Callable, Mapping
from enum import StrEnum

from feedproof.core.values import SourcedValue
from feedproof.physics.blends import (
    arrhenius_blend,
    kendall_monroe_blend,
    mass_fraction,
    mole_fraction,
    refutas_blend,
)
from feedproof.physics.fuel_values import (
    DEFAULT_SLOPE_K,
    FIXED_VISCOSITY,
    CatalogueFuel,
    at_20_and_40,
    composition_warnings,
    computed,
)

# Mean molar masses, memory: good enough for a vapour pressure that is a screening figure.
MOLAR_MASS_PETROL_KG_PER_MOL = 0.100
MOLAR_MASS_DIESEL_KG_PER_MOL = 0.210
_BY_VOLUME = ("density_15c", "expansion", "ostwald_air", "petrol", "fame", "water_and_sediment")
_BY_MASS = ("heating_value", "total_contamination", "water")
_ABSENT_IS_NONE = ("petrol", "fame")

Mix = Callable[[float, float], float]


class ViscosityRule(StrEnum):
    """Rule by which the viscosities of two fuels make that of their blend."""

    REFUTAS = "refutas"
    KENDALL_MONROE = "kendall_monroe"
    ARRHENIUS = "arrhenius"


def blend(
    first: CatalogueFuel,
    second: CatalogueFuel,
    volume_fraction_2: float,
    rule: ViscosityRule = ViscosityRule.REFUTAS,
    name: str = "",
) -> CatalogueFuel:
    """
    Give the blend of two fuels.

    Parameters
    ----------
    first : CatalogueFuel
        The fuel that is blended into. [SI]
    second : CatalogueFuel
        The fuel that is blended in. [SI]
    volume_fraction_2 : float
        Fraction of the second by volume at 15 degrees Celsius, 0 to 1. [1]
    rule : ViscosityRule
        Of the viscosities; the rules differ by some per cent, so they bound, not replace, a
        measurement.
    name : str
        Of the blend.

    Returns
    -------
    CatalogueFuel
        Properties that both have, each with the range that the ranges of the two give; at a
        fraction of 0 or 1 the one fuel with its figures unchanged. [SI]

    Raises
    ------
    ValueError
        The fraction is not one.
    """
    if not 0.0 <= volume_fraction_2 <= 1.0:
        raise ValueError(f"fraction {volume_fraction_2:g} is not from 0 to 1")
    title = (
        f"{100 * (1 - volume_fraction_2):.3g} % {first.name} with"
        f" {100 * volume_fraction_2:.3g} % {second.name} by volume"
    )
    if volume_fraction_2 in (0.0, 1.0):
        whole = second if volume_fraction_2 else first
        return CatalogueFuel(name=name, title=title, values=whole.values, warnings=whole.warnings)
    one, two = _with_absent(first, second)
    mixed = _mixed_properties(one, two, volume_fraction_2, ViscosityRule(rule))
    values = {
        key: computed(key, value.value, f"blend: {title}, {how}", value.low, value.high)
        for key, (value, how) in mixed.items()
    }
    # What the parts hold undiluted is not said of their blend.
    warnings = {**composition_warnings(values), **_wax_warning(one, two)}
    return CatalogueFuel(name=name, title=title, values=values, warnings=warnings)


def _with_absent(
    first: CatalogueFuel, second: CatalogueFuel
) -> tuple[dict[str, SourcedValue], dict[str, SourcedValue]]:
    """Give the values of both; of petrol and ester, what only one names the other has none."""
    pair = at_20_and_40(first.values), at_20_and_40(second.values)
    none = SourcedValue(value=0.0)
    for key in _ABSENT_IS_NONE:
        if any(key in values for values in pair):
            for values in pair:
                values.setdefault(key, none)
    if any("vapour_pressure_slope" in values for values in pair):
        for values in pair:
            values.setdefault("vapour_pressure_slope", SourcedValue(value=DEFAULT_SLOPE_K))
    return pair


def _mixed_properties(
    one: Mapping[str, SourcedValue],
    two: Mapping[str, SourcedValue],
    x: float,
    rule: ViscosityRule,
) -> dict[str, tuple[SourcedValue, str]]:
    """Give each property of the blend with the words for how it was reached."""
    w, y = _mass_and_mole(one, two, x)
    mixes: dict[str, tuple[Mix, str]] = {
        **dict.fromkeys(_BY_VOLUME, (_mean(x), "mean by volume")),
        **dict.fromkeys(_BY_MASS, (_mean(w), "mean by mass")),
        **dict.fromkeys(FIXED_VISCOSITY, _viscosity(rule, x, w)),
        **dict.fromkeys(("cloud_point", "cfpp"), (max, "the higher of the two")),
        "flash_point": (min, "the lower of the two"),
        "vapour_pressure_20c_abs": (_mean(y), "Raoult, screening"),
    }
    found = {
        key: (_bracketed(one[key], two[key], mix), how)
        for key, (mix, how) in mixes.items()
        if key in one and key in two
    }
    slope = "vapour_pressure_slope"
    if slope in one and "vapour_pressure_20c_abs" in found:
        share = _vapour_share(one, two, y)
        found[slope] = (_bracketed(one[slope], two[slope], _mean(share)), "by partial pressures")
    return found


def _mean(fraction_2: float) -> Mix:
    """Give the mean with a weight, exact where both are the same."""
    return lambda one, two: one + fraction_2 * (two - one)


def _viscosity(rule: ViscosityRule, x: float, w: float) -> tuple[Mix, str]:
    """Give the viscosity rule with its words; Refutas counts by mass."""
    match rule:
        case ViscosityRule.REFUTAS:
            return lambda one, two: float(refutas_blend(one, two, w)), "rule of Refutas by mass"
        case ViscosityRule.KENDALL_MONROE:
            return (
                lambda one, two: float(kendall_monroe_blend(one, two, x)),
                "rule of Kendall and Monroe by volume",
            )
        case ViscosityRule.ARRHENIUS:
            return lambda one, two: float(arrhenius_blend(one, two, x)), "rule of Arrhenius"


def _mass_and_mole(
    one: Mapping[str, SourcedValue], two: Mapping[str, SourcedValue], x: float
) -> tuple[float, float]:
    """Give the second's fractions by mass and by mole."""
    densities = one["density_15c"].value, two["density_15c"].value
    molar = _molar_mass(one), _molar_mass(two)
    return mass_fraction(x, *densities), mole_fraction(x, *densities, *molar)


def _molar_mass(values: Mapping[str, SourcedValue]) -> float:
    """Give a fuel's mean molar mass from the petrol in it."""
    petrol = values["petrol"].value if "petrol" in values else 0.0
    moles = petrol / MOLAR_MASS_PETROL_KG_PER_MOL + (1.0 - petrol) / MOLAR_MASS_DIESEL_KG_PER_MOL
    return 1.0 / moles


def _vapour_share(
    one: Mapping[str, SourcedValue], two: Mapping[str, SourcedValue], y: float
) -> float:
    """Give the second's share of the vapour pressure at 20 degC."""
    key = "vapour_pressure_20c_abs"
    parts = (1.0 - y) * one[key].value, y * two[key].value
    whole = sum(parts)
    return parts[1] / whole if whole > 0.0 else y


def _bracketed(one: SourcedValue, two: SourcedValue, mix: Mix) -> SourcedValue:
    """Mix values and ends; every rule rises with both of its fuels, so ends give ends."""
    low = high = None
    if one.low is not None or two.low is not None:
        low = mix(*(each.value if each.low is None else each.low for each in (one, two)))
    if one.high is not None or two.high is not None:
        high = mix(*(each.value if each.high is None else each.high for each in (one, two)))
    return SourcedValue(value=mix(one.value, two.value), low=low, high=high)


def _wax_warning(
    one: Mapping[str, SourcedValue], two: Mapping[str, SourcedValue]
) -> dict[str, str]:
    """Say that the cold properties were not blended, where the two fuels differ."""
    if "cloud_point" not in one or "cloud_point" not in two:
        return {}
    points = one["cloud_point"].value, two["cloud_point"].value
    if points[0] == points[1]:
        return {}
    return {
        "cloud_point": (
            "cloud point and CFPP of a blend do not follow its fractions: the higher of the two"
            f" is taken, cloud point {max(points) - 273.15:.1f} degC. Have the blend measured."
        )
    }
