"""
The resistance of an added element, fitted to runs with and without it, errors in both coordinates.

Without the element p = c + a0 Q + b0 Q^2, with it p = c + (a0 + a) Q + (b0 + b) Q^2, all runs at
once.  Flow is as uncertain as pressure here: least squares on pressure alone would take too small
a b.  One caught volume gives one flow scale for a whole run, so that its error is fitted as one
error of that run and does not average down with the number of points.  a and b are strongly
correlated: what is quoted is the added depression at a stated flow and fuel temperature.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, note, warning
from feedproof.evidence.fit.element_causes import (
    cause_over,
    fixed_causes,
    scattering_causes,
    widened,
)
from feedproof.evidence.fit.element_once import FittedOnce, as_groups, fit_once
from feedproof.evidence.fit.element_plan import Constants, plan_flows
from feedproof.evidence.fit.element_result import Bound, Cause, ElementFit
from feedproof.evidence.fit.element_run import ElementRun, FuelState, check_runs, state_fuel
from feedproof.evidence.fit.element_scatter import judge_scatter

NARROW_RANGE = 1.5
"""Below this ratio of largest to smallest flow the inertial part is hardly seen. [-]"""


def fit_element(
    runs: Sequence[ElementRun],
    *,
    fuel: FuelState | None = None,
    constants: Constants = Constants.SHARED,
    shared_flow_scale_u: float = 0.0,
    flow_scale_dof: float = math.inf,
    offset_dof: float = math.inf,
) -> ElementFit:
    """
    Fit the resistance of an added element to runs with and without it.

    Parameters
    ----------
    runs : sequence of ElementRun
        At least one of each configuration.
    fuel : FuelState or None
        Fuel that the resistance is stated for; None for the middle of the runs.
    constants : Constants
        Depression without flow: one for all runs, one for each configuration, or one for each
        run.
    shared_flow_scale_u : float
        Relative standard uncertainty of the flow that all runs share, such as that of the one
        measure or meter used. [-]
    flow_scale_dof, offset_dof : float
        Degrees of freedom of the runs' own flow scales and offsets; infinite when declared. [-]

    Returns
    -------
    ElementFit
        Coefficients, covariance by source, findings.

    Raises
    ------
    InputError
        Runs that cannot be used, fuels too far apart, flows that cannot bear the fit.

    Notes
    -----
    An error of the flow scale of u puts -u into a and -2 u into b, relative: the shared one is
    added so, since no number of runs lowers it.

    A negative b is refitted with b = 0, a negative a with a = 0; the covariance stays that of the
    free fit, and limits are drawn out to hold the free fit too, since the data chose which.

    Where the scatter is larger than was declared by more than chance in a hundred allows, all
    uncertainties are multiplied by the ratio (Birge, Phys. Rev. 40, 1932, 207) and t takes the
    scatter's degrees of freedom; where it is smaller they stay as declared.

    Examples
    --------
    >>> import numpy as np
    >>> flow = np.array([20e-6, 30e-6, 40e-6])
    >>> runs = [
    ...     ElementRun(
    ...         name="B" if f else "A", candidate=f, fuel_temperature_k=313.15,
    ...         flow_m3_per_s=flow, flow_u_m3_per_s=2e-7, depression_u_pa=50.0,
    ...         depression_pa=3e3 + (2e8 + f * 6e7) * flow + (2e12 + f * 6e11) * flow**2,
    ...     )
    ...     for f in (False, True)
    ... ]
    >>> round(fit_element(runs).added_depression(40e-6).added_pa.value, 6)
    3360.0
    """
    check_runs(runs)
    _check_shared(shared_flow_scale_u, flow_scale_dof, offset_dof)
    stated = state_fuel(runs, fuel)
    plan = plan_flows(runs, constants)
    unit = _unit_flow(runs)
    groups = as_groups(runs, stated, unit, constants)
    fits = [fit_once(runs, groups, stated, design) for design in plan.designs]
    causes = scattering_causes(fits, flow_scale_dof, offset_dof)
    chosen = _middle([fit.bounded for fit in fits])
    scatter = judge_scatter(runs, groups, stated, plan, constants, fits[0].core)
    causes = [
        replace(c, degrees_of_freedom=scatter.degrees_of_freedom) if scatter.ratio > 1.0 else c
        for c in (widened(c, scatter.ratio) for c in causes)
    ]
    causes += fixed_causes(fits, chosen, stated, runs, plan, shared_flow_scale_u)
    findings = (*stated.findings, *plan.findings, *_bound_findings(fits[0]), *scatter.findings)
    result = ElementFit(
        coefficients=(chosen[0] / unit, chosen[1] / (unit * unit)),
        free_coefficients=_over(_middle([fit.free for fit in fits]), unit),
        causes=tuple(cause_over(c, unit) for c in causes if _counts(c)),
        fuel=stated.state,
        **_line(fits, unit),
        only_flow_m3_per_s=plan.only_flow_m3_per_s,
        lowest_m3_per_s=plan.lowest_m3_per_s,
        highest_m3_per_s=plan.highest_m3_per_s,
        bound=fits[0].bound,
        chi_square=fits[0].core.chi_square,
        degrees_of_freedom=fits[0].core.degrees_of_freedom,
        expansion=scatter.ratio,
        runs_without=sum(not run.candidate for run in runs),
        runs_with=sum(run.candidate for run in runs),
        points=sum(len(run.flow_m3_per_s) for run in runs),
        findings=findings,
    )
    return replace(result, findings=(*findings, *_range_findings(result)))


def _check_shared(shared: float, flow_dof: float, offset_dof: float) -> None:
    """Refuse what is shared by all runs when it is out of range."""
    if not 0.0 <= shared <= 0.5:
        text = f"shared_flow_scale_u is {shared:g}, allowed 0 to 0.5"
        raise InputError.at("flow scale", f"{text}.", "Give a relative standard uncertainty.")
    for name, dof in (("flow_scale_dof", flow_dof), ("offset_dof", offset_dof)):
        if not dof > 0.0:
            text = f"{name} is {dof:g}, allowed above 0"
            raise InputError.at(name, f"{text}.", "Leave it out when the uncertainty is declared.")


def _unit_flow(runs: Sequence[ElementRun]) -> float:
    """Give a power of two near the mean flow: dividing by it loses no digit."""
    flows = [q for run in runs for q in run.flow_m3_per_s.tolist()]
    return math.ldexp(1.0, math.frexp(math.fsum(flows) / len(flows))[1])


def _bound_findings(fit: FittedOnce) -> tuple[Finding, ...]:
    """Say which part was set to zero."""
    if fit.bound is Bound.NONE:
        return ()
    if fit.bound is Bound.GAIN:
        text = "the runs show less depression with the element than without: no element does that"
        return (warning("element", f"{text}.", "Suspect order, drift, gauge or flow scale."),)
    part, other = ("inertial", "viscous")
    if fit.bound is Bound.NO_VISCOUS:
        part, other = other, part
    text = f"the {part} part came out negative and was set to 0, the {other} part fitted again;"
    text += " uncertainties are those of the free fit, and limits hold both"
    return (note("element", f"{text}.", "Run over a wider range of flow to see it."),)


def _range_findings(fit: ElementFit) -> tuple[Finding, ...]:
    """Say where the two parts can hardly be told apart."""
    inertial = fit.inertial_pa_s2_per_m6
    if inertial is None:
        return ()
    ratio = fit.highest_m3_per_s / fit.lowest_m3_per_s
    wide = inertial.low <= 0.0 <= inertial.high
    if ratio >= NARROW_RANGE and not wide:
        return ()
    cause = f"the largest flow is {ratio:.2f} times the smallest" if ratio < NARROW_RANGE else ""
    cause = cause or "flows and uncertainties as they are"
    text = f"{cause}: the inertial part is known as {inertial.low:.3g} to {inertial.high:.3g}"
    text += " Pa s2/m6 only, so take neither part by itself"
    return (note("flows", f"{text}.", "Quote the added depression at a flow inside the runs."),)


def _line(fits: Sequence[FittedOnce], unit: float) -> dict[str, float | None]:
    """Give the line's own curve where it was learned."""
    design, parameters = fits[0].curve.design, fits[0].core.parameters
    known = len(fits) == 1
    first = design.constants
    return {
        "line_constant_pa": parameters[0] if known and first == 1 else None,
        "line_viscous_pa_s_per_m3": parameters[first] / unit if known else None,
        "line_inertial_pa_s2_per_m6": parameters[first + 1] / (unit * unit) if known else None,
    }


def _over(pair: tuple[float, float], unit: float) -> tuple[float, float]:
    """Bring coefficients at the unit flow to SI."""
    return pair[0] / unit, pair[1] / (unit * unit)


def _middle(pairs: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Give the mean of one or two pairs."""
    count = float(len(pairs))
    return math.fsum(p[0] for p in pairs) / count, math.fsum(p[1] for p in pairs) / count


def _counts(cause: Cause) -> bool:
    """Say whether a cause puts anything in."""
    return cause.viscous_variance > 0.0 or cause.inertial_variance > 0.0
