"""Tees: the fluids library, which carries Crane TP-410 (2009), over all splits."""

import fluids.fittings
import numpy as np
import pytest

from feedproof.physics import tee

SPLITS = np.linspace(0.0, 1.0, 41)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (tee.tee_run_dividing, fluids.fittings.K_run_diverging_Crane),
        (tee.tee_branch_dividing, fluids.fittings.K_branch_diverging_Crane),
        (tee.tee_run_combining, fluids.fittings.K_run_converging_Crane),
        (tee.tee_branch_combining, fluids.fittings.K_branch_converging_Crane),
    ],
)
def test_coefficients_are_the_librarys(ours, theirs) -> None:
    for share in SPLITS:
        expected = theirs(0.01, 0.01, 1.0 - float(share), float(share))
        assert ours(float(share)) == pytest.approx(expected, rel=1e-12, abs=1e-14)


def test_the_books_worked_tee() -> None:
    """Crane TP-410 (2009) example 7-35: run 0.3258 (misprinted 0.03258), branch -0.04026."""
    share = 0.00633 / (0.018917 + 0.00633)

    assert tee.tee_run_combining(share) == pytest.approx(0.3258, abs=1e-4)
    assert tee.tee_branch_combining(share) == pytest.approx(-0.04026, abs=5e-4)
