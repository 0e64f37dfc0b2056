"""Numbers out of the bits of many frames at once, and the codes that are no numbers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.records.buslog.frames import MOST_BYTES, Payload
from feedproof.records.buslog.signals import SignalPlace

FloatArray = NDArray[np.float64]
WordArray = NDArray[np.uint64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Extracted:
    """
    Readings of one signal.

    Parameters
    ----------
    values : array, shape (n,)
        Scaled, in the signal's unit; what is masked is left out.
    taken : array of bool, shape (m,)
        Frames of which there is a reading.
    masked : int
        Frames whose raw number says error or not available.
    short : int
        Frames too short to hold the signal.
    """

    values: FloatArray
    taken: BoolArray
    masked: int
    short: int


def extract(place: SignalPlace, payload: Payload, lengths: NDArray[np.uint8]) -> Extracted:
    """
    Read one signal out of frames.

    Parameters
    ----------
    place : SignalPlace
        Where it stands.
    payload : array, shape (m, 8)
        Bytes.
    lengths : array, shape (m,)
        Bytes that each frame had.

    Returns
    -------
    Extracted
        Values without error and not-available codes, which are masked before scaling: scaled,
        they look like numbers.
    """
    raw = _raw(payload, place.start, place.length, place.little)
    there = lengths >= _needed_bytes(place)
    if place.selector is not None:
        start, length, numbers = place.selector
        chosen = _raw(payload, start, length, True)
        selected = np.isin(chosen, np.array(numbers, dtype=np.uint64))
        there_or_not = there | ~selected
        there = there & selected
    else:
        there_or_not = there
    bad = np.zeros(raw.size, dtype=np.bool_)
    numbers_signed = _signed(raw, place.length) if place.signed else None
    if place.last_valid is not None:
        bad |= raw > np.uint64(place.last_valid)
    for code in place.masked:
        bad |= raw == np.uint64(code % (1 << place.length))
    values = _as_numbers(raw, numbers_signed, place)
    bad |= ~np.isfinite(values)
    taken = there & ~bad
    return Extracted(
        values=values[taken] * place.scale + place.offset,
        taken=taken,
        masked=int(np.count_nonzero(there & bad)),
        short=int(np.count_nonzero(~there_or_not)),
    )


def _needed_bytes(place: SignalPlace) -> int:
    """Give how long a frame must be to hold a signal."""
    if place.little:
        return (place.start + place.length + 7) // 8
    return (8 * (place.start // 8) + 7 - place.start % 8 + place.length + 7) // 8


def _raw(payload: Payload, start: int, length: int, little: bool) -> WordArray:
    """Give the bits of a signal as whole numbers."""
    words = np.ascontiguousarray(payload).view("<u8" if little else ">u8").reshape(-1)
    shift = start if little else 8 * MOST_BYTES - (8 * (start // 8) + 7 - start % 8) - length
    mask = np.uint64((1 << length) - 1)
    return np.asarray((words.astype(np.uint64) >> np.uint64(shift)) & mask, dtype=np.uint64)


def _signed(raw: WordArray, length: int) -> NDArray[np.int64]:
    """Read two's complement of any length."""
    shift = 64 - length
    return (raw << np.uint64(shift)).view(np.int64) >> np.int64(shift)


def _as_numbers(raw: WordArray, signed: NDArray[np.int64] | None, place: SignalPlace) -> FloatArray:
    """Take the bits as what they are: whole, signed or real numbers."""
    if place.real:
        if place.length == 32:
            return raw.astype(np.uint32).view(np.float32).astype(np.float64)
        return raw.view(np.float64)
    return (raw if signed is None else signed).astype(np.float64)
