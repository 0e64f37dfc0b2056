"""
Which faults fit what was read: signs of change at the taps, the return and the gas.

The table of signs is common practice of the trade (no source); the simulation of `faults` is held
against it by tests.  Nothing here says "this is the fault": it says which are left, and often that
is more than one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields

from feedproof.feedline.faults import Fault, Readings


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolution:
    """
    Changes that readings can show; anything less is no change.

    Parameters
    ----------
    depression_pa : float
        Of a depression, engine stopped included. [Pa]
    return_percent : float
        Of the return. [-]
    gas_fraction : float
        Of the gas seen in a clear hose. [-]
    knee_pa : float
        Of the departure from a straight line. [Pa]
    """

    depression_pa: float = 1e3
    return_percent: float = 5.0
    gas_fraction: float = 0.03
    knee_pa: float = 1.5e3


FALLS, SAME, RISES = "-", "0", "+"

ANY = FALLS + SAME + RISES

# Signs that each fault may show, in the order of `Readings`: pump inlet, behind the pick-up, ahead
# of the first filter, standing, return, slow return, slow gas, knee.  A blocked pick-up, a hose and
# a filter part at the taps; a blocked breather holds its depression with the engine stopped; a leak
# and a worn pump both take return and lower the depression, and only the leak shows gas when slow.
_SIGNS = {
    Fault.NONE: ("0", "0", "0", "0", "0", "0", "0", "0"),
    Fault.COLLAPSED_HOSE: ("+", "-0", "+", "0", "-0", "-0", "0+", ANY),
    Fault.AIR_LEAK: ("-0", "-0", "-0", "0", "-0", "-0", "+", ANY),
    Fault.BLOCKED_PICKUP: ("+", "+", "+", "0", "-0", "-0", "0+", ANY),
    Fault.BLOCKED_FILTER: ("+", "-0", "-0", "0", "-0", "-0", "0+", ANY),
    Fault.WORN_PUMP: ("-0", "-0", "-0", "0", "-0", "-0", "0", ANY),
    Fault.BLOCKED_BREATHER: ("+", "+", "+", "+", "-0", "-0", "0", ANY),
}
NAMES = tuple(field.name for field in fields(Readings))
SIGNS: Mapping[Fault, Mapping[str, str]] = {
    fault: dict(zip(NAMES, signs, strict=True)) for fault, signs in _SIGNS.items()
}
"""Signs that each fault may show, by reading: common practice, no source."""


def signs_of(change: Readings, resolution: Resolution) -> dict[str, str]:
    """
    Turn differences into signs.

    Parameters
    ----------
    change : Readings
        Differences from the vehicle's own baseline.
    resolution : Resolution
        Below which nothing counts as a change.

    Returns
    -------
    dict of str to str
        ``-``, ``0`` or ``+``, by reading.
    """
    least = {
        "depression_pa": resolution.depression_pa,
        "pickup_side_pa": resolution.depression_pa,
        "filter_side_pa": resolution.depression_pa,
        "standing_pa": resolution.depression_pa,
        "return_percent": resolution.return_percent,
        "slow_return_percent": resolution.return_percent,
        "slow_gas_fraction": resolution.gas_fraction,
        "knee_pa": resolution.knee_pa,
    }
    return {
        name: SAME
        if abs(getattr(change, name)) < size
        else (RISES if getattr(change, name) > 0.0 else FALLS)
        for name, size in least.items()
    }


def faults_that_fit(
    change: Readings, resolution: Resolution | None = None, *, read: frozenset[str] | None = None
) -> tuple[Fault, ...]:
    """
    List the faults that what was read leaves open.

    Parameters
    ----------
    change : Readings
        Differences from the vehicle's own baseline.
    resolution : Resolution or None
        Of the readings; None takes that of a class 1.6 gauge, a jug and a clear hose.
    read : frozenset of str or None
        Names of the readings that were taken; None for all.  What was not read excludes nothing.

    Returns
    -------
    tuple of Fault
        In the order of `Fault`; several mean that these readings cannot tell them apart, none that
        no single fault of the list looks like this.

    Notes
    -----
    One fault at a time; two together can look like a third.
    """
    shown = resolution or Resolution()
    signs = signs_of(change, shown)
    taken = signs.keys() if read is None else read
    if all(signs[name] == SAME for name in taken):
        # Nothing has changed that these readings could show; a slight fault may still be there.
        return (Fault.NONE,)
    # A reading near its resolution may be taken either way: half of it more or less is noise.
    coarse = signs_of(change, _times(2.0, shown))
    fine = signs_of(change, _times(0.5, shown))
    return tuple(
        fault
        for fault in Fault
        if all({coarse[name], fine[name]} & set(SIGNS[fault][name]) for name in taken)
    )


def _times(factor: float, resolution: Resolution) -> Resolution:
    """Coarsen or refine every resolution."""
    return Resolution(
        depression_pa=factor * resolution.depression_pa,
        return_percent=factor * resolution.return_percent,
        gas_fraction=factor * resolution.gas_fraction,
        knee_pa=factor * resolution.knee_pa,
    )
