"""Where the uncertainty of an added element's resistance comes from, source by source."""

import math
from collections.abc import Sequence
from dataclasses import replace

from feedproof.evidence.fit.element_once import FittedOnce
from feedproof.evidence.fit.element_plan import FlowPlan
from feedproof.evidence.fit.element_result import Cause
from feedproof.evidence.fit.element_run import ElementRun, StatedFuel
from feedproof.evidence.fit.element_shares import Share, shares

KINDS = {
    "y": "depression of each point",
    "x": "flow of each point",
    "offset": "depression offset of each run",
    "scale": "flow scale of each run",
    "factor": "viscosity of each run",
}
SHARED_SCALE = "flow scale shared by all runs"
LINE_SHAPE = "the line's curve between its flows"
VISCOUS_SHARE = "share of the viscous part"


def scattering_causes(
    fits: Sequence[FittedOnce], flow_dof: float, offset_dof: float
) -> list[Cause]:
    """
    Part the covariance of the element's coefficients by source, in Pa at the unit flow.

    Parameters
    ----------
    fits : sequence of FittedOnce
        One fit, or two whose mean is taken.
    flow_dof, offset_dof : float
        Degrees of freedom of the runs' flow scales and offsets. [-]

    Returns
    -------
    list of Cause
        Sources that the runs' scatter bears witness to.
    """
    dofs = {"scale": flow_dof, "offset": offset_dof}
    found: dict[str, list[Share]] = {kind: [] for kind in KINDS}
    for fit in fits:
        last = fit.curve.design.size - 1
        first = last - 1 if len(fit.curve.design.added) == 2 else last
        for share in shares(fit.groups, fit.curve, fit.core, first, last):
            found[share.kind].append(share)
    count = float(len(fits))
    two = len(fits[0].curve.design.added) == 2
    return [
        Cause(
            name=KINDS[kind],
            viscous_variance=math.fsum(s.covariance[0] for s in held) / count,
            cross_covariance=math.fsum(s.covariance[1] for s in held) / count if two else 0.0,
            inertial_variance=math.fsum(s.covariance[2] for s in held) / count if two else 0.0,
            degrees_of_freedom=dofs.get(kind, math.inf),
        )
        for kind, held in found.items()
    ]


def fixed_causes(
    fits: Sequence[FittedOnce],
    chosen: tuple[float, float],
    stated: StatedFuel,
    runs: Sequence[ElementRun],
    plan: FlowPlan,
    shared_u: float,
) -> list[Cause]:
    """
    Give the sources that the runs' scatter says nothing of, in Pa at the unit flow.

    Parameters
    ----------
    fits : sequence of FittedOnce
        One fit, or two that bracket the line's curve.
    chosen : tuple of float
        Coefficients of the element. [Pa]
    stated : StatedFuel
        Fuel of the runs.
    runs : sequence of ElementRun
        The runs.
    plan : FlowPlan
        What their flows allow.
    shared_u : float
        Relative standard uncertainty of the flow that all runs share. [-]

    Returns
    -------
    list of Cause
        The sources.
    """
    a, b = chosen
    causes = [_outer(SHARED_SCALE, a * shared_u, 2.0 * b * shared_u)]
    if len(fits) == 2:
        one, two = (fit.bounded for fit in fits)
        share = 1.0 / math.sqrt(12.0)  # anywhere between the two: rectangular
        causes.append(_outer(LINE_SHAPE, share * (two[0] - one[0]), share * (two[1] - one[1])))
    if plan.only_flow_m3_per_s is not None:
        away = [
            m - d
            for run, m, d in zip(runs, stated.viscosity_ratio, stated.density_ratio, strict=True)
            if run.candidate
        ]
        middle = abs(math.fsum(away) / len(away))
        causes.append(_outer(VISCOUS_SHARE, a * middle / math.sqrt(3.0), 0.0))
    return causes


def _outer(name: str, a: float, b: float) -> Cause:
    """Give a cause that moves both coefficients together."""
    return Cause(
        name=name,
        viscous_variance=a * a,
        cross_covariance=a * b,
        inertial_variance=b * b,
        degrees_of_freedom=math.inf,
    )


def widened(cause: Cause, ratio: float) -> Cause:
    """
    Widen a cause.

    Parameters
    ----------
    cause : Cause
        The cause.
    ratio : float
        Factor on its standard uncertainty. [-]

    Returns
    -------
    Cause
        The widened cause.
    """
    square = ratio * ratio
    return replace(
        cause,
        viscous_variance=cause.viscous_variance * square,
        cross_covariance=cause.cross_covariance * square,
        inertial_variance=cause.inertial_variance * square,
    )


def cause_over(cause: Cause, unit: float) -> Cause:
    """
    Bring a cause at the unit flow to SI.

    Parameters
    ----------
    cause : Cause
        In Pa at the unit flow.
    unit : float
        Unit flow. [m3/s]

    Returns
    -------
    Cause
        In SI.
    """
    return replace(
        cause,
        viscous_variance=cause.viscous_variance / unit**2,
        cross_covariance=cause.cross_covariance / unit**3,
        inertial_variance=cause.inertial_variance / unit**4,
    )
