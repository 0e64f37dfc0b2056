"""
"Like the factory element at p % of its restriction rise".

The depression that an added element brings is put beside what the factory element gains from
clean to change-out, at the same flow and the same fuel.  It is a percentage of restriction, not
of captured dirt and not of life: loading curves are flat for long and bend up late.
"""

import math
from dataclasses import dataclass

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error
from feedproof.evidence.students import (
    CONFIDENCE,
    effective_degrees_of_freedom,
    student_quantile,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Restriction:
    """
    A pressure loss with its uncertainty, at the flow and fuel of the comparison.

    Parameters
    ----------
    loss_pa, standard_uncertainty_pa : float
        Loss and standard uncertainty. [Pa]
    degrees_of_freedom : float
        Of that uncertainty; infinite when declared. [-]
    """

    loss_pa: float
    standard_uncertainty_pa: float
    degrees_of_freedom: float = math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class RestrictionEquivalent:
    """
    An added depression as a percentage of the factory element's restriction rise.

    Parameters
    ----------
    percent : float
        Best estimate. [%]
    standard_uncertainty_percent : float
        To first order, for the budget; limits do not come from it. [%]
    degrees_of_freedom : float
        Effective ones. [-]
    low_percent, high_percent : float or None
        Two-sided 95 % interval after Fieller; None where it has no end on that side. [%]
    lower_percent, upper_percent : float or None
        One-sided 95 % limits; None where there is none. [%]
    """

    percent: float
    standard_uncertainty_percent: float
    degrees_of_freedom: float
    low_percent: float | None
    high_percent: float | None
    lower_percent: float | None
    upper_percent: float | None

    @property
    def bounded(self) -> bool:
        """Say whether the 95 % interval has both ends."""
        return self.low_percent is not None and self.high_percent is not None

    @property
    def cannot_tell(self) -> bool:
        """Say whether the interval holds every percentage from 0 up."""
        return self.low_percent is None and self.high_percent is None


def restriction_rise(loaded: Restriction, clean: Restriction) -> Restriction:
    """
    Give what an element gains from clean to its change-out.

    Parameters
    ----------
    loaded, clean : Restriction
        Loss at change-out and when clean, at one flow and fuel, known independently.

    Returns
    -------
    Restriction
        Difference; its uncertainty is their root sum of squares.

    Examples
    --------
    >>> rise = restriction_rise(
    ...     Restriction(loss_pa=14000.0, standard_uncertainty_pa=500.0),
    ...     Restriction(loss_pa=4000.0, standard_uncertainty_pa=0.0),
    ... )
    >>> rise.loss_pa, rise.standard_uncertainty_pa
    (10000.0, 500.0)
    """
    parts = [(r.standard_uncertainty_pa, r.degrees_of_freedom) for r in (loaded, clean)]
    return Restriction(
        loss_pa=loaded.loss_pa - clean.loss_pa,
        standard_uncertainty_pa=math.hypot(*(u for u, _ in parts)),
        degrees_of_freedom=effective_degrees_of_freedom(parts),
    )


def restriction_equivalent(
    added: Restriction, rise: Restriction, *, covariance_pa2: float = 0.0
) -> RestrictionEquivalent:
    """
    Put an added depression beside the restriction rise of the factory element.

    Parameters
    ----------
    added : Restriction
        Depression that the added element brings.
    rise : Restriction
        What the factory element gains from clean to change-out, at the same flow and fuel.
    covariance_pa2 : float
        Covariance of the two; 0 when they were measured apart. [Pa2]

    Returns
    -------
    RestrictionEquivalent
        Percentage with its interval.

    Raises
    ------
    InputError
        A rise that is not above 0, figures that are not finite, negative uncertainties, a
        covariance larger than the two uncertainties allow.

    Notes
    -----
    p = 100 added / rise, and (u(p)/p)^2 is the sum of both relative variances.  The interval is
    the set of ratios r for which added - r rise is within k of its own uncertainty (Fieller, J. R.
    Stat. Soc. B 16, 1954, 175).  Where the rise is not clearly above 0 it has no upper end, and
    none at all where the added depression is not clearly above 0 either.  A ratio is never below
    0 here, so that only that branch of the set counts.

    Examples
    --------
    >>> found = restriction_equivalent(
    ...     Restriction(loss_pa=3120.0, standard_uncertainty_pa=350.0),
    ...     Restriction(loss_pa=10000.0, standard_uncertainty_pa=600.0),
    ... )
    >>> round(found.percent, 1), round(found.standard_uncertainty_percent, 1)
    (31.2, 4.0)
    """
    _check(added, rise, covariance_pa2)
    u_n, u_d = added.standard_uncertainty_pa, rise.standard_uncertainty_pa
    ratio = added.loss_pa / rise.loss_pa
    variance = u_n * u_n - 2.0 * ratio * covariance_pa2 + (ratio * u_d) ** 2
    dof = effective_degrees_of_freedom(
        [(u_n, added.degrees_of_freedom), (ratio * u_d, rise.degrees_of_freedom)]
    )
    one, two = (
        _fieller(added, rise, covariance_pa2, student_quantile(p, dof))
        for p in (CONFIDENCE, 0.5 + 0.5 * CONFIDENCE)
    )
    return RestrictionEquivalent(
        percent=100.0 * ratio,
        standard_uncertainty_percent=100.0 * math.sqrt(max(0.0, variance)) / rise.loss_pa,
        degrees_of_freedom=dof,
        low_percent=two[0],
        high_percent=two[1],
        lower_percent=one[0],
        upper_percent=one[1],
    )


def _fieller(
    added: Restriction, rise: Restriction, covariance: float, k: float
) -> tuple[float | None, float | None]:
    """Give the ends of the set of ratios in percent, None for an end at infinity."""
    square = rise.loss_pa**2 - (k * rise.standard_uncertainty_pa) ** 2
    middle = added.loss_pa * rise.loss_pa - k * k * covariance
    constant = added.loss_pa**2 - (k * added.standard_uncertainty_pa) ** 2
    if square <= 0.0:
        # Beyond the rise's own doubt: with an added loss clearly above 0 a least ratio is left.
        if constant <= 0.0 or added.loss_pa <= 0.0:
            return None, None
        if square == 0.0:
            return (50.0 * constant / middle, None) if middle > 0.0 else (None, None)
        root = math.sqrt(max(0.0, middle * middle - square * constant))
        return 100.0 * constant / (middle + root), None
    root = math.sqrt(max(0.0, middle * middle - square * constant))
    return 100.0 * (middle - root) / square, 100.0 * (middle + root) / square


def _check(added: Restriction, rise: Restriction, covariance: float) -> None:
    """Refuse figures that make no ratio, all mistakes at once."""
    faults: list[Finding] = []
    for name, given in (("added depression", added), ("restriction rise", rise)):
        if not math.isfinite(given.loss_pa):
            faults.append(error(name, f"{given.loss_pa} Pa is not finite.", "Give a figure."))
        u = given.standard_uncertainty_pa
        if not (math.isfinite(u) and u >= 0.0):
            text = f"standard uncertainty {u} Pa, allowed 0 or more"
            faults.append(error(name, f"{text}.", "Give a standard uncertainty."))
        if not given.degrees_of_freedom > 0.0:
            text = f"{given.degrees_of_freedom} degrees of freedom, allowed above 0"
            faults.append(error(name, f"{text}.", "Leave them out when it is declared."))
    if not faults:
        if rise.loss_pa <= 0.0:
            text = f"{rise.loss_pa:.0f} Pa: the loss at change-out must be above that when clean"
            faults.append(
                error("restriction rise", f"{text}.", "Take both at the same flow and fuel.")
            )
        most = added.standard_uncertainty_pa * rise.standard_uncertainty_pa
        if not abs(covariance) <= most * (1.0 + 1e-12):
            text = f"{covariance:.6g} Pa2, allowed up to {most:.6g} either way"
            faults.append(error("covariance", f"{text}.", "Give 0 when measured apart."))
    if faults:
        raise InputError(faults)
