"""Promise: whole lines of filters behind a fuel give the exposures of a second computation."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.physics import cleanliness, size_bins, tank_loop, wear_exposure
from feedproof.physics.filter_rating import FIELD, curve_penetration, rated_point, rating_curve

calm = settings(deadline=None, max_examples=60)
EDGES = size_bins.DEFAULT_EDGES_M
MIDDLES = size_bins.bin_middles(EDGES)
POINTS = {"factory": ((5, 4), (10, 40)), "coarse": ((20, 4), (30, 20)), "fine": ((4, 75), (5, 200))}
# Return over feed of the reference vehicle at full load: 101.5 of 135.5 L/h.
RETURN = 101.5 / 135.5
LINES = {
    "none": ("factory",),
    "primary": ("coarse", "factory"),
    "secondary": ("factory", "fine"),
    "both": ("coarse", "factory", "fine"),
    "two fine": ("fine", "factory", "fine"),
}


def passed(name: str) -> tuple[float, ...]:
    """Give the penetration of one element of the reference by size, in a vehicle."""
    points = [rated_point(d * 1e-6, "um(c)", beta=beta) for d, beta in POINTS[name]]
    return curve_penetration(rating_curve(points), MIDDLES, FIELD)


def injected(line: str, codes: tuple[int, ...]) -> list[float]:
    """Give what is injected of each size bin."""
    tank = size_bins.bin_counts(cleanliness.distribution_of_codes(codes), EDGES)
    through = [math.prod(parts) for parts in zip(*(passed(n) for n in LINES[line]), strict=True)]
    return [
        count * tank_loop.injected_fraction(p, RETURN)
        for count, p in zip(tank, through, strict=True)
    ]


@pytest.mark.parametrize("codes", [(18, 16, 13), (20, 18, 13), (22, 20, 15)])
@pytest.mark.parametrize(
    ("line", "exposure"),
    [("none", 1.0), ("primary", 1.00), ("secondary", 0.167), ("both", 0.167), ("two fine", 0.061)],
)
def test_the_exposure_of_each_line_is_that_of_a_second_computation(
    line: str, exposure: float, codes: tuple[int, int, int]
) -> None:
    # A second computation of the same model with other bins: the first bins move it by 6 %.
    got = wear_exposure.relative_exposure(MIDDLES, injected(line, codes), injected("none", codes))
    assert got == pytest.approx(exposure, rel=0.07)


def test_a_coarse_primary_hardly_changes_the_exposure_and_never_raises_it() -> None:
    got = wear_exposure.relative_exposure(
        MIDDLES, injected("primary", (18, 16, 13)), injected("none", (18, 16, 13))
    )
    assert 0.998 < got < 1.0


def test_the_weight_is_one_at_the_gap_and_falls_alike_on_both_sides() -> None:
    weight = wear_exposure.clearance_weight
    assert weight(3e-6, 3e-6, 0.47) == 1.0
    assert weight(6e-6, 3e-6, 0.47) == pytest.approx(weight(1.5e-6, 3e-6, 0.47), rel=1e-12)
    # One width away: exp(-1/2).
    assert weight(3e-6 * math.exp(0.47), 3e-6, 0.47) == pytest.approx(math.exp(-0.5))
    assert weight(10e-6, 3e-6, 0.47) < 0.05


@calm
@given(st.lists(st.floats(1.0, 1e9), min_size=12, max_size=12), st.floats(0.01, 0.99))
def test_the_exposure_is_a_ratio(counts: list[float], share: float) -> None:
    half = [share * count for count in counts]
    assert wear_exposure.relative_exposure(MIDDLES, half, counts) == pytest.approx(share)
    assert wear_exposure.relative_exposure(MIDDLES, counts, counts) == 1.0


def test_particles_of_the_size_of_the_gap_count_whole() -> None:
    assert wear_exposure.exposure([3e-6], [7.0]) == pytest.approx(7.0)


def test_a_baseline_without_particles_gives_no_ratio() -> None:
    with pytest.raises(ValueError, match="baseline"):
        wear_exposure.relative_exposure(MIDDLES, [1.0] * 12, [0.0] * 12)
