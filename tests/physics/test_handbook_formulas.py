"""
Promise: the handbook formulas for piping, inlets and throttles agree with a library over grids.

They say when a fuel line leaves their range.
"""

import math

import pytest

from feedproof.physics import cavitation, crane, entrance, fittings, power_adjustment

fluids = pytest.importorskip("fluids")

KV_PER_SI = 3600.0 * math.sqrt(1e5)


@pytest.mark.parametrize("bore_m", [0.015, 0.021, 0.05, 0.1, 0.25, 0.6, 0.9])
def test_cranes_friction_factor_is_that_of_the_library(bore_m: float) -> None:
    # The library takes a quick root of Colebrook, good to some 1e-6.
    wanted = fluids.friction.ft_Crane(bore_m)
    assert crane.crane_friction_factor(bore_m) == pytest.approx(wanted, rel=1e-5)


@pytest.mark.parametrize(
    ("inch", "printed"),
    # Crane TP-410 A-26, nominal size of schedule 40 pipe; printed to three decimals (memory).
    [(1.049, 0.022), (2.067, 0.019), (3.068, 0.017), (4.026, 0.016), (6.065, 0.015)],
)
def test_cranes_friction_factor_rounds_to_what_the_book_prints(inch: float, printed: float) -> None:
    assert round(crane.crane_friction_factor(inch * 0.0254), 3) == printed


@pytest.mark.parametrize("degrees", [30.0, 45.0, 90.0, 180.0])
@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0, 4.0, 5.0, 9.0, 14.0, 20.0])
def test_a_bend_is_within_two_per_cent_of_the_librarys_curve(ratio: float, degrees: float) -> None:
    bore = 0.1
    wanted = fluids.fittings.bend_rounded_Crane(Di=bore, angle=degrees, rc=ratio * bore)
    found = crane.crane_bend_coefficient(
        crane.crane_friction_factor(bore),
        crane.crane_bend_factor(ratio),
        ratio,
        math.radians(degrees),
    )
    assert found == pytest.approx(wanted, rel=0.02)


@pytest.mark.parametrize("ratio", [0.99, 20.01, math.nan])
def test_no_bend_factor_is_made_up_outside_the_table(ratio: float) -> None:
    assert math.isnan(crane.crane_bend_factor(ratio))


def test_crane_warns_of_a_fuel_line() -> None:
    words = crane.crane_range_faults(0.008, 0.5, 1200.0)

    assert "not for use below about 15 mm bore" in words[0]
    assert "1 to 20" in words[1]
    assert "understate a laminar loss" in words[2]
    assert crane.crane_range_faults(0.1, 3.0, 1e5) == []
    assert "900 mm" in crane.crane_range_faults(1.2, 3.0, 1e5)[0]


@pytest.mark.parametrize("ratio", [0.01, 0.2, 0.5, 0.8, 0.99, 1.0])
def test_the_contraction_of_rennels_is_that_of_the_library(ratio: float) -> None:
    wanted = fluids.fittings.contraction_sharp(Di1=1.0, Di2=ratio, method="Rennels")
    found = fittings.rennels_contraction_coefficient(1.0, ratio)
    assert found == pytest.approx(wanted, rel=1e-12, abs=1e-15)


def test_the_two_contractions_differ_and_the_spread_is_told() -> None:
    inlet = fittings.rennels_contraction_coefficient(1e6, 1.0)
    assert inlet / fittings.sudden_contraction_coefficient(1e6, 1.0) == pytest.approx(
        1.14, abs=1e-3
    )
    assert fittings.rennels_contraction_coefficient(1.0, 1.0) == 0.0
    assert "two-K" in fittings.area_change_range_faults(0.01, 0.008, 1500.0)[0]
    assert "exchange" in fittings.area_change_range_faults(0.008, 0.01, 1e5)[0]
    assert fittings.area_change_range_faults(0.01, 0.008, 1e5) == []


@pytest.mark.parametrize("reynolds", [50.0, 200.0, 1000.0, 2000.0])
def test_the_entrance_length_is_within_a_tenth_of_a_law_for_all_laminar_flow(
    reynolds: float,
) -> None:
    # Durst and others 2005 (memory): (0.619^1.6 + (0.0567 Re)^1.6)^(1/1.6) bores.
    wanted = (0.619**1.6 + (0.0567 * reynolds) ** 1.6) ** (1.0 / 1.6)
    assert entrance.laminar_entrance_length(1.0, reynolds) == pytest.approx(wanted, rel=0.1)


def test_the_entrance_length_says_where_it_does_not_hold() -> None:
    assert entrance.entrance_range_faults(1000.0) == []
    assert "turbulent" in entrance.entrance_range_faults(5000.0)[0]
    assert "creeping" in entrance.entrance_range_faults(5.0)[0]


@pytest.mark.parametrize("downstream_pa", [660e3, 450e3, 220e3, 120e3])
@pytest.mark.parametrize("recovery", [0.6, 0.9])
def test_a_throttle_is_sized_as_by_the_library(downstream_pa: float, recovery: float) -> None:
    ratio = cavitation.critical_pressure_ratio_factor(70.1e3, 22120e3)
    choked = cavitation.choked_pressure_difference(recovery, 680e3, 70.1e3, ratio)
    found = cavitation.valve_flow_coefficient(0.1, 680e3 - downstream_pa, choked, 965.4)
    wanted = fluids.control_valve.size_control_valve_l(
        rho=965.4, Psat=70.1e3, Pc=22120e3, mu=3.1472e-4, P1=680e3, P2=downstream_pa, Q=0.1,
        FL=recovery,
    )  # fmt: skip
    assert found * KV_PER_SI == pytest.approx(wanted, rel=1e-5)


@pytest.mark.parametrize("kv", [0.5, 20.0, 165.0])
@pytest.mark.parametrize("viscosity", [3.26e-7, 3e-6, 2e-5])
def test_the_reynolds_number_of_a_throttle_is_that_of_the_library(
    kv: float, viscosity: float
) -> None:
    found = cavitation.valve_reynolds_number(0.01, viscosity, kv / KV_PER_SI, 0.9, 0.46, 0.05)
    wanted = fluids.control_valve.Reynolds_valve(viscosity, 36.0, 50.0, 0.9, 0.46, kv)
    assert found == pytest.approx(wanted, rel=1e-12)


def test_a_throttle_without_pressure_or_without_turbulence_is_told() -> None:
    assert math.isinf(cavitation.valve_flow_coefficient(1e-3, 0.0, 1e5, 830.0))
    assert math.isinf(cavitation.valve_flow_coefficient(1e-3, 1e4, -1.0, 830.0))
    assert "not turbulent" in cavitation.valve_range_faults(4e3)[0]
    assert cavitation.valve_range_faults(2e4) == []


def test_a_flow_coefficient_and_its_loss_coefficient_lose_the_same() -> None:
    bore, flow, density = 8e-3, 4e-5, 820.0
    lost = 2500.0
    needed = cavitation.valve_flow_coefficient(flow, lost, 1e6, density)
    k = fittings.valve_loss_coefficient(needed, bore)
    # 999.1 kg/m3 in the one standard, 1000 in the other definition.
    assert fittings.coefficient_pressure_loss(flow, bore, k, density) == pytest.approx(
        lost, rel=1e-3
    )


def test_an_engine_in_reference_air_gives_its_power_and_loses_more_than_indicated() -> None:
    for exponents in ((1.0, 0.75, 0.0), (0.7, 1.2, 1.0), (0.7, 2.0, 0.0)):
        at_reference = power_adjustment.indicated_power_ratio(1e5, 298.0, 298.0, *exponents)
        high = power_adjustment.indicated_power_ratio(79.5e3, 300.0, 305.0, *exponents)
        assert at_reference == 1.0
        assert power_adjustment.brake_power_ratio(1.0, 0.8) == 1.0
        assert power_adjustment.brake_power_ratio(high, 0.8) < high < 1.0
        assert power_adjustment.brake_power_ratio(high, 1.0) == high


def test_a_power_adjustment_says_where_it_means_nothing() -> None:
    assert power_adjustment.adjustment_range_faults(9e4, 0.8) == []
    assert len(power_adjustment.adjustment_range_faults(5e4, 0.0)) == 2
