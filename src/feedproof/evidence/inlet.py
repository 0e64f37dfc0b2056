"""
The pump inlet's pressure as a depression, whatever form an instrument gives it in.

Done before anything is checked, so that one rule finds a sensor at its end: an absolute pressure
saturates at the low end of its range, a depression at the high one.
"""

from collections.abc import Sequence
from dataclasses import replace

from feedproof.case.case import Case
from feedproof.case.log import Log
from feedproof.case.run import Channel, ChannelMap
from feedproof.evidence.corrections import as_depression
from feedproof.evidence.faults import SensorRange

_OTHER_FORMS = (Channel.INLET_PRESSURE_GAUGE, Channel.INLET_PRESSURE_ABS)


def with_depressions(logs: Sequence[Log], ambient_pressure_abs_pa: float) -> list[Log]:
    """
    Turn gauge and absolute inlet pressures into depressions.

    Parameters
    ----------
    logs : sequence of Log
        Logs of one run.
    ambient_pressure_abs_pa : float
        Air pressure during the run. [Pa]

    Returns
    -------
    list of Log
        The same logs; a depression that was logged itself is kept.
    """
    changed = []
    for log in logs:
        values = dict(log.values)
        for channel in _OTHER_FORMS:
            if channel in values and Channel.INLET_DEPRESSION not in values:
                pressures = values.pop(channel)
                values[Channel.INLET_DEPRESSION] = as_depression(
                    channel, pressures, ambient_pressure_abs_pa
                )
        changed.append(replace(log, values=values))
    return changed


def sensor_range(
    case: Case, instrument: str, channel: Channel, ambient_pressure_abs_pa: float
) -> SensorRange:
    """
    Give what the case declares of a channel's sensor, as the channel is checked.

    Parameters
    ----------
    case : Case
        With its instruments.
    instrument : str
        Id of the instrument.
    channel : Channel
        The channel.
    ambient_pressure_abs_pa : float
        Air pressure during the run. [Pa]

    Returns
    -------
    SensorRange
        For the depression also from a sensor that is declared in gauge or absolute pressure,
        whose floor is the depression's ceiling.
    """
    known = case.instruments.get(instrument)
    entries = {entry.channel: entry for entry in known.channels} if known else {}
    if channel in entries:
        return _as_declared(entries[channel])
    if channel is Channel.INLET_DEPRESSION:
        for form in _OTHER_FORMS:
            if form in entries:
                shift = ambient_pressure_abs_pa if form is Channel.INLET_PRESSURE_ABS else 0.0
                return _turned(entries[form], shift)
    return SensorRange()


def _as_declared(entry: ChannelMap) -> SensorRange:
    """Give a range as the case declares it."""
    return SensorRange(ceiling=entry.ceiling, floor=entry.floor, resolution=entry.resolution)


def _turned(entry: ChannelMap, shift_pa: float) -> SensorRange:
    """Turn a range of pressure into one of depression."""
    return SensorRange(
        ceiling=None if entry.floor is None else shift_pa - entry.floor,
        floor=None if entry.ceiling is None else shift_pa - entry.ceiling,
        resolution=entry.resolution,
    )
