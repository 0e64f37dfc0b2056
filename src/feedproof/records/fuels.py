"""
The fuels of a document: with figures of their own, of a grade of the catalogue, or blended.

Grades and blends are resolved when a document is read, so the frozen case holds figures, never
names that a later catalogue could read differently.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from feedproof.core.values import SourcedValue
from feedproof.physics.fuel_blend import ViscosityRule, blend
from feedproof.physics.fuel_catalogue import fuel_catalogue
from feedproof.physics.fuel_values import CatalogueFuel, composition_warnings, with_written
from feedproof.records.document import FuelSection
from feedproof.records.raw_tables import Table, named, number, table, text, texts

KINDS = {
    "density_15c": "density",
    "viscosity_20c": "kinematic_viscosity",
    "viscosity_40c": "kinematic_viscosity",
    "viscosity_cool": "kinematic_viscosity",
    "viscosity_warm": "kinematic_viscosity",
    "temperature_cool": "temperature",
    "temperature_warm": "temperature",
    "expansion": "per_temperature",
    "cloud_point": "temperature",
    "cfpp": "temperature",
    "ostwald_air": "number",
    "vapour_pressure_20c_abs": "pressure",
    "vapour_pressure_slope": "temperature_difference",
    "petrol": "fraction",
    "heating_value": "specific_energy",
}
"""Properties that a fuel of a document may have, with the kind of each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelRecipe:
    """
    What a document says of one fuel.

    Parameters
    ----------
    written : mapping of str to SourcedValue
        Its own figures. [SI]
    grade : str or None
        Name in the catalogue.
    of : tuple of str
        The two that it is blended of; empty for none.
    volume_fraction_2 : float
        Of the second one. [1]
    rule : ViscosityRule
        Of the blend.
    """

    written: Mapping[str, SourcedValue]
    grade: str | None = None
    of: tuple[str, ...] = ()
    volume_fraction_2: float = 0.0
    rule: ViscosityRule = ViscosityRule.REFUTAS

    @property
    def origin(self) -> str:
        """Say what it is resolved from; empty for figures of its own."""
        if self.grade is not None:
            return self.grade
        return f"blend of {' and '.join(self.of)}" if self.of else ""


@dataclass(slots=True)
class _Resolver:
    """Resolves each fuel once, those that it is blended of before it."""

    recipes: Mapping[str, FuelRecipe]
    done: dict[str, CatalogueFuel | None] = field(default_factory=dict)

    def fuel(self, name: str) -> CatalogueFuel | None:
        """Give a fuel of the case, or else a grade; None where it cannot be told."""
        if name not in self.recipes:
            return fuel_catalogue().get(name)
        if name not in self.done:
            self.done[name] = None  # found again below, it is blended of itself
            self.done[name] = self._made(name, self.recipes[name])
        return self.done[name]

    def _made(self, name: str, recipe: FuelRecipe) -> CatalogueFuel | None:
        """Make one fuel."""
        if recipe.grade is not None:
            base = fuel_catalogue().get(recipe.grade)
        elif recipe.of:
            base = self._blended(recipe)
        else:
            warnings = composition_warnings(recipe.written)
            return CatalogueFuel(name=name, title="", values=recipe.written, warnings=warnings)
        return None if base is None else with_written(base, recipe.written, name)

    def _blended(self, recipe: FuelRecipe) -> CatalogueFuel | None:
        """Blend two fuels, if there are two and both can be told."""
        if len(recipe.of) != 2 or not 0.0 <= recipe.volume_fraction_2 <= 1.0:
            return None
        first, second = (self.fuel(name) for name in recipe.of)
        if first is None or second is None or not (first.is_whole and second.is_whole):
            return None
        return blend(first, second, recipe.volume_fraction_2, recipe.rule, name=recipe.origin)


def resolved_fuels(recipes: Mapping[str, FuelRecipe]) -> dict[str, CatalogueFuel]:
    """
    Resolve grades and blends.

    Parameters
    ----------
    recipes : mapping of str to FuelRecipe
        By the name of the fuel.

    Returns
    -------
    dict of str to CatalogueFuel
        Those that can be told; a fuel of a case goes before a grade of the same name.
    """
    resolver = _Resolver(recipes)
    found = {name: resolver.fuel(name) for name in recipes}
    return {name: fuel for name, fuel in found.items() if fuel is not None}


def recipes_of(sections: Mapping[str, FuelSection]) -> dict[str, FuelRecipe]:
    """
    Take the recipes out of a checked document.

    Parameters
    ----------
    sections : mapping of str to FuelSection
        By name.

    Returns
    -------
    dict of str to FuelRecipe
        By name.
    """
    found = {}
    for name, section in sections.items():
        written = {key: getattr(section, key) for key in KINDS if key in section.model_fields_set}
        if section.blend is None:
            found[name] = FuelRecipe(written=written, grade=section.grade)
            continue
        found[name] = FuelRecipe(
            written=written,
            of=tuple(section.blend.of),
            volume_fraction_2=section.blend.fraction.value,
            rule=ViscosityRule(section.blend.viscosity_rule),
        )
    return found


def recipes_as_written(document: Table) -> dict[str, FuelRecipe]:
    """
    Take the recipes out of a document as it stands.

    Parameters
    ----------
    document : mapping
        As read from TOML, whether or not its single keys are right.

    Returns
    -------
    dict of str to FuelRecipe
        What can be read; a fraction that cannot be read gives a blend that cannot be told.
    """
    return {name: _recipe_as_written(fuel) for _, name, fuel in named(document, "fuel")}


def _recipe_as_written(fuel: Table) -> FuelRecipe:
    """Read one fuel."""
    written = {
        key: SourcedValue(value=value)
        for key, kind in KINDS.items()
        if (value := number(fuel, key, kind)) is not None
    }
    if "blend" not in fuel:
        return FuelRecipe(written=written, grade=text(fuel, "grade"))
    mixture = table(fuel, "blend")
    share = number(mixture, "fraction", "fraction")
    rule = text(mixture, "viscosity_rule") or ViscosityRule.REFUTAS
    known = rule in set(ViscosityRule)
    return FuelRecipe(
        written=written,
        of=tuple(texts(mixture, "of")) or ("", ""),
        volume_fraction_2=-1.0 if share is None else share,
        rule=ViscosityRule(rule) if known else ViscosityRule.REFUTAS,
    )
