"""
Faults are simulated and told apart by the trade's table of signs (common practice, no source).

The table is not made from the simulation: what the solver says of a fault is held against it, over
temperatures, kits and pumps.
"""

import math
from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from feedproof.case.line import Line
from feedproof.core.errors import InputError
from feedproof.feedline.faults import Fault, Readings, fault_readings, readings, with_fault
from feedproof.feedline.signatures import NAMES, SIGNS, Resolution, faults_that_fit, signs_of
from tests.feedline.reference import conditions, fuel_of, kit, vehicle

REAL = [fault for fault in Fault if fault is not Fault.NONE]
RULE = "blend_colebrook"


def change(
    fault: Fault, severity: float, temperature_c: float = 40.0, kits: tuple[str, ...] = ()
) -> Readings:
    """Read a fault on the reference vehicle."""
    body = vehicle()
    line = body.line.with_kits([kit(name) for name in kits])
    at = conditions(temperature_c)
    return fault_readings(body, line, fuel_of("summer"), at, RULE, fault, severity)


@pytest.mark.parametrize("kits", [(), ("K1", "K2")], ids=["bare", "both kits"])
@pytest.mark.parametrize("temperature_c", [0.0, 10.0, 40.0, 70.0])
@pytest.mark.parametrize("severity", [0.3, 0.5, 1.0])
@pytest.mark.parametrize("fault", REAL)
def test_a_fault_that_shows_is_the_only_one_that_fits(fault, severity, temperature_c, kits) -> None:
    assert faults_that_fit(change(fault, severity, temperature_c, kits)) == (fault,)


@given(
    fault=st.sampled_from(REAL),
    severity=st.floats(0.0, 1.0),
    temperature_c=st.floats(-5.0, 75.0),
)
@example(fault=Fault.WORN_PUMP, severity=0.0625, temperature_c=0.0)
@example(fault=Fault.AIR_LEAK, severity=0.75, temperature_c=0.0)
@settings(max_examples=80, deadline=None)
def test_the_true_fault_is_never_excluded_and_too_small_a_one_is_no_change(
    fault, severity, temperature_c
) -> None:
    found = change(fault, severity, temperature_c)
    fitting = faults_that_fit(found)

    unseen = set(signs_of(found, Resolution()).values()) == {"0"}
    assert fitting == (Fault.NONE,) if unseen else fault in fitting


def test_a_depression_alone_cannot_tell() -> None:
    high = faults_that_fit(change(Fault.BLOCKED_FILTER, 0.3), read=frozenset({"depression_pa"}))
    low = faults_that_fit(change(Fault.WORN_PUMP, 0.5), read=frozenset({"depression_pa"}))

    assert set(high) == {
        Fault.BLOCKED_FILTER,
        Fault.BLOCKED_PICKUP,
        Fault.COLLAPSED_HOSE,
        Fault.BLOCKED_BREATHER,
    }
    # A low depression is no sign of health.
    assert set(low) == {Fault.WORN_PUMP, Fault.AIR_LEAK}


@pytest.mark.parametrize("fault", REAL)
def test_noise_below_the_resolution_excludes_no_true_fault(fault: Fault) -> None:
    found = change(fault, 0.5)
    fine = Resolution()
    for sign in (-1.0, 1.0):
        shaken = replace(
            found,
            depression_pa=found.depression_pa + sign * 0.4 * fine.depression_pa,
            pickup_side_pa=found.pickup_side_pa - sign * 0.4 * fine.depression_pa,
            filter_side_pa=found.filter_side_pa + sign * 0.4 * fine.depression_pa,
            return_percent=found.return_percent - sign * 0.4 * fine.return_percent,
            slow_gas_fraction=found.slow_gas_fraction + sign * 0.4 * fine.gas_fraction,
        )
        assert fault in faults_that_fit(shaken)


def test_every_pair_of_faults_is_parted_by_some_reading() -> None:
    for one in REAL:
        for other in REAL:
            if one is not other:
                assert any(not set(SIGNS[one][name]) & set(SIGNS[other][name]) for name in NAMES), (
                    one,
                    other,
                )


def test_a_worn_pump_shows_the_lowest_depression_and_the_least_return() -> None:
    body = vehicle()
    sound = readings(body, body.line, fuel_of("summer"), conditions(), RULE)
    worn = readings(vehicle("worn"), body.line, fuel_of("summer"), conditions(), RULE)

    assert worn.depression_pa < sound.depression_pa
    assert worn.return_percent < sound.return_percent - 30.0
    assert faults_that_fit(worn.minus(sound)) == (Fault.WORN_PUMP,)


def test_severity_zero_is_the_sound_vehicle_and_more_is_refused() -> None:
    for fault in Fault:
        found = change(fault, 0.0)
        assert all(math.isclose(getattr(found, name), 0.0, abs_tol=1e-3) for name in NAMES)
    with pytest.raises(InputError, match="severity"):
        change(Fault.AIR_LEAK, 1.5)


def test_a_line_without_the_part_says_so() -> None:
    body = vehicle()
    for fault in (Fault.COLLAPSED_HOSE, Fault.BLOCKED_PICKUP):
        with pytest.raises(InputError, match="Describe"):
            with_fault(body, Line(parts=()), conditions(), fault, 0.5)
