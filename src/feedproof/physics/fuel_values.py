"""
A fuel as sourced values: what a grade, a blend and a fuel written in a case have in common.

Keys are those of the case document (``density_15c``, ``viscosity_20c``, ...), values are SI.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from feedproof.case.fuel import Fuel
from feedproof.core.values import SourcedValue
from feedproof.physics.fuel import (
    walther_constant_by_slope,
    walther_constants,
    walther_kinematic_viscosity,
)

COOL_K, WARM_K = 293.15, 313.15
FREE_VISCOSITY = ("viscosity_cool", "temperature_cool", "viscosity_warm", "temperature_warm")
FIXED_VISCOSITY = ("viscosity_20c", "viscosity_40c")
NEEDED = (
    "density_15c",
    "expansion",
    "cloud_point",
    "cfpp",
    "ostwald_air",
    "vapour_pressure_20c_abs",
)
"""Properties without which there is no fuel; two viscosities come to these."""
SI_UNITS = {
    "density_15c": "kg/m3",
    "viscosity_20c": "m2/s",
    "viscosity_40c": "m2/s",
    "expansion": "1/K",
    "cloud_point": "K",
    "cfpp": "K",
    "ostwald_air": "1",
    "vapour_pressure_20c_abs": "Pa",
    "vapour_pressure_slope": "K",
    "vapour_pressure_37_8c_abs": "Pa",
    "flash_point": "K",
    "heating_value": "J/kg",
    "total_contamination": "kg/kg",
    "water": "kg/kg",
    "water_and_sediment": "m3/m3",
    "fame": "m3/m3",
    "petrol": "1",
}
"""Properties that the catalogue holds, with the unit of each."""
DEFAULT_SLOPE_K = 5500.0
ESTER_OF_EN590 = 0.07


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogueFuel:
    """
    A fuel with the range and the source of each of its properties.

    Parameters
    ----------
    name : str
        Of the grade, or of the fuel in its case.
    title : str
        In words.
    values : mapping of str to SourcedValue
        Properties in SI.
    warnings : mapping of str to str
        What must be said of it, by the property that it is about.
    """

    name: str
    title: str
    values: Mapping[str, SourcedValue]
    warnings: Mapping[str, str]

    @property
    def is_whole(self) -> bool:
        """Say whether a `Fuel` can be made of it."""
        return all(key in self.values for key in NEEDED) and any(
            all(key in self.values for key in keys) for keys in (FREE_VISCOSITY, FIXED_VISCOSITY)
        )


def fuel_from_values(found: CatalogueFuel, name: str, grade: str) -> Fuel:
    """
    Make the fuel that the feed line sees.

    Parameters
    ----------
    found : CatalogueFuel
        Whole, see `CatalogueFuel.is_whole`.
    name : str
        Its name in the case.
    grade : str
        Grade or blend that it was resolved from; empty for a fuel with figures of its own.

    Returns
    -------
    Fuel
        In SI.

    Raises
    ------
    KeyError
        A property is missing.
    """
    number = {key: value.value for key, value in found.values.items()}
    free = FREE_VISCOSITY[0] in number
    return Fuel(
        name=name,
        density_15c_kg_per_m3=number["density_15c"],
        expansion_per_k=number["expansion"],
        viscosity_cool_m2_per_s=number["viscosity_cool" if free else "viscosity_20c"],
        viscosity_warm_m2_per_s=number["viscosity_warm" if free else "viscosity_40c"],
        temperature_cool_k=number["temperature_cool"] if free else COOL_K,
        temperature_warm_k=number["temperature_warm"] if free else WARM_K,
        cloud_point_k=number["cloud_point"],
        cfpp_k=number["cfpp"],
        ostwald_air=number["ostwald_air"],
        vapour_pressure_20c_abs_pa=number["vapour_pressure_20c_abs"],
        vapour_pressure_slope_k=number.get("vapour_pressure_slope", DEFAULT_SLOPE_K),
        petrol_fraction=number.get("petrol", 0.0),
        heating_value_j_per_kg=number.get("heating_value"),
        grade=grade,
    )


def computed(
    key: str, value: float, source: str, low: float | None = None, high: float | None = None
) -> SourcedValue:
    """
    Make a sourced value that was computed, not written.

    Parameters
    ----------
    key : str
        Property, of `SI_UNITS`.
    value : float
        The value. [SI]
    source : str
        How it was reached.
    low : float, optional
        Low end. [SI]
    high : float, optional
        High end. [SI]

    Returns
    -------
    SourcedValue
        With its text in SI. [SI]
    """
    text = f"{value:.4g} {SI_UNITS[key]}"
    return SourcedValue(value=value, low=low, high=high, source=source, text=text)


def at_20_and_40(values: Mapping[str, SourcedValue]) -> dict[str, SourcedValue]:
    """
    Give a fuel's viscosities at 20 and 40 degrees Celsius, wherever they were measured.

    Parameters
    ----------
    values : mapping of str to SourcedValue
        Properties. [SI]

    Returns
    -------
    dict of str to SourcedValue
        The same with the free pair replaced by ASTM D341. [SI]
    """
    if any(key not in values for key in FREE_VISCOSITY):
        return dict(values)
    nu_cool, t_cool, nu_warm, t_warm = (values[key].value for key in FREE_VISCOSITY)
    a, b = walther_constants(t_cool, nu_cool, t_warm, nu_warm)
    kept = {key: value for key, value in values.items() if key not in FREE_VISCOSITY}
    for key, t_k in zip(FIXED_VISCOSITY, (COOL_K, WARM_K), strict=True):
        nu = walther_kinematic_viscosity(t_k, a, b)
        kept[key] = computed(key, nu, "ASTM D341 through the two measured points")
    return kept


def with_written(
    resolved: CatalogueFuel, written: Mapping[str, SourcedValue], name: str
) -> CatalogueFuel:
    """
    Let figures of a fuel stand in place of those of its grade or blend.

    Parameters
    ----------
    resolved : CatalogueFuel
        Grade or blend.
    written : mapping of str to SourcedValue
        What is known better. [SI]
    name : str
        Name in the case.

    Returns
    -------
    CatalogueFuel
        Where one of the viscosities at 20 and 40 degC is written, the other keeps the grade's
        slope in ASTM D341 and a warning says so.
    """
    values = {**resolved.values, **written}
    warnings = {key: text for key, text in resolved.warnings.items() if key not in written}
    if any(key in written for key in FREE_VISCOSITY):
        values = {key: value for key, value in values.items() if key not in FIXED_VISCOSITY}
    for known, other in (FIXED_VISCOSITY, FIXED_VISCOSITY[::-1]):
        if known in written and other not in written and other in resolved.values:
            nu = _along_slope(resolved.values, known, written[known].value)
            words = f"follows {known} by the slope of {resolved.name} (ASTM D341)"
            values[other] = computed(other, nu, words)
            warnings[other] = f"{other} was not written: it {words}, {nu * 1e6:.2f} mm^2/s."
    warnings.update(composition_warnings(values))
    return CatalogueFuel(name=name, title=resolved.title, values=values, warnings=warnings)


def _along_slope(values: Mapping[str, SourcedValue], known: str, nu_m2_per_s: float) -> float:
    """Give the other viscosity of a pair of which one was measured."""
    cool, warm = (values[key].value for key in FIXED_VISCOSITY)
    here, there = (COOL_K, WARM_K) if known == FIXED_VISCOSITY[0] else (WARM_K, COOL_K)
    _, b = walther_constants(COOL_K, cool, WARM_K, warm)
    a = walther_constant_by_slope(here, nu_m2_per_s, b)
    return float(walther_kinematic_viscosity(there, a, b))


def with_warm_viscosity(fuel: Fuel, viscosity_warm_m2_per_s: float) -> Fuel:
    """
    Give the fuel of the same slope that is thicker or thinner as a whole.

    A grade's range is one range: a fuel at the thick end when warm is so when cool, too.

    Parameters
    ----------
    fuel : Fuel
        Of a grade.
    viscosity_warm_m2_per_s : float
        Kinematic viscosity at the warm one of its two temperatures. [m2/s]

    Returns
    -------
    Fuel
        With both viscosities moved along ASTM D341.
    """
    _, b = walther_constants(
        fuel.temperature_cool_k,
        fuel.viscosity_cool_m2_per_s,
        fuel.temperature_warm_k,
        fuel.viscosity_warm_m2_per_s,
    )
    a = walther_constant_by_slope(fuel.temperature_warm_k, viscosity_warm_m2_per_s, b)
    return replace(
        fuel,
        viscosity_warm_m2_per_s=viscosity_warm_m2_per_s,
        viscosity_cool_m2_per_s=float(walther_kinematic_viscosity(fuel.temperature_cool_k, a, b)),
    )


def composition_warnings(values: Mapping[str, SourcedValue]) -> dict[str, str]:
    """
    Say what petrol and ester in a fuel call for.

    Parameters
    ----------
    values : mapping of str to SourcedValue
        Properties. [SI]

    Returns
    -------
    dict of str to str
        By the property that it is about; empty for plain diesel.
    """
    found = {}
    petrol = values["petrol"].value if "petrol" in values else 0.0
    if petrol > 0.0:
        found["petrol"] = (
            f"{100 * petrol:.3g} % petrol by volume: no filter takes it out. Do not start the"
            " engine. Its flash point lies far below that of diesel, so its vapour burns at room"
            " temperature; it lubricates pump and injectors badly; it boils out under suction."
            " Vapour pressure is a screening figure."
        )
    ester = values["fame"].value if "fame" in values else 0.0
    if ester > ESTER_OF_EN590 + 1e-9:
        found["fame"] = (
            f"{100 * ester:.3g} % ester, more than the 7 % of EN 590: the maker of the vehicle must"
            " allow it. It carries more dissolved water, and soft matter blocks filters early."
        )
    return found
