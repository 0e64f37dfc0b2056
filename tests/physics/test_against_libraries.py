"""
Promise: over whole grids the formulas agree with general-purpose reference libraries.

fluids (friction, standard atmosphere), thermo and CoolProp (n-hexadecane, n-dodecane, water) are
test tools only; the program itself does not load them.
"""

import math
import warnings
from functools import cache
from typing import Any

import pytest

from feedproof.physics import atmosphere, fittings, friction, fuel, losses, orifice

fluids = pytest.importorskip("fluids")
coolprop = pytest.importorskip("CoolProp.CoolProp")

REYNOLDS = [4e3, 7e3, 1.3e4, 3e4, 1e5, 1e6, 1e7, 1e8]
ROUGHNESS = [0.0, 1e-6, 1e-4, 1e-3, 0.01, 0.05]


@pytest.mark.parametrize("reynolds", REYNOLDS)
@pytest.mark.parametrize("roughness", ROUGHNESS)
def test_colebrook_is_the_exact_root_of_the_library(reynolds: float, roughness: float) -> None:
    ours = friction.colebrook_friction_factor(reynolds, roughness)
    theirs = fluids.friction.Colebrook(reynolds, roughness)
    assert ours == pytest.approx(theirs, rel=1e-12)
    root = 1.0 / math.sqrt(ours)
    assert root == pytest.approx(
        -2.0 * math.log10(roughness / 3.7 + 2.51 * root / reynolds), rel=1e-13
    )


@pytest.mark.parametrize("reynolds", [2.0, 50.0, 2e3, *REYNOLDS])
@pytest.mark.parametrize("roughness", ROUGHNESS)
def test_churchill_agrees_with_the_library(reynolds: float, roughness: float) -> None:
    ours = friction.churchill_friction_factor(reynolds, roughness)
    assert ours == pytest.approx(fluids.friction.Churchill_1977(reynolds, roughness), rel=1e-9)


@pytest.mark.parametrize("reynolds", REYNOLDS)
@pytest.mark.parametrize("roughness", ROUGHNESS)
def test_haaland_agrees_with_the_library(reynolds: float, roughness: float) -> None:
    ours = friction.haaland_friction_factor(reynolds, roughness)
    assert ours == pytest.approx(fluids.friction.Haaland(reynolds, roughness), rel=1e-12)


@pytest.mark.parametrize("bore_ratio", [0.2, 0.45, 0.7])
@pytest.mark.parametrize("pipe_m", [0.06, 0.1])
@pytest.mark.parametrize(
    ("taps", "theirs"), [(orifice.TAPS_CORNER, "corner"), (orifice.TAPS_D_AND_HALF_D, "D and D/2")]
)
def test_an_orifice_agrees_with_the_library(
    bore_ratio: float, pipe_m: float, taps: int, theirs: str
) -> None:
    density, mu, mass_flow = 830.0, 2.5e-3, 1.5
    reynolds = losses.reynolds_number(mass_flow / density, pipe_m, mu / density)
    ours = orifice.orifice_discharge_coefficient(bore_ratio, reynolds, pipe_m, taps)
    wanted = fluids.flow_meter.C_Reader_Harris_Gallagher(
        D=pipe_m, Do=bore_ratio * pipe_m, rho=density, mu=mu, m=mass_flow, taps=theirs
    )
    assert ours == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("bore_ratio", [0.2, 0.45, 0.7])
def test_the_lasting_loss_of_an_orifice_agrees_with_the_library(bore_ratio: float) -> None:
    ours = orifice.orifice_permanent_loss_coefficient(bore_ratio, 0.61)
    wanted = fluids.flow_meter.discharge_coefficient_to_K(D=1.0, Do=bore_ratio, C=0.61)
    assert ours == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("reynolds", [3.0, 300.0, 1e5])
def test_a_fitting_loss_is_its_two_k_coefficient_on_the_velocity_head(reynolds: float) -> None:
    bore, density, mu = 0.0068, 830.0, 2.5e-3
    flow = reynolds * math.pi * bore * mu / density / 4.0
    k = fluids.fittings.Hooper2K(Di=bore / 0.0254, Re=reynolds, K1=800.0, Kinfty=0.25)
    head = 0.5 * density * losses.mean_velocity(flow, bore) ** 2
    ours = fittings.fitting_pressure_loss(flow, bore, 800.0, 0.25, density, mu, True)
    assert ours == pytest.approx(k * head, rel=1e-12)


@pytest.mark.parametrize("height_m", [-400.0, 0.0, 120.0, 1500.0, 3200.0, 5400.0, 10000.0])
def test_the_standard_atmosphere_agrees_with_the_library(height_m: float) -> None:
    # The 1976 tables equal ISO 2533 in the lowest layer.
    air = fluids.atmosphere.ATMOSPHERE_1976(Z=height_m)
    altitude_m = atmosphere.geopotential_altitude(height_m)
    assert atmosphere.standard_pressure(altitude_m) == pytest.approx(air.P, rel=2e-6)
    assert atmosphere.standard_temperature(altitude_m) == pytest.approx(air.T, rel=1e-6)
    assert atmosphere.standard_density(altitude_m) == pytest.approx(air.rho, rel=2e-6)


@pytest.mark.parametrize("celsius", [0.5, 5.0, 15.0, 25.0, 40.0, 60.0, 95.0])
def test_water_saturation_agrees_with_the_library(celsius: float) -> None:
    # Region 4 of IF97 against the full IAPWS-95 equation.
    wanted = coolprop.PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water")
    assert atmosphere.water_saturation_pressure(celsius + 273.15) == pytest.approx(wanted, rel=5e-4)


@cache
def hexadecane() -> Any:
    """Load the substance once."""
    thermo = pytest.importorskip("thermo")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return thermo.Chemical("n-hexadecane")


def hexadecane_viscosity(temperature_k: float) -> float:
    """Give the kinematic viscosity of n-hexadecane."""
    substance = hexadecane()
    density = substance.MW * 1e-3 / substance.VolumeLiquid(temperature_k, 101325.0)
    return float(substance.ViscosityLiquid(temperature_k, 101325.0) / density)


def dodecane_viscosity(temperature_k: float) -> float:
    """Give the kinematic viscosity of n-dodecane."""
    state = ("T", temperature_k, "P", 101325.0, "n-Dodecane")
    return float(coolprop.PropsSI("V", *state) / coolprop.PropsSI("D", *state))


@pytest.mark.parametrize("celsius", [25.0, 30.0, 40.0, 50.0, 70.0, 80.0])
def test_walther_through_two_points_of_hexadecane_predicts_the_others(celsius: float) -> None:
    points = (293.15, 333.15)
    a, b = fuel.walther_constants(
        points[0], hexadecane_viscosity(points[0]), points[1], hexadecane_viscosity(points[1])
    )
    wanted = hexadecane_viscosity(celsius + 273.15)
    tolerance = 0.01 if celsius <= 60.0 else 0.03
    assert fuel.walther_kinematic_viscosity(celsius + 273.15, a, b) == pytest.approx(
        wanted, rel=tolerance
    )


@pytest.mark.parametrize("celsius", [0.0, 10.0, 30.0, 50.0, 70.0])
def test_the_full_form_through_two_points_of_dodecane_predicts_the_others(celsius: float) -> None:
    a, b = fuel.d341_constants(
        293.15, dodecane_viscosity(293.15), 333.15, dodecane_viscosity(333.15)
    )
    wanted = dodecane_viscosity(celsius + 273.15)
    assert fuel.d341_kinematic_viscosity(celsius + 273.15, a, b) == pytest.approx(wanted, rel=0.02)


def test_vapour_pressure_of_iso_octane_follows_a_constant_slope_near_room_temperature() -> None:
    # The petrol surrogate: a slope taken between 20 and 40 C predicts 30 C.
    pressures = {
        t: coolprop.PropsSI("P", "T", t, "Q", 0, "n-Octane") for t in (293.15, 303.15, 313.15)
    }
    slope = math.log(pressures[313.15] / pressures[293.15]) / (1 / 293.15 - 1 / 313.15)
    predicted = fuel.vapour_pressure(pressures[293.15], slope, 303.15)
    assert predicted == pytest.approx(pressures[303.15], rel=0.005)


@pytest.mark.parametrize("name", ["n-Nonane", "n-Decane", "n-Dodecane"])
def test_d341_between_two_points_is_within_one_per_cent_of_a_paraffin(name: str) -> None:
    def viscosity(celsius: float) -> float:
        state = ("T", celsius + 273.15, "P", 101325.0, name)
        return float(coolprop.PropsSI("V", *state) / coolprop.PropsSI("D", *state))

    a, b = fuel.d341_constants(293.15, viscosity(20.0), 333.15, viscosity(60.0))
    # All are thinner than the 2 mm2/s down to which the short form holds.
    assert fuel.d341_kinematic_viscosity(313.15, a, b) == pytest.approx(viscosity(40.0), rel=0.01)
