"""
Which step to improve first: what each step of the measurement costs, and what a better one buys.

The answer is often that no instrument is worth changing, because the runs themselves scatter more
than all instruments together: then one more run of each buys more than the best gauge.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from feedproof.evidence.plan.doubts import Doubts
from feedproof.evidence.plan.measure_plan import Footing, smallest_with
from feedproof.evidence.plan.orders import Order, describe_order, planned_orders

SCATTER = "scatter from run to run that no instrument explains"
REPLUMBING = "opening the line at each change-over"
_WORTH = 0.02
"""Share of the smallest margin that a change of instrument must save to be worth naming. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepShare:
    """
    What one step costs in the planned order.

    Parameters
    ----------
    name : str
        The step.
    u : float
        Standard uncertainty on the scale of the measure: of one run where repeats show it, else
        of the difference.
    of_a_run : bool
        Which of the two.
    share : float or None
        Of the variance of the difference; None without a repeatability. [-]
    smallest_without : float
        Smallest margin that would be excluded if the step were perfect; infinite without a
        repeatability.
    basis : str
        Where the figure comes from.
    assumed : bool
        Nobody declared it.
    """

    name: str
    u: float
    of_a_run: bool
    share: float | None
    smallest_without: float
    basis: str
    assumed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """
    What other instruments would make of the planned order.

    Parameters
    ----------
    title : str
        What is changed.
    u_run, u_shared : float
        Standard uncertainty of one run that repeats show, and of the difference that they do not.
    scatter : float or None
        Run-to-run standard deviation with it; None without a declared one.
    share : float or None
        Of these instruments in the variance of the difference. [-]
    smallest : float
        Smallest margin that would be excluded; infinite without a repeatability.
    """

    title: str
    u_run: float
    u_shared: float
    scatter: float | None
    share: float | None
    smallest: float


def step_shares(footing: Footing, order: Order, chance: float) -> tuple[StepShare, ...]:
    """
    Say what each step costs, the dearest first.

    Parameters
    ----------
    footing : Footing
        Repeatability and instruments.
    order : Order
        The planned order.
    chance : float
        Asked for. [-]

    Returns
    -------
    tuple of StepShare
        Instruments, opening the line, and the scatter that is left.
    """
    g = order.design.variance_factor
    scatter = footing.scatter
    u_other = footing.u_other(order)
    variance = None if scatter is None else g * scatter**2 + u_other**2
    own = footing.doubts.of_a_run
    scale = 1.0 if scatter is None or own <= scatter else scatter / own
    found = []
    for step in footing.doubts.steps:
        u = step.u * scale if step.in_repeats else step.u
        found.append(
            StepShare(
                name=step.name,
                u=step.u,
                of_a_run=step.in_repeats,
                share=_share(g * u * u if step.in_repeats else u * u, variance),
                smallest_without=smallest_with(
                    footing, order, chance, footing.doubts.without(step.name)
                ),
                basis=step.basis,
                assumed=step.assumed,
            )
        )
    found += _beside(footing, order, variance)
    return tuple(sorted(found, key=lambda each: -(each.share or 0.0)))


def _beside(footing: Footing, order: Order, variance: float | None) -> list[StepShare]:
    """List what is no instrument's doing: the scatter that is left, and opening the line."""
    if footing.repeatability is None or footing.scatter is None:
        return []
    left = math.sqrt(max(footing.scatter**2 - footing.doubts.of_a_run**2, 0.0))
    beside = [
        StepShare(
            name=SCATTER,
            u=left,
            of_a_run=True,
            share=_share(order.design.variance_factor * left * left, variance),
            smallest_without=math.nan,
            basis="declared repeatability less what the instruments put into it",
            assumed=False,
        )
    ]
    setup = footing.repeatability.setup_standard_deviation
    if footing.replumbed and setup > 0.0:
        u = setup * math.sqrt(order.setup_factor)
        beside.append(
            StepShare(
                name=REPLUMBING,
                u=u,
                of_a_run=False,
                share=_share(u * u, variance),
                smallest_without=math.nan,
                basis="declared; a change-over loop does without",
                assumed=False,
            )
        )
    return beside


def _share(part: float, whole: float | None) -> float | None:
    """Give a part of a variance."""
    return None if whole is None or not whole > 0.0 else part / whole


def what_ifs(
    footing: Footing, order: Order, chance: float, others: Sequence[Doubts]
) -> tuple[WhatIf, ...]:
    """
    Say what other instruments would make of the planned order.

    Parameters
    ----------
    footing : Footing
        Repeatability and the instruments at hand.
    order : Order
        The planned order.
    chance : float
        Asked for. [-]
    others : sequence of Doubts
        The other instruments.

    Returns
    -------
    tuple of WhatIf
        In the order given, the instruments at hand first.
    """
    return tuple(_what_if(footing, order, chance, each) for each in (footing.doubts, *others))


def _what_if(footing: Footing, order: Order, chance: float, doubts: Doubts) -> WhatIf:
    """Work one what-if out."""
    scatter = footing.scatter_with(doubts)
    g = order.design.variance_factor
    share = None
    if scatter is not None:
        whole = g * scatter**2 + footing.u_other(order, doubts) ** 2
        mine = g * min(doubts.of_a_run, scatter) ** 2 + doubts.shared**2
        share = _share(mine, whole)
    return WhatIf(
        title=doubts.title,
        u_run=doubts.of_a_run,
        u_shared=doubts.shared,
        scatter=scatter,
        share=share,
        smallest=smallest_with(footing, order, chance, doubts),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstStep:
    """
    What to improve first.

    Parameters
    ----------
    name : str
        A step of the measurement, or `SCATTER`.
    smallest_now : float
        Smallest margin excluded as planned.
    smallest_if_perfect : float
        The same if that step were perfect; of the scatter, with one more run of each.
    by_more_runs : bool
        More runs buy more than any instrument.
    smallest_with_more_runs : float
        Smallest margin with one more run of each.
    """

    name: str
    smallest_now: float
    smallest_if_perfect: float
    by_more_runs: bool
    smallest_with_more_runs: float


def first_step(
    footing: Footing, order: Order, chance: float, shares: Sequence[StepShare]
) -> FirstStep | None:
    """
    Say which step to improve first.

    Parameters
    ----------
    footing : Footing
        Repeatability and instruments.
    order : Order
        The planned order.
    chance : float
        Asked for. [-]
    shares : sequence of StepShare
        From `step_shares`.

    Returns
    -------
    FirstStep or None
        None without a repeatability: then to declare one comes first.
    """
    if footing.scatter is None:
        return None
    now = smallest_with(footing, order, chance, footing.doubts)
    place = -1 if footing.replumbed else 0
    longer = describe_order(planned_orders(order.runs_each + 1)[place])
    more = smallest_with(footing, longer, chance, footing.doubts)
    known = [each for each in shares if math.isfinite(each.smallest_without)]
    best = min(known, key=lambda each: each.smallest_without, default=None)
    if best is None or best.smallest_without >= more or now - best.smallest_without < _WORTH * now:
        return FirstStep(
            name=SCATTER,
            smallest_now=now,
            smallest_if_perfect=more,
            by_more_runs=True,
            smallest_with_more_runs=more,
        )
    return FirstStep(
        name=best.name,
        smallest_now=now,
        smallest_if_perfect=best.smallest_without,
        by_more_runs=False,
        smallest_with_more_runs=more,
    )
