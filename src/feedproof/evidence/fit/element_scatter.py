"""Whether runs scatter more than their declared uncertainties allow."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from scipy.special import chdtrc

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, warning
from feedproof.evidence.fit.element_core import CoreFit
from feedproof.evidence.fit.element_once import core_fit
from feedproof.evidence.fit.element_plan import Constants, FlowPlan
from feedproof.evidence.fit.element_points import Group
from feedproof.evidence.fit.element_run import ElementRun, StatedFuel

UNLIKELY = 0.01
"""Chance below which a scatter is held to be larger than was declared. [-]"""
COARSE_STEP = 1e-4
"""Enough for a sum of squares, which answers to steps by their square. [-]"""


@dataclass(frozen=True, slots=True)
class Scatter:
    """
    Whether the runs scatter more than was declared.

    Parameters
    ----------
    ratio : float
        Factor on the uncertainties, 1 or more. [-]
    degrees_of_freedom : float
        Of the scatter that gave it; infinite where nothing is widened. [-]
    findings : tuple of Finding
        What was found.
    """

    ratio: float
    degrees_of_freedom: float
    findings: tuple[Finding, ...]


def judge_scatter(
    runs: Sequence[ElementRun],
    groups: tuple[Group, ...],
    stated: StatedFuel,
    plan: FlowPlan,
    constants: Constants,
    core: CoreFit,
) -> Scatter:
    """
    Compare the scatter of points, and of runs as wholes, with what was declared.

    Parameters
    ----------
    runs : sequence of ElementRun
        The runs.
    groups : tuple of Group
        Their points.
    stated : StatedFuel
        Their fuel.
    plan : FlowPlan
        What their flows allow.
    constants : Constants
        Depression without flow.
    core : CoreFit
        The free fit.

    Returns
    -------
    Scatter
        The larger of both ratios.

    Notes
    -----
    Many points would hide few runs that disagree: a second fit with a constant for each run tells
    by how much the sum of squares falls when runs may differ.
    """
    tests = [("the points scatter", core.chi_square, core.degrees_of_freedom)]
    between = len(runs) - {Constants.SHARED: 1, Constants.CONFIGURATION: 2}.get(constants, 0)
    if constants is not Constants.RUN and between > 0 and len(plan.designs[0].line) == 2:
        free = tuple(replace(group, u_offset=math.inf) for group in groups)
        design = replace(plan.designs[0], constants=0)
        try:
            apart, _ = core_fit(runs, free, stated, design, core, COARSE_STEP)
            fall = max(0.0, core.chi_square - apart.chi_square)
            tests.append(("the runs differ from each other", fall, between))
        except InputError:
            pass  # too few flows to tell runs apart: then there is no such test
    found = Scatter(1.0, math.inf, ())
    for words, squares, dof in tests:
        if dof < 1 or float(chdtrc(dof, squares)) >= UNLIKELY:
            continue
        ratio = math.sqrt(squares / dof)
        text = f"{words} {ratio:.2f} times as much as the declared uncertainties allow (sum of"
        text += f" squares {squares:.4g} at {dof} degrees of freedom): uncertainties widened"
        text += " by this factor"
        remedy = "Look at the runs, and state the uncertainties that they really have."
        said = (*found.findings, warning("scatter", f"{text}.", remedy))
        found = Scatter(ratio, dof, said) if ratio > found.ratio else replace(found, findings=said)
    return found
