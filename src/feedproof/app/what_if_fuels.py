"""The fuels of a question "what if": those of the case, grades of the catalogue, and blends."""

import tomllib
from dataclasses import dataclass, replace

from feedproof.case.case import Case
from feedproof.core.findings import Finding, error
from feedproof.physics.fuel_blend import blend
from feedproof.physics.fuel_catalogue import fuel_catalogue
from feedproof.physics.fuel_values import CatalogueFuel, fuel_from_values
from feedproof.records.conversion import fuel_book
from feedproof.records.fuels import recipes_as_written, resolved_fuels


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelChoice:
    """
    A fuel that can be chosen.

    Parameters
    ----------
    name : str
        As `WhatIf.fuel` takes it.
    title : str
        In words.
    of_case : bool
        False for a grade of the catalogue.
    cloud_point_k : float
        Its cloud point. [K]
    """

    name: str
    title: str
    of_case: bool
    cloud_point_k: float


class Fuels:
    """
    The fuels that a case can be asked with.

    Parameters
    ----------
    case : Case
        The case.
    content : bytes
        Its document, for the composition of its own fuels.
    """

    def __init__(self, case: Case, content: bytes) -> None:
        self.case = case
        recipes = recipes_as_written(tomllib.loads(content.decode("utf-8")))
        self.own = resolved_fuels(recipes)

    def choices(self) -> tuple[FuelChoice, ...]:
        """
        List what can be chosen.

        Returns
        -------
        tuple of FuelChoice
            Fuels of the case first.
        """
        own = [
            FuelChoice(
                name=name,
                title=f"{name.replace('_', ' ')} (of this case)",
                of_case=True,
                cloud_point_k=fuel.cloud_point_k,
            )
            for name, fuel in self.case.fuels.items()
        ]
        grades = [
            FuelChoice(
                name=name,
                title=found.title,
                of_case=False,
                cloud_point_k=found.values["cloud_point"].value,
            )
            for name, found in fuel_catalogue().items()
            if name not in self.case.fuels and found.is_whole
        ]
        return (*own, *grades)

    def faults(self, fuel: str, blend_with: str | None) -> list[Finding]:
        """
        Find fuels that there are not, and a pair that makes no blend.

        Parameters
        ----------
        fuel : str
            Fuel of the case or grade.
        blend_with : str or None
            What is blended in.

        Returns
        -------
        list of Finding
            Errors; empty for fuels that can be had.
        """
        known = [each.name for each in self.choices()]
        faults = [
            error(place, f"there is no fuel {name!r}.", f"Known are: {', '.join(known)}.")
            for place, name in (("fuel", fuel), ("blend_with", blend_with))
            if name is not None and name not in known
        ]
        if faults or blend_with is None:
            return faults
        if blend_with == fuel:
            return [error("blend_with", "is the fuel itself;", "choose another one.")]
        return [
            error(
                place,
                f"of {name!r} the case says too little for a blend.",
                "Give it the properties of a grade, or blend grades.",
            )
            for place, name in (("fuel", fuel), ("blend_with", blend_with))
            if not self._found(name).is_whole
        ]

    def with_fuel(
        self, fuel: str, blend_with: str | None, blend_fraction: float
    ) -> tuple[Case, str]:
        """
        Give the case with a fuel that may not be its own.

        Parameters
        ----------
        fuel : str
            Fuel of the case or grade.
        blend_with : str or None
            What is blended in.
        blend_fraction : float
            Of it, by volume. [-]

        Returns
        -------
        case : Case
            The case itself where it has the fuel; the ranges of another fuel's properties are in
            its book of values.
        name : str
            Name of the fuel in that case.
        """
        if blend_with is None or blend_fraction == 0.0:
            if fuel in self.case.fuels:
                return self.case, fuel
            found, name, grade = fuel_catalogue()[fuel], fuel, fuel
        else:
            name = f"{fuel} with {100 * blend_fraction:.4g} % {blend_with}"
            found = blend(self._found(fuel), self._found(blend_with), blend_fraction, name=name)
            grade = name
        made = fuel_from_values(found, name, grade)
        return (
            replace(
                self.case,
                fuels={**self.case.fuels, name: made},
                values={**self.case.values, **fuel_book(name, found)},
            ),
            name,
        )

    def _found(self, name: str) -> CatalogueFuel:
        """Give a fuel with its sources; a fuel of the case goes before a grade of its name."""
        return self.own[name] if name in self.own else fuel_catalogue()[name]
