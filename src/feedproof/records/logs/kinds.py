"""What kind of file a log is, concluded from its first bytes and never from its name."""

import re
from enum import StrEnum
from pathlib import Path

from feedproof.core.errors import InputError

_HEAD_BYTES = 4096


class Kind(StrEnum):
    """Kinds of files that logs come as."""

    TEXT = "text"
    WORKBOOK = "workbook"
    PARQUET = "Parquet"
    MDF = "MDF"
    BUS_BINARY = "binary bus log"
    BUS_TEXT = "bus log as text"


READERS: dict[Kind, str] = {
    Kind.WORKBOOK: "feedproof.records.logs.workbook",
    Kind.PARQUET: "feedproof.records.logs.parquet",
    Kind.BUS_BINARY: "feedproof.records.buslog.reader",
    Kind.BUS_TEXT: "feedproof.records.buslog.reader",
}
"""
Modules that write a kind of log as text: ``as_text(path, hints, target)`` gives its `Dialect`.

They run in a child process with limits, because their libraries trust what stands in a file.
"""

# One frame a line: "(1436509052.249713) can0 7E8#04410C1AF8", its form for eyes with "[5] 04 41",
# or "0.0105 1 18FEEE00x Rx d 8 ...".  Searched in all lines of the head: the first may be broken.
_BUS_LINE = re.compile(
    rb"^[ \t]*(?:\(\d+\.\d+\)\s+\S+\s+[0-9A-Fa-f]{3,8}(?:#|\s+\[\d+\])"
    rb"|\d+\.\d+\s+(?:\d+\s+[0-9A-Fa-f]{1,8}x?\s+[RT]x\s+[dr]\b|CANFD\s+\d+\s+[RT]x\s))",
    re.MULTILINE,
)
_BUS_HEADER = re.compile(rb"(?i)date [^\r\n]*[\r\n]+base\s+(?:hex|dec)\s+timestamps")
_REFUSED = (
    (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
        "is an old workbook (XLS) or one with a password; neither is read",
        "Save it as XLSX without a password, or as text (CSV).",
    ),
    (b"\x1f\x8b", "is compressed (gzip)", "Unpack it first."),
    (b"7z\xbc\xaf\x27\x1c", "is an archive (7z)", "Unpack it first."),
    (b"BZh", "is compressed (bzip2)", "Unpack it first."),
    (b"\x28\xb5\x2f\xfd", "is compressed (Zstandard)", "Unpack it first."),
    (b"\x89HDF\r\n\x1a\n", "is an HDF5 file, which is not read", "Export it as text (CSV)."),
    (b"%PDF-", "is a PDF", "Export the log as text (CSV)."),
    (b"SQLite format 3\0", "is a database", "Export the log as text (CSV)."),
)


def kind_of_file(path: Path) -> Kind:
    """
    Say what kind of file a log is.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Kind
        Text, where nothing else is seen: what is no text is refused by its reader.

    Raises
    ------
    InputError
        A kind that is known and not read.
    """
    with path.open("rb") as file:
        head = file.read(_HEAD_BYTES)
    for mark, message, remedy in _REFUSED:
        if head.startswith(mark) and (mark != b"BZh" or not _is_plain(head)):
            raise InputError.at("file", f"{message}.", remedy)
    if head.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        return Kind.WORKBOOK
    # A text may begin with these letters too; then it goes on as text.
    if head.startswith(b"PAR1") and not _is_plain(head):
        return Kind.PARQUET
    if head.startswith((b"MDF     ", b"UnFinMF ")) and not _is_plain(head):
        return Kind.MDF
    if head.startswith(b"LOGG") and not _is_plain(head):
        return Kind.BUS_BINARY
    if _BUS_LINE.search(head) or _BUS_HEADER.match(head):
        return Kind.BUS_TEXT
    return Kind.TEXT


def _is_plain(head: bytes) -> bool:
    """Say whether the first bytes hold nothing that text does not."""
    return not re.search(rb"[\x00-\x08\x0e-\x1a\x1c-\x1f]", head)
