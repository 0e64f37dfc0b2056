"""
Promise: nothing here corrects the power of a diesel as if it were a spark-ignition engine.

SAE J1349 JUN90 for spark ignition, 1.18 (990/Pd) sqrt(T/298) - 0.18: its formula and two of its
values stand here only, as planned checks C029 and C030 (formula seen in a public forum, digits
computed), to show that no function of the project gives them.
"""

import importlib
import inspect
import math
import pkgutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest

import feedproof
from feedproof.physics import power_correction
from feedproof.physics.power_correction import EngineGroup, PowerStandard

# Dry pressure [Pa], intake temperature [K], the spark-ignition factor.
AIRS = [(95e3, 308.0, 1.070146251), (100e3, 288.0, 0.9684320755)]
# Fuel per cycle over boost ratio of the reference vehicle at full load [kg/m3]: 90 mg and 2.3.
REFERENCE_FUEL = 0.0904 / 2.3


def spark_ignition(pressure_pa: float, temperature_k: float) -> float:
    """Give the factor that must not be used."""
    return 1.18 * (99e3 / pressure_pa) * math.sqrt(temperature_k / 298.0) - 0.18


@pytest.mark.parametrize(("pressure_pa", "temperature_k", "wanted"), AIRS)
def test_the_forbidden_factor_is_the_published_one(
    pressure_pa: float, temperature_k: float, wanted: float
) -> None:
    assert spark_ignition(pressure_pa, temperature_k) == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize("standard", list(PowerStandard))
@pytest.mark.parametrize(("pressure_pa", "temperature_k", "forbidden"), AIRS)
def test_the_diesel_factor_of_the_reference_vehicle_is_far_from_it(
    pressure_pa: float, temperature_k: float, forbidden: float, standard: PowerStandard
) -> None:
    diesel = power_correction.power_correction_factor(
        pressure_pa, temperature_k, REFERENCE_FUEL, int(EngineGroup.TURBO), int(standard)
    )

    # Both point the same way; the spark-ignition one claims more than 1 % of power beyond it.
    assert (diesel - 1.0) * (forbidden - 1.0) > 0.0
    assert abs(forbidden - 1.0) > abs(diesel - 1.0) + 0.01


@pytest.mark.parametrize("standard", list(PowerStandard))
@pytest.mark.parametrize("group", list(EngineGroup))
def test_the_diesel_factor_depends_on_the_fuel_which_the_spark_ignition_one_does_not(
    group: EngineGroup, standard: PowerStandard
) -> None:
    factors = [
        power_correction.power_correction_factor(95e3, 308.0, fuel, int(group), int(standard))
        for fuel in (0.03, 0.05, 0.07)
    ]

    assert factors[0] < factors[1] < factors[2]


def functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    """List every public function of the package, wherever it lives."""
    for entry in pkgutil.walk_packages(feedproof.__path__, "feedproof."):
        if entry.name.endswith("__main__") or entry.name.startswith("feedproof.scenario"):
            continue
        module = importlib.import_module(entry.name)
        for name, value in vars(module).items():
            plain = getattr(value, "py_func", value)
            if inspect.isfunction(plain) and plain.__module__ == entry.name:
                yield f"{entry.name}.{name}", plain


def test_no_function_of_two_to_five_numbers_gives_the_spark_ignition_factor() -> None:
    tried = 0
    for name, function in functions():
        parameters = list(inspect.signature(function).parameters)
        if name.split(".")[1] not in ("core", "physics", "feedline", "evidence", "kits"):
            continue
        pressure = [p for p in parameters if "pressure" in p and "difference" not in p]
        temperature = [p for p in parameters if "temperature" in p]
        if len(pressure) != 1 or not temperature or len(parameters) > 6:
            continue
        tried += 1
        hits = 0
        for pressure_pa, temperature_k, forbidden in AIRS:
            given = dict.fromkeys(parameters, 1.0)
            given |= {p: 1 for p in parameters if p in ("group", "standard")}
            given[pressure[0]] = pressure_pa
            given |= dict.fromkeys(temperature, temperature_k)
            try:
                result = function(**given)
            except (TypeError, ValueError, AttributeError, KeyError):
                continue
            if isinstance(result, float):
                hits += math.isclose(result, forbidden, rel_tol=1e-3)
        assert hits < len(AIRS), f"{name} gives the spark-ignition factor"
    # atmospheric_factor, power_correction_factor, indicated_power_ratio and air_density at least.
    assert tried >= 4


def test_no_name_of_the_package_offers_spark_ignition() -> None:
    names = [name.lower() for name, _ in functions()]

    assert len(names) > 300
    assert not [name for name in names if "spark" in name or "gasoline" in name]
    groups = {each.name for each in EngineGroup} | {each.name for each in PowerStandard}
    assert groups == {
        "NATURAL_OR_MECHANICAL",
        "TURBO",
        "TURBO_LIQUID_COOLED",
        "ISO_1585",
        "UN_R85",
        "SAE_J1349",
    }
