"""Lines of equal value: closed forms, and contourpy, a general-purpose library, on rough fields."""

import contourpy
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.report.iso_lines import iso_lines


def test_a_plane_is_met_exactly() -> None:
    x, y = np.linspace(-1.0, 2.0, 7), np.linspace(0.0, 4.0, 6)
    (line,) = iso_lines(x, y, 2.0 * x[:, None] - 0.5 * y[None, :], 0.3)

    for px, py in line:
        assert 2.0 * px - 0.5 * py == pytest.approx(0.3, abs=1e-12)
    assert {line[0][1], line[-1][1]} <= {0.0, 4.0} or {line[0][0], line[-1][0]} & {-1.0, 2.0}


def test_a_circle_closes_and_has_its_radius() -> None:
    axis = np.linspace(-2.0, 2.0, 161)
    (line,) = iso_lines(axis, axis, axis[:, None] ** 2 + axis[None, :] ** 2, 1.0)

    assert line[0] == line[-1]
    assert np.hypot(*np.array(line).T) == pytest.approx(1.0, abs=1e-3)


def test_a_saddle_is_two_lines_and_a_hole_in_the_field_is_passed_over() -> None:
    unit = np.array([0.0, 1.0])

    assert len(iso_lines(unit, unit, np.array([[1.0, -1.0], [-1.0, 1.0]]), 0.0)) == 2
    assert iso_lines(unit, unit, np.array([[1.0, np.nan], [-1.0, 1.0]]), 0.0) == []
    assert iso_lines(unit, unit, np.zeros((2, 2)), 1.0) == []


@given(seed=st.integers(0, 10_000))
@settings(max_examples=50, deadline=None)
def test_the_same_length_and_the_same_points_as_the_library(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x, y = np.sort(rng.uniform(0, 1, 6)), np.sort(rng.uniform(0, 1, 5))
    z = rng.normal(size=(6, 5))
    ours = iso_lines(x, y, z, 0.1)
    theirs = contourpy.contour_generator(x, y, z.T).lines(0.1)

    def points(lines) -> np.ndarray:
        every = np.concatenate([np.asarray(each) for each in lines])
        return np.unique(np.round(every, 12), axis=0)

    if not theirs:
        assert not ours
        return
    assert points(ours) == pytest.approx(points(theirs), abs=1e-9)
