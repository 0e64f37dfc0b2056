"""Promise: the compiled form of every formula gives what its plain form gives."""

import importlib
import inspect
import math
import pkgutil
from typing import Any

import pytest

import feedproof.physics
from feedproof.core.compiled import engine

# Values that suit any parameter, by the end or the whole of its name.
SAMPLES: dict[str, tuple[float, ...]] = {
    "reynolds": (0.0, 0.4, 900.0, 2100.0, 3100.0, 4200.0, 8e4),
    "relative_roughness": (0.0, 3e-4, 0.02),
    "flow_m3_per_s": (0.0, 2.1e-6, 3.6e-5, -3.6e-5),
    "temperature_k": (258.0, 293.15, 331.0),
    "bore_m": (0.0065, 0.0081),
    "loading_scale_kg": (0.005, 0.0, math.inf),
    "pressure_abs_pa": (-10.0, 0.0, 41e3, 97e3),
    "softness_pa": (0.0, 3500.0),
    "corrected_fuel_kg_per_m3": (0.02, 0.05, 0.08),
    "dry_pressure_abs_pa": (92e3, 101e3),
    "law": (7, 0, 1, 2, 3),
    "growth_ratio": (0.9, 1.0, 2.5),
    "wire_reynolds": (1.0, 55.0, 500.0),
}
ONE: dict[str, Any] = {
    "large_m": 0.9,
    "count_small_per_m3": 0.8,
    "small_bore_m": 0.006,
    "density_15c": 838.0,
    "t1_k": 293.15,
    "t2_k": 313.15,
    "nu1_m2_per_s": 4.8e-6,
    "nu2_m2_per_s": 2.95e-6,
    "kinematic_viscosity_m2_per_s": 2.95e-6,
    "a": 9.86,
    "b": 4.06,
    "w": 0.1,
    "z": 3.6,
    "w1": 0.1,
    "start": 0.1,
    "end": 0.7,
    "w2": 0.0,
    "bore_ratio": 0.4,
    "pipe_reynolds": 2e4,
    "expansion_per_k": 8.3e-4,
    "slope_k": 5500.0,
    "reference_coefficient": 0.098,
    "with_size_term": True,
    "cloud_point_k": 271.15,
    "cfpp_k": 265.15,
    "geopotential_altitude_m": 2500.0,
    "geometric_altitude_m": 2500.0,
    "barometer_abs_pa": 98e3,
    "taps": 1,
    "group": 1,
    "standard": 1,
    "downstream_abs_pa": 9.9e4,
    "upstream_abs_pa": 1e5,
    "vapour_pressure_abs_pa": 100.0,
    "critical_pressure_abs_pa": 2e6,
}


def formulas() -> list[tuple[str, Any]]:
    """List every compiled formula of the room, helpers included."""
    found = {}
    for entry in pkgutil.iter_modules(feedproof.physics.__path__):
        module = importlib.import_module(f"feedproof.physics.{entry.name}")
        for name, value in vars(module).items():
            if hasattr(value, "py_func"):
                found[name] = value
    return sorted(found.items())


def argument_sets(parameters: list[str]) -> list[list[Any]]:
    """Vary one parameter at a time around one plain set of values."""
    base = [ONE.get(p, SAMPLES.get(p, (0.37,))[-1] if p in SAMPLES else 0.37) for p in parameters]
    sets = []
    for rule in range(5) if "rule" in parameters else (None,):
        fixed = [rule if p == "rule" else v for p, v in zip(parameters, base, strict=True)]
        sets.append(fixed)
        for place, parameter in enumerate(parameters):
            for value in SAMPLES.get(parameter, ()):
                sets.append([*fixed[:place], value, *fixed[place + 1 :]])
    return sets


@pytest.mark.parametrize(("name", "function"), formulas() or [("no compiler", None)])
def test_compiled_and_plain_form_agree(name: str, function: Any) -> None:
    if function is None:
        assert engine() == "plain"
        return
    parameters = list(inspect.signature(function.py_func).parameters)
    for arguments in argument_sets(parameters):
        got = function(*arguments)
        wanted = function.py_func(*arguments)
        pairs = zip(got, wanted, strict=True) if isinstance(got, tuple) else [(got, wanted)]
        for one, other in pairs:
            both_missing = math.isnan(one) and math.isnan(other)
            assert both_missing or math.isclose(one, other, rel_tol=1e-14, abs_tol=0.0), (
                f"{name}{tuple(arguments)}: {one!r} against {other!r}"
            )


def test_formulas_are_compiled_exactly_where_there_is_a_compiler() -> None:
    assert (len(formulas()) > 60) is (engine() == "compiled")
