"""
Faults of a channel inside the pull: saturated, stuck, dropped out, outlying.

A rule on scatter alone misses dropouts, because pulsation widens the scatter that it compares
with (own simulation): hence the explicit rules on the ends of the range and on repeated values.
Nothing is removed in silence: every mark comes with a finding.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedproof.case.run import Channel
from feedproof.core.findings import Finding, error, note, warning
from feedproof.evidence.filters import (
    half_samples,
    robust_sd,
    running_mean,
    running_median,
    sample_period,
)

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

SATURATED_LEAST_SAMPLES = 10
SATURATED_LEAST_SHARE = 0.005
STUCK_LEAST_S = 0.2
STUCK_CHANCE = 1e-4
DROPOUT_LEAST_SAMPLES = 5
GAP_PERIODS = 3.0
LONGEST_FILLED_S = 0.1
OUTLIER_SDS = 6.0
OUTLIER_WINDOW_S = 1.0
OUTLIER_FLAG_SHARE = 0.005

PRESSURE_CHANNELS = frozenset(
    {Channel.INLET_DEPRESSION, Channel.INLET_PRESSURE_ABS, Channel.INLET_PRESSURE_GAUGE}
)
# Demands, throttle, level and temperatures may rightly stand still through a pull.
LIVELY_CHANNELS = PRESSURE_CHANNELS | {
    Channel.ROAD_SPEED,
    Channel.ENGINE_SPEED,
    Channel.WHEEL_POWER,
    Channel.RAIL_PRESSURE,
}
# Computed or set by a foot: kinks are their nature, and no sensor can spike.
COMMANDED_CHANNELS = frozenset({Channel.RAIL_PRESSURE_DEMAND, Channel.THROTTLE})


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorRange:
    """
    What is known of a sensor's range and steps, in SI.

    Parameters
    ----------
    ceiling, floor, resolution : float or None
        Largest and smallest reading, and step; None when not declared. [channel's unit]
    """

    ceiling: float | None = None
    floor: float | None = None
    resolution: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedChannel:
    """
    A channel with its faults marked.

    Parameters
    ----------
    values : array, shape (n,)
        Samples; dropouts shorter than 0.1 s are bridged by a straight line. [channel's unit]
    usable : array of bool, shape (n,)
        False where there is no measurement, or a stuck or saturated one, or outside the pull.
    saturated, stuck, dropout, outlier : array of bool, shape (n,)
        Marks; outliers stay usable.
    censored : bool
        True when the sensor was at its ceiling: the channel is a lower bound.
    measured : bool
        False when the pull holds no number at all.
    findings : tuple of Finding
        One for each kind of fault, with place, time span and count.
    """

    values: FloatArray
    usable: BoolArray
    saturated: BoolArray
    stuck: BoolArray
    dropout: BoolArray
    outlier: BoolArray
    censored: bool
    measured: bool
    findings: tuple[Finding, ...] = field(default_factory=tuple)


def check_clock(time_s: FloatArray, place: str) -> tuple[BoolArray, tuple[Finding, ...]]:
    """
    Check that a log's clock runs forward.

    Parameters
    ----------
    time_s : array, shape (n,)
        Times as written. [s]
    place : str
        Run and log, for messages.

    Returns
    -------
    array of bool, shape (n,)
        Samples whose time can be used.
    tuple of Finding
        An error when time runs backward, or when more than 0.5 % of the times are repeated
        or missing; a warning for a few.
    """
    keep = np.isfinite(time_s)
    times = time_s[keep]
    backward = int((np.diff(times) < 0.0).sum())
    if times.size < 2 or backward:
        text = f"time runs backward at {backward} of {times.size} samples"
        if times.size < 2:
            text = f"only {times.size} samples have a time"
        return keep, (error(place, f"{text}; it must increase.", "Export the log again."),)
    repeated = np.concatenate(([False], np.diff(times) == 0.0))
    lost = int(repeated.sum() + (~keep).sum())
    keep[np.flatnonzero(keep)[repeated]] = False
    if not lost:
        return keep, ()
    text = f"{lost} of {time_s.size} samples repeat a time or have none"
    if lost > SATURATED_LEAST_SHARE * time_s.size:
        return keep, (error(place, f"{text}, more than 0.5 %.", "Export the log again."),)
    return keep, (warning(place, f"{text}; the later of each pair is not used."),)


def inferred_resolution(values: FloatArray) -> float:
    """
    Take the step of the readings from the data.

    Parameters
    ----------
    values : array, shape (n,)
        Samples without NaN. [any]

    Returns
    -------
    float
        Smallest step between different readings; 0 when all are alike. [any]
    """
    distinct = np.unique(values)
    if distinct.size < 2:
        return 0.0
    steps = np.diff(distinct)
    # Decimal text read into binary leaves steps of rounding size that are no steps.
    real = steps[steps > 1e-9 * max(float(np.abs(distinct).max()), 1e-300)]
    return float(real.min()) if real.size else 0.0


def check_channel(
    channel: Channel,
    time_s: FloatArray,
    values: FloatArray,
    inside: BoolArray,
    sensor: SensorRange,
    place: str,
    full_load: BoolArray | None = None,
) -> CheckedChannel:
    """
    Mark a channel's faults inside the pull.

    Parameters
    ----------
    channel : Channel
        What it is; only lively quantities can be called stuck.
    time_s, values : array, shape (n,)
        Increasing times and samples. [s], [channel's unit]
    inside : array of bool, shape (n,)
        True inside the pull; padding made by time shifting must be False and is skipped.
    sensor : SensorRange
        What the instrument declares.
    place : str
        Run and channel, for messages.
    full_load : array of bool, shape (n,), optional
        True up to lift-off, where saturation is looked for: a sensor that is at its ceiling
        in the guard before lift-off has not shown the largest depression.

    Returns
    -------
    CheckedChannel
        Marks, cleaned values and findings.
    """
    finite = np.isfinite(values)
    here = inside & finite
    nothing = np.zeros(values.size, dtype=np.bool_)
    if not here.any():
        told = (note(place, "not measured: the pull holds no number."),)
        return CheckedChannel(
            values=values.copy(),
            usable=nothing,
            saturated=nothing,
            stuck=nothing,
            dropout=nothing,
            outlier=nothing,
            censored=False,
            measured=False,
            findings=told,
        )
    findings: list[Finding] = []
    step = _resolution(channel, values[here], sensor, place, findings)
    floor = _at_floor(channel, values, here, sensor, step)
    gaps = _gaps(time_s, inside, finite | ~inside)
    dropout = inside & (floor | ~finite)
    loaded = (here if full_load is None else full_load & finite) & ~floor
    saturated = _saturated(channel, values, loaded, sensor, step, place, findings)
    stuck = _stuck(channel, time_s, values, here & ~floor & ~saturated)
    judged = here & ~floor & ~stuck & ~saturated
    outlier = _outliers(time_s, values, judged & (channel not in COMMANDED_CHANNELS), step)
    _tell(findings, place, time_s, here, {"STUCK": stuck, "OUTLIER": outlier})
    _tell_dropout(findings, place, time_s, floor, inside & ~finite, gaps)
    _tell_saturated(findings, place, time_s, saturated)
    cleaned, bridged = _bridge(time_s, values, dropout & ~stuck)
    return CheckedChannel(
        values=np.where(dropout & ~bridged, np.nan, cleaned),
        usable=(here & ~floor & ~stuck & ~saturated) | bridged,
        saturated=saturated,
        stuck=stuck,
        dropout=dropout,
        outlier=outlier,
        censored=bool(saturated.any()) and channel in PRESSURE_CHANNELS,
        measured=True,
        findings=tuple(findings),
    )


def _resolution(
    channel: Channel,
    values: FloatArray,
    sensor: SensorRange,
    place: str,
    findings: list[Finding],
) -> float:
    """Give the declared step of the readings, or the one that the data show, and say which."""
    if sensor.resolution is not None:
        return sensor.resolution
    step = inferred_resolution(values)
    if channel in PRESSURE_CHANNELS:
        text = f"no resolution declared; the smallest step in the log is {step:.4g} (SI)."
        findings.append(note(place, text, "Declare it with the instrument."))
    return step


def _at_floor(
    channel: Channel, values: FloatArray, here: BoolArray, sensor: SensorRange, step: float
) -> BoolArray:
    """Mark samples at the electrical floor: the declared one, or dead zeros."""
    if sensor.floor is not None:
        return here & (np.nan_to_num(values) <= sensor.floor + 0.5 * step)
    if channel not in LIVELY_CHANNELS or channel is Channel.INLET_PRESSURE_GAUGE:
        return np.zeros(values.size, dtype=np.bool_)
    zero: BoolArray = here & (values == 0.0)
    # A quantity that passes through zero on its way reads zero rightly; a dead input jumps.
    rest = values[here & ~zero]
    if not rest.size or np.median(np.abs(rest)) < OUTLIER_SDS * max(robust_sd(rest) / 3.0, step):
        return np.zeros(values.size, dtype=np.bool_)
    return zero


def _gaps(time_s: FloatArray, inside: BoolArray, numbers: BoolArray) -> list[tuple[float, float]]:
    """List stretches without a number longer than three of the channel's own periods."""
    times = time_s[numbers & inside]
    if times.size < 3:
        return []
    steps = np.diff(times)
    limit = GAP_PERIODS * float(np.median(steps)) * (1.0 + 1e-9)
    return [(float(times[k]), float(times[k + 1])) for k in np.flatnonzero(steps > limit)]


def _saturated(
    channel: Channel,
    values: FloatArray,
    here: BoolArray,
    sensor: SensorRange,
    step: float,
    place: str,
    findings: list[Finding],
) -> BoolArray:
    """Mark samples at the ceiling when there are enough of them."""
    needed = max(SATURATED_LEAST_SAMPLES, math.ceil(SATURATED_LEAST_SHARE * int(here.sum())))
    none = np.zeros(values.size, dtype=np.bool_)
    if sensor.ceiling is not None:
        marked: BoolArray = here & (np.nan_to_num(values) >= sensor.ceiling - 0.5 * step)
        if 0 < marked.sum() < needed:
            text = f"{int(marked.sum())} samples touch the ceiling, fewer than {needed}: kept."
            findings.append(note(place, text))
        if marked.sum() >= needed or channel not in PRESSURE_CHANNELS:
            return marked if marked.sum() >= needed else none
        heap = _repeated_extreme(channel, values, here, step, needed)
        if heap.any():
            # A sensor that ends below its declared range must not pass for a merely stuck one.
            text = "readings pile up at their largest value, below the declared ceiling of"
            text += f" {sensor.ceiling:.4g}: taken for the true ceiling."
            findings.append(warning(place, text, "Check the declared range, or the sensor."))
        return heap
    if channel not in PRESSURE_CHANNELS:
        return none
    text = "no ceiling declared: saturation can only be told from repeated maxima."
    findings.append(note(place, text, "Declare the sensor's ceiling with the instrument."))
    return _repeated_extreme(channel, values, here, step, needed)


def _repeated_extreme(
    channel: Channel, values: FloatArray, here: BoolArray, step: float, needed: int
) -> BoolArray:
    """Mark the largest depression where it comes far more often than the readings below it."""
    none = np.zeros(values.size, dtype=np.bool_)
    signed = values if channel is Channel.INLET_DEPRESSION else -values
    held = signed[here]
    top = float(held.max())
    width = max(step, 1e-12)
    at_top: BoolArray = here & (np.nan_to_num(signed, nan=-np.inf) >= top - 0.5 * width)
    below = int(((held < top - 0.5 * width) & (held >= top - 5.5 * width)).sum()) / 5.0
    # A coarse step repeats every reading: only a heap at the very top is a ceiling.
    return at_top if at_top.sum() >= needed and at_top.sum() > 3.0 * max(below, 1.0) else none


def _stuck(channel: Channel, time_s: FloatArray, values: FloatArray, here: BoolArray) -> BoolArray:
    """Mark runs of identical samples that the channel's usual share of repeats cannot explain."""
    marked = np.zeros(values.size, dtype=np.bool_)
    index = np.flatnonzero(here)
    if channel not in LIVELY_CHANNELS or index.size < 3:
        return marked
    equal = values[index[1:]] == values[index[:-1]]
    longest = _longest_by_chance(equal, index.size)
    period = sample_period(time_s[index])
    starts = np.flatnonzero(np.concatenate(([True], ~equal)))
    lengths = np.diff(np.concatenate((starts, [index.size])))
    for start, length in zip(starts, lengths, strict=True):
        if length > longest and length * period > STUCK_LEAST_S and length > 2:
            marked[index[start : start + length]] = True
    return marked


def _longest_by_chance(equal: BoolArray, samples: int) -> float:
    """Give the longest run of equal samples to be expected once in ten thousand pulls."""
    # The usual share is the median over ten blocks: a stuck stretch must not excuse itself.
    shares = [float(block.mean()) for block in np.array_split(equal, 10) if block.size]
    usual = min(max(float(np.median(shares)), 1.0 / max(equal.size, 2)), 1.0 - 1e-9)
    return math.ceil(math.log(STUCK_CHANCE / samples) / math.log(usual))


def _outliers(time_s: FloatArray, values: FloatArray, here: BoolArray, step: float) -> BoolArray:
    """Mark samples far from the running median; they stay in use."""
    marked = np.zeros(values.size, dtype=np.bool_)
    index = np.flatnonzero(here)
    if index.size < 5:
        return marked
    reach = half_samples(OUTLIER_WINDOW_S, sample_period(time_s[index]))
    # On a clean sweep the running median is the sample itself, and the scatter would come out
    # as nil: so the trend goes first, by a mean that leaves straight lines alone.
    level = values[index] - running_mean(values[index], reach)
    residual = level - running_median(level, reach)
    scale = max(robust_sd(residual), 0.5 * step)
    if scale > 0.0:
        marked[index[np.abs(residual) > OUTLIER_SDS * scale]] = True
    return marked


def _bridge(
    time_s: FloatArray, values: FloatArray, dropout: BoolArray
) -> tuple[FloatArray, BoolArray]:
    """Bridge dropouts shorter than 0.1 s by straight lines; longer ones stay cut."""
    bridged = np.zeros(values.size, dtype=np.bool_)
    good = np.isfinite(values) & ~dropout
    if not dropout.any() or good.sum() < 2:
        return values.copy(), bridged
    places = np.flatnonzero(good)
    for place in np.flatnonzero(dropout):
        right = int(np.searchsorted(places, place))
        if 0 < right < places.size:
            span = time_s[places[right]] - time_s[places[right - 1]]
            bridged[place] = span < LONGEST_FILLED_S
    line = np.interp(time_s, time_s[good], values[good])
    return np.where(bridged, line, values), bridged


def _span(time_s: FloatArray, marked: BoolArray) -> str:
    """Write the time span and count of marked samples."""
    times = time_s[marked]
    return f"{int(marked.sum())} samples between {times[0]:.2f} s and {times[-1]:.2f} s"


def _tell(
    findings: list[Finding],
    place: str,
    time_s: FloatArray,
    here: BoolArray,
    marks: dict[str, BoolArray],
) -> None:
    """Add findings on stuck and outlying samples."""
    if marks["STUCK"].any():
        text = f"STUCK: {_span(time_s, marks['STUCK'])} read all the same; they are not used."
        findings.append(warning(place, text, "Check sensor, plug and logger."))
    outlier = marks["OUTLIER"]
    if outlier.any():
        text = f"OUTLIER: {_span(time_s, outlier)} lie off the running median; kept."
        share = float(outlier.sum() / here.sum())
        make = warning if share > OUTLIER_FLAG_SHARE else note
        findings.append(make(place, f"{text} That is {100.0 * share:.2f} % of the pull."))


def _tell_dropout(
    findings: list[Finding],
    place: str,
    time_s: FloatArray,
    floor: BoolArray,
    missing: BoolArray,
    gaps: list[tuple[float, float]],
) -> None:
    """Add findings on dropouts: samples at the floor, NaN stretches, gaps of the clock."""
    if floor.any():
        few = floor.sum() < DROPOUT_LEAST_SAMPLES
        text = f"DROPOUT: {_span(time_s, floor)} are at the electrical floor; they are not used."
        findings.append((note if few else warning)(place, text, "Check plug and supply."))
    if missing.sum() >= DROPOUT_LEAST_SAMPLES and not gaps:
        # Regular blanks are a channel that is written more seldom than the rows.
        findings.append(note(place, f"{int(missing.sum())} rows of the pull hold no number."))
    if gaps:
        longest = max(end - start for start, end in gaps)
        text = f"DROPOUT: {len(gaps)} gaps between {gaps[0][0]:.2f} s and {gaps[-1][1]:.2f} s"
        findings.append(warning(place, f"{text}, the longest {longest:.2f} s.", "Cut out."))


def _tell_saturated(
    findings: list[Finding], place: str, time_s: FloatArray, saturated: BoolArray
) -> None:
    """Add the finding on a saturated sensor."""
    if saturated.any():
        text = f"SATURATED: {_span(time_s, saturated)} are at the ceiling: a lower bound only."
        findings.append(warning(place, text, "Use a sensor with a larger range."))
