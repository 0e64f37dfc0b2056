"""
The logs of one run on one clock: pull window, clock offsets, every channel checked for faults.

The clock kept is that of the log with the road speed.  Other logs' times are shifted, samples
never are: so a channel keeps its own sampling and no padding is made.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedproof.case.case import Case
from feedproof.case.log import Log
from feedproof.case.run import Channel, Run
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, Level, error, note, warning
from feedproof.evidence.faults import (
    PRESSURE_CHANNELS,
    CheckedChannel,
    check_channel,
    check_clock,
)
from feedproof.evidence.inlet import sensor_range, with_depressions
from feedproof.evidence.lag import LEAST_CORRELATION, Lag, find_clock_offset
from feedproof.evidence.reduced import Step
from feedproof.evidence.window import PullWindow, find_pull

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """
    One channel of a run on the run's clock.

    Parameters
    ----------
    channel : Channel
        What it is.
    instrument : str
        Who wrote it.
    time_s : array, shape (n,)
        Times on the run's clock, before the channel's own lag is removed. [s]
    raw : array, shape (n,)
        Samples as written. [channel's unit]
    checked : CheckedChannel
        Samples with faults marked.
    lag_removed : bool
        True when the clock offset was found from this very channel, so that it has no lag
        left.
    """

    channel: Channel
    instrument: str
    time_s: FloatArray
    raw: FloatArray
    checked: CheckedChannel
    lag_removed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembled:
    """
    One run before reduction.

    Parameters
    ----------
    run : Run
        The run.
    traces : mapping of Channel to Trace
        Its channels.
    window : PullWindow
        Its pull.
    steps : tuple of Step
        What was done.
    findings : tuple of Finding
        What was found.
    """

    run: Run
    traces: Mapping[Channel, Trace]
    window: PullWindow
    steps: tuple[Step, ...] = field(default_factory=tuple)
    findings: tuple[Finding, ...] = field(default_factory=tuple)

    def numbers(self, channel: Channel) -> tuple[FloatArray, FloatArray] | None:
        """
        Give times and samples of a channel, without NaN.

        Parameters
        ----------
        channel : Channel
            Which.

        Returns
        -------
        tuple of array or None
            Times and samples as written; None when it is not in the logs.
        """
        trace = self.traces.get(channel)
        if trace is None:
            return None
        finite = np.isfinite(trace.raw)
        return (trace.time_s[finite], trace.raw[finite]) if finite.any() else None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Clocked:
    """A log whose clock has been checked and brought to the run's."""

    log: Log
    offset_s: float
    from_depression: bool = False


def assemble_run(run: Run, logs: Sequence[Log], case: Case) -> Assembled:
    """
    Put a run's logs on one clock, find the pull and check every channel inside it.

    Parameters
    ----------
    run : Run
        The run.
    logs : sequence of Log
        Its logs.
    case : Case
        For what the instruments declare.

    Returns
    -------
    Assembled
        The run, ready for reduction.

    Raises
    ------
    InputError
        No log, no road speed, a clock that runs backward, or no pull; all at once where they
        can be told apart.
    """
    place = f"run {run.number}"
    findings: list[Finding] = []
    ambient_pa = run.ambient_pressure_abs_pa
    usable = with_depressions(_with_good_clocks(logs, place, findings), ambient_pa)
    main = _main_log(usable, place)
    window = _window(main, place)
    findings.extend(window.findings)
    steps = [_window_step(window)]
    clocked = [_Clocked(log=main, offset_s=0.0)]
    for log in usable:
        if log is not main:
            _join_clock(clocked, main, log, place, steps, findings)
    traces = _traces(clocked, window, case, ambient_pa, place, findings)
    steps.append(_fault_step(traces))
    return Assembled(
        run=run, traces=traces, window=window, steps=tuple(steps), findings=tuple(findings)
    )


def depression_trace(assembled: Assembled) -> Trace | None:
    """
    Give the channel that the depression is taken from.

    Parameters
    ----------
    assembled : Assembled
        A run.

    Returns
    -------
    Trace or None
        The depression as logged, else the gauge, else the absolute pressure.
    """
    order = (Channel.INLET_DEPRESSION, Channel.INLET_PRESSURE_GAUGE, Channel.INLET_PRESSURE_ABS)
    for channel in order:
        trace = assembled.traces.get(channel)
        if trace is not None and trace.checked.measured:
            return trace
    return None


def _with_good_clocks(logs: Sequence[Log], place: str, findings: list[Finding]) -> list[Log]:
    """Drop samples without a usable time; refuse logs whose clock cannot be used."""
    errors: list[Finding] = []
    kept: list[Log] = []
    if not logs:
        errors.append(error(place, "no log.", "Attach its logs, or exclude it with a reason."))
    for log in logs:
        good, told = check_clock(log.time_s, f"{place}, log {log.name}")
        errors.extend(one for one in told if one.level is Level.ERROR)
        findings.extend(one for one in told if one.level is not Level.ERROR)
        values = {channel: series[good] for channel, series in log.values.items()}
        kept.append(
            Log(
                instrument=log.instrument,
                name=log.name,
                time_s=log.time_s[good],
                values=values,
                units=log.units,
            )
        )
    if errors:
        raise InputError(errors)
    return kept


def _holds(log: Log, channel: Channel) -> bool:
    """Say whether a log holds a number of a channel."""
    return channel in log.values and bool(np.isfinite(log.values[channel]).any())


def _main_log(logs: Sequence[Log], place: str) -> Log:
    """Choose the log whose clock is kept: with road speed, and with power if there is a choice."""
    with_speed = [log for log in logs if _holds(log, Channel.ROAD_SPEED)]
    if not with_speed:
        text = "none of its logs holds the road speed."
        raise InputError.at(place, text, "Attach the roller cell's log.")
    with_power = [log for log in with_speed if _holds(log, Channel.WHEEL_POWER)]
    return (with_power or with_speed)[0]


def _window(main: Log, place: str) -> PullWindow:
    """Find the pull from wheel power, or from the throttle where power was not measured."""
    for channel in (Channel.WHEEL_POWER, Channel.THROTTLE):
        if _holds(main, channel):
            engine = main.values.get(Channel.ENGINE_SPEED)
            speed = main.values[Channel.ROAD_SPEED]
            return find_pull(main.time_s, speed, main.values[channel], place, engine)
    text = f"log {main.name} holds neither wheel power nor throttle: lift-off cannot be found."
    raise InputError.at(place, text, "Log one of them.")


def _window_step(window: PullWindow) -> Step:
    """Write down the pull window."""
    text = f"pull from {window.start_s:.2f} s to {window.end_s:.2f} s"
    text += f" (lift-off {window.lift_off_s:.2f} s), {window.start_m_per_s * 3.6:.1f} to"
    return Step(name="pull window", detail=f"{text} {window.end_m_per_s * 3.6:.1f} km/h")


def _join_clock(
    clocked: list[_Clocked],
    main: Log,
    log: Log,
    place: str,
    steps: list[Step],
    findings: list[Finding],
) -> None:
    """Bring another log to the kept clock, or leave its channels out and say so."""
    where = f"{place}, log {log.name}"
    for channel in (Channel.ENGINE_SPEED, Channel.ROAD_SPEED):
        if _holds(main, channel) and _holds(log, channel):
            pair, from_depression = (channel, channel), False
            break
    else:
        depression = next((one for one in PRESSURE_CHANNELS if _holds(log, one)), None)
        if depression is None:
            text = "nothing in it can be matched with the road speed: its channels are left out."
            findings.append(warning(where, text, "Log the engine speed with both instruments."))
            return
        pair, from_depression = (Channel.ROAD_SPEED, depression), True
        text = "clock matched by inlet depression against road speed: the lag of the gauge is"
        text += " taken for a difference of clocks."
        findings.append(warning(where, text, "Log the engine speed with both instruments."))
    lag = _offset(main, log, pair)
    if not lag.correlation >= LEAST_CORRELATION:
        text = f"clock offset not found (peak correlation {lag.correlation:.2f}, at least"
        text += f" {LEAST_CORRELATION} needed): its channels are left out."
        findings.append(warning(where, text, "Log from before the pull to after lift-off."))
        return
    detail = f"log {log.name}: {lag.lag_s:+.3f} s by {pair[1]}, correlation {lag.correlation:.2f}"
    steps.append(Step(name="clock offset", detail=detail))
    clocked.append(_Clocked(log=log, offset_s=lag.lag_s, from_depression=from_depression))


def _offset(main: Log, log: Log, pair: tuple[Channel, Channel]) -> Lag:
    """Find the offset of a log's clock from a pair of channels that move together."""
    sign = -1.0 if pair[1] in PRESSURE_CHANNELS - {Channel.INLET_DEPRESSION} else 1.0
    return find_clock_offset(
        main.time_s, main.values[pair[0]], log.time_s, sign * log.values[pair[1]]
    )


def _traces(
    clocked: Sequence[_Clocked],
    window: PullWindow,
    case: Case,
    ambient_pa: float,
    place: str,
    findings: list[Finding],
) -> dict[Channel, Trace]:
    """Check every channel; where two logs hold one, the kept clock's log goes first."""
    traces: dict[Channel, Trace] = {}
    for entry in clocked:
        time_s = entry.log.time_s + entry.offset_s
        inside = (time_s >= window.start_s) & (time_s <= window.end_s)
        full_load = (time_s >= window.start_s) & (time_s < window.lift_off_s)
        for channel, values in entry.log.values.items():
            where = f"{place}, {channel}"
            if channel in traces or channel is Channel.TIME:
                if channel is not Channel.TIME:
                    text = f"also in log {entry.log.name}; the log with the road speed is used."
                    findings.append(note(where, text))
                continue
            sensor = sensor_range(case, entry.log.instrument, channel, ambient_pa)
            checked = check_channel(channel, time_s, values, inside, sensor, where, full_load)
            findings.extend(checked.findings)
            traces[channel] = Trace(
                channel=channel,
                instrument=entry.log.instrument,
                time_s=time_s,
                raw=values,
                checked=checked,
                lag_removed=entry.from_depression and channel in PRESSURE_CHANNELS,
            )
    return traces


def _fault_step(traces: Mapping[Channel, Trace]) -> Step:
    """Write down how many samples each fault rule marked."""
    rules: tuple[tuple[str, Callable[[CheckedChannel], int]], ...] = (
        ("saturated", lambda checked: int(checked.saturated.sum())),
        ("stuck", lambda checked: int(checked.stuck.sum())),
        ("dropout", lambda checked: int(checked.dropout.sum())),
        ("outlier (kept)", lambda checked: int(checked.outlier.sum())),
    )
    parts = []
    for channel, trace in traces.items():
        counts = [f"{count(trace.checked)} {name}" for name, count in rules if count(trace.checked)]
        if counts:
            parts.append(f"{channel}: {', '.join(counts)}")
    return Step(name="faults", detail="; ".join(parts) or "none found in any channel")
