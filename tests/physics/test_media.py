"""Promise: fibres, grains, screens and sinking particles agree with a library and their limits."""

import math

import fluids
import fluids.filters
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.physics import fibre, granular, settling

calm = settings(deadline=None, max_examples=100)
solidities = st.floats(0.005, 0.3)


@calm
@given(solidities)
def test_a_denser_layer_drags_more_by_every_model(a: float) -> None:
    for drag in (
        fibre.davies_drag,
        lambda x: fibre.cell_drag(x, fibre.kuwabara_factor(x)),
        lambda x: fibre.cell_drag(x, fibre.happel_factor(x)),
    ):
        assert drag(1.02 * a) > drag(a) > 0.0
    # Cells: fibres laid evenly, the free-slip cell of Happel drags less.
    assert fibre.happel_factor(a) > fibre.kuwabara_factor(a) > 0.0


def test_in_a_thin_layer_the_cells_tend_to_a_single_fibre_of_lamb() -> None:
    # Both factors grow as -ln(a)/2 less a constant: 3/4 and 1/2 (Kuwabara, Happel: their limits).
    a = 1e-9
    assert fibre.kuwabara_factor(a) + 0.5 * math.log(a) == pytest.approx(-0.75, abs=1e-7)
    assert fibre.happel_factor(a) + 0.5 * math.log(a) == pytest.approx(-0.5, abs=1e-7)


@calm
@given(solidities, st.floats(0.0, 0.5), st.floats(1e-4, 1e-3))
def test_two_layers_let_pass_the_product(a: float, e: float, thick: float) -> None:
    one = fibre.layer_penetration(a, e, thick, 8e-6)
    assert fibre.layer_penetration(a, e, 2.0 * thick, 8e-6) == pytest.approx(one * one, rel=1e-9)
    assert 0.0 <= one <= 1.0
    once = fibre.layer_pressure_loss(5e-4, thick, 8e-6, 2.5e-3, fibre.davies_drag(a))
    twice = fibre.layer_pressure_loss(5e-4, 2.0 * thick, 8e-6, 2.5e-3, fibre.davies_drag(a))
    assert twice == pytest.approx(2.0 * once)


def test_interception_catches_the_large_and_diffusion_the_small() -> None:
    factor = fibre.kuwabara_factor(0.08)
    caught = [fibre.lee_liu_interception(0.08, factor, d / 8.0) for d in (0.5, 1.0, 2.0, 4.0)]
    assert caught == sorted(caught)
    spread = [
        fibre.lee_liu_diffusion(
            0.08,
            factor,
            fibre.fibre_peclet(
                5e-4, 8e-6, fibre.stokes_einstein_diffusivity(d * 1e-6, 298.15, 2.5e-3)
            ),
        )
        for d in (0.5, 1.0, 2.0, 4.0)
    ]
    assert spread == sorted(spread, reverse=True)
    # In a liquid interception rules from one micrometre on.
    assert caught[1] > spread[1]


@pytest.mark.parametrize("speed", [1e-4, 1e-3, 5e-2])
@pytest.mark.parametrize("porosity", [0.35, 0.45])
def test_a_bed_loses_what_the_fluids_library_says(speed: float, porosity: float) -> None:
    wanted = fluids.Ergun(dp=8e-4, voidage=porosity, vs=speed, rho=830.0, mu=2.5e-3, L=1.0)
    got = granular.ergun_gradient(8e-4, porosity, speed, 830.0, 2.5e-3)
    assert got == pytest.approx(wanted, rel=1e-9)
    carman = granular.kozeny_carman_gradient(8e-4, porosity, speed, 2.5e-3)
    slow = granular.ergun_gradient(8e-4, porosity, speed, 0.0, 2.5e-3)
    assert carman == pytest.approx(1.2 * slow, rel=1e-12)


def test_a_bed_loses_with_the_sign_of_its_flow() -> None:
    forward = granular.ergun_gradient(8e-4, 0.4, 0.05, 830.0, 2.5e-3)
    assert granular.ergun_gradient(8e-4, 0.4, -0.05, 830.0, 2.5e-3) == -forward


@pytest.mark.parametrize("opening", [0.1, 0.5, 0.8])
@pytest.mark.parametrize("reynolds", [1, 20, 25, 30, 55, 100, 150, 399, 400, 5000])
def test_a_screen_has_the_coefficient_of_the_fluids_library(
    opening: float, reynolds: float
) -> None:
    wanted = fluids.filters.round_edge_screen(opening, reynolds)
    assert granular.wire_screen_coefficient(opening, reynolds) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("size", [5e-6, 20e-6, 60e-6])
def test_where_its_reynolds_number_is_small_a_grain_sinks_as_the_fluids_library_says(
    size: float,
) -> None:
    speed = settling.stokes_settling_speed(size, 2650.0, 830.0, 2.5e-3)
    assert settling.settling_reynolds(size, speed, 830.0, 2.5e-3) < settling.LARGEST_REYNOLDS
    wanted = fluids.v_terminal(D=size, rhop=2650.0, rho=830.0, mu=2.5e-3)
    assert speed == pytest.approx(wanted, rel=0.02)


def test_beyond_that_reynolds_number_stokes_is_too_fast() -> None:
    size = 400e-6
    speed = settling.stokes_settling_speed(size, 2650.0, 830.0, 2.5e-3)
    assert settling.settling_reynolds(size, speed, 830.0, 2.5e-3) > 10 * settling.LARGEST_REYNOLDS
    assert speed > 1.1 * fluids.v_terminal(D=size, rhop=2650.0, rho=830.0, mu=2.5e-3)


def test_the_reynolds_number_of_a_particle_is_that_of_a_sphere_whichever_way_it_goes() -> None:
    # Definition, rho v d/mu: 830 x 1e-3 x 1e-4 / 2.5e-3.
    assert settling.settling_reynolds(1e-4, 1e-3, 830.0, 2.5e-3) == pytest.approx(0.0332)
    assert settling.settling_reynolds(1e-4, -1e-3, 830.0, 2.5e-3) == pytest.approx(0.0332)


def test_what_is_lighter_rises() -> None:
    assert settling.stokes_settling_speed(1e-4, 1.2, 830.0, 2.5e-3) < 0.0
