"""The sliders and choices of a question "what if": ends, steps and where they stand."""

from dataclasses import dataclass

from feedproof.app.spoken import configuration_words
from feedproof.app.what_if_asked import (
    REFERENCE,
    WhatIf,
    base_conditions,
    base_fuel,
    loading_elements,
    most_loading,
)
from feedproof.app.what_if_fuels import FuelChoice, Fuels
from feedproof.case.case import Case
from feedproof.report.envelope_chart import altitude_of

COOLEST_BELOW_CLOUD_K = 10.0
HOTTEST_K = 363.15
HIGHEST_M = 5000.0
STEEPEST_RAD = 0.2617993877991494


@dataclass(frozen=True, slots=True, kw_only=True)
class Slider:
    """
    One slider.

    Parameters
    ----------
    name : str
        Field of `WhatIf` that it sets; ``loading.<id>`` for one element.
    title : str
        In words.
    kind, unit : str
        Kind of quantity for `feedproof.core.units`, and the unit that it is shown in.
    least, most, step, value : float
        Ends, step and present value. [SI]
    """

    name: str
    title: str
    kind: str
    unit: str
    least: float
    most: float
    step: float
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """
    Something to choose from a list.

    Parameters
    ----------
    name, title : str
        As `WhatIf` takes it, and in words.
    """

    name: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Controls:
    """
    Everything that a question can be put together from.

    Parameters
    ----------
    bases : tuple of Choice
        Conditions to start from.
    kits : tuple of Choice
        Configurations beside the baseline: single kits and sets that were run.
    fuels : tuple of FuelChoice
        Fuels of the case, then grades.
    fuel : str
        The fuel that the question stands at.
    sliders : tuple of Slider
        Fuel temperature, altitude, level, climb, speed.
    loadings : tuple of Slider
        One for all elements that load, then one for each; empty where none does.
    """

    bases: tuple[Choice, ...]
    kits: tuple[Choice, ...]
    fuels: tuple[FuelChoice, ...]
    fuel: str
    sliders: tuple[Slider, ...]
    loadings: tuple[Slider, ...]


def controls_of(case: Case, fuels: Fuels, asked: WhatIf) -> Controls:
    """
    Give the sliders and choices of a case.

    Parameters
    ----------
    case : Case
        The case.
    fuels : Fuels
        Its fuels.
    asked : WhatIf
        The question that they stand at, without faults in its kits.

    Returns
    -------
    Controls
        Ends from declared conditions and the ranges of the formulas.
    """
    single = [(kit_id,) for kit_id in case.kits]
    run = [each.kits for each in case.runs if each.kits]
    names = ["+".join(each) for each in dict.fromkeys(single + run)]
    choices = fuels.choices()
    fuel = base_fuel(case, asked)
    clouds = [each.cloud_point_k for each in choices if each.name in (fuel, asked.blend_with)]
    return Controls(
        bases=(
            Choice(name=REFERENCE, title=case.reference.name or "reference conditions"),
            *(
                Choice(name=f"worst-{n}", title=each.name or f"worst condition {n}")
                for n, each in enumerate(case.worst, start=1)
            ),
        ),
        kits=tuple(
            Choice(name=name, title=configuration_words(case, name).title) for name in names
        ),
        fuels=choices,
        fuel=fuel,
        sliders=_sliders(case, asked, min(clouds, default=273.15)),
        loadings=_loadings(case, asked),
    )


def _sliders(case: Case, asked: WhatIf, cloud_k: float) -> tuple[Slider, ...]:
    """Give the sliders that every case has."""
    base = base_conditions(case, asked.base) or case.reference
    declared = [case.reference, *case.worst]
    temperatures = [each.fuel_temperature_k for each in declared]
    pitch = max(STEEPEST_RAD, *(abs(each.road_pitch_rad) for each in declared))
    altitude = altitude_of(base.ambient_pressure_abs_pa)
    return (
        Slider(
            name="fuel_temperature_k",
            title="fuel at the pump inlet",
            kind="temperature",
            unit="degC",
            # Whole degrees Celsius, so that each step is one.
            least=round(min(cloud_k - COOLEST_BELOW_CLOUD_K, *temperatures) - 273.15) + 273.15,
            most=max(HOTTEST_K, *temperatures),
            step=1.0,
            value=_or(asked.fuel_temperature_k, base.fuel_temperature_k),
        ),
        Slider(
            name="altitude_m",
            title="altitude",
            kind="altitude",
            unit="m",
            least=min(0.0, round(altitude, -1)),
            most=HIGHEST_M,
            step=10.0,
            value=_or(asked.altitude_m, altitude),
        ),
        Slider(
            name="fuel_level_fraction",
            title="fuel in the tank",
            kind="fraction",
            unit="%",
            least=0.0,
            most=1.0,
            step=0.01,
            value=_or(asked.fuel_level_fraction, base.fuel_level_fraction),
        ),
        Slider(
            name="road_pitch_rad",
            title="climb of the road",
            kind="angle",
            unit="deg",
            least=-pitch,
            most=pitch,
            step=0.017453292519943295,
            value=_or(asked.road_pitch_rad, base.road_pitch_rad),
        ),
        Slider(
            name="speed_m_per_s",
            title="road speed of the staircase",
            kind="speed",
            unit="km/h",
            least=case.pull.start_m_per_s,
            most=case.pull.stop_m_per_s,
            step=1.0 / 3.6,
            value=_or(asked.speed_m_per_s, case.pull.stop_m_per_s),
        ),
    )


def _loadings(case: Case, asked: WhatIf) -> tuple[Slider, ...]:
    """Give one slider for all elements, as far as all can go, then one for each."""
    base = base_conditions(case, asked.base) or case.reference
    elements = loading_elements(case, asked.kits)
    if not elements:
        return ()
    held = {
        name: base.captured_mass_kg.get(name, 0.0) / element.loading_scale_kg
        for name, element in elements.items()
    }
    every = min(most_loading(element) for element in elements.values())
    together = Slider(
        name="loading_share",
        title="dirt in all elements, over the scale of each",
        kind="fraction",
        unit="%",
        least=0.0,
        most=every,
        step=0.01,
        value=_or(asked.loading_share, min(every, *held.values(), every)),
    )
    return (
        together,
        *(
            Slider(
                name=f"loading.{name}",
                title=f"dirt in {element.title or name}, over its scale of"
                f" {1e3 * element.loading_scale_kg:g} g",
                kind="fraction",
                unit="%",
                least=0.0,
                most=most_loading(element),
                step=0.01,
                value=asked.loading_shares.get(name, _or(asked.loading_share, held[name])),
            )
            for name, element in elements.items()
        ),
    )


def _or(value: float | None, other: float) -> float:
    """Give a value, or what stands where none was asked for."""
    return other if value is None else value
