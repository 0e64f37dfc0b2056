"""
Planning promises: the chance of excluding a margin, before anybody drives.

The table was made by an independent calculation with a general statistics library and confirmed
by simulation; it is repeated here with the rounding it was printed in.
"""

import pytest
from scipy import stats

from feedproof.evidence.designs import design_of_order
from feedproof.evidence.plan.needed import runs_needed
from feedproof.evidence.planning import power, smallest_margin

SMALLEST = {
    "ABA": {4: (3.72, 4.41, 4.98), 8: (3.34, 3.94, 4.43), 20: (3.15, 3.71, 4.17)},
    "ABBA": {
        0: (8.19, 10.51, 12.53),
        4: (2.90, 3.43, 3.87),
        8: (2.70, 3.18, 3.58),
        20: (2.57, 3.03, 3.40),
    },
    "ABABAB": {
        0: (2.82, 3.35, 3.81),
        4: (2.36, 2.79, 3.14),
        8: (2.27, 2.67, 3.00),
        20: (2.19, 2.58, 2.90),
    },
    "ABBABAAB": {
        0: (2.05, 2.43, 2.74),
        4: (1.91, 2.25, 2.53),
        8: (1.86, 2.19, 2.46),
        20: (1.81, 2.13, 2.39),
    },
    "ABBABAABAB": {
        0: (1.75, 2.06, 2.32),
        4: (1.68, 1.98, 2.23),
        8: (1.65, 1.94, 2.18),
        20: (1.61, 1.90, 2.14),
    },
}
CELLS = [(o, nu0, row) for o, rows in SMALLEST.items() for nu0, row in rows.items()]


@pytest.mark.parametrize(("order", "archive_dof", "row"), CELLS)
def test_the_smallest_margin_is_the_tabulated_one(
    order: str, archive_dof: int, row: tuple[float, ...]
) -> None:
    found = [
        smallest_margin(
            design_of_order(order), repeatability=1.0, archive_dof=archive_dof, chance=chance
        )
        for chance in (0.8, 0.9, 0.95)
    ]
    assert found == pytest.approx(list(row), abs=0.0075)


def test_without_a_degree_of_freedom_nothing_can_be_excluded() -> None:
    assert smallest_margin(design_of_order("ABA"), repeatability=1.0) == float("inf")
    assert power(design_of_order("ABA"), margin=9.0, repeatability=1.0) == 0.0


def test_the_chance_is_that_of_the_noncentral_t_of_a_general_library() -> None:
    design = design_of_order("ABABAB")
    noncentrality = (3.0 - 0.4) / (35 / 48 * 0.81 + 0.09) ** 0.5
    expected = stats.nct.sf(stats.t.ppf(0.95, 11), 11, noncentrality)
    found = power(design, margin=3.0, repeatability=0.9, archive_dof=8, true_loss=0.4, u_other=0.3)
    assert found == pytest.approx(expected, rel=1e-9)


def test_a_loss_of_the_margin_is_let_through_once_in_twenty() -> None:
    for order in ("ABBA", "ABABAB"):
        chance = power(design_of_order(order), margin=2.0, true_loss=2.0, repeatability=1.0)
        assert chance == pytest.approx(0.05, abs=1e-9)


def test_two_percent_at_one_percent_repeatability_needs_five_of_each() -> None:
    assert runs_needed(margin=2.0203, repeatability=1.0, archive_dof=8) == 5
    one_each = power(design_of_order("ABA"), margin=2.0203, repeatability=1.0, archive_dof=8)
    assert one_each == pytest.approx(0.44, abs=0.01)


def test_no_number_of_runs_beats_what_repeats_cannot_lower() -> None:
    assert runs_needed(margin=2.0, repeatability=0.1, archive_dof=8, u_other=2.0) is None
