"""
Bus logs as text, line by line: candump's form and ASC.

The stock readers stop at the first line that they cannot read.  A logger that loses power writes
such a line, so that here each line stands for itself: what cannot be read is counted and told.
"""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

from feedproof.core.errors import InputError
from feedproof.records.buslog.frames import BusLog

# "(1436509052.249713) can0 7E8#04410C1AF8 R" and the form for eyes, "... can0 7E8 [5] 04 41 ...".
_PLAIN = re.compile(
    r"\s*\((\d{1,11}\.\d{1,9})\)\s+(\S{1,32})\s+([0-9A-Fa-f]{3}|[0-9A-Fa-f]{8})"
    r"(?:#(?:#[0-9A-Fa-f])?((?:[0-9A-Fa-f]{2}){0,64})|#(R\d?)|"
    r"\s+\[0?(\d{1,2})\]\s*((?:[0-9A-Fa-f]{2}\s*){0,64}))(?:\s+[RT])?\s*"
)
_ERROR_FLAG = 0x20000000
_TIMED = re.compile(r"\s*(\d{1,11}\.\d{1,9})\s+(.*\S)\s*")
_CLASSIC = re.compile(
    r"(\d{1,2})\s+([0-9A-Fa-f]{1,9})(x?)\s+(?:Rx|Tx)\s+([dr])(?:\s+([0-9A-Fa-f]{1,2})\b(.*))?",
    re.IGNORECASE,
)
_FD = re.compile(r"CANFD\s+(\d{1,2})\s+(?:Rx|Tx)\s+([0-9A-Fa-f]{1,9})(x?)\s+(.*)", re.IGNORECASE)
_FD_REST = re.compile(r"(?:\S+\s+)?([01])\s+([01])\s+([0-9A-Fa-f])\s+(\d{1,2})((?:\s+.*)?)")
# Lines of ASC that are no frames: what the recorder tells of itself.
_TOLD = re.compile(
    r"(?:\d+\s+)?(?:Start of measurement|Statistic|J1939TP|CAN\s+\d+\s+Status|SV:|log\s|"
    r"\w*Chip status)",
    re.IGNORECASE,
)
_HEADING = re.compile(
    r"date\b|base\b|internal events|no internal events|//|begin triggerblock|end triggerblock|"
    r"# |previous log file|version\b",
    re.IGNORECASE,
)
_BASE = re.compile(r"base\s+(hex|dec)(?:\s+timestamps\s+(absolute|relative))?", re.IGNORECASE)
_LONGEST_LINE = 4096


def read_candump(path: Path, log: BusLog) -> None:
    """
    Read a log in candump's form.

    Parameters
    ----------
    path : Path
        The file.
    log : BusLog
        Takes frames and all that is none.
    """
    for number, line in _lines(path):
        match = _PLAIN.fullmatch(line)
        if match is None:
            if line.strip():
                log.refuse(number, line.strip())
            continue
        time, interface, identifier, data, remote, length, spaced = match.groups()
        code = int(identifier, 16)
        extended = len(identifier) == 8
        if extended and code & _ERROR_FLAG:
            log.errors += 1
        elif not _is_identifier(code, extended):
            log.refuse(number, line.strip())
        elif remote:
            log.remotes += 1
        elif length is not None:
            content = bytes.fromhex(spaced or "")
            if len(content) != int(length):
                log.refuse(number, line.strip())
                continue
            log.add(float(time), interface, code, extended, content, number)
        else:
            content = bytes.fromhex(data or "")
            log.add(float(time), interface, code, extended, content, number)


def read_asc(path: Path, log: BusLog) -> None:
    """
    Read a log in the ASC form.

    Parameters
    ----------
    path : Path
        The file.
    log : BusLog
        Takes frames and all that is none.

    Raises
    ------
    InputError
        The times are differences from event to event.
    """
    base, differences, last = 16, False, float("-inf")
    for number, line in _lines(path):
        timed = _TIMED.fullmatch(line)
        if timed is None:
            stripped = line.strip()
            if stripped.lower().startswith("date "):
                log.start = stripped[5:]
            if match := _BASE.match(stripped):
                base = 10 if match.group(1).lower() == "dec" else 16
                differences = (match.group(2) or "").lower() == "relative"
            if stripped and not _HEADING.match(stripped):
                log.refuse(number, stripped)
            continue
        time, rest = float(timed.group(1)), timed.group(2)
        if differences and time < last:
            raise InputError.at(
                f"line {number}",
                "the header says that times are relative, and they are: each counts from the"
                " event before.",
                "Export the log with absolute time stamps.",
            )
        last = time
        if not _asc_frame(time, rest, base, log, number) and not _TOLD.match(rest):
            log.refuse(number, line.strip())
    began = f"; the header says {log.start}" if log.start else ""
    log.notes.append(f"times count from the start of the recording{began}")


def _asc_frame(time_s: float, rest: str, base: int, log: BusLog, number: int) -> bool:
    """Take one event; False where it is no frame that can be read."""
    if re.fullmatch(r"(?:CANFD\s+)?\d{1,2}\s+(?:\w+\s+)?ErrorFrame\b.*", rest, re.IGNORECASE):
        log.errors += 1
        return True
    if match := _CLASSIC.fullmatch(rest):
        channel, identifier, extended, kind, length, data = match.groups()
        if kind.lower() == "r":
            log.remotes += 1
            return True
        parts = _asc_bytes(length, data or "", base)
    elif match := _FD.fullmatch(rest):
        channel, identifier, extended, tail = match.groups()
        within = _FD_REST.fullmatch(tail)
        # Behind the data other numbers follow; how many are data is written in decimal.
        parts = within and _asc_bytes(format(int(within.group(4)), "x"), within.group(5), 16)
    else:
        return False
    if parts is None:
        return False
    try:
        code = int(identifier, base)
    except ValueError:
        return False
    if not _is_identifier(code, bool(extended)):
        return False
    log.add(time_s, f"channel {channel}", code, bool(extended), parts, number)
    return True


def _is_identifier(code: int, extended: bool) -> bool:
    """Say whether a number is an identifier of its length: of 29 bits, or of 11."""
    return code < 1 << (29 if extended else 11)


def _asc_bytes(length: str | None, data: str, base: int) -> bytes | None:
    """Read as many bytes as the line announces; None where they are not there."""
    try:
        count = int(length or "x", base)
        parts = [int(each, base) for each in data.split()[:count]]
        return bytes(parts) if len(parts) == count else None
    except ValueError:
        return None


def _lines(path: Path) -> Iterator[tuple[int, str]]:
    """Give the lines with their numbers; one without an end is cut in the middle of a frame."""
    with path.open(encoding="latin-1", newline="") as file:
        number = 0
        while line := file.readline(_LONGEST_LINE):
            number += 1
            # A frame that the end of the file cuts may lack bytes and still look whole.
            yield number, line if line.endswith(("\n", "\r")) else f"{line} (cut: no line end)"


READERS: dict[str, Callable[[Path, BusLog], None]] = {"candump": read_candump, "ASC": read_asc}
"""Readers by the name of the form."""


def form_of(path: Path) -> str:
    """
    Say which form a bus log as text has.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    str
        Key of `READERS`.
    """
    with path.open("rb") as file:
        head = file.read(4096)
    return "candump" if re.search(rb"^\s*\(\d+\.\d+\)\s", head, re.MULTILINE) else "ASC"
