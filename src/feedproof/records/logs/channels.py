"""What each channel of a log measures, and between which values it can be believed."""

import re
from dataclasses import dataclass
from functools import cache

from feedproof.case.run import Channel
from feedproof.core.units import si_line, unit_fits


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelKind:
    """
    Kind of quantity of a channel and its plausible range.

    Parameters
    ----------
    kind : str
        Key of the dimensions in `feedproof.core.units`.
    low, high : float
        Ends of the range in which the middle reading of a pull can lie, in SI.
    """

    kind: str
    low: float
    high: float


# Common practice (no source): wide enough for any road vehicle, narrow enough to show most
# mistaken units.
CHANNEL_KINDS: dict[Channel, ChannelKind] = {
    channel: ChannelKind(kind=kind, low=low, high=high)
    for channel, kind, low, high in (
        (Channel.ROAD_SPEED, "speed", 0.0, 70.0),
        (Channel.ENGINE_SPEED, "rotation", 0.0, 120.0),
        (Channel.WHEEL_POWER, "power", -100e3, 600e3),
        (Channel.INLET_DEPRESSION, "pressure", -30e3, 100e3),
        (Channel.INLET_PRESSURE_ABS, "pressure", 0.0, 700e3),
        (Channel.INLET_PRESSURE_GAUGE, "pressure", -100e3, 600e3),
        (Channel.FUEL_TEMPERATURE, "temperature", 228.15, 403.15),
        (Channel.RAIL_PRESSURE, "pressure", 0.0, 350e6),
        (Channel.RAIL_PRESSURE_DEMAND, "pressure", 0.0, 350e6),
        (Channel.THROTTLE, "fraction", -0.1, 1.1),
        (Channel.AIR_TEMPERATURE, "temperature", 223.15, 343.15),
        (Channel.AIR_PRESSURE_ABS, "pressure", 50e3, 110e3),
        (Channel.RELATIVE_HUMIDITY, "fraction", 0.0, 1.05),
        (Channel.FUEL_LEVEL, "fraction", -0.05, 1.1),
        # 400 L/h: a heavy lorry's engine burns a third of it.
        (Channel.FUEL_RATE, "flow", -1e-6, 1.2e-4),
    )
}

# Units that instruments write, the likeliest first: offered when a unit seems to be swapped and
# used to read units whose letters have the wrong case.
USUAL_UNITS: dict[str, tuple[str, ...]] = {
    "duration": ("s", "ms", "min", "h"),
    "speed": ("km/h", "mph", "m/s"),
    "rotation": ("rpm", "rps", "rad/s"),
    "power": ("kW", "W", "PS", "hp"),
    "pressure": ("kPa", "bar", "mbar", "hPa", "Pa", "MPa", "psi", "inHg", "mmHg", "inH2O"),
    "temperature": ("degC", "K", "degF"),
    "fraction": ("%", "1"),
    "flow": ("L/h", "L/min", "mL/s", "mL/min", "m^3/s"),
}
# A unit's text: at most four words with small exponents.  Anything else never reaches the parser
# of the unit library, which would evaluate towers of powers.
_UNIT_TEXT = re.compile(
    r"%|1|(?:1\s?/\s?)?°?[^\W\d]{1,12}\d?(?:\^-?\d)?"
    r"(?:\s?[/*·. ]\s?[^\W\d]{1,12}\d?(?:\^-?\d)?){0,3}"
)
_WORDS = {"sec": "s", "secs": "s", "seconds": "s", "msec": "ms", "deg c": "degC", "deg f": "degF"}


def kind_of(channel: Channel) -> str:
    """
    Give the kind of quantity of a channel.

    Parameters
    ----------
    channel : Channel
        Any channel, time included.

    Returns
    -------
    str
        Key of the dimensions in `feedproof.core.units`.
    """
    return "duration" if channel is Channel.TIME else CHANNEL_KINDS[channel].kind


@cache
def known_unit(text: str, kind: str) -> str | None:
    """
    Read a unit as an instrument writes it.

    Parameters
    ----------
    text : str
        Unit from a header, a unit row or an instrument's description.
    kind : str
        Key of the dimensions in `feedproof.core.units`.

    Returns
    -------
    str or None
        The unit in a spelling that can be converted; None when it is not a unit of that kind.
        Letters of the wrong case are mended when only one usual unit is meant.

    Examples
    --------
    >>> known_unit("KPA", "pressure"), known_unit("°C", "temperature"), known_unit("A", "flow")
    ('kPa', '°C', None)
    """
    stripped = " ".join(text.split())
    if len(stripped) > 24 or not _UNIT_TEXT.fullmatch(stripped):
        return None
    usual = USUAL_UNITS.get(kind, ())
    folded = _WORDS.get(stripped.lower(), stripped).lower()
    meant = [unit for unit in usual if unit.lower() == folded]
    try:
        if unit_fits(stripped, kind):
            return stripped
    except ValueError:
        pass
    return meant[0] if len(meant) == 1 else None


def is_unit(text: str) -> bool:
    """
    Say whether a text is a unit of anything that a log can hold.

    Parameters
    ----------
    text : str
        Cell of a row that may be a unit row.

    Returns
    -------
    bool
        True for a unit of a channel's kind.

    Examples
    --------
    >>> is_unit("1/min"), is_unit("n Motor")
    (True, False)
    """
    return any(known_unit(text, kind) is not None for kind in USUAL_UNITS)


def same_unit(one: str, other: str, kind: str) -> bool:
    """
    Say whether two spellings mean the same unit.

    Parameters
    ----------
    one, other : str
        Units of the kind.
    kind : str
        Key of the dimensions in `feedproof.core.units`.

    Returns
    -------
    bool
        True when both change a number to SI alike.

    Examples
    --------
    >>> same_unit("1/min", "rpm", "rotation"), same_unit("kPa", "mbar", "pressure")
    (True, False)
    """
    return si_line(one, kind) == si_line(other, kind)


def fitting_units(channel: Channel, median: float, but: str) -> tuple[str, ...]:
    """
    List the usual units in which a reading would be plausible.

    Parameters
    ----------
    channel : Channel
        Any channel but time.
    median : float
        Middle reading as it stands in the file.
    but : str
        Unit to leave out; empty for none.

    Returns
    -------
    tuple of str
        The likeliest first; empty when none fits.

    Examples
    --------
    >>> fitting_units(Channel.FUEL_TEMPERATURE, 313.0, "degC")
    ('K',)
    """
    limits = CHANNEL_KINDS[channel]
    fitting = []
    for unit in USUAL_UNITS[limits.kind]:
        factor, offset = si_line(unit, limits.kind)
        if limits.low <= median * factor + offset <= limits.high and not (
            but and same_unit(unit, but, limits.kind)
        ):
            fitting.append(unit)
    return tuple(fitting)
