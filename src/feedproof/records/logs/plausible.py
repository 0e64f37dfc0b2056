"""Readings that can be right as numbers and wrong in meaning: swapped units, mixed-up pressures."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from feedproof.case.run import Channel
from feedproof.core.findings import Finding, error, note, warning
from feedproof.core.units import DIMENSIONS, from_si, si_line
from feedproof.records.logs.channels import CHANNEL_KINDS, fitting_units

FloatArray = NDArray[np.float64]

# Common practice (no source): what a reading at rest may stray from nothing.
_ZERO_PA = 500.0
_PUSHED_PA = 2e3
# Lower than the air on any road: at 5,500 m it is still 50 kPa, and a pump that draws 35 kPa
# there starves.
_LEAST_ABS_PA = 15e3
# More than any suction line draws while the engine runs, less than the air.
_MOST_DEPRESSION_PA = 60e3


def unit_findings(channel: Channel, place: str, values: FloatArray, unit: str) -> list[Finding]:
    """
    Compare the middle reading of a channel with its plausible range.

    Parameters
    ----------
    channel : Channel
        Any channel but time.
    place : str
        Where it stands, for the message.
    values : array, shape (n,)
        In SI; NaN for not measured.
    unit : str
        Unit that was taken.

    Returns
    -------
    list of Finding
        An error with the units that would fit when the middle reading is not plausible; a
        warning when there is no reading.
    """
    limits = CHANNEL_KINDS[channel]
    # Fewer than half below and fewer than half above: the middle one lies between, unsorted.
    half = values.size / 2
    if max(
        np.count_nonzero(~(values >= limits.low)), np.count_nonzero(~(values <= limits.high))
    ) < (half):
        return []
    finite = values[np.isfinite(values)]
    if not finite.size:
        return [warning(place, "holds no reading at all.", "Look at its sensor.")]
    middle = float(np.median(finite))
    if limits.low <= middle <= limits.high:
        return []
    factor, offset = si_line(unit, limits.kind)
    raw = (middle - offset) / factor
    fitting = fitting_units(channel, raw, unit)
    low, high = (from_si(end, unit, limits.kind) for end in (limits.low, limits.high))
    hint = (
        f"The numbers would fit {', '.join(fitting)}: mend the unit of the channel."
        if fitting
        else f"No usual unit of {DIMENSIONS[limits.kind].name} fits: is it the right column?"
    )
    return [
        error(
            place,
            f"swapped unit? Its middle reading is {raw:.6g} {unit}, plausible are {low:.6g} to"
            f" {high:.6g} {unit}.",
            hint,
        )
    ]


def pressure_findings(place: str, values: Mapping[Channel, FloatArray]) -> list[Finding]:
    """
    Look for depression, gauge and absolute pressures that were taken for each other.

    Parameters
    ----------
    place : str
        Name of the log, for the message.
    values : mapping of Channel to array, shape (n,)
        As mapped, in SI.

    Returns
    -------
    list of Finding
        What is likely mixed up and what to write instead.
    """
    findings = []
    for channel, check in (
        (Channel.INLET_DEPRESSION, _check_depression),
        (Channel.INLET_PRESSURE_GAUGE, _check_gauge),
        (Channel.INLET_PRESSURE_ABS, _check_abs),
    ):
        readings = values.get(channel)
        if readings is None:
            continue
        measured = np.isfinite(readings)
        finite = readings if measured.all() else readings[measured]
        if finite.size:
            findings += check(f"{place}, channel {channel}", finite)
    return findings


def _check_depression(place: str, readings: FloatArray) -> list[Finding]:
    """Expect a positive depression when the pump draws."""
    drawn = 2 * np.count_nonzero(readings < -_ZERO_PA) > readings.size
    if not drawn and 2 * np.count_nonzero(readings > _MOST_DEPRESSION_PA) < readings.size:
        return []  # the middle reading is below it too, unsorted
    middle = float(np.median(readings))
    if drawn:
        return [
            error(
                place,
                f"most readings are negative (middle {middle / 1e3:.3g} kPa): this looks like gauge"
                " pressure.",
                f"Map the column as {Channel.INLET_PRESSURE_GAUGE}.",
            )
        ]
    if middle > _MOST_DEPRESSION_PA:
        return [
            warning(
                place,
                f"the middle reading is {middle / 1e3:.3g} kPa: this looks like absolute pressure.",
                f"If so, map the column as {Channel.INLET_PRESSURE_ABS}.",
            )
        ]
    return []


def _check_gauge(place: str, readings: FloatArray) -> list[Finding]:
    """
    Refuse a gauge at a pump that draws and reads above nothing.

    A case of this version knows no lift pump, so that a positive reading is a mix-up.
    """
    middle = float(np.median(readings))
    if middle > _MOST_DEPRESSION_PA:
        return [
            error(
                place,
                f"the middle reading is {middle / 1e3:.3g} kPa above ambient: this looks like"
                " absolute pressure.",
                f"Map the column as {Channel.INLET_PRESSURE_ABS}.",
            )
        ]
    if (readings > _PUSHED_PA).mean() > 0.5:
        return [
            error(
                place,
                f"most readings are above 2 kPa (middle {middle / 1e3:.3g} kPa): this looks like a"
                " depression written without its sign.",
                f"Map the column as {Channel.INLET_DEPRESSION}.",
            )
        ]
    return []


def _check_abs(place: str, readings: FloatArray) -> list[Finding]:
    """Expect an absolute pressure at a working pump to be far from nothing."""
    middle = float(np.median(readings))
    if middle >= _LEAST_ABS_PA:
        return []
    other = Channel.INLET_PRESSURE_GAUGE if middle < 0 else Channel.INLET_DEPRESSION
    return [
        error(
            place,
            f"the middle reading is {middle / 1e3:.3g} kPa, below 15 kPa absolute: this looks like"
            f" {'gauge pressure' if middle < 0 else 'a depression'}.",
            f"Map the column as {other}.",
        )
    ]


def as_depression(
    place: str, values: dict[Channel, FloatArray], units: dict[Channel, str]
) -> list[Finding]:
    """
    Turn gauge pressure at the inlet into depression, where the log has no depression.

    Parameters
    ----------
    place : str
        Name of the log, for the message.
    values : dict of Channel to array, shape (n,)
        As mapped, in SI; changed in place.
    units : dict of Channel to str
        Units in the file; changed in place.

    Returns
    -------
    list of Finding
        What was done, and what was left to whoever knows the ambient pressure.
    """
    findings = []
    gauge, depression = Channel.INLET_PRESSURE_GAUGE, Channel.INLET_DEPRESSION
    if gauge in values and depression not in values:
        # Subtracted from nothing, so that a reading of 0 does not become -0.
        values[depression] = 0.0 - values.pop(gauge)
        units[depression] = units.pop(gauge)
        findings.append(
            note(f"{place}, channel {gauge}", "was turned into depression (its negative).")
        )
    if Channel.INLET_PRESSURE_ABS in values and depression not in values:
        findings.append(
            note(
                f"{place}, channel {Channel.INLET_PRESSURE_ABS}",
                "stays absolute: the run's ambient pressure turns it into depression.",
            )
        )
    return findings
