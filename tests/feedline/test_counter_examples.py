"""
States that must fail, warn or be told apart: the trap cases of the reference vehicle.

All figures are computed values of the invented reference scenario at 138 km/h, by a second
program; the reference pump's 50.5 kPa absolute is an invented maker's limit.  Two facts of the
trade stand at the end (common practice, no source).
"""

import pytest
from scipy.optimize import brentq

from feedproof.feedline.assess import COMMON_PRACTICE_DEPRESSION_PA, Grade, assess
from feedproof.feedline.pump_state import FeedState
from feedproof.physics.atmosphere import standard_pressure
from tests.feedline import reference
from tests.feedline.reference import at_138, circuit, conditions

LIMIT = 50500.0
L_PER_H = reference.L_PER_H


def _kpa(state: FeedState) -> float:
    return state.depression_pa / 1e3


def _return(state: FeedState) -> float:
    return state.return_m3_per_s / L_PER_H


def test_cold_summer_fuel_is_marginal_and_cold_triples_the_lot() -> None:
    kit = at_138(circuit("K1", "K2", at=conditions(0.0)))
    bare = at_138(circuit(at=conditions(0.0)))

    assert (_kpa(kit), _kpa(bare)) == pytest.approx((41.2, 33.8), abs=0.1)
    assert assess(kit, bare, LIMIT).grade is Grade.MARGINAL


def test_below_the_cloud_point_the_vehicle_fails_with_and_without_the_kit() -> None:
    kit = at_138(circuit("K1", "K2", at=conditions(-5.0)))
    bare = at_138(circuit(at=conditions(-5.0)))
    verdict = assess(kit, bare, LIMIT)

    assert (_kpa(kit), _kpa(bare)) == pytest.approx((66.5, 54.3), abs=0.1)
    assert verdict.grade is Grade.DO_NOT_RELEASE
    assert not verdict.kit_to_blame
    assert "without the kit fails too" in verdict.reasons[-1]


def test_a_thin_line_fails_with_the_kit_and_is_near_it_without() -> None:
    kit = at_138(circuit("K1", "K2", bore_m=0.006, at=conditions(10.0)))
    bare = at_138(circuit(bore_m=0.006, at=conditions(10.0)))

    assert _kpa(kit) == pytest.approx(53.1, abs=0.4)
    assert _kpa(bare) > 45.0
    assert assess(kit, bare, LIMIT).grade is Grade.DO_NOT_RELEASE
    assert assess(bare, bare, LIMIT, kit=False).grade is Grade.MARGINAL


@pytest.mark.parametrize(
    ("temperature_c", "depression", "grade"),
    [
        (40.0, 39.3, Grade.MARGINAL),
        (10.0, 55.3, Grade.DO_NOT_RELEASE),
        (0.0, 66.5, Grade.DO_NOT_RELEASE),
    ],
)
def test_an_undersized_kit_fails_when_not_hot_and_is_the_cause(
    temperature_c: float, depression: float, grade: Grade
) -> None:
    kit = at_138(circuit("K2-small", at=conditions(temperature_c)))
    bare = at_138(circuit(at=conditions(temperature_c)))
    verdict = assess(kit, bare, LIMIT)

    assert _kpa(kit) == pytest.approx(depression, abs=0.1)
    assert verdict.grade is grade
    assert verdict.kit_to_blame is (grade is Grade.DO_NOT_RELEASE)


def test_an_overdue_element_fails() -> None:
    loaded = conditions(mass_g={"K2_0": 32.0, "oe_filter": 12.0})
    kit = at_138(circuit("K2", at=loaded))

    assert (_kpa(kit), _return(kit)) == pytest.approx((51.6, 94.7), abs=0.1)
    assert assess(kit, at_138(circuit()), LIMIT).grade is Grade.DO_NOT_RELEASE


@pytest.mark.parametrize(
    ("altitude_pa", "temperature_c", "mass_g", "depression", "absolute", "returned"),
    [
        (65800.0, 10.0, (18.0, 8.0), 44.6, 21.2, 62.5),
        (74700.0, 0.0, (10.0, 6.0), 50.0, 24.7, 79.9),
    ],
)
def test_altitude_fails_by_the_absolute_limit_although_the_depression_looks_fine(
    altitude_pa: float,
    temperature_c: float,
    mass_g: tuple[float, float],
    depression: float,
    absolute: float,
    returned: float,
) -> None:
    masses = {"K2_before_0": mass_g[0], "K2_after_0": mass_g[0], "oe_filter": mass_g[1]}
    at = conditions(temperature_c, ambient_pa=altitude_pa, mass_g=masses)
    kit = at_138(circuit("K3", at=at))
    bare = at_138(circuit(at=conditions(temperature_c, ambient_pa=altitude_pa)))

    figures = (_kpa(kit), kit.pressure_abs_pa / 1e3, _return(kit))
    assert figures == pytest.approx((depression, absolute, returned), abs=0.15)
    assert kit.depression_pa < COMMON_PRACTICE_DEPRESSION_PA
    assert assess(kit, bare, LIMIT).grade is Grade.DO_NOT_RELEASE


def test_low_depression_of_a_worn_pump_is_not_health() -> None:
    worn, sound = at_138(circuit(pump="worn")), at_138(circuit())

    assert (_kpa(worn), _return(worn)) == pytest.approx((12.7, 61.0), abs=0.15)
    assert worn.depression_pa < sound.depression_pa
    assert assess(worn, sound, LIMIT).grade is Grade.DO_NOT_RELEASE


def test_a_kit_exposes_a_worn_pump() -> None:
    at = conditions(10.0, mass_g={"K2_0": 18.0, "oe_filter": 8.0})
    kit = at_138(circuit("K2", pump="worn", at=at))
    bare = at_138(circuit(pump="worn", at=conditions(10.0)))

    assert (_kpa(kit), _return(kit), _return(bare)) == pytest.approx((33.0, 56.5, 71.2), abs=0.1)
    assert assess(kit, bare, LIMIT).grade is Grade.DO_NOT_RELEASE


def test_a_hot_worn_pump_feeds_short_with_the_lowest_depression_and_the_kit_is_irrelevant() -> None:
    at = conditions(70.0)
    circuits = {
        name: circuit(*kits, pump="worn", at=at) for name, kits in (("bare", ()), ("kit", ("K2",)))
    }
    speed = 1400.0 / 60.0
    states = {}
    for name, each in circuits.items():
        _, injected = each.full_load([speed])
        states[name] = each.at(speed, float(injected[0]))
    verdict = assess(states["kit"], states["bare"], LIMIT)

    assert 0.0 < states["bare"].feed_pressure_ratio < 1.0
    assert states["bare"].depression_pa < 10e3
    assert verdict.grade is Grade.DO_NOT_RELEASE
    assert not verdict.kit_to_blame
    assert any("Short feed" in reason for reason in verdict.reasons)


def test_a_blocked_breather_warns() -> None:
    kit = at_138(circuit("K1", "K2", at=conditions(tank_depression_pa=10e3)))
    same = at_138(circuit(at=conditions(tank_depression_pa=10e3)))

    assert (_kpa(kit), _return(kit)) == pytest.approx((31.9, 99.0), abs=0.1)
    assert assess(kit, same, LIMIT).grade is Grade.NOTICEABLE


def test_without_a_makers_limit_nothing_passes() -> None:
    kit, bare = at_138(circuit("K2")), at_138(circuit())

    assert assess(kit, bare, None).grade is Grade.NO_LIMIT_KNOWN
    assert assess(kit, bare, LIMIT).grade is Grade.LOW


@pytest.mark.parametrize(("kits", "altitude_m"), [((), 3180.0), (("K1", "K2"), 2720.0)])
def test_the_limit_is_reached_at_the_stated_altitude_with_and_without_kits(
    kits: tuple[str, ...], altitude_m: float
) -> None:
    at = conditions(ambient_pa=float(standard_pressure(altitude_m)))

    top = at_138(circuit(*kits, at=at), 140.0)

    assert top.pressure_abs_pa == pytest.approx(LIMIT, abs=150.0)


def test_slope_low_tank_and_altitude_add_up() -> None:
    """
    2500 m, 25 degrees of climb, low tank: 41.6 kPa absolute with both kits, clean and warm.

    The printed figure adds the upright height of 0.8 m unchanged; on the slope it counts with
    its cosine, which is worth 0.6 kPa.
    """
    at = conditions(ambient_pa=74682.5, road_pitch_rad=0.43633, fuel_level_fraction=0.0)

    assert at_138(circuit("K1", "K2", at=at)).pressure_abs_pa / 1e3 == pytest.approx(
        41.6 + 0.6, abs=0.1
    )


@pytest.mark.parametrize(("kits", "depression"), [((), 15.5), (("K1", "K2"), 18.9)])
def test_neutral_at_3000_rpm_reads_about_the_full_load_value(
    kits: tuple[str, ...], depression: float
) -> None:
    state = circuit(*kits).held_without_load(50.0)

    assert _kpa(state) == pytest.approx(depression, abs=0.15)


@pytest.mark.parametrize(
    ("temperature_c", "depression"), [(40.0, 40.6), (20.0, 57.7), (10.0, 70.0), (0.0, 78.2)]
)
def test_a_loaded_line_that_reads_harmless_warm_fails_in_the_cold(
    temperature_c: float, depression: float
) -> None:
    """Both kits, 30 % of the loading on the factory element: 40.6 kPa at 40 degC is no pass."""

    def reading(loaded_g: float, at_c: float) -> float:
        masses = {"K2_0": 0.7 * loaded_g, "oe_filter": 0.3 * loaded_g}
        return _kpa(at_138(circuit("K1", "K2", at=conditions(at_c, mass_g=masses))))

    loaded_g = brentq(lambda mass: reading(mass, 40.0) - 40.6, 5.0, 60.0)

    assert reading(loaded_g, temperature_c) == pytest.approx(depression, abs=0.7)


def test_trade_suction_capable_pumps_manage_15_to_16_inhg_at_sea_level() -> None:
    """Common practice, no source: the pump still feeds at 54 kPa of depression."""
    at = conditions(tank_depression_pa=54e3 - 17.8e3)
    state = at_138(circuit(at=at))

    assert state.depression_pa > 15.0 * 3386.4
    assert state.feed_pressure_ratio == 1.0


def test_trade_one_clean_warm_well_plumbed_fine_element_adds_a_small_share() -> None:
    """Common practice, no source: a small share of the 15 inHg."""
    added = at_138(circuit("K2")).depression_pa - at_138(circuit()).depression_pa

    assert 0.0 < added < 0.1 * COMMON_PRACTICE_DEPRESSION_PA
