"""Where signals stand in frames: our own DBC for J1939, or one that the case names."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from feedproof.core.errors import InputError
from feedproof.records.buslog.blf import NEEDED

OWN = Path(__file__).with_name("j1939.dbc")
FROM_MEMORY = "from memory"
"""Words by which a comment of our DBC says that a place was not seen in print."""
_SMALL_PF = 240
_NO_VALUE = ("not available", "error", "invalid", "sna", "signal not available")


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalPlace:
    """
    One signal of a message.

    Parameters
    ----------
    name : str
        As it is shown, with its number where it has one.
    unit : str
        Of the scaled value.
    start, length : int
        Place as a DBC counts it, and bits.
    little : bool
        True for the byte order of J1939.
    signed, real : bool
        How the bits are a number.
    scale, offset : float
        Value = raw times scale + offset.
    spn : int
        Number of the signal in J1939; 0 for none.
    masked : tuple of int
        Raw numbers that its table of values calls error or not available.
    last_valid : int or None
        Largest raw number that is a value; None where every number may be one.
    selector : tuple of (int, int, tuple of int) or None
        Start and length of the number that says whether the signal is there, and its numbers.
    remark : str
        What is known of its place.
    """

    name: str
    unit: str
    start: int
    length: int
    little: bool
    signed: bool
    real: bool
    scale: float
    offset: float
    spn: int
    masked: tuple[int, ...]
    last_valid: int | None
    selector: tuple[int, int, tuple[int, ...]] | None
    remark: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MessagePlaces:
    """
    Signals of one message.

    Parameters
    ----------
    name : str
        Of the message.
    signals : tuple of SignalPlace
        Those that stand in its first eight bytes.
    group : int or None
        Its parameter group where it is one of J1939, which any sender may send.
    own : bool
        True for our own DBC.
    """

    name: str
    signals: tuple[SignalPlace, ...]
    group: int | None
    own: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """
    All messages that can be understood.

    Parameters
    ----------
    by_group : mapping of int to MessagePlaces
        J1939, by parameter group.
    by_identifier : mapping of (int, bool) to MessagePlaces
        Others, by identifier and whether it is extended.
    notes, warnings : tuple of str
        What is not read of a DBC, and where one contradicts ours.
    """

    by_group: Mapping[int, MessagePlaces]
    by_identifier: Mapping[tuple[int, bool], MessagePlaces]
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    def of(self, identifier: int, extended: bool) -> MessagePlaces | None:
        """
        Find the message of an identifier.

        Parameters
        ----------
        identifier : int
            Without flags.
        extended : bool
            True for 29 bits.

        Returns
        -------
        MessagePlaces or None
            None where it is not understood.
        """
        found = self.by_identifier.get((identifier, extended))
        if found is None and extended:
            found = self.by_group.get(group_of(identifier))
        return found


def group_of(identifier: int) -> int:
    """
    Give the parameter group of a 29-bit identifier.

    Parameters
    ----------
    identifier : int
        Without flags.

    Returns
    -------
    int
        A group below F000h has its receiver in the low byte, which is not part of it.

    Examples
    --------
    >>> group_of(0x0CF00400), group_of(0x18EA00F9)
    (61444, 59904)
    """
    group = identifier >> 8 & 0x3FFFF
    return group if group >> 8 & 0xFF >= _SMALL_PF else group & 0x3FF00


def source_of(identifier: int) -> int:
    """
    Give the sender of a 29-bit identifier of J1939.

    Parameters
    ----------
    identifier : int
        Without flags.

    Returns
    -------
    int
        Its address.
    """
    return identifier & 0xFF


def last_valid_raw(length: int) -> int | None:
    """
    Give the largest raw number of J1939 that is a value.

    Parameters
    ----------
    length : int
        Bits of the signal.

    Returns
    -------
    int or None
        Above it stand error, not available and reserved numbers; None for lengths that have no
        such rule.

    Examples
    --------
    >>> [hex(last_valid_raw(n)) for n in (2, 8, 16)]
    ['0x1', '0xfa', '0xfaff']
    """
    if length == 2:
        return 1
    return (0xFB << (length - 8)) - 1 if length in (8, 16, 24, 32) else None


def load_places(own_dbc: Path | None = None) -> Places:
    """
    Load our DBC and, before it, the one that the case names.

    Parameters
    ----------
    own_dbc : Path, optional
        A DBC of the user; where it has a message of ours, it counts.

    Returns
    -------
    Places
        All messages.

    Raises
    ------
    InputError
        cantools is not installed; a DBC that cannot be read.
    """
    groups: dict[int, MessagePlaces] = {}
    identifiers: dict[tuple[int, bool], MessagePlaces] = {}
    notes: list[str] = []
    warnings: list[str] = []
    _add(OWN, True, groups, identifiers, notes)
    if own_dbc is not None:
        ours = dict(groups)
        _add(own_dbc, False, groups, identifiers, notes)
        warnings += _conflicts(ours, groups, identifiers)
        _with_names_apart(groups, identifiers)
    return Places(
        by_group=groups,
        by_identifier=identifiers,
        notes=tuple(notes),
        warnings=tuple(warnings),
    )


def _add(
    path: Path,
    own: bool,
    groups: dict[int, MessagePlaces],
    identifiers: dict[tuple[int, bool], MessagePlaces],
    notes: list[str],
) -> None:
    """Add the messages of a DBC."""
    for message in _messages(path, own):
        signals: list[SignalPlace] = []
        unread: list[str] = []
        j1939 = message.protocol == "j1939" and message.is_extended_frame
        for signal in message.signals:
            place = _place(message, signal, j1939, own)
            if place is None:
                unread.append(signal.name)
            else:
                signals.append(place if own else _numbered(place, message, groups))
        if unread:
            notes.append(
                f"{path.name}, message {message.name}: signals beyond the first eight bytes or"
                f" inside nested choices are not read: {', '.join(unread[:10])}"
            )
        group = group_of(message.frame_id) if j1939 else None
        places = MessagePlaces(
            name=message.name,
            signals=tuple(signals),
            group=group,
            own=own,
        )
        if group is not None:
            groups[group] = places
        else:
            identifiers[message.frame_id, message.is_extended_frame] = places


def _numbered(place: SignalPlace, message: Any, groups: Mapping[int, MessagePlaces]) -> SignalPlace:
    """Give a signal the number of ours that stands in the same place, where it has none."""
    ours = groups.get(group_of(message.frame_id)) if message.is_extended_frame else None
    if place.spn or ours is None or not ours.own:
        return place
    for each in ours.signals:
        if (each.start, each.length) == (place.start, place.length):
            return replace(place, name=f"{place.name} (SPN {each.spn})", spn=each.spn)
    return place


def _messages(path: Path, own: bool) -> list[Any]:
    """Parse a DBC; whatever the parser says of it is one error."""
    try:
        from cantools.database import load_string
    except ImportError as fault:
        raise InputError.at("file", "a bus log needs cantools.", f"Run: {NEEDED}") from fault
    try:
        text = path.read_bytes().decode("utf-8" if own else "cp1252", "replace")
        parsed: Any = load_string(text, "dbc", strict=True)
        messages = list(parsed.messages)
    except Exception as fault:
        # The parser raises many kinds, some of them Python's own.
        words = " ".join(str(fault).split())[:200]
        raise InputError.at(
            f"dialect.dbc, {path.name}",
            f"cannot be read as a DBC ({type(fault).__name__}: {words}).",
            "Look at the file; signals that overlap or lie outside their message are refused.",
        ) from fault
    if not messages:
        raise InputError.at(f"dialect.dbc, {path.name}", "holds no message.", "Name another DBC.")
    return messages


def _place(message: Any, signal: Any, j1939: bool, own: bool) -> SignalPlace | None:
    """Describe one signal; None where it cannot be read from eight bytes."""
    little = signal.byte_order == "little_endian"
    if little:
        end = signal.start + signal.length
    else:
        end = 8 * (signal.start // 8) + 7 - signal.start % 8 + signal.length
    selector: tuple[int, int, tuple[int, ...]] | None = None
    if signal.multiplexer_ids:
        chooser = next(s for s in message.signals if s.name == signal.multiplexer_signal)
        plain = chooser.byte_order == "little_endian" and not chooser.multiplexer_ids
        if not plain or chooser.start + chooser.length > 64:
            return None
        selector = (chooser.start, chooser.length, tuple(signal.multiplexer_ids))
    if end > 64 or (signal.is_float and signal.length not in (32, 64)):
        return None
    title, _, remark = (signal.comment or "").partition(";")
    spn = int(signal.spn or 0)
    number = f" (SPN {spn})" if spn else ""
    masked = tuple(
        sorted(
            raw
            for raw, words in (signal.choices or {}).items()
            if str(words).strip().lower().replace("_", " ") in _NO_VALUE
        )
    )
    limited = j1939 and not signal.is_signed and not signal.is_float
    return SignalPlace(
        name=(title if own else signal.name) + number,
        unit=signal.unit or "",
        start=signal.start,
        length=signal.length,
        little=little,
        signed=signal.is_signed,
        real=signal.is_float,
        scale=float(signal.scale),
        offset=float(signal.offset),
        spn=spn,
        masked=masked,
        last_valid=last_valid_raw(signal.length) if limited else None,
        selector=selector,
        remark=remark.strip() if own else "",
    )


def _conflicts(
    ours: Mapping[int, MessagePlaces],
    groups: Mapping[int, MessagePlaces],
    identifiers: Mapping[tuple[int, bool], MessagePlaces],
) -> list[str]:
    """Say where the DBC of the case places a signal of ours elsewhere."""
    known = {s.spn: (g, s) for g, places in ours.items() for s in places.signals}
    told = []
    theirs = [(g, places) for g, places in groups.items() if not places.own]
    theirs += [(group_of(code[0]), p) for code, p in identifiers.items() if code[1]]
    for group, places in theirs:
        for signal in places.signals:
            if signal.spn not in known or signal.spn == 0:
                continue
            own_group, own = known[signal.spn]
            stated, mine = _in_words(group, signal), _in_words(own_group, own)
            if stated != mine:
                told.append(
                    f"SPN {signal.spn}: the DBC of the case says {stated}; ours says {mine}"
                    f" ({own.remark}). The one of the case counts"
                )
    return told


def _in_words(group: int, signal: SignalPlace) -> str:
    """Write where a signal stands and how it is scaled."""
    order = "" if signal.little else ", high byte first"
    return (
        f"group {group}, bit {signal.start}, {signal.length} bits{order},"
        f" {signal.scale:g} per bit, offset {signal.offset:g}"
    )


def _with_names_apart(
    groups: dict[int, MessagePlaces], identifiers: dict[tuple[int, bool], MessagePlaces]
) -> None:
    """Add the message to names of signals that several messages have."""
    everything = [*groups.values(), *identifiers.values()]
    names = Counter(signal.name for places in everything for signal in places.signals)

    def apart(places: MessagePlaces) -> MessagePlaces:
        signals = tuple(
            replace(each, name=f"{each.name} of {places.name}") if names[each.name] > 1 else each
            for each in places.signals
        )
        return replace(places, signals=signals)

    groups.update({group: apart(places) for group, places in groups.items()})
    identifiers.update({code: apart(places) for code, places in identifiers.items()})
