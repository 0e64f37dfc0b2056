"""
The plan for one measure: what each order can exclude or find, and which step to improve first.

The scatter of runs is taken as the declared one.  What its instruments put into it by themselves
is known from their budget, so that another instrument's scatter follows: what is left of the
declared variance without the present instrument, plus that of the other.
"""

import math
from dataclasses import dataclass, replace

from feedproof.case.margin import Measure, Repeatability
from feedproof.evidence.archive import archive_of
from feedproof.evidence.designs import Design
from feedproof.evidence.plan.chance import chance_of_excluding
from feedproof.evidence.plan.doubts import Doubts
from feedproof.evidence.plan.orders import DriftHurts, Order
from feedproof.evidence.planning import power, smallest_margin

CHANCES = (0.80, 0.90, 0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class Footing:
    """
    What a measure's plan stands on.

    Parameters
    ----------
    measure : Measure
        Of what.
    unit : str
        ``log-percent`` or ``Pa``.
    margin : float or None
        Agreed margin on that scale; None where there is none.
    margin_source : str
        Where it comes from.
    repeatability : Repeatability or None
        As declared.
    doubts : Doubts
        Of the instruments as they are.
    replumbed : bool
        Every change-over opens the line.
    """

    measure: Measure
    unit: str
    margin: float | None
    margin_source: str
    repeatability: Repeatability | None
    doubts: Doubts
    replumbed: bool = False

    @property
    def archive_dof(self) -> float:
        """Give the degrees of freedom of the declared repeatability; 0 without one."""
        archive = archive_of(self.repeatability)
        return archive.degrees_of_freedom if archive else 0.0

    @property
    def scatter(self) -> float | None:
        """Give the run-to-run standard deviation as declared; None without one."""
        return self.repeatability.standard_deviation if self.repeatability else None

    def scatter_with(self, doubts: Doubts) -> float | None:
        """
        Give the run-to-run standard deviation that other instruments would leave.

        Parameters
        ----------
        doubts : Doubts
            Of those instruments.

        Returns
        -------
        float or None
            On the scale of the measure; None without a declared one.
        """
        if self.scatter is None:
            return None
        left = max(self.scatter**2 - self.doubts.of_a_run**2, 0.0)
        # Where the present instruments alone would scatter more than was declared, they do not.
        scale = min(1.0, self.scatter / self.doubts.of_a_run) if self.doubts.of_a_run else 1.0
        return math.sqrt(left + (scale * doubts.of_a_run) ** 2)

    def u_other(self, order: Order, doubts: Doubts | None = None) -> float:
        """
        Give the standard uncertainty of a difference that more runs do not lower.

        Parameters
        ----------
        order : Order
            For the plumbings.
        doubts : Doubts, optional
            Of the instruments; those at hand when left out.

        Returns
        -------
        float
            Instruments, and opening the line where each change-over does.
        """
        setup = 0.0
        if self.replumbed and self.repeatability is not None:
            variance = self.repeatability.setup_standard_deviation**2 * order.setup_factor
            setup = math.sqrt(variance)
        return math.hypot((doubts or self.doubts).shared, setup)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderFigures:
    """
    What one order can do for one measure, on the measure's scale.

    Parameters
    ----------
    order : str
        Such as ``ABBA``.
    runs_each, runs, changes : int
        Runs of the candidate, runs in all, change-overs. [-]
    variance_factor, setup_factor : float
        On the variances of run-to-run scatter and of opening the line; the first is infinite
        where drift cannot be told from the kit. [-]
    degrees_of_freedom : int
        Of the runs alone. [-]
    u_difference : float or None
        Standard uncertainty of the difference; None without a repeatability.
    smallest : tuple of float, shape (3,)
        Smallest margin that is excluded, and smallest loss that is found, with a chance of 80, 90
        and 95 %; infinite where the order cannot. Without a repeatability in repeatabilities.
    chance : float or None
        Of excluding the agreed margin when there is no loss. [-]
    chance_checked : float or None
        The same with the check of the declared repeatability against the runs. [-]
    largest_repeatability : float or None
        With which the margin would still be excluded at the chance asked for.
    trap : str
        Why not to drive it; empty for one worth driving.
    hurts : DriftHurts or None
        What it suffers from a drift that is no straight line; None where it was not simulated.
    """

    order: str
    runs_each: int
    runs: int
    changes: int
    variance_factor: float
    setup_factor: float
    degrees_of_freedom: int
    u_difference: float | None
    smallest: tuple[float, float, float]
    chance: float | None
    chance_checked: float | None
    largest_repeatability: float | None
    trap: str
    hurts: DriftHurts | None


def order_figures(footing: Footing, order: Order, chance: float) -> OrderFigures:
    """
    Say what an order can do for a measure.

    Parameters
    ----------
    footing : Footing
        Margin, repeatability, instruments.
    order : Order
        The order.
    chance : float
        Asked for. [-]

    Returns
    -------
    OrderFigures
        On the scale of the measure.
    """
    design = order.design
    scatter, u_other = footing.scatter, footing.u_other(order)
    sized = scatter is not None and design.drift_fitted
    excluded = checked = u = None
    if scatter is not None and design.drift_fitted:
        u = math.hypot(math.sqrt(design.variance_factor) * scatter, u_other)
        if footing.margin is not None:
            excluded, checked = chances(footing, order)
    return OrderFigures(
        order=order.order,
        runs_each=order.runs_each,
        runs=len(order.order),
        changes=order.changes,
        variance_factor=design.variance_factor_with_drift,
        setup_factor=order.setup_factor,
        degrees_of_freedom=design.degrees_of_freedom,
        u_difference=u,
        smallest=_smallest(
            design, footing.archive_dof, scatter if scatter is not None else 1.0, u_other * sized
        ),
        chance=excluded,
        chance_checked=checked,
        largest_repeatability=_largest_repeatability(footing, order, chance),
        trap=order.trap,
        hurts=order.hurts,
    )


def chances(footing: Footing, order: Order) -> tuple[float, float]:
    """
    Give the chance of excluding the agreed margin when there is no loss.

    Parameters
    ----------
    footing : Footing
        With margin and repeatability.
    order : Order
        The order.

    Returns
    -------
    tuple of float
        By the noncentral t, and with the check of the declared repeatability. [-]

    Raises
    ------
    ValueError
        No margin or no repeatability.
    """
    if footing.margin is None or footing.scatter is None:
        raise ValueError(f"{footing.measure}: a chance needs a margin and a repeatability")
    if not order.design.drift_fitted:
        return 0.0, 0.0
    u_other = footing.u_other(order)
    plain = power(
        order.design,
        margin=footing.margin,
        repeatability=footing.scatter,
        archive_dof=footing.archive_dof,
        u_other=u_other,
    )
    checked = chance_of_excluding(
        order.design,
        margin=footing.margin,
        repeatability=footing.scatter,
        archive_dof=footing.archive_dof,
        u_other=u_other,
    )
    return plain, checked


def smallest_with(footing: Footing, order: Order, chance: float, doubts: Doubts) -> float:
    """
    Give the smallest margin that other instruments could exclude.

    Parameters
    ----------
    footing : Footing
        Repeatability and the instruments at hand.
    order : Order
        The order.
    chance : float
        Asked for. [-]
    doubts : Doubts
        Of the other instruments.

    Returns
    -------
    float
        On the scale of the measure; infinite without a repeatability.
    """
    scatter = footing.scatter_with(doubts)
    if scatter is None or not order.design.drift_fitted:
        return math.inf
    return smallest_margin(
        order.design,
        repeatability=scatter,
        archive_dof=footing.archive_dof,
        chance=chance,
        u_other=footing.u_other(order, doubts),
    )


def _smallest(
    design: Design, archive_dof: float, scatter: float, u_other: float
) -> tuple[float, float, float]:
    """Give the smallest margins at the three chances."""
    if not design.drift_fitted:
        return (math.inf, math.inf, math.inf)
    low, middle, high = (
        smallest_margin(
            design,
            repeatability=scatter,
            archive_dof=archive_dof,
            chance=each,
            u_other=u_other,
        )
        for each in CHANCES
    )
    return low, middle, high


def _largest_repeatability(footing: Footing, order: Order, chance: float) -> float | None:
    """Give the repeatability with which the margin would still be excluded; None for none."""
    if footing.margin is None or not order.design.drift_fitted:
        return None
    bare = replace(footing, doubts=replace(footing.doubts, steps=()))
    u_other = footing.u_other(order) if footing.scatter is not None else bare.u_other(order)
    low, high = 0.0, footing.margin
    for _ in range(40):
        middle = 0.5 * (low + high)
        reached = power(
            order.design,
            margin=footing.margin,
            repeatability=middle,
            archive_dof=footing.archive_dof,
            u_other=u_other,
        )
        low, high = (middle, high) if reached >= chance else (low, middle)
    return low or None
