"""
The benchmark of the fit times sides that give the same answers.

Source: the equations by hand in `benchmarks/equations.py`, and SciPy's least_squares.
"""

import numpy as np
import pytest

from benchmarks import line_fit
from feedproof.evidence.fit.runs_model import RunsModel


def test_the_plain_line_reads_what_the_package_reads() -> None:
    model = RunsModel(line_fit.reference_case(), line_fit.runs(), line_fit.parameters())
    line = line_fit.PlainLine()

    for point in (np.zeros(6), line_fit.TRUTH, -2.0 * line_fit.TRUTH):
        assert line.predicted(point) == pytest.approx(model.predicted(point[None])[0], rel=1e-7)


def test_both_sides_find_the_same_parameters_with_the_same_covariance() -> None:
    given = line_fit.problem()
    found = line_fit.by_package(given)
    theirs, spread = line_fit.by_scipy(given, line_fit.PlainLine())

    assert found.whitened == pytest.approx(theirs, abs=line_fit.AGREEMENT)
    assert found.ratios == pytest.approx(np.sqrt(np.diag(spread)), rel=0.01)
    assert np.max(np.abs(found.whitened - line_fit.TRUTH) / found.ratios) < 3.5
