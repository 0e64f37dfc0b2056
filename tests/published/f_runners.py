"""
How each statistics row is computed by the project's own functions.

Some published examples are special cases of the comparison: with all places in the order equal it
is the pooled two-sample t; and one extra reading, called the candidate, beside a calibration line
takes nothing from the line, so that the drift is the line's slope, the scatter the line's scatter
and the difference the reading less the line.
"""

import math

import numpy as np

from feedproof.evidence.archive import pooled_archive
from feedproof.evidence.comparison import Comparison, compare, probability_beyond
from feedproof.evidence.designs import fit_design
from feedproof.evidence.fit.least_squares import minimise
from feedproof.evidence.multiplicity import holm_adjusted
from feedproof.evidence.planning import power
from feedproof.evidence.students import (
    effective_degrees_of_freedom,
    student_quantile,
    student_survival,
)
from tests.published import nist_nonlinear as nist
from tests.published.rows import Result, Runner

SLEEP = (
    (0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0),
    (1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4),
)
LINE_TEMPERATURE = (
    21.521,
    22.012,
    22.512,
    23.003,
    23.507,
    23.999,
    24.513,
    25.002,
    25.503,
    26.010,
    26.511,
)
LINE_CORRECTION = (
    -0.171,
    -0.169,
    -0.166,
    -0.159,
    -0.164,
    -0.165,
    -0.156,
    -0.157,
    -0.159,
    -0.161,
    -0.160,
)
NORRIS_X = (
    0.2,
    337.4,
    118.2,
    884.6,
    10.1,
    226.5,
    666.3,
    996.3,
    448.6,
    777.0,
    558.2,
    0.4,
    0.6,
    775.5,
    666.9,
    338.0,
    447.5,
    11.6,
    556.0,
    228.1,
    995.8,
    887.6,
    120.2,
    0.3,
    0.3,
    556.8,
    339.1,
    887.2,
    999.0,
    779.0,
    11.1,
    118.3,
    229.2,
    669.1,
    448.9,
    0.5,
)
NORRIS_Y = (
    0.1,
    338.8,
    118.1,
    888.0,
    9.2,
    228.1,
    668.5,
    998.5,
    449.1,
    778.9,
    559.2,
    0.3,
    0.1,
    778.1,
    668.8,
    339.3,
    448.9,
    10.8,
    557.7,
    228.3,
    998.0,
    888.8,
    119.6,
    0.3,
    0.6,
    557.6,
    339.3,
    888.0,
    998.5,
    778.9,
    10.2,
    117.6,
    228.9,
    668.4,
    449.2,
    0.2,
)
LOTS = (
    80,
    30,
    50,
    90,
    70,
    60,
    120,
    80,
    100,
    50,
    40,
    70,
    90,
    20,
    110,
    100,
    30,
    50,
    90,
    110,
    30,
    90,
    40,
    80,
    70,
)
HOURS = (
    399,
    121,
    221,
    376,
    361,
    224,
    546,
    352,
    353,
    157,
    160,
    252,
    389,
    113,
    435,
    420,
    212,
    268,
    377,
    421,
    273,
    468,
    244,
    342,
    323,
)
END_GAUGE = ((25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0))
COAL = (
    (0.71, 0.71, 0.70, 0.71),
    (0.69, 0.67, 0.68),
    (0.66, 0.65, 0.69),
    (0.67, 0.65, 0.66),
    (0.70, 0.69, 0.66, 0.71, 0.69),
    (0.73, 0.74, 0.73),
    (0.71, 0.71, 0.69),
    (0.70, 0.65, 0.68),
)
DAY_SCATTER = (60, 111, 77, 101, 67, 93, 80, 73, 88, 86)


def welch() -> tuple[float, float, float]:
    """Give difference, standard uncertainty and degrees of freedom of two samples."""
    components = []
    for sample in SLEEP:
        n = len(sample)
        components.append((float(np.std(sample, ddof=1)) / math.sqrt(n), n - 1.0))
    difference = float(np.mean(SLEEP[0]) - np.mean(SLEEP[1]))
    u = math.hypot(components[0][0], components[1][0])
    return difference, u, effective_degrees_of_freedom(components)


def welch_test() -> Result:
    """Give t, degrees of freedom and two-sided p."""
    difference, u, dof = welch()
    return difference / u, dof, 2.0 * student_survival(abs(difference / u), dof)


def welch_interval() -> Result:
    """Give the two-sided 95 % interval."""
    difference, u, dof = welch()
    k = student_quantile(0.975, dof)
    return difference - k * u, difference + k * u


def two_one_sided_tests() -> Result:
    """Give both t and both p against bounds of half an hour either way."""
    difference, u, dof = welch()
    low, high = (difference + 0.5) / u, (difference - 0.5) / u
    return low, high, student_survival(low, dof), student_survival(-high, dof)


def sample_of(n: int, mean: float, sd: float) -> list[float]:
    """Make figures with exactly this mean and standard deviation."""
    z = np.arange(n) - (n - 1) / 2
    return (mean + sd * z / z.std(ddof=1)).tolist()


def two_cars() -> Result:
    """Give pooled t and degrees of freedom of two samples known by their summary."""
    losses = sample_of(79, 30.48101, 6.10771) + sample_of(249, 20.14458, 6.41470)
    candidate = np.array([False] * 79 + [True] * 249)
    found = compare(np.array(losses), candidate, np.zeros(328), ["one"] * 328)
    dof = found.degrees_of_freedom or 0.0
    assert math.isclose(
        probability_beyond(found, 0.0), student_survival(-found.estimate / _u(found), dof)
    )
    return found.estimate / _u(found), dof


def _u(found: Comparison) -> float:
    """Give the standard uncertainty."""
    return found.standard_uncertainty


def line(x: tuple[float, ...], y: tuple[float, ...], at: float, reading: float) -> Comparison:
    """Compare a calibration line with one extra reading."""
    n = len(x)
    return compare(
        np.array([*y, reading], dtype=float),
        np.array([False] * n + [True]),
        np.array([*x, at], dtype=float),
        ["one"] * (n + 1),
    )


def norris() -> Result:
    """Give intercept, its standard uncertainty, slope and scatter."""
    found = line(NORRIS_X, NORRIS_Y, 0.0, 0.0)
    s = found.repeatability or math.nan
    # The extra reading has the scatter of one run, which is no part of the line's uncertainty.
    return -found.estimate, math.sqrt(_u(found) ** 2 - s * s), found.drift_per_run or 0.0, s


def thermometer() -> Result:
    """Give intercept at 20 degC, slope and scatter of the thermometer's line."""
    found = line(tuple(t - 20.0 for t in LINE_TEMPERATURE), LINE_CORRECTION, 0.0, 0.0)
    return -found.estimate, found.drift_per_run or 0.0, found.repeatability or 0.0


def lot_sizes() -> Result:
    """Give intercept, slope and mean square of the lot-size example."""
    found = line(LOTS, HOURS, 0.0, 0.0)
    return -found.estimate, found.drift_per_run or 0.0, (found.repeatability or 0.0) ** 2


def end_gauge() -> Result:
    """Give combined uncertainty and effective degrees of freedom, with the three parts of d."""
    parts = ((5.8, 24.0), (3.9, 5.0), (6.7, 8.0))
    difference = math.sqrt(sum(u * u for u, _ in parts)), effective_degrees_of_freedom(parts)
    components = (END_GAUGE[0], difference, *END_GAUGE[2:])
    u = math.sqrt(sum(u * u for u, _ in components))
    return u, effective_degrees_of_freedom(components)


def end_gauge_expanded() -> Result:
    """Give U99 from the rounded figures, as the document does."""
    return student_quantile(0.995, 16.0) * 32.0


def coal() -> Result:
    """Give the repeatability standard deviation over laboratories."""
    pooled = pooled_archive(
        [float(np.std(lab, ddof=1)) for lab in COAL], [len(lab) - 1 for lab in COAL]
    )
    return pooled.standard_deviation


def days() -> Result:
    """Give the pooled scatter within a day."""
    return pooled_archive(DAY_SCATTER, [4] * 10).standard_deviation


def sixty_four_each() -> Result:
    """Give the power of 64 in each group at a standardised difference of one half."""
    design = fit_design([False] * 64 + [True] * 64, [0] * 128)
    # Cohen's figure is two-sided: the chance of the wrong tail, about 1e-6, belongs to it.
    wrong = power(design, margin=-0.5, repeatability=1.0, confidence=0.975)
    return power(design, margin=0.5, repeatability=1.0, confidence=0.975) + wrong


def misra1a() -> Result:
    """Give both parameters and the residual standard deviation of Misra1a."""
    found = minimise(nist.misra, np.array(nist.MISRA_STARTS[0]))
    b1, b2 = found.parameters.tolist()
    return b1, b2, math.sqrt(found.sum_of_squares / 12.0)


def danwood_line() -> Result:
    """Give parameters, residual standard deviation and the parameters' own of DanWood."""
    found = minimise(nist.danwood, np.array(nist.DANWOOD_STARTS[0]))
    s = math.sqrt(found.sum_of_squares / 4.0)
    return (*found.parameters.tolist(), s, *(s * np.sqrt(np.diag(found.covariance()))).tolist())


RUNNERS: dict[str, Runner] = {
    "F001": welch_test,
    "F002": welch_interval,
    "F005": two_one_sided_tests,
    "F009": two_cars,
    "F016": sixty_four_each,
    "F021": lambda: holm_adjusted([0.01, 0.04, 0.03, 0.005]),
    "F025": lambda: student_quantile(0.95, 9.0),
    "F027": end_gauge,
    "F028": end_gauge_expanded,
    "F033": thermometer,
    "F035": days,
    "F036": coal,
    "F041": norris,
    "F047": misra1a,
    "F048": danwood_line,
    "F052": lot_sizes,
}
