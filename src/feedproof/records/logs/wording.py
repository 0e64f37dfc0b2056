"""Words by which the columns of logs are called: they suggest a channel and never settle it."""

import re

from feedproof.case.run import Channel

# Common practice (no source): English, German and French as loggers write them.  Order counts
# where one name holds the words of two: the first is taken.
_WORDS: tuple[tuple[Channel, str], ...] = (
    (Channel.RAIL_PRESSURE_DEMAND, r"rail.*(demand|desired|target|set|soll|consigne)"),
    (Channel.RAIL_PRESSURE, r"rail|rampe"),
    (Channel.FUEL_RATE, r"(fuel|kraftstoff).*(rate|flow|consum)|verbrauch|consommation"),
    (Channel.FUEL_LEVEL, r"(fuel|tank).*level|füllstand|fuellstand|niveau"),
    (
        Channel.FUEL_TEMPERATURE,
        r"(fuel|kraftstoff|zulauf|carburant|gazole).*temp"
        r"|temp.*(fuel|kraftstoff|zulauf|carburant|gazole)",
    ),
    (
        Channel.AIR_TEMPERATURE,
        r"(air|ambient|luft|umgebung|cell).*temp|temp.*(air|ambient|luft|umgebung)",
    ),
    (
        Channel.AIR_PRESSURE_ABS,
        r"baro|atmos|luftdruck|(air|ambient|umgebung).*(press|druck)|p[ _]?amb",
    ),
    (Channel.RELATIVE_HUMIDITY, r"humid|feuchte|r\.?h\.?$"),
    (Channel.INLET_DEPRESSION, r"depression|dépression|vacuum|unterdruck|suction"),
    (Channel.INLET_PRESSURE_ABS, r"(inlet|pump|suction).*press.*abs|(inlet|pump).*abs"),
    (Channel.INLET_PRESSURE_GAUGE, r"(inlet|pump).*(press.*)?(gauge|rel)"),
    (Channel.WHEEL_POWER, r"power|leistung|puissance"),
    (Channel.ENGINE_SPEED, r"rpm|engine.*speed|^engine$|drehzahl|n[ _.]*mot|régime"),
    (Channel.ROAD_SPEED, r"(road|vehicle|wheel|roller).*speed|^speed$|geschwindigkeit|vitesse"),
    (Channel.THROTTLE, r"throttle|pedal|accelerator|gaspedal|drosselklappe"),
    (Channel.TIME, r"^t$|time|zeit|temps$|clock|uhr"),
)


def channel_by_name(name: str) -> tuple[Channel, str] | None:
    """
    Say which channel a column's name suggests.

    Parameters
    ----------
    name : str
        Header of the column without its unit.

    Returns
    -------
    tuple of (Channel, str) or None
        The channel and the words that suggest it; None where the name says nothing.

    Examples
    --------
    >>> channel_by_name("Rail ist")
    (<Channel.RAIL_PRESSURE: 'rail_pressure'>, 'rail')
    >>> channel_by_name("AD3") is None
    True
    """
    text = name[:100].replace("_", " ").casefold().strip()
    for channel, words in _WORDS:
        if found := re.search(words, text):
            return channel, found.group(0)
    return None
