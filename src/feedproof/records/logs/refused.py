"""
Columns that can never be the pressure at the pump inlet, whatever a case maps them as.

Fuel pressure on a vehicle's bus is a gauge pressure that is counted from 0 in steps of several
kPa: below ambient it reads 0, so that a line that starves looks like one without any restriction.
"""

import re

from feedproof.case.run import Channel

INLET_CHANNELS = frozenset(
    {Channel.INLET_DEPRESSION, Channel.INLET_PRESSURE_ABS, Channel.INLET_PRESSURE_GAUGE}
)
_REASONS = (
    (
        re.compile(r"\bSPN[ _:=]?0*94\b", re.IGNORECASE),
        "SPN 94 counts in steps of 4 kPa from 0, gauge: it cannot show a depression",
    ),
    (
        re.compile(r"\bPID[ _:=]?(?:0x)?0?A\b", re.IGNORECASE),
        "PID 0A counts in steps of 3 kPa from 0, gauge: it cannot show a depression",
    ),
    (
        re.compile(r"\bSPN[ _:=]?0*95\b", re.IGNORECASE),
        "SPN 95 is the difference across the fuel filter, not the pressure at the pump",
    ),
)
REMEDY = (
    "Take this channel from an absolute or compound pressure transducer at the pump inlet, with a"
    " logger of its own."
)


def why_not_inlet(column: str) -> str:
    """
    Say why a column cannot be the pressure at the pump inlet.

    Parameters
    ----------
    column : str
        Its header.

    Returns
    -------
    str
        Empty where nothing is known against it.

    Examples
    --------
    >>> why_not_inlet("fuel pressure (PID 0A)")[:6], why_not_inlet("pump inlet (SPN 940)")
    ('PID 0A', '')
    """
    return next((why for words, why in _REASONS if words.search(column)), "")
