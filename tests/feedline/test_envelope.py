"""
The envelope agrees with its states, names what binds, and mends what it says it mends.

Counter-examples are of the invented reference vehicle, whose 50.5 kPa absolute is an invented
maker's limit.
"""

from dataclasses import replace

import numpy as np
import pytest

from feedproof.feedline.envelope import ORDER, Binding, EnvelopeLimits, envelope
from feedproof.feedline.mend import smallest_mends
from feedproof.physics.atmosphere import standard_pressure
from feedproof.physics.friction import FrictionRule
from tests.feedline import reference
from tests.feedline.reference import at_138, circuit, conditions, fuel_of, kit, vehicle

LIMITS = EnvelopeLimits(least_pressure_abs_pa=50500.0)
TOP = 3407.0 / 60.0


def _envelope(*kits: str, loadings=(("clean", {}),), limits=LIMITS, pump="new", **axes):
    body = vehicle(pump)
    chosen = {
        "fuel_temperature_k": np.array([263.15, 273.15, 283.15, 313.15, 333.15]),
        "ambient_pressure_abs_pa": np.array([101325.0, 89874.6, 74682.5, 65764.0]),
        "engine_speed_rev_per_s": np.array([2000.0 / 60.0, TOP]),
        **axes,
    }
    return envelope(
        body,
        body.line.with_kits([kit(name) for name in kits]),
        fuel_of("summer"),
        conditions(),
        "+".join(kits) or "baseline",
        loadings=loadings,
        limits=limits,
        rule=FrictionRule.BLEND_BLASIUS,
        **chosen,
    )


def test_each_point_is_the_state_itself() -> None:
    found = _envelope("K1", "K2")
    at = conditions(0.0, ambient_pa=74682.5)
    feed = circuit("K1", "K2", at=at)
    _, injected = feed.full_load(np.array([TOP]))
    state = feed.at(TOP, float(injected[0]))

    assert found.room_pa[1, 2, 0, 1] == pytest.approx(state.pressure_abs_pa - 50500.0, rel=1e-9)


@pytest.mark.parametrize(
    ("kits", "masses", "temperature_c", "altitude_m"),
    [
        (("K1", "K2"), {}, -5.0, 0.0),
        (("K2-small",), {}, 10.0, 0.0),
        (("K2",), {"K2_0": 0.032, "oe_filter": 0.012}, 40.0, 0.0),
        (("K3",), {"K2_before_0": 0.018, "K2_after_0": 0.018, "oe_filter": 0.008}, 10.0, 3500.0),
        (("K3",), {"K2_before_0": 0.010, "K2_after_0": 0.010, "oe_filter": 0.006}, 0.0, 2500.0),
    ],
)
def test_the_counter_examples_lie_outside_the_envelope(
    kits, masses, temperature_c, altitude_m
) -> None:
    found = _envelope(
        *kits,
        loadings=(("as given", masses),),
        fuel_temperature_k=np.array([temperature_c + 273.15]),
        ambient_pressure_abs_pa=np.array([float(standard_pressure(altitude_m))]),
    )

    assert found.slack[0, 0, 0, -1] < 0.0
    assert ORDER[found.binding[0, 0, 0, -1]] is Binding.ABSOLUTE_PRESSURE


@pytest.mark.parametrize(
    ("kits", "altitude_m"),
    [((), 3180.0), (("K1", "K2"), 2720.0)],
)
def test_the_zero_contour_is_at_the_stated_altitude(kits, altitude_m) -> None:
    at = [float(standard_pressure(altitude_m + each)) for each in (-60.0, 60.0)]
    found = _envelope(
        *kits,
        fuel_temperature_k=np.array([313.15]),
        ambient_pressure_abs_pa=np.array(at),
        engine_speed_rev_per_s=np.array([3457.0 / 60.0]),
    )

    assert found.room_pa[0, 0, 0, 0] > 0.0 > found.room_pa[0, 1, 0, 0]


def test_room_falls_with_altitude_loading_and_any_kit() -> None:
    loaded = (("clean", {}), ("loaded", {"oe_filter": 0.01}))
    bare, fitted = _envelope(loadings=loaded), _envelope("K2", loadings=loaded)

    assert np.all(np.diff(bare.room_pa, axis=1) < 0.0)
    assert np.all(np.diff(bare.room_pa, axis=2) < 0.0)
    assert np.all(fitted.room_pa < bare.room_pa)


def test_without_a_limit_the_room_is_not_known_and_another_limit_binds() -> None:
    found = _envelope(limits=EnvelopeLimits(least_pressure_abs_pa=None))

    assert np.all(np.isnan(found.room_pa))
    assert np.all(np.isfinite(found.slack))
    assert set(np.unique(found.binding)) <= {
        ORDER.index(Binding.GAS),
        ORDER.index(Binding.FEED_MARGIN),
    }


def test_a_hot_worn_pump_is_bound_by_its_feed_margin() -> None:
    found = _envelope(
        pump="worn",
        fuel_temperature_k=np.array([343.15]),
        ambient_pressure_abs_pa=np.array([101325.0]),
        engine_speed_rev_per_s=np.array([1400.0 / 60.0]),
    )
    slack, binding, _ = found.worst()

    assert slack < 0.0
    assert binding is Binding.FEED_MARGIN


def test_a_depression_limit_can_bind_too() -> None:
    limits = EnvelopeLimits(least_pressure_abs_pa=None, largest_depression_pa=16900.0)
    slack, binding, _ = _envelope("K2", limits=limits).worst()

    assert slack < 0.0
    assert binding is Binding.DEPRESSION


def test_each_mend_holds_and_the_next_smaller_step_fails() -> None:
    at = conditions(10.0)

    def slack_of(changed) -> float:
        body = vehicle()
        feed = circuit(at=at)
        line = body.line.with_kit(changed)
        from feedproof.feedline.circuit import build_circuit

        feed = build_circuit(body, line, fuel_of("summer"), at, "blend_blasius")
        return at_138(feed).pressure_abs_pa / 50500.0 - 1.0

    small = kit("K2-small")
    mends = smallest_mends(small, slack_of)

    assert slack_of(small) < 0.0
    assert mends
    for mend in mends:
        assert slack_of(mend.kit) >= 0.0
        assert mend.slack_before < 0.0
    assert any("bore" in mend.what for mend in mends)


def test_a_kit_that_does_not_fail_needs_no_mend_and_a_hopeless_one_gets_none() -> None:
    assert smallest_mends(kit("K2"), lambda _: 0.1) == ()
    assert smallest_mends(kit("K2"), lambda _: -0.1) == ()


def test_a_speed_outside_the_engines_curve_is_refused() -> None:
    from feedproof.core.errors import InputError

    with pytest.raises(InputError):
        _envelope(engine_speed_rev_per_s=np.array([5000.0 / 60.0]))
    assert replace(LIMITS, least_feed_margin=1.0).least_feed_margin == 1.0
    assert reference.DATA["limits"]["allowable_abs_inlet_pa"] == 50500.0
