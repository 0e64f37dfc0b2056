"""
The catalogue of grades: ``tables/fuels.csv`` and the blends made from it.

A grade is a range, not a fuel: typical values inside the limits of its standard.  A measured
value replaces any of them.
"""

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from feedproof.case.fuel import Fuel
from feedproof.core.values import SourcedValue
from feedproof.physics.fuel_blend import blend
from feedproof.physics.fuel_values import CatalogueFuel, composition_warnings, fuel_from_values
from feedproof.physics.value_tables import read_table

_TITLES = {
    **{
        f"en590_class_{letter}": f"EN 590 diesel, temperate class {letter.upper()}"
        for letter in "abcdef"
    },
    **{f"en590_arctic_{number}": f"EN 590 diesel, arctic class {number}" for number in range(5)},
    "astm_d975_1d": "ASTM D975 No. 1-D diesel",
    "astm_d975_2d": "ASTM D975 No. 2-D diesel",
    "en14214": "EN 14214 fatty acid methyl ester",
    "astm_d6751": "ASTM D6751 biodiesel, unblended",
    "en15940_class_a": "EN 15940 paraffinic diesel, class A",
    "en228_petrol": "EN 228 petrol, for blending only",
    "reference_summer": "summer diesel of the reference scenario, invented",
    "reference_winter": "winter diesel of the reference scenario, invented",
    "reference_b20": "diesel with 20 % ester of the reference scenario, invented",
    "reference_arctic": "arctic diesel of the reference scenario, invented",
    "petrol_2_percent": "summer diesel with 2 % petrol, screening",
    "petrol_5_percent": "summer diesel with 5 % petrol, screening",
}
# EN 590 is taken free of ester here; what it allows is in the range of its row.
_BLENDS = {
    "b7": ("en590_class_c", "en14214", 0.07),
    "b20": ("en590_class_c", "en14214", 0.20),
    "paraffinic_30": ("en590_class_c", "en15940_class_a", 0.30),
}


@cache
def fuel_catalogue() -> Mapping[str, CatalogueFuel]:
    """
    Read the catalogue.

    Returns
    -------
    mapping of str to CatalogueFuel
        Grades by name, then the blends of them. [SI]

    Examples
    --------
    >>> round(fuel_catalogue()["en590_class_b"].values["density_15c"].value)
    836
    """
    rows: dict[str, dict[str, SourcedValue]] = {}
    for line in read_table("fuels"):
        rows.setdefault(line["item"], {})[line["property"]] = _sourced(line)
    grades = {
        name: CatalogueFuel(
            name=name,
            title=_TITLES[name],
            values=MappingProxyType(values),
            warnings=MappingProxyType(composition_warnings(values)),
        )
        for name, values in rows.items()
    }
    for name, (first, second, volume_fraction) in _BLENDS.items():
        grades[name] = blend(grades[first], grades[second], volume_fraction, name=name)
    return MappingProxyType(grades)


def fuel_of_grade(name: str, as_name: str = "") -> Fuel:
    """
    Make a fuel of a grade's typical values.

    Parameters
    ----------
    name : str
        Of the grade.
    as_name : str
        Name of the fuel; that of the grade when left out.

    Returns
    -------
    Fuel
        In SI.

    Raises
    ------
    ValueError
        No such grade.

    Examples
    --------
    >>> fuel_of_grade("en590_class_f").cfpp_k
    251.15
    """
    grades = fuel_catalogue()
    if name not in grades:
        raise ValueError(f"no grade {name!r}: there are {', '.join(grades)}")
    return fuel_from_values(grades[name], as_name or name, grade=name)


def _sourced(line: Mapping[str, str]) -> SourcedValue:
    """Turn a row of the table into a value that says where it comes from."""
    ranged = line["low"] or line["high"]
    words = [f"catalogue {line['item']}: {line['source']}"]
    if ranged:
        words.append(f"range: {line['where']}")
    elif line["where"]:
        words.append(line["where"])
    if line["note"]:
        words.append(line["note"])
    return SourcedValue(
        value=float(line["value"]),
        low=float(line["low"]) if line["low"] else None,
        high=float(line["high"]) if line["high"] else None,
        source="; ".join(words),
        text=f"{line['value']} {line['unit']}",
    )
