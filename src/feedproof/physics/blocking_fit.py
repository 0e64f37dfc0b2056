"""
Which law of blocking fits measured growth, and whether the points can tell.

One number is fitted per law, its loading scale.  Laws that fit alike stay on the list: at small
growth all four are the same straight line, and only points beyond the bend part them.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from feedproof.physics.blocking import BlockingLaw, blocking_growth, load_share_at_growth

LEAST_POINTS = 2
# A law is out when its sum of squares is that many times the best one's beyond the noise.
_MUCH_WORSE = 4.0
_SCAN = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class LawFit:
    """
    One law fitted to points of growth.

    Parameters
    ----------
    law : BlockingLaw
        The law.
    loading_scale_kg : float
        Its scale [kg].
    residuals : tuple of float
        Measured growth minus that of the law, one per point [1].
    rms : float
        Root mean square of the residuals [1].
    """

    law: BlockingLaw
    loading_scale_kg: float
    residuals: tuple[float, ...]
    rms: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockingFit:
    """
    What points of growth say about the law.

    Parameters
    ----------
    fits : tuple of LawFit
        All laws, best first.
    possible : tuple of BlockingLaw
        Laws that the points do not exclude; empty where even the best misses by more than the
        stated uncertainty allows.
    """

    fits: tuple[LawFit, ...]
    possible: tuple[BlockingLaw, ...]

    @property
    def decided(self) -> bool:
        """Say whether exactly one law is left."""
        return len(self.possible) == 1


def fit_blocking(
    masses_kg: Sequence[float], growth_ratios: Sequence[float], uncertainty: float
) -> BlockingFit:
    """
    Fit all laws of blocking to points of growth.

    Parameters
    ----------
    masses_kg : sequence of float
        Dirt held at each point, above 0 [kg].
    growth_ratios : sequence of float
        Media resistance over that of the clean media at each, above 1 somewhere [1].
    uncertainty : float
        Standard uncertainty of a growth ratio, above 0 [1].

    Returns
    -------
    BlockingFit
        Scale and residuals of each law and which laws remain.

    Raises
    ------
    ValueError
        Fewer than two points, no growth, or a number out of range.

    Notes
    -----
    Least squares in the growth itself.  A law remains when its root mean square lies within twice
    the stated uncertainty, and its sum of squares within that of the best law plus 4 uncertainties
    squared: the usual two-sigma bounds for one number against another, own rule.
    """
    _refuse(masses_kg, growth_ratios, uncertainty)
    fits = sorted((_fit(law, masses_kg, growth_ratios) for law in BlockingLaw), key=lambda f: f.rms)
    count = len(masses_kg)
    best = fits[0].rms ** 2 * count
    possible = tuple(
        fit.law
        for fit in fits
        if fit.rms <= 2.0 * uncertainty
        and fit.rms**2 * count <= best + _MUCH_WORSE * uncertainty**2
    )
    return BlockingFit(fits=tuple(fits), possible=possible)


def _refuse(masses: Sequence[float], growths: Sequence[float], uncertainty: float) -> None:
    """Refuse points that no law could be fitted to."""
    if len(masses) != len(growths) or len(masses) < LEAST_POINTS:
        raise ValueError(
            f"{len(masses)} masses and {len(growths)} growth ratios: two or more points are"
            " wanted beside the clean element, one fits every law"
        )
    if not all(0.0 < mass < math.inf for mass in masses):
        raise ValueError("captured masses must be above 0; the clean element is taken for granted")
    if not all(0.0 < growth < math.inf for growth in growths) or max(growths) <= 1.0:
        raise ValueError("growth ratios are over the clean media: one above 1 at least is wanted")
    if not 0.0 < uncertainty < math.inf:
        raise ValueError(f"uncertainty {uncertainty:g} of a growth ratio is not above 0")


def _fit(law: BlockingLaw, masses: Sequence[float], growths: Sequence[float]) -> LawFit:
    """Find the scale of one law by least squares."""

    def missed(log_scale: float) -> tuple[float, ...]:
        scale = math.exp(log_scale)
        pairs = zip(masses, growths, strict=True)
        return tuple(growth - blocking_growth(mass, scale, int(law)) for mass, growth in pairs)

    def squares(log_scale: float) -> float:
        # A law that is shut below a measured load misses by more than anything finite.
        return min(sum(m * m for m in missed(log_scale)), 1e300)

    best = _least(squares, *_scale_bounds(law, masses, growths))
    residuals = missed(best)
    rms = math.sqrt(sum(m * m for m in residuals) / len(residuals))
    return LawFit(law=law, loading_scale_kg=math.exp(best), residuals=residuals, rms=rms)


def _scale_bounds(
    law: BlockingLaw, masses: Sequence[float], growths: Sequence[float]
) -> tuple[float, float]:
    """Bound the logarithm of the scale by what each point alone would ask for."""
    alone = [
        math.log(mass / load_share_at_growth(growth, int(law)))
        for mass, growth in zip(masses, growths, strict=True)
        if growth > 1.0
    ]
    low = min(alone) - 0.1
    if law in {BlockingLaw.STANDARD, BlockingLaw.COMPLETE}:
        # Beyond its scale such an element is shut, and no point was measured there.
        low = max(low, math.log(max(masses)) + 1e-9)
    high = max(alone) + 0.1
    if len(alone) < len(masses):
        # A point that has not grown asks for an endless scale.
        high = max(high, math.log(max(masses)) + 12.0)
    return low, max(high, low + 0.1)


def _least(function: Callable[[float], float], low: float, high: float) -> float:
    """Find the least of a function that may have more than one hollow: scan, then refine."""
    from scipy.optimize import minimize_scalar

    step = (high - low) / _SCAN
    start = min((low + i * step for i in range(_SCAN + 1)), key=function)
    bounds = (max(start - step, low), min(start + step, high))
    found = minimize_scalar(function, bounds=bounds, method="bounded", options={"xatol": 1e-10})
    return float(found.x)
