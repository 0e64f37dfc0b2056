"""
Promise: the published rows would notice a formula that is 2 % wrong.

Each public formula that the rows use is replaced by 1.02 times itself; a row that does not come
from memory must turn red.
"""

import inspect
import math
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import feedproof.physics
from feedproof.physics import (
    atmosphere,
    blends,
    blocking,
    cavitation,
    crane,
    entrance,
    fibre,
    filtration,
    fittings,
    friction,
    fuel,
    gas,
    granular,
    losses,
    orifice,
    petroleum,
    power_adjustment,
    power_correction,
    settling,
)
from tests.published.rows import Row, Runner, read_rows
from tests.published.test_published_values import TABLES

MODULES = (
    atmosphere,
    blends,
    blocking,
    cavitation,
    crane,
    entrance,
    fibre,
    filtration,
    fittings,
    friction,
    fuel,
    gas,
    granular,
    losses,
    orifice,
    petroleum,
    power_adjustment,
    power_correction,
    settling,
)
# Rooms of formulas that no published row reaches, with what holds them instead.
WITHOUT_PUBLISHED_VALUES = {
    "element": "tests/physics/test_properties.py, second computation in test_reference_figures.py",
    "fuel_water": "tests/physics/test_fuel_water.py: published ranges, conservation of water",
    "friction_slope": "tests/physics/test_friction_slope.py, differences of the published factors",
    "heat": "tests/physics/test_heat.py: first law, SciPy's integrator, CoolProp and thermo",
    "hose": "tests/feedline, a law of the project's own",
    "kinematics": "tests/physics/test_reference_figures.py",
    "particle_sizes": "tests/physics/test_cleanliness.py: SciPy's integrator, published masses",
    "pump": "tests/physics/test_properties.py, laws of the project's own",
    "tank_filling": "tests/physics/test_tank_filling.py",
    "tank_loop": "tests/physics/test_tank_loop.py: SciPy's ODE solver, sums to one",
    "tee": "tests/feedline/test_network.py",
    "wear_exposure": "tests/physics/test_filter_lines.py, a declared model of relative exposure",
    "weather": "tests/physics/test_weather.py, published pairs and CoolProp's humid air",
}
# Formulas that no row outside memory checks: what guards them is said in their docstrings.
MEMORY_ONLY = {
    "blocking_growth",
    "cell_drag",
    "davies_drag",
    "happel_factor",
    "kuwabara_factor",
    "layer_penetration",
    "layer_pressure_loss",
    "lee_liu_diffusion",
    "lee_liu_interception",
    "laminar_entrance_length",
    "indicated_power_ratio",
    "laminar_apparent_friction_product",
    "kendall_monroe_blend",
    "arrhenius_blend",
    "ostwald_coefficient",
    "ostwald_air_coefficient",
    "ostwald_at_temperature",
    "atmospheric_factor",
    "power_correction_factor",
}
ROWS: list[tuple[Row, Runner]] = [
    (row, TABLES[name][row.id]) for name in TABLES for row in read_rows(name).values()
]


@pytest.fixture(scope="module", autouse=True)
def compiled() -> None:
    """Run every row once: a formula compiled later would find its callee replaced by a wrapper."""
    for _, runner in ROWS:
        runner()


def public_formulas() -> list[tuple[Any, str]]:
    """List the public formulas of the rooms above, with their files."""
    found = []
    for module in MODULES:
        for name, value in vars(module).items():
            own = getattr(value, "__module__", "") == module.__name__
            if own and not name.startswith("_") and callable(value) and not inspect.isclass(value):
                found.append((module, name))
    return [(module, name) for module, name in found if not name.endswith("_faults")]


def two_per_cent_more(value: Any) -> Any:
    """Spoil a result, or every part of it."""
    if isinstance(value, tuple):
        return tuple(1.02 * part for part in value)
    return 1.02 * value


def counted(original: Callable[..., Any], calls: list[int]) -> Callable[..., Any]:
    """
    Wrap a formula so that its use by a row is seen.

    A use by another formula does not count: it is hidden where formulas are compiled.
    """

    def wrapper(*values: Any) -> Any:
        if sys._getframe(1).f_globals["__name__"].startswith("tests."):
            calls.append(1)
        return original(*values)

    return wrapper


def rows_that_use(module: Any, name: str, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Give the places of the rows that call a formula directly."""
    original = getattr(module, name)
    users = []
    for place, (_, runner) in enumerate(ROWS):
        calls: list[int] = []
        with monkeypatch.context() as patch:
            patch.setattr(module, name, counted(original, calls))
            runner()
        if calls:
            users.append(place)
    return users


@pytest.mark.parametrize(
    ("module", "name"),
    [pytest.param(module, name, id=name) for module, name in public_formulas()],
)
def test_a_formula_two_per_cent_wrong_turns_a_row_red(
    module: Any, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    users = rows_that_use(module, name, monkeypatch)
    if not users:
        assert name in WITHOUT_ROWS, f"{name} is checked by no published row"
        return
    original = getattr(module, name)
    monkeypatch.setattr(module, name, lambda *values: two_per_cent_more(original(*values)))
    red = []
    for place in users:
        row, runner = ROWS[place]
        try:
            if not row.allows(runner()):
                red.append(row)
        except (ValueError, OverflowError):
            red.append(row)
    assert red
    assert any(not row.from_memory for row in red) is (name not in MEMORY_ONLY)


# Formulas that no published row uses directly; tests/physics checks them by other means.
WITHOUT_ROWS = {
    "air_density",
    "air_ingress_flow",
    "bypassed",
    "entrance_loss_ratio",
    "expansion_coefficient_54b",
    "field_penetration",
    "filtration_ratio",
    "fitting_pressure_loss",
    "free_gas_fraction",
    "gas_share",
    "ingress_gas_fraction",
    "is_laminar",
    "joined_friction_factor",
    "load_at_growth",
    "load_share_at_growth",
    "orifice_permanent_loss_coefficient",
    "parallel_penetration",
    "penetration",
    "pipe_pressure_loss_with_end",
    "relaxed_gas",
    "released_gas",
    "rosin_rammler_penetration",
    "settling_reynolds",
    "transition_end",
    "transition_end_factor",
    "transition_start",
    "turbulent_friction_factor",
}


def test_the_list_of_formulas_without_rows_is_not_stale(monkeypatch: pytest.MonkeyPatch) -> None:
    names = {name: module for module, name in public_formulas()}
    assert set(names) >= WITHOUT_ROWS
    for name in WITHOUT_ROWS:
        assert not rows_that_use(names[name], name, monkeypatch), f"{name} has a row by now"


def test_every_room_of_formulas_is_guarded_or_says_what_holds_it() -> None:
    rooms = {
        file.stem
        for file in Path(feedproof.physics.__path__[0]).glob("*.py")
        if "\n@formula\n" in file.read_text(encoding="utf-8")
    }
    guarded = {module.__name__.rsplit(".", 1)[1] for module in MODULES}

    assert rooms == guarded | set(WITHOUT_PUBLISHED_VALUES)
    assert not guarded & set(WITHOUT_PUBLISHED_VALUES)


def test_the_spoiled_result_differs_by_two_per_cent() -> None:
    assert math.isclose(two_per_cent_more(1.0), 1.02)
    assert two_per_cent_more((1.0, 2.0)) == (1.02, 2.04)
