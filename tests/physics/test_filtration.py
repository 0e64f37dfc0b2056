"""Promise: filters let pass what their ratings say, together and alone, and nothing is guessed."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.physics import filter_rating, filtration
from feedproof.physics.filter_rating import FIELD, LABORATORY, Derating, rated_point, rating_curve

calm = settings(deadline=None, max_examples=100)
sizes = st.floats(1e-7, 2e-4)
cuts = st.floats(5e-7, 5e-5)
slopes = st.floats(0.5, 8.0)
shares = st.floats(0.0, 1.0)


def curve(*points: tuple[float, float]) -> filter_rating.RatingCurve:
    """Fit points of um(c) and ratio."""
    return rating_curve([rated_point(d * 1e-6, "um(c)", beta=beta) for d, beta in points])


FACTORY = curve((5, 4), (10, 40))
COARSE = curve((20, 4), (30, 20))
FINE = curve((4, 75), (5, 200))


@pytest.mark.parametrize(
    ("element", "cut_um", "slope"),
    [(FACTORY, 3.72, 3.70), (COARSE, 15.71, 4.55), (FINE, 1.52, 4.43)],
)
def test_two_points_give_the_curve_of_a_second_computation(
    element: filter_rating.RatingCurve, cut_um: float, slope: float
) -> None:
    assert element.cut_size_m * 1e6 == pytest.approx(cut_um, abs=0.006)
    assert element.slope == pytest.approx(slope, abs=0.006)
    assert element.residual_ln == 0.0


def test_the_fine_element_in_a_vehicle_is_that_of_a_second_computation() -> None:
    # 0.013 in the laboratory, 0.123 with cut x 1.5, slope x 0.8 and 0.5 % past the seal.
    (laboratory,) = filter_rating.curve_penetration(FINE, [4e-6], LABORATORY)
    (field,) = filter_rating.curve_penetration(FINE, [4e-6], FIELD)
    assert laboratory == pytest.approx(1.0 / 75.0, rel=1e-9)
    assert field == pytest.approx(0.123, abs=6e-4)
    assert (FIELD.field_size_factor, FIELD.field_slope_factor, FIELD.bypass_fraction) == (
        1.5,
        0.8,
        0.005,
    )
    assert "assumption" in FIELD.source


@calm
@given(st.floats(1e-6, 3e-5), st.floats(1.05, 5.0), st.floats(1.1, 1e3), st.floats(1.05, 50.0))
def test_the_curve_meets_both_of_its_points(
    size: float, apart: float, beta: float, more: float
) -> None:
    points = [
        rated_point(size, "um(c)", beta=beta),
        rated_point(size * apart, "um(c)", beta=beta * more),
    ]
    found = rating_curve(points)
    for point in points:
        got = filtration.filtration_ratio(point.size_m, found.cut_size_m, found.slope)
        assert got == pytest.approx(point.beta, rel=1e-6)
    cut = filtration.filtration_ratio(found.cut_size_m, found.cut_size_m, found.slope)
    assert cut == 2.0


def test_planted_points_of_one_curve_are_found_and_scatter_is_told() -> None:
    planted = [(d, 1.0 + (d / 4.0) ** 3.1) for d in (4.0, 6.0, 10.0, 14.0)]
    found = curve(*planted)
    assert found.cut_size_m == pytest.approx(4e-6, rel=1e-9)
    assert found.slope == pytest.approx(3.1, rel=1e-9)
    assert found.residual_ln < 1e-9
    spoilt = curve(*planted[:-1], (14.0, 3.0 * planted[-1][1]))
    assert spoilt.residual_ln > 0.1


@calm
@given(sizes, st.floats(1.001, 3.0), cuts, slopes)
def test_a_larger_particle_is_never_caught_worse(d: float, more: float, c: float, s: float) -> None:
    ratio = filtration.filtration_ratio
    assert ratio(d * more, c, s) >= ratio(d, c, s) >= 1.0
    for law in (filtration.penetration, filtration.rosin_rammler_penetration):
        assert 0.0 <= law(d * more, c, s) <= law(d, c, s) <= 1.0


@calm
@given(sizes, cuts, slopes, st.floats(1.0, 3.0), st.floats(0.3, 1.0), st.floats(0.0, 0.5))
def test_bypass_is_a_floor_and_a_vehicle_never_beats_the_laboratory_above_the_cut(
    d: float, c: float, s: float, cut: float, slope: float, e: float
) -> None:
    field = filtration.field_penetration(d, c, s, cut, slope, e)
    assert e <= field <= 1.0
    if d >= c * cut:
        assert field >= filtration.penetration(d, c, s) - 1e-12
    plain = filtration.field_penetration(d, c, s, 1.0, 1.0, 0.0)
    assert plain == pytest.approx(filtration.penetration(d, c, s), rel=1e-12)


def test_below_its_cut_a_flatter_curve_catches_more_and_that_is_known() -> None:
    # The derating by slope alone helps small particles: the larger cut must outweigh it.
    flat = filtration.field_penetration(1e-6, 1.5e-6, 4.4, 1.0, 0.8, 0.0)
    assert flat < filtration.penetration(1e-6, 1.5e-6, 4.4)
    derated = filtration.field_penetration(1e-6, 1.5e-6, 4.4, 1.5, 0.8, 0.005)
    assert derated > filtration.penetration(1e-6, 1.5e-6, 4.4)


def test_rosin_rammler_lets_the_tail_through_less() -> None:
    # Definition of its scale: exp(-1) pass.
    assert filtration.rosin_rammler_penetration(5e-6, 5e-6, 2.0) == pytest.approx(math.exp(-1.0))
    assert filtration.rosin_rammler_penetration(2e-5, 5e-6, 2.0) == pytest.approx(math.exp(-16.0))


@calm
@given(st.lists(shares, max_size=5), st.randoms(use_true_random=False))
def test_filters_in_series_multiply_in_any_order(line: list[float], chance) -> None:  # type: ignore[no-untyped-def]
    passed = filtration.series_penetration(line)
    mixed = list(line)
    chance.shuffle(mixed)
    assert filtration.series_penetration(mixed) == pytest.approx(passed, rel=1e-12, abs=1e-300)
    assert passed <= min(line, default=1.0)


def test_bypass_of_each_filter_floors_the_line() -> None:
    torn = filtration.bypassed(0.0, 0.05)
    assert filtration.series_penetration([torn, torn]) == pytest.approx(0.0025)
    assert filtration.bypassed(1.0, 0.05) == 1.0


@calm
@given(st.lists(st.tuples(st.floats(1e-7, 1e-3), shares), min_size=1, max_size=4))
def test_filters_side_by_side_pass_the_particles_of_their_flows(
    pairs: list[tuple[float, float]],
) -> None:
    flows, passed = zip(*pairs, strict=True)
    got = filtration.parallel_penetration(flows, passed)
    # Conservation: particles behind over particles before.
    assert got * sum(flows) == pytest.approx(sum(f * p for f, p in pairs), rel=1e-9, abs=1e-15)
    assert min(passed) - 1e-12 <= got <= max(passed) + 1e-12


@pytest.mark.parametrize(
    ("flows", "passed", "said"),
    [((0.0, 0.0), (0.1, 0.2), "all zero"), ((-1.0, 2.0), (0.1, 0.2), "negative"),
     ((1.0,), (0.1, 0.2), "1 flows"), ((1.0, 1.0), (0.1, 1.2), "0 to 1")],
)  # fmt: skip
def test_impossible_pairs_are_refused(
    flows: tuple[float, ...], passed: tuple[float, ...], said: str
) -> None:
    with pytest.raises(ValueError, match=said):
        filtration.parallel_penetration(flows, passed)
    if "0 to 1" in said:
        with pytest.raises(ValueError, match=said):
            filtration.series_penetration(passed)


@pytest.mark.parametrize("beta", [1.0, 1.5, 2.0, 75.0, 1000.0])
def test_ratio_and_efficiency_turn_into_each_other(beta: float) -> None:
    efficiency = filtration.efficiency_of_ratio(beta)
    assert filtration.ratio_of_efficiency(efficiency) == pytest.approx(beta, rel=1e-9)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"scale": "um(c)", "beta": 0.5}, "below 1"),
        ({"scale": "um(c)", "beta": 1.0}, "catches nothing"),
        ({"scale": "um(c)", "beta": math.nan}, "below 1"),
        ({"scale": "um(c)", "beta": math.inf}, "endless"),
        ({"scale": "", "beta": 75.0}, "scale"),
        ({"scale": "micron", "beta": 75.0}, "scale"),
        ({"scale": "um(c)", "efficiency_fraction": 98.7}, "0.987"),
        ({"scale": "um(c)", "efficiency_fraction": 1.0}, "below 1"),
        ({"scale": "um(c)"}, "no rating"),
        ({"scale": "um(c)", "word": "absolute"}, "absolute"),
        ({"scale": "um(c)", "word": "nominal"}, "nominal"),
        ({"scale": "um(c)", "beta": 2.0, "efficiency_fraction": 0.5}, "not both"),
    ],
)
def test_a_rating_that_says_nothing_is_refused(arguments: dict[str, object], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        rated_point(10e-6, **arguments)  # type: ignore[arg-type]


def test_a_word_beside_a_ratio_is_no_hindrance_and_an_efficiency_is_a_ratio() -> None:
    assert rated_point(1e-5, "um(c)", beta=1000.0, word="absolute").beta == 1000.0
    assert rated_point(1e-5, "um(c)", efficiency_fraction=0.5).beta == pytest.approx(2.0)


@pytest.mark.parametrize("size", [0.0, -1e-6, math.nan, 10.0])
def test_a_size_that_is_none_is_refused(size: float) -> None:
    with pytest.raises(ValueError, match="size"):
        rated_point(size, "um(c)", beta=75.0)


@pytest.mark.parametrize(
    ("old_um", "new_um"), [(1.0, 4.2), (5.0, 6.4), (10.0, 9.8), (15.0, 13.6), (50.0, 38.2)]
)
def test_the_older_scale_converts_as_published(old_um: float, new_um: float) -> None:
    # ISO 4402 against ISO 11171, seen in a public technical reference.
    assert filter_rating.size_by_iso_11171(old_um * 1e-6) == pytest.approx(new_um * 1e-6)
    point = rated_point(old_um * 1e-6, "um", beta=75.0)
    assert point.converted
    assert any("older" in doubt for doubt in filter_rating.rating_doubts([point]))


def test_the_conversion_rises_and_ends_where_its_table_ends() -> None:
    old = [0.8e-6 * 1.05**i for i in range(84)]
    new = [filter_rating.size_by_iso_11171(d) for d in old]
    assert all(b > a for a, b in itertools.pairwise(new))
    for outside in (0.5e-6, 60e-6):
        with pytest.raises(ValueError, match="outside the table"):
            filter_rating.size_by_iso_11171(outside)


def test_one_size_or_falling_ratios_make_no_curve() -> None:
    with pytest.raises(ValueError, match="one size"):
        curve((5, 4))
    with pytest.raises(ValueError, match="one size"):
        curve((5, 4), (5, 5))
    with pytest.raises(ValueError, match="fall with size"):
        curve((5, 40), (10, 4))


def test_what_is_doubtful_in_a_rating_is_said() -> None:
    doubts = filter_rating.rating_doubts(
        [rated_point(2e-6, "um(c)", beta=3.0), rated_point(5e-6, "um(c)", beta=98.7)]
    )
    assert len(doubts) == 2
    assert "below 4 um(c)" in doubts[0]
    assert "76.9" in doubts[1]
    assert filter_rating.rating_doubts(FACTORY.points) == []


@pytest.mark.parametrize(
    "factors",
    [(0.9, 0.8, 0.0), (1.5, 1.1, 0.0), (1.5, 0.0, 0.0), (1.5, 0.8, 1.0), (1.5, 0.8, -0.1)],
)
def test_a_vehicle_that_makes_an_element_better_is_refused(
    factors: tuple[float, float, float],
) -> None:
    cut, slope, bypass = factors
    with pytest.raises(ValueError, match="is not"):
        Derating(field_size_factor=cut, field_slope_factor=slope, bypass_fraction=bypass, source="")


def test_a_flow_outside_the_standard_is_said() -> None:
    assert filtration.rated_flow_faults(130e-3 / 3600) == []
    assert "30 L/h" in filtration.rated_flow_faults(30e-3 / 3600)[0]
    assert "900 L/h" in filtration.rated_flow_faults(900e-3 / 3600)[0]
