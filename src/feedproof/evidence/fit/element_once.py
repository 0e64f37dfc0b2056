"""One fit of an added element with given columns, freely and with a negative part set to zero."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from feedproof.core.errors import InputError
from feedproof.evidence.fit.element_core import SMALL_STEP, CoreFit, NotSettledError, fit_curve
from feedproof.evidence.fit.element_plan import Constants, Design, ElementCurve
from feedproof.evidence.fit.element_points import Group
from feedproof.evidence.fit.element_result import Bound
from feedproof.evidence.fit.element_run import ElementRun, StatedFuel
from feedproof.evidence.fit.element_solve import RankError


@dataclass(frozen=True, slots=True)
class FittedOnce:
    """
    One core fit with the coefficients of the element, in Pa at the unit flow.

    Parameters
    ----------
    core : CoreFit
        The free fit.
    curve : ElementCurve
        Its columns.
    groups : tuple of Group
        Its points.
    free, bounded : tuple of float
        The element's coefficients, freely and with a negative part set to zero. [Pa]
    bound : Bound
        Which part was set to zero.
    """

    core: CoreFit
    curve: ElementCurve
    groups: tuple[Group, ...]
    free: tuple[float, float]
    bounded: tuple[float, float]
    bound: Bound


def as_groups(
    runs: Sequence[ElementRun], stated: StatedFuel, unit: float, constants: Constants
) -> tuple[Group, ...]:
    """
    Hand the runs to the core, in flows over the unit flow.

    Parameters
    ----------
    runs : sequence of ElementRun
        The runs.
    stated : StatedFuel
        Their fuel.
    unit : float
        Unit flow. [m3/s]
    constants : Constants
        Depression without flow.

    Returns
    -------
    tuple of Group
        One for each run.
    """
    return tuple(
        Group(
            x=run.flow_m3_per_s / unit,
            y=run.depression_pa,
            u_x=run.flow_u / unit,
            u_y=run.depression_u,
            u_offset=math.inf if constants is Constants.RUN else run.depression_offset_u_pa,
            u_scale=run.flow_scale_u,
            u_factor=u,
        )
        for run, u in zip(runs, stated.viscosity_u, strict=True)
    )


def core_fit(
    runs: Sequence[ElementRun],
    groups: Sequence[Group],
    stated: StatedFuel,
    design: Design,
    like: CoreFit | None = None,
    small_step: float = SMALL_STEP,
) -> tuple[CoreFit, ElementCurve]:
    """
    Run the core once, its faults told in the words of this job.

    Parameters
    ----------
    runs : sequence of ElementRun
        The runs.
    groups : sequence of Group
        Their points.
    stated : StatedFuel
        Their fuel.
    design : Design
        Columns.
    like : CoreFit or None
        A fit of the same runs to begin with.
    small_step : float
        When to stop. [-]

    Returns
    -------
    tuple of CoreFit and ElementCurve
        The fit and its curve.

    Raises
    ------
    InputError
        Flows that cannot bear the columns, or a fit that does not settle.
    """
    curve = ElementCurve(
        design=design,
        candidate=tuple(run.candidate for run in runs),
        viscosity_ratio=stated.viscosity_ratio,
        density_ratio=stated.density_ratio,
    )
    # A fit of the same runs lends its last figures: the first of them may be constants.
    start = like.parameters[-design.size :] if like is not None else (0.0,) * design.size
    try:
        fit = fit_curve(groups, curve, start, begin=like, small_step=small_step)
        return fit, curve
    except RankError as fault:
        text = f"{design.size} figures cannot be learned from these flows: figure"
        text += f" {fault.unknown + 1} follows from those before it"
        raise InputError.at("flows", f"{text}.", "Run at more flows, further apart.") from fault
    except NotSettledError as fault:
        text = f"the fit did not settle ({fault}): the flows' uncertainty is as large as their"
        raise InputError.at("fit", f"{text} range.", "Run over a wider range of flow.") from fault


def fit_once(
    runs: Sequence[ElementRun], groups: tuple[Group, ...], stated: StatedFuel, design: Design
) -> FittedOnce:
    """
    Fit freely, and again with a part set to zero where it came out negative.

    Parameters
    ----------
    runs : sequence of ElementRun
        The runs.
    groups : tuple of Group
        Their points.
    stated : StatedFuel
        Their fuel.
    design : Design
        Columns.

    Returns
    -------
    FittedOnce
        Both fits.

    Raises
    ------
    InputError
        As `core_fit`.
    """
    core, curve = core_fit(runs, groups, stated, design)
    if len(design.added) == 1:
        alone = (core.parameters[-1], 0.0)
        bound = Bound.GAIN if alone[0] < 0.0 else Bound.NONE
        return FittedOnce(core, curve, groups, alone, alone, bound)
    free = (core.parameters[-2], core.parameters[-1])
    if min(free) >= 0.0:
        return FittedOnce(core, curve, groups, free, free, Bound.NONE)
    # At most one part is negative unless the element lowers the depression at every flow.
    for power, bound in ((1, Bound.NO_INERTIAL), (2, Bound.NO_VISCOUS)):
        if free[2 - power] >= 0.0 and free[power - 1] < 0.0:
            continue
        again, _ = core_fit(runs, groups, stated, replace(design, added=(power,)))
        left = again.parameters[-1]
        pair = (left, 0.0) if power == 1 else (0.0, left)
        if left >= 0.0:
            return FittedOnce(core, curve, groups, free, pair, bound)
    return FittedOnce(core, curve, groups, free, free, Bound.GAIN)
