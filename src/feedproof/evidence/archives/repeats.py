"""
Scatter of one session's baseline repeats, its straight drift taken out.

Only runs without a kit count.  Those of a session that alternates with a kit count too, at their
places in its order, for drift went on while the kit ran; the kit's own runs do not: a kit that
lets air in scatters more than the rig does, and would widen the figure of everybody.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from feedproof.core.errors import InputError

LEAST_RUNS = 3
"""Two runs tell no scatter from drift: their difference would be counted as repeatability."""
# Scatter below this share of the figures themselves is rounding, not repeatability.
_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """
    Scatter of one set of repeats.

    Parameters
    ----------
    standard_deviation : float
        On the scale of the figures, drift taken out.
    degrees_of_freedom : int
        Runs less what was fitted. [-]
    replumbed : bool
        True when the line was opened before every repeat, so that the scatter of it is inside.
    drift_per_run : float
        Fitted, per place in the order.
    """

    standard_deviation: float
    degrees_of_freedom: int
    replumbed: bool
    drift_per_run: float


def spread_of_repeats(
    values: Sequence[float], places: Sequence[float], setups: Sequence[str]
) -> Spread | str:
    """
    Give the scatter of one session's baseline repeats, or say why there is none.

    Parameters
    ----------
    values : sequence of float, length n
        One figure for each run, on the scale of the decision.
    places : sequence of float, length n
        Place in the session's order. [-]
    setups : sequence of str, length n
        Plumbing of each run.

    Returns
    -------
    Spread or str
        With one plumbing throughout, or a new one for every run, nu = n - 2.  Where some runs
        share a plumbing and some do not, each plumbing has a mean of its own, so that only what
        happens inside one counts: nu = n - plumbings - 1.

    Raises
    ------
    InputError
        Lists of different length, or a figure that is not finite.

    Notes
    -----
    Straight drift by least squares, sums exactly rounded, so that the order of storage changes no
    digit.

    Examples
    --------
    >>> found = spread_of_repeats([1.0, 2.0, 1.0], [0, 1, 2], ["loop"] * 3)
    >>> round(found.standard_deviation**2, 9), found.degrees_of_freedom
    (0.666666667, 1)
    """
    _check(values, places, setups)
    n = len(values)
    if n < LEAST_RUNS:
        return (
            f"{n} baseline run{'' if n == 1 else 's'}: drift cannot be told from scatter with fewer"
            f" than {LEAST_RUNS}"
        )
    replumbed = len(set(setups)) == n
    groups = _groups(values, places, ["all"] * n if replumbed else setups)
    dof = n - len(groups) - 1
    if dof < 1:
        return f"{n} baseline runs in {len(groups)} plumbings leave nothing to tell scatter from"
    pairs = [pair for group in groups for pair in _centred(group)]
    s_tt = math.fsum(t * t for t, _ in pairs)
    if not s_tt > 0.0:
        return "all runs have one place in the order, so that drift cannot be told"
    slope = math.fsum(t * y for t, y in pairs) / s_tt
    rss = math.fsum((y - slope * t) ** 2 for t, y in pairs)
    s = math.sqrt(rss / dof)
    if not s > _ROUNDING * max(map(abs, values)):
        return "the runs repeat to the last digit, which is no repeatability"
    return Spread(
        standard_deviation=s, degrees_of_freedom=dof, replumbed=replumbed, drift_per_run=slope
    )


def _groups(
    values: Sequence[float], places: Sequence[float], names: Sequence[str]
) -> list[list[tuple[float, float]]]:
    """Put the runs of one plumbing together."""
    groups: dict[str, list[tuple[float, float]]] = {}
    for name, place, value in zip(names, places, values, strict=True):
        groups.setdefault(name, []).append((float(place), float(value)))
    return list(groups.values())


def _centred(group: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Take a group's means away."""
    n = len(group)
    t_mean = math.fsum(t for t, _ in group) / n
    y_mean = math.fsum(y for _, y in group) / n
    return [(t - t_mean, y - y_mean) for t, y in group]


def _check(values: Sequence[float], places: Sequence[float], setups: Sequence[str]) -> None:
    """Refuse lists of different length and figures that are not finite."""
    sizes = {len(values), len(places), len(setups)}
    if len(sizes) != 1:
        raise InputError.at("repeats", f"lists of different length: {sorted(sizes)}")
    if not all(map(math.isfinite, (*values, *places))):
        raise InputError.at("repeats", "a figure or a place in the order is not a finite number")
