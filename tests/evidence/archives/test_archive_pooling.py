"""
The pooled figure and what stands behind it.

Held against scipy and statsmodels, ISO 5725-2 (example B.1 and table 4), and simulated sessions.
"""

import math

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from scipy import stats

from feedproof.case.margin import Measure
from feedproof.core.errors import InputError
from feedproof.evidence.archive import pooled_archive
from feedproof.evidence.archives.homogeneity import cochran_critical, homogeneity
from feedproof.evidence.archives.opening import opening_scatter
from feedproof.evidence.archives.pooling import interval_of_deviation, pool_of, pools_of
from feedproof.evidence.archives.trend import trend_of, visible_ratio
from tests.evidence.archives.archive_sessions import figure_of, line_of, session_data

# Sulfur in coal, level 1: ISO 5725-2:1994 example B.1 (memory of the data; the standard prints a
# repeatability of 0.015).
COAL = [
    [0.71, 0.71, 0.70, 0.71], [0.69, 0.67, 0.68], [0.66, 0.65, 0.69], [0.67, 0.65, 0.66],
    [0.70, 0.69, 0.66, 0.71, 0.69], [0.73, 0.74, 0.73], [0.71, 0.71, 0.69], [0.70, 0.65, 0.68],
]  # fmt: skip


@pytest.fixture
def rng() -> np.random.Generator:
    """Give each test the same draws, whichever tests run before it."""
    return np.random.default_rng(5725)


def test_the_repeatability_of_coal_is_that_of_iso_5725_2() -> None:
    """0.0151165 recomputed from the data, 0.015 printed; 27 results in 8 laboratories."""
    s = [float(np.std(lab, ddof=1)) for lab in COAL]
    found = pooled_archive(s, [len(lab) - 1 for lab in COAL])

    assert found.standard_deviation == pytest.approx(0.0151165, rel=1e-5)
    assert found.degrees_of_freedom == 19


@pytest.mark.parametrize(("level", "value"), [(0.05, 0.515687), (0.01, 0.615167)])
def test_cochrans_critical_values_are_those_of_table_4(level: float, value: float) -> None:
    """ISO 5725-2 table 4, p = 8, n = 3: 0.516 and 0.615 printed; more digits by scipy."""
    assert cochran_critical(level, 8, 2) == pytest.approx(value, abs=1e-6)


@pytest.mark.parametrize("level", [0.05, 0.01])
def test_one_against_the_rest_is_cochrans_test_where_freedoms_are_equal(level: float) -> None:
    critical = cochran_critical(level, 6, 2)
    rest = (1.0 - critical) / 5.0
    for share, outside in ((critical * 1.001, True), (critical * 0.999, False)):
        s = [math.sqrt(share), *[math.sqrt(rest)] * 5]
        scale = (1.0 - share) / (1.0 - critical)
        s = [s[0], *(each * math.sqrt(scale) for each in s[1:])]
        assert (0 in homogeneity(s, [2] * 6).standing_out(level)) is outside


def test_bartlett_is_scipys_on_the_raw_figures(rng) -> None:
    """As scipy.stats.bartlett on groups of 3 to 6 without drift, unequal degrees of freedom."""
    groups = [rng.normal(scale=scale, size=n) for scale, n in ((1, 3), (2, 4), (1, 6), (3, 5))]
    found = homogeneity([float(np.std(g, ddof=1)) for g in groups], [len(g) - 1 for g in groups])

    assert found.bartlett == pytest.approx(stats.bartlett(*groups).pvalue, rel=1e-9)


def test_sessions_that_scatter_alike_stand_out_as_seldom_as_they_should(rng) -> None:
    """3000 archives of 8 sessions: at 5 % Bonferroni; four standard errors are 0.016."""
    draws = np.sqrt(rng.chisquare(2, size=(3000, 8)) / 2)
    out = [bool(homogeneity(s.tolist(), [2] * 8).standing_out(0.05)) for s in draws]

    assert np.mean(out) == pytest.approx(0.05, abs=0.016)


def lines(rng, count: int, runs: int, drift: float, scale: float = 1.0):
    """Draw sessions with a drift."""
    return [
        line_of(
            day + 2,
            session_data(
                day,
                [
                    figure_of(
                        (rng.normal(scale=scale, size=runs) + drift * np.arange(runs)).tolist()
                    )
                ],
            ),
        )
        for day in range(count)
    ]


def test_the_pooled_variance_is_the_mean_square_within_of_an_analysis_of_covariance(rng) -> None:
    """Statsmodels: a mean and a slope for each session; its residual mean square and dof."""
    mine = [*lines(rng, 3, 4, 2.0), *[line_of(9, session_data(9, [figure_of((0.1, 0.9, 0.2))]))]]
    pool = pool_of([(line, line.data.figures[0]) for line in mine])
    rows = pd.DataFrame(
        {
            "y": [y for line in mine for y in line.data.figures[0].values],
            "t": [t for line in mine for t in line.data.figures[0].places],
            "s": [line.data.session for line in mine for _ in line.data.figures[0].values],
        }
    )
    peer = smf.ols("y ~ C(s) + C(s):t", rows).fit()

    assert pool.standard_deviation**2 == pytest.approx(peer.mse_resid, rel=1e-9)
    assert pool.degrees_of_freedom == peer.df_resid == 7


def test_the_interval_is_chi_square() -> None:
    """As scipy.stats.chi2; exact for normal scatter."""
    low, high = interval_of_deviation(0.7, 8)

    assert low == pytest.approx(0.7 * math.sqrt(8 / stats.chi2.ppf(0.975, 8)), rel=1e-12)
    assert high == pytest.approx(0.7 * math.sqrt(8 / stats.chi2.ppf(0.025, 8)), rel=1e-12)


def test_kinds_are_pooled_apart() -> None:
    loop = session_data(0)
    opened = session_data(1, [figure_of(setups=("a", "b", "c"))])
    other_rig = session_data(2, rig="cell 2")
    flow = session_data(3, [figure_of(measure=Measure.CAUGHT_RETURN)])
    pools = pools_of([line_of(n + 2, d) for n, d in enumerate((loop, opened, other_rig, flow))])

    assert [(p.rig, p.measure.value, p.replumbed, len(p.members)) for p in pools] == [
        ("cell 1", "wheel_power", False, 1),
        ("cell 1", "wheel_power", True, 1),
        ("cell 1", "caught_return", False, 1),
        ("cell 2", "wheel_power", False, 1),
    ]
    with pytest.raises(InputError, match="one kind"):
        pool_of([(line_of(2, d), d.figures[0]) for d in (loop, other_rig)])


def test_an_outlying_session_is_named_and_stays_inside(rng) -> None:
    mine = [
        *lines(rng, 8, 4, 0.0),
        line_of(20, session_data(20, [figure_of((0.0, 30.0, -25.0, 9.0))])),
    ]
    pool = pool_of([(line, line.data.figures[0]) for line in mine])

    assert [member.line for member in pool.members if member.stands_out == "outlier"] == [20]
    assert pool.degrees_of_freedom == 18
    assert pool.standard_deviation > 5.0


def test_a_rig_that_gets_worse_is_seen_as_often_as_promised(rng) -> None:
    """2000 archives of 10 + 10 degrees of freedom: 5 % without a change, 80 % at the ratio."""
    ratio = visible_ratio(10, 10)
    draws = np.sqrt(rng.chisquare(1, size=(2000, 20)))
    still = [trend_of(s.tolist(), [1] * 20).answer for s in draws]
    rising = [
        trend_of((s * np.r_[np.ones(10), np.full(10, ratio)]).tolist(), [1] * 20).answer
        for s in draws
    ]

    assert np.mean([each != "cannot_tell" for each in still]) == pytest.approx(0.05, abs=0.02)
    assert np.mean([each == "worse" for each in rising]) == pytest.approx(0.80, abs=0.036)
    assert trend_of([1.0], [4]).answer == "cannot_tell"


@pytest.mark.parametrize("opening", [0.0, 0.7, 2.0])
def test_the_limit_on_what_opening_the_line_adds_holds_in_nineteen_of_twenty(rng, opening) -> None:
    """4000 pairs of archives with planted scatter of opening; 4 standard errors are 0.014."""
    with_opening = np.sqrt((1 + opening**2) * rng.chisquare(8, 4000) / 8)
    without = np.sqrt(rng.chisquare(12, 4000) / 12)
    found = [opening_scatter(a, 8, b, 12) for a, b in zip(with_opening, without, strict=True)]

    assert np.mean([each.upper >= opening for each in found]) >= 0.95 - 0.014
    if opening == 2.0:
        mean = np.mean([each.standard_deviation**2 for each in found])
        assert mean == pytest.approx(opening**2, rel=0.05)
