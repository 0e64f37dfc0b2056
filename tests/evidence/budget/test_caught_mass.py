"""A weighed catch is a volume at 15 degC, whatever its temperature (arithmetic)."""

import pytest

from feedproof.case.fuel import Fuel
from feedproof.case.run import CaughtReturn
from feedproof.evidence.caught import return_at_15c
from tests.evidence.run_logs import make_case


def fuel() -> Fuel:
    """Give the fuel of the planned runs."""
    return make_case().fuels["summer"]


def test_a_mass_over_density_and_time_is_the_flow() -> None:
    caught = CaughtReturn(mass_kg=0.02 * fuel().density_15c_kg_per_m3 / 10.0, duration_s=100.0)
    assert return_at_15c(caught, fuel()) == pytest.approx(2e-5, rel=1e-12)


def test_the_same_fuel_weighed_and_read_in_a_jug_is_the_same_flow() -> None:
    """2 L at 45 degC weigh 2 L x rho15 x (1 - 30 K x expansion)."""
    warm = 1.0 - 30.0 * fuel().expansion_per_k
    weighed = CaughtReturn(mass_kg=2e-3 * fuel().density_15c_kg_per_m3 * warm, duration_s=60.0)
    read = CaughtReturn(volume_m3=2e-3, temperature_k=318.15, duration_s=60.0)
    assert return_at_15c(weighed, fuel()) == pytest.approx(return_at_15c(read, fuel()), rel=1e-12)


@pytest.mark.parametrize(
    "caught",
    [CaughtReturn(duration_s=60.0), CaughtReturn(volume_m3=1e-3, duration_s=60.0)],
)
def test_a_catch_that_is_no_amount_is_refused(caught: CaughtReturn) -> None:
    with pytest.raises(ValueError, match="a mass, or a volume with its temperature"):
        return_at_15c(caught, fuel())


def test_an_amount_is_the_mass_where_there_is_one() -> None:
    assert CaughtReturn(mass_kg=1.5, duration_s=60.0).amount == 1.5
    assert CaughtReturn(volume_m3=1e-3, duration_s=60.0).amount == 1e-3
    assert not CaughtReturn(duration_s=60.0).amount > 0.0
