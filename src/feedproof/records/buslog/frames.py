"""Frames of a bus log, kept by sender and identifier, and everything in the file that is none."""

from array import array
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedproof.core.errors import InputError

FloatArray = NDArray[np.float64]
Payload = NDArray[np.uint8]

MOST_BYTES = 8
"""Bytes of a frame that are kept: signals beyond them (CAN FD) are told as not read."""
STEP_BACK_S = 1.0
"""Interfaces written together swap places by less (common practice); a clock set back, more."""


@dataclass(frozen=True, slots=True)
class FrameKey:
    """
    What tells frames apart.

    Parameters
    ----------
    interface : str
        Name of the bus in the log.
    identifier : int
        Without flags.
    extended : bool
        True for 29 bits.
    """

    interface: str
    identifier: int
    extended: bool

    def __str__(self) -> str:
        """Write the identifier as the trade does."""
        return f"{self.identifier:08X}" if self.extended else f"{self.identifier:03X}"


@dataclass(slots=True)
class Stream:
    """
    Frames of one identifier on one interface, in the order of the file.

    Parameters
    ----------
    times : array of float
        Seconds as written. [s]
    lengths : array of int
        Bytes that each frame had.
    payload : bytearray
        Eight bytes a frame, filled up with nil.
    """

    times: "array[float]" = field(default_factory=lambda: array("d"))
    lengths: "array[int]" = field(default_factory=lambda: array("B"))
    payload: bytearray = field(default_factory=bytearray)

    def arrays(self, order: bool = True) -> tuple[FloatArray, Payload, NDArray[np.uint8]]:
        """
        Give times, bytes and lengths.

        Parameters
        ----------
        order : bool
            Sort by time; frames of one time keep their order.

        Returns
        -------
        times : array, shape (n,)
            [s]
        payload : array, shape (n, 8)
            Bytes.
        lengths : array, shape (n,)
            Bytes that each frame had.
        """
        times = np.frombuffer(self.times, np.float64)
        payload = np.frombuffer(bytes(self.payload), np.uint8).reshape(-1, MOST_BYTES)
        lengths = np.frombuffer(self.lengths, np.uint8)
        if not order or bool((times[1:] >= times[:-1]).all()):
            return times, payload, lengths
        sorting = np.argsort(times, kind="stable")
        return times[sorting], payload[sorting], lengths[sorting]


@dataclass(slots=True)
class BusLog:
    """
    What stands in a bus log.

    Parameters
    ----------
    wanted : callable
        Says of an identifier and whether it is extended if its frames can be understood.
    streams : dict of FrameKey to Stream
        Frames that are.
    others : dict of FrameKey to int
        Frames that are not, counted.
    frames : int
        All frames with data.
    errors, remotes : int
        Error frames and remote requests.
    broken : list of tuple of (int, str)
        Line number and text of the first lines that could not be read.
    broken_count : int
        All of them.
    start : str
        When the recording began, where the file says it.
    notes, warnings : list of str
        What was concluded, and what must be known of the file.
    first_s : float
        First time. [s]
    swapped : int
        Frames that are a little earlier than the one before.
    """

    wanted: Callable[[int, bool], bool]
    streams: dict[FrameKey, Stream] = field(default_factory=dict)
    others: dict[FrameKey, int] = field(default_factory=dict)
    frames: int = 0
    errors: int = 0
    remotes: int = 0
    broken: list[tuple[int, str]] = field(default_factory=list)
    broken_count: int = 0
    start: str = ""
    notes: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    first_s: float = float("nan")
    swapped: int = 0
    _last_s: float = float("-inf")

    def add(
        self, time_s: float, interface: str, identifier: int, extended: bool, data: bytes, line: int
    ) -> None:
        """
        Take a frame.

        Parameters
        ----------
        time_s : float
            As written. [s]
        interface : str
            Name of the bus.
        identifier : int
            Without flags.
        extended : bool
            True for 29 bits.
        data : bytes
            Its data.
        line : int
            Number of its line, or of the frame in a binary file, from 1.

        Raises
        ------
        InputError
            The clock was set back.
        """
        if time_s < self._last_s:
            if time_s < self._last_s - STEP_BACK_S:
                raise InputError.at(
                    f"line {line}" if line else f"frame {self.frames + 1}",
                    f"the clock goes back from {self._last_s:.6f} s to {time_s:.6f} s.",
                    "Cut the log where recording began anew, one file for each part.",
                )
            self.swapped += 1
        else:
            self._last_s = time_s
        if self.frames == 0:
            self.first_s = time_s
        self.first_s = min(self.first_s, time_s)
        self.frames += 1
        key = FrameKey(interface, identifier, extended)
        stream = self.streams.get(key)
        if stream is None:
            if not self.wanted(identifier, extended):
                self.others[key] = self.others.get(key, 0) + 1
                return
            stream = self.streams[key] = Stream()
        stream.times.append(time_s)
        stream.lengths.append(min(len(data), 255))
        stream.payload += data[:MOST_BYTES].ljust(MOST_BYTES, b"\0")

    def refuse(self, line: int, text: str) -> None:
        """
        Count a line that cannot be read.

        Parameters
        ----------
        line : int
            Its number, from 1.
        text : str
            What stands there.
        """
        self.broken_count += 1
        if len(self.broken) < 3:
            shown = text if len(text) <= 60 else f"{text[:60]}..."
            self.broken.append((line, shown))

    def interfaces(self) -> tuple[str, ...]:
        """
        List the buses.

        Returns
        -------
        tuple of str
            Names of all that had a frame.
        """
        return tuple(sorted({key.interface for key in (*self.streams, *self.others)}))

    def of(self, extended: bool) -> Iterator[tuple[FrameKey, Stream]]:
        """
        Give the streams of one length of identifier, sorted.

        Parameters
        ----------
        extended : bool
            True for 29 bits.

        Yields
        ------
        tuple of (FrameKey, Stream)
            In the order of interface and identifier.
        """
        for key in sorted(self.streams, key=lambda k: (k.interface, k.identifier)):
            if key.extended is extended:
                yield key, self.streams[key]
