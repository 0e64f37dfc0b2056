"""
Promise: a rating's curve passes its points, and a vehicle makes it worse as declared.

Outside check: a second computation of three elements of the reference scenario; NumPy's polynomial
fit where there are more than two points.
"""

from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.supply import Rating, RatingPoint
from feedproof.core.errors import InputError
from feedproof.kits.filters import HARSH, MILD, curve_of, penetrations, taken_as, torn
from feedproof.physics.filtration import field_penetration, filtration_ratio


def rating(*points: tuple[float, float]) -> Rating:
    """Make a rating with what is assumed by default."""
    return Rating(
        points=tuple(RatingPoint(size_m=1e-6 * size, ratio=ratio) for size, ratio in points),
        source="invented",
        field_size_factor=1.5,
        field_slope_factor=0.8,
        bypass_fraction=0.005,
    )


@pytest.mark.parametrize(
    ("points", "cut_um", "slope"),
    [
        (((5, 4), (10, 40)), 3.72, 3.70),
        (((20, 4), (30, 20)), 15.7, 4.55),
        (((4, 75), (5, 200)), 1.52, 4.43),
    ],
)
def test_two_points_are_passed_exactly(
    points: tuple[tuple[float, float], ...], cut_um: float, slope: float
) -> None:
    found = curve_of(rating(*points), "filter")
    assert 1e6 * found.cut_size_m == pytest.approx(cut_um, abs=0.05)
    assert found.slope == pytest.approx(slope, abs=0.01)
    assert found.residual_ln == 0.0
    for size, ratio in points:
        passed = filtration_ratio(1e-6 * size, found.cut_size_m, found.slope)
        assert passed == pytest.approx(ratio, rel=1e-12)


def test_more_points_are_fitted_as_numpy_fits_them_and_the_misfit_is_told() -> None:
    points = ((4.0, 20.0), (5.0, 75.0), (7.0, 180.0), (10.0, 2000.0))
    found = curve_of(rating(*points), "filter")
    x, y = np.log([1e-6 * size for size, _ in points]), np.log([ratio - 1 for _, ratio in points])
    slope, constant = np.polyfit(x, y, 1)
    assert found.slope == pytest.approx(slope, rel=1e-9)
    assert np.log(found.cut_size_m) == pytest.approx(-constant / slope, rel=1e-9)
    assert found.residual_ln > 0.1


def test_a_vehicle_lets_more_pass_than_the_laboratory() -> None:
    fine = rating((4, 75), (5, 200))
    found = curve_of(fine, "filter")
    # Figures of the method: 0.013 in the laboratory at 4 um(c), 0.123 in the vehicle.
    assert 1.0 / filtration_ratio(4e-6, found.cut_size_m, found.slope) == pytest.approx(
        0.013, abs=5e-4
    )
    assert field_penetration(4e-6, found.cut_size_m, found.slope, 1.5, 0.8, 0.005) == pytest.approx(
        0.123, abs=1e-3
    )


def test_no_band_is_better_than_the_seal() -> None:
    edges = tuple(1e-6 * size for size in (2, 4, 6, 14, 40, 100))
    found = penetrations(rating((4, 75), (5, 200)), "filter", edges)
    assert np.all(np.diff(found) < 0.0)
    assert found[-1] == pytest.approx(0.005, rel=0.01)
    open_seal = torn(rating((4, 75), (5, 200)), 0.05)
    assert penetrations(open_seal, "filter", edges)[-1] == pytest.approx(0.05, rel=0.01)
    assert torn(open_seal, 0.01) == open_seal


def test_only_what_nobody_declared_is_taken_otherwise() -> None:
    declared = rating((4, 75), (5, 200))
    assert taken_as(declared, HARSH) == declared
    assumed = replace(declared, assumed=("field_size_factor", "bypass"))
    harsh, mild = taken_as(assumed, HARSH), taken_as(assumed, MILD)
    assert harsh.field_slope_factor == declared.field_slope_factor
    edges = tuple(1e-6 * size for size in (2, 4, 6, 14, 40, 100))
    passed = [penetrations(each, "filter", edges) for each in (mild, assumed, harsh)]
    assert np.all(passed[0] < passed[1])
    assert np.all(passed[1] < passed[2])


def test_points_that_make_no_curve_are_refused_by_the_elements_name() -> None:
    with pytest.raises(InputError, match="fine"):
        curve_of(rating((4, 1.0), (5, 200)), "fine")
    with pytest.raises(InputError, match="fall with size"):
        curve_of(rating((4, 200), (5, 75)), "fine")
