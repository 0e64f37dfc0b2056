"""
More statistics rows by the project's own functions.

A mean of n figures is the comparison of n baseline figures with one extra reading of zero at equal
places: the difference is less the mean, and the variance of the extra reading is taken off again.
"""

import math
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import scipy
from scipy.special import fdtri, ndtri

from feedproof.evidence.archive import pooled_archive
from feedproof.evidence.archives.homogeneity import cochran_critical
from feedproof.evidence.comparison import compare
from feedproof.evidence.designs import Design
from feedproof.evidence.planning import power
from feedproof.evidence.students import (
    noncentral_student_survival,
    student_quantile,
    student_survival,
)
from tests.published.f_runners import HOURS, LOTS, SLEEP, line
from tests.published.rows import Result, Runner

ANOVA = Path(scipy.__file__).parent / "stats" / "tests" / "data" / "nist_anova"
FORMOTEROL_FIRST = (
    (310, 270), (310, 260), (370, 300), (410, 390), (250, 210), (380, 350), (330, 365),
)  # fmt: skip
SALBUTAMOL_FIRST = ((370, 385), (310, 400), (380, 410), (290, 320), (260, 340), (90, 220))
LARGE = (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427)
MINI = (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451)


def mean_of(figures: Sequence[float]) -> tuple[float, float, float]:
    """Give mean, scatter and degrees of freedom of a sample."""
    n = len(figures)
    flags = np.array([False] * n + [True])
    found = compare(np.array([*figures, 0.0]), flags, np.zeros(n + 1), ["one"] * (n + 1))
    assert found.repeatability is not None
    assert found.repeatability_dof is not None
    return -found.estimate, found.repeatability, found.repeatability_dof


def paired() -> tuple[float, float, float]:
    """Give mean, standard uncertainty and degrees of freedom of the paired sleep data."""
    mean, s, dof = mean_of([a - b for a, b in zip(*SLEEP, strict=True)])
    return mean, s / math.sqrt(len(SLEEP[0])), dof


def paired_test() -> Result:
    """Give t, degrees of freedom and two-sided p."""
    mean, u, dof = paired()
    return mean / u, dof, 2.0 * student_survival(abs(mean / u), dof)


def paired_two_one_sided() -> Result:
    """Give both t and both p against bounds of half an hour either way."""
    mean, u, dof = paired()
    low, high = (mean + 0.5) / u, (mean - 0.5) / u
    return low, high, student_survival(low, dof), student_survival(-high, dof)


def paired_interval() -> Result:
    """Give the 90 % interval that must lie inside the bounds."""
    mean, u, dof = paired()
    k = student_quantile(0.95, dof)
    return mean - k * u, mean + k * u


def crossover() -> Result:
    """Give effect, standard uncertainty, 95 % interval and t of an AB/BA cross-over trial."""
    first = [0.5 * (f - s) for f, s in FORMOTEROL_FIRST]
    second = [0.5 * (s - f) for s, f in SALBUTAMOL_FIRST]
    flags = np.array([False] * len(second) + [True] * len(first))
    found = compare(np.array([*second, *first]), flags, np.zeros(13), ["one"] * 13)
    u, k = found.standard_uncertainty, student_quantile(0.975, found.degrees_of_freedom or 0.0)
    d = found.estimate
    return d, u, d - k * u, d + k * u, d / u


def smallest(chance_of: Callable[[float], float], wanted: float) -> float:
    """Find the number, not whole, from which a chance is reached."""
    low, high = 2.0, 1000.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if chance_of(middle) < wanted else (low, middle)
    return high


def chance(factor: float, dof: float) -> float:
    """Give the two-sided power at a standardised difference of one half."""
    design = Design(
        weights=(),
        drift_weights=(),
        variance_factor=factor,
        degrees_of_freedom=0,
        drift_fitted=False,
        mean_gap=0.0,
    )
    return sum(
        power(design, margin=m, repeatability=1.0, archive_dof=dof, confidence=0.975)
        for m in (0.5, -0.5)
    )


def bland_altman() -> Result:
    """Give bias, scatter and limits of agreement (2 s) of two peak-flow meters."""
    bias, s, _ = mean_of([float(a - b) for a, b in zip(LARGE, MINI, strict=True)])
    return bias, s, bias - 2.0 * s, bias + 2.0 * s


def anova(name: str) -> tuple[float, float]:
    """Give F and the scatter within treatments of one of NIST's sets."""
    rows = (ANOVA / f"{name}.dat").read_text(encoding="ascii").splitlines()[60:]
    groups: dict[int, list[float]] = {}
    for treatment, value in (row.split() for row in rows if row.strip()):
        groups.setdefault(int(treatment), []).append(float(value))
    spreads = [mean_of(group) for group in groups.values()]
    s = pooled_archive([x[1] for x in spreads], [x[2] for x in spreads]).standard_deviation
    # Groups are of one size: the scatter of their means times the root of it.
    between = mean_of([x[0] for x in spreads])[1]
    (size,) = {len(group) for group in groups.values()}
    return size * (between / s) ** 2, s


def line_band() -> Result:
    """Give Working and Hotelling's factor and 90 % band of the lot-size line at three places."""
    factor = math.sqrt(2.0 * float(fdtri(2.0, 23.0, 0.90)))
    found: list[float] = [factor]
    for at in (30.0, 65.0, 100.0):
        reading = line(LOTS, HOURS, at, 0.0)
        s = reading.repeatability or math.nan
        u = math.sqrt(reading.standard_uncertainty**2 - s * s)
        found += [-reading.estimate - factor * u, -reading.estimate + factor * u]
    return tuple(found)


def tolerance_factor(n: int) -> float:
    """Give the one-sided factor that covers 95 % with 95 % confidence."""
    root = math.sqrt(n)
    shift = float(ndtri(0.95)) * root
    low, high = 0.0, 50.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        beyond = noncentral_student_survival(middle * root, n - 1.0, shift)
        low, high = (middle, high) if beyond > 0.05 else (low, middle)
    return high


def impedance() -> Result:
    """Give resistance, reactance and impedance as means over five sets of readings."""
    volts = (5.007, 4.994, 5.005, 4.990, 4.999)
    amperes = (19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3)
    angles = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)
    sets = list(zip(volts, amperes, angles, strict=True))
    parts: tuple[Callable[[float], float], ...] = (math.cos, math.sin, lambda _: 1.0)
    return tuple(mean_of([v / a * part(phi) for v, a, phi in sets])[0] for part in parts)


MORE_RUNNERS: dict[str, Runner] = {
    "F003": paired_test,
    "F006": paired_two_one_sided,
    "F008": paired_interval,
    "F011": crossover,
    "F013": lambda: smallest(lambda n: chance(2.0 / n, 2.0 * n - 2.0), 0.8),
    "F014": lambda: smallest(lambda n: chance(1.0 / n, n - 1.0), 0.8),
    "F024": lambda: student_quantile(0.995, 16.0),
    "F026": lambda: student_quantile(0.975, 10.0),
    "F030": impedance,
    "F037": lambda: (cochran_critical(0.05, 8, 2), cochran_critical(0.01, 8, 2)),
    "F040": bland_altman,
    "F042": lambda: anova("SmLs01"),
    "F043": lambda: anova("SmLs05"),
    "F045": lambda: anova("SiRstv"),
    "F046": lambda: anova("AtmWtAg"),
    "F053": line_band,
    "F055": lambda: (tolerance_factor(10), tolerance_factor(5)),
}
