"""
Promise: figures of the reference scenario, worked out by a second way, come out.

The scenario is invented; these tests tie the formulas to that second computation and to each
other, not to the world.  What ties them to the world is in tests/published.
"""

import math
import tomllib
from pathlib import Path

import pytest

from feedproof.physics import (
    atmosphere,
    element,
    friction,
    fuel,
    gas,
    kinematics,
    losses,
    orifice,
    power_correction,
    value_tables,
)

L_PER_H = 1e-3 / 3600.0
SCENARIO = tomllib.loads(
    (Path(__file__).parent.parent / "data" / "reference_vehicle.toml").read_text(encoding="utf-8")
)


def celsius_viscosity(name: str, celsius: float) -> float:
    """Give the viscosity of a fuel of the scenario in mm2/s."""
    data = SCENARIO["fuel"][name]
    a, b = fuel.walther_constants(
        293.15, data["nu20_mm2s"] * 1e-6, 313.15, data["nu40_mm2s"] * 1e-6
    )
    return 1e6 * fuel.walther_kinematic_viscosity(celsius + 273.15, a, b)


@pytest.mark.parametrize(
    ("name", "wanted"),
    [
        ("summer", [22.5, 13.8, 9.2, 2.02, 1.72]),
        ("winter", [14.2, 9.3, 6.5, 1.71, 1.48]),
        ("b20", [26.5, 15.9, 10.4, 2.16, 1.83]),
        ("arctic", [7.6, 5.3, 3.9, 1.23, 1.08]),
    ],
)
def test_viscosity_over_temperature(name: str, wanted: list[float]) -> None:
    got = [celsius_viscosity(name, t) for t in (-20, -10, 0, 60, 70)]
    assert got == pytest.approx(wanted, rel=0.01)


@pytest.mark.parametrize(
    ("bore_mm", "celsius", "reynolds", "pa_per_m"),
    [
        (6, -10, 556, 13400),
        (6, 20, 1596, 4550),
        (8, 0, 627, 2790),
        (8, 40, 1948, 870),
        (10, 20, 958, 589),
        (12, -10, 278, 837),
        (8, 70, 3339, 960),
        (6, 70, 4452, 4210),
    ],
)
def test_loss_per_metre_of_line(bore_mm: int, celsius: int, reynolds: int, pa_per_m: int) -> None:
    nu = celsius_viscosity("summer", celsius) * 1e-6
    density = fuel.linear_density(838.0, 8.3e-4, celsius + 273.15)
    flow = 130 * L_PER_H
    bore = bore_mm * 1e-3
    rule = friction.RULE_BLEND_BLASIUS
    assert losses.reynolds_number(flow, bore, nu) == pytest.approx(reynolds, rel=0.006)
    loss = losses.pipe_pressure_loss(flow, 1.0, bore, 0.0, density, nu * density, rule)
    assert loss == pytest.approx(pa_per_m, rel=0.012)


def test_the_scenario_and_the_standard_give_the_same_pressure_with_altitude() -> None:
    air = SCENARIO["atmosphere"]
    for altitude_m in (0.0, 1000.0, 2500.0, 3500.0):
        wanted = air["p0_pa"] * (1.0 - air["lapse_coeff"] * altitude_m) ** air["exponent"]
        assert atmosphere.standard_pressure(altitude_m) == pytest.approx(wanted, rel=1e-5)


@pytest.mark.parametrize(
    ("kpa", "per_cent"), [(90, 1.6), (80, 3.3), (70, 5.5), (60, 8.2), (50, 11.8), (30, 23.6)]
)
def test_gas_at_equilibrium_in_the_line(kpa: float, per_cent: float) -> None:
    fraction = gas.free_gas_fraction(kpa * 1e3, 101325.0, 0.13, 1.0)
    assert 100 * fraction == pytest.approx(per_cent, abs=0.06)


def test_a_tenth_of_a_millimetre_draws_three_litres_of_air_an_hour() -> None:
    flow = gas.air_ingress_flow(1e-4, 17e3, 1.2, 0.61)
    assert flow / L_PER_H == pytest.approx(2.9, abs=0.05)
    share = gas.ingress_gas_fraction(flow, 101325.0, 84.3e3, 130 * L_PER_H)
    assert 100 * share == pytest.approx(2.6, abs=0.1)
    assert gas.air_ingress_flow(1e-4, -5.0, 1.2, 0.61) == 0.0


def test_kinematics_of_the_reference_vehicle() -> None:
    vehicle = SCENARIO["vehicle"]
    gear, final, radius = 0.84, 4.10, vehicle["tyre_dynamic_radius_m"]
    for kmh, rpm in zip(SCENARIO["expected"]["v_kmh"], SCENARIO["expected"]["n_rpm"], strict=True):
        speed = kinematics.engine_speed(kmh / 3.6, radius, 0.0, gear, final)
        assert 60 * speed == pytest.approx(rpm, abs=0.6)


@pytest.mark.parametrize(("both_axles_kg_m2", "mass_kg"), [(2.4, 47.9), (1.2, 39.1)])
def test_wheel_inertia_must_say_whether_it_is_of_one_axle(
    both_axles_kg_m2: float, mass_kg: float
) -> None:
    mass = kinematics.equivalent_inertia_mass(0.35, both_axles_kg_m2, 0.84 * 4.10, 0.370)
    assert mass == pytest.approx(mass_kg, abs=0.05)


def test_a_sweep_hides_power_in_the_rotating_parts() -> None:
    power = kinematics.acceleration_power(47.9, 138 / 3.6, 5 / 3.6)
    assert power == pytest.approx(2550.0, rel=0.005)
    assert kinematics.wheel_power(120e3, 0.16, power) == pytest.approx(120e3 * 0.84 - power)


def test_power_of_a_torque_and_the_fuel_it_burns() -> None:
    power = kinematics.engine_power(337.0, 3400 / 60)
    assert power == pytest.approx(119.99e3, rel=1e-3)
    flow = kinematics.injected_flow(120e3, 232e-3 / 3.6e6, 820.0)
    assert flow / L_PER_H == pytest.approx(34.0, abs=0.1)


def test_half_a_metre_of_fuel_is_more_than_an_inch_of_mercury() -> None:
    assert kinematics.head_pressure(830.0, 0.5) == pytest.approx(4070.0, abs=2.0)
    assert kinematics.head_pressure(830.0, -0.5) == -kinematics.head_pressure(830.0, 0.5)


def test_a_shortfall_of_a_litre_an_hour_empties_the_rail() -> None:
    rate = kinematics.rail_pressure_rise_rate(1.4e9, 25e-6, -1 * L_PER_H)
    assert rate == pytest.approx(-15.6e6, rel=0.005)


def test_a_blocked_breather_takes_minutes() -> None:
    rate = kinematics.tank_pressure_fall_rate(101325.0, 34 * L_PER_H, 0.040)
    assert 60 * rate == pytest.approx(1.4e3, rel=0.03)


@pytest.mark.parametrize(("grams", "rise_kpa"), [(10.0, 6.4), (15.0, 18.8)])
def test_dirt_in_the_factory_element(grams: float, rise_kpa: float) -> None:
    # Second computation, with pump and line coupled: the flow there falls a little as the
    # element loads, here it stays at 133 L/h of summer fuel at 40 C.
    nu = celsius_viscosity("summer", 40) * 1e-6
    density = fuel.linear_density(838.0, 8.3e-4, 313.15)

    def loss(growth: float) -> float:
        return element.element_pressure_loss(
            133 * L_PER_H, 2.5e9, 0.22, growth, 1.0, 0.0, 9e8, density, nu * density
        )

    growth = element.media_growth(grams * 1e-3, 5e-3)
    assert (loss(growth) - loss(1.0)) / 1e3 == pytest.approx(rise_kpa, rel=0.04)


def test_air_permeability_gives_a_media_resistance() -> None:
    # 2 and 10 L/(m2 s) at 200 Pa.
    assert element.media_resistance_from_air(200.0, 0.002, 1.8e-5) == pytest.approx(5.6e9, rel=0.02)
    assert element.media_resistance_from_air(200.0, 0.010, 1.8e-5) == pytest.approx(1.1e9, rel=0.02)


def test_the_primer_costs_its_opening_pressure_however_slow_the_fuel() -> None:
    flow = 133 * L_PER_H
    assert element.check_valve_pressure_loss(flow, 1200.0, 3e8, 820.7) == pytest.approx(1540, abs=8)
    assert element.check_valve_pressure_loss(1e-12, 1200.0, 3e8, 820.7) == pytest.approx(1200.0)
    assert element.check_valve_pressure_loss(0.0, 1200.0, 3e8, 820.7) == 0.0


def test_power_correction_of_the_reference_vehicle() -> None:
    # q = 90 mg/(L cycle), boost ratio 2.3, lower knee 37.2.
    sae, r85 = power_correction.STANDARD_SAE_J1349, power_correction.STANDARD_UN_R85
    turbo = power_correction.GROUP_TURBO
    qc = 0.0904 / 2.3
    assert power_correction.engine_factor(qc, sae) == pytest.approx(0.275, abs=0.001)
    hot = power_correction.atmospheric_factor(97e3, 305.0, turbo, r85) ** 0.275
    assert hot == pytest.approx(1.0136, abs=2e-4)


def test_a_short_hose_runs_above_developed_flow() -> None:
    ratio = losses.entrance_loss_ratio(1.2, 8e-3, 1900.0)
    assert 1.1 < ratio < 1.3
    assert losses.entrance_loss_ratio(1e4, 8e-3, 1900.0) == pytest.approx(1.0, abs=1e-3)
    assert losses.entrance_loss_ratio(1.0, 8e-3, 0.0) == 1.0


def test_ranges_are_told_in_words() -> None:
    assert "2000 and 4000" in " ".join(friction.friction_range_faults(3000.0, 0.0, 0))
    assert "does not exist" in " ".join(friction.friction_range_faults(1000.0, 0.0, 9))
    assert friction.friction_range_faults(1000.0, 0.0, 0) == []
    assert math.isnan(friction.friction_factor(1000.0, 0.0, 9))
    assert len(orifice.orifice_range_faults(0.05, 1000.0, 0.008)) == 4
    assert orifice.orifice_range_faults(0.5, 5e4, 0.08) == []
    assert "11000" in atmosphere.altitude_range_faults(2e4)[0]


def test_the_fuel_table_holds_the_fuels_of_the_scenario_and_calls_them_invented() -> None:
    lines = value_tables.read_table("fuels")
    held = {(line["item"], line["property"]): line for line in lines}
    for name, key in (
        ("reference_summer", "summer"),
        ("reference_winter", "winter"),
        ("reference_b20", "b20"),
        ("reference_arctic", "arctic"),
        ("petrol_5_percent", "petrol_contaminated_5pct"),
    ):
        data = SCENARIO["fuel"][key]
        assert {line["source"] for line in lines if line["item"] == name} == {"invented"}
        assert float(held[name, "density_15c"]["value"]) == data["rho15"]
        viscosity = float(held[name, "viscosity_40c"]["value"])
        assert viscosity == pytest.approx(data["nu40_mm2s"] * 1e-6)
        cloud_k = float(held[name, "cloud_point"]["value"])
        assert cloud_k == pytest.approx(data["cloud_point_c"] + 273.15)


def test_values_of_the_fuel_table_keep_the_limits_they_are_shown_with() -> None:
    for line in value_tables.read_table("fuels"):
        if line["low"]:
            assert float(line["low"]) <= float(line["value"])
        if line["high"]:
            assert float(line["value"]) <= float(line["high"])


def test_an_unknown_table_is_named_together_with_those_that_exist() -> None:
    with pytest.raises(ValueError, match="fuels"):
        value_tables.read_table("petrol")
