"""
What instruments add to an answer must be in it, and once only.

Simulated with the project's own comparison; the figures to meet are those of the method's own
simulation (0.100 and 0.194 omitted, 0.048 and 0.049 included) and a closed form beside them.
"""

import math

import numpy as np
import pytest

from feedproof.case.outcome import Answer
from feedproof.evidence.archive import Archive
from feedproof.evidence.comparison import compare
from feedproof.evidence.designs import fit_design
from feedproof.evidence.students import student_quantile, student_survival

ORDER = [False, True] * 3
SD_KPA, MARGIN_KPA, ARCHIVE_DOF, TRIALS = 0.4, 1.0, 8, 3000


def false_accepts(u_kpa: float, *, included: bool) -> float:
    """Give how often a loss equal to the margin is called excluded. [-]."""
    random = np.random.default_rng(20080427)
    place, setup = np.arange(6.0), ["one"] * 6
    flags = np.array(ORDER)
    passed = 0
    for _ in range(TRIALS):
        # The gauge's error of the difference is one for the session: more runs do not lower it.
        losses = SD_KPA * random.standard_normal(6)
        losses[flags] += MARGIN_KPA + u_kpa * random.standard_normal()
        s0 = SD_KPA * math.sqrt(random.chisquare(ARCHIVE_DOF) / ARCHIVE_DOF)
        found = compare(
            losses,
            flags,
            place,
            setup,
            archive=Archive(standard_deviation=s0, degrees_of_freedom=ARCHIVE_DOF),
            type_b_u=u_kpa if included else 0.0,
            margin=MARGIN_KPA,
        )
        passed += found.answer in (Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS)
    return passed / TRIALS


def closed_form(u_kpa: float) -> float:
    """Give the same without the conflict check, omitted: t with a wrong scale. [-]."""
    design = fit_design(ORDER, list(range(6)))
    dof = design.degrees_of_freedom + ARCHIVE_DOF
    ratio = math.sqrt(1.0 + u_kpa**2 / (SD_KPA**2 * design.variance_factor))
    return student_survival(student_quantile(0.95, dof) / ratio, dof)


@pytest.mark.parametrize(("u_kpa", "omitted"), [(0.3, 0.100), (0.6, 0.194)])
def test_an_instrument_left_out_passes_too_much(u_kpa: float, omitted: float) -> None:
    standard_error = math.sqrt(omitted * (1.0 - omitted) / TRIALS)
    found = false_accepts(u_kpa, included=False)
    assert found == pytest.approx(omitted, abs=3.0 * standard_error)
    assert found == pytest.approx(closed_form(u_kpa), abs=3.0 * standard_error)


@pytest.mark.parametrize(("u_kpa", "met"), [(0.3, 0.048), (0.6, 0.049)])
def test_an_instrument_taken_in_keeps_the_agreed_chance(u_kpa: float, met: float) -> None:
    standard_error = math.sqrt(0.05 * 0.95 / TRIALS)
    found = false_accepts(u_kpa, included=True)
    assert found == pytest.approx(met, abs=3.0 * standard_error)
    assert found <= 0.05 + 2.0 * standard_error
