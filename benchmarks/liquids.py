"""Liquids of the benchmarks: like water and like diesel, each at several temperatures."""

from dataclasses import dataclass

from feedproof.feedline.plan import FluidPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid:
    """
    A liquid at one temperature.

    Parameters
    ----------
    kind : str
        ``water-like`` or ``diesel-like``.
    temperature_c : float
        For the table only. [degC]
    density_kg_per_m3, viscosity_m2_per_s : float
        What all sides are given. [kg/m3], [m2/s]
    """

    kind: str
    temperature_c: float
    density_kg_per_m3: float
    viscosity_m2_per_s: float

    @property
    def dynamic_viscosity_pa_s(self) -> float:
        """Give the dynamic viscosity [Pa s]."""
        return self.density_kg_per_m3 * self.viscosity_m2_per_s

    def plan(self) -> FluidPlan:
        """Give it as this package's solver takes it: no wax, little air and vapour."""
        return FluidPlan(self.density_kg_per_m3, self.dynamic_viscosity_pa_s, 1.0, 100.0, 0.02)


# Inputs alike for all sides, so their sources do not matter: water from handbook values (memory),
# diesel-like by Walther's equation through 4.8 mm2/s at 20 and 2.95 mm2/s at 40 degC (invented).
WATER = tuple(
    Liquid(
        kind="water-like",
        temperature_c=temperature,
        density_kg_per_m3=density,
        viscosity_m2_per_s=viscosity * 1e-6,
    )
    for temperature, density, viscosity in (
        (5.0, 999.97, 1.518),
        (20.0, 998.2, 1.0034),
        (40.0, 992.2, 0.658),
        (60.0, 983.2, 0.474),
        (80.0, 971.8, 0.365),
    )
)
DIESEL = tuple(
    Liquid(
        kind="diesel-like",
        temperature_c=temperature,
        density_kg_per_m3=density,
        viscosity_m2_per_s=viscosity * 1e-6,
    )
    for temperature, density, viscosity in (
        (0.0, 848.4, 8.98),
        (20.0, 834.5, 4.80),
        (40.0, 820.6, 2.95),
        (60.0, 806.7, 2.00),
        (80.0, 792.8, 1.45),
    )
)
