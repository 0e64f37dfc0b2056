"""Which characters the bytes of a log mean."""

import codecs
from dataclasses import dataclass

from feedproof.core.errors import InputError

PLACE = "encoding"
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
# In these every delimiter, digit and line end is the byte of ASCII: the body needs no decoding.
ASCII_ALIKE = frozenset({"utf-8", "ascii", "cp1252", "cp1250", "iso8859-1", "iso8859-15"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Encoding:
    """
    What was concluded about the characters.

    Parameters
    ----------
    name : str
        Name of the codec.
    mark_length : int
        Bytes of the byte order mark to leave out.
    note : str
        Why, in words.
    """

    name: str
    mark_length: int
    note: str


def conclude_encoding(data: bytes, hint: str = "") -> Encoding:
    """
    Conclude the encoding of a log from its first bytes.

    Parameters
    ----------
    data : bytes
        Head of the file; may end inside a character.
    hint : str
        Encoding that the instrument's description states; overrules.

    Returns
    -------
    Encoding
        A byte order mark decides; then UTF-16 by its zero bytes; then UTF-8 when the bytes are
        valid; else cp1252.  Other code pages (such as cp1250) are never guessed: their bytes are
        valid cp1252 too.

    Raises
    ------
    InputError
        Binary data, or bytes that are neither UTF-8 nor cp1252.
    """
    mark = next(((mark, name) for mark, name in _MARKS if data.startswith(mark)), None)
    if hint:
        return _hinted(hint, mark)
    if mark:
        return Encoding(
            name=mark[1],
            mark_length=len(mark[0]),
            note=f"encoding {mark[1]}: the file begins with its byte order mark",
        )
    if 0 in data:
        return _without_mark(data)
    if _decodes(data, "utf-8"):
        return Encoding(name="utf-8", mark_length=0, note="encoding utf-8: its head is valid UTF-8")
    if _decodes(data, "cp1252"):
        return Encoding(
            name="cp1252",
            mark_length=0,
            note="encoding cp1252: its head is not UTF-8 and is valid cp1252",
        )
    raise InputError.at(
        PLACE,
        "the bytes are neither UTF-8 nor cp1252",
        "State the instrument's encoding in its dialect.",
    )


def _hinted(hint: str, mark: tuple[bytes, str] | None) -> Encoding:
    """Take the encoding that the instrument's description states."""
    try:
        name = codecs.lookup(hint).name
        if not isinstance("".encode(name), bytes):
            raise LookupError
        "a;1".encode(name).decode(name)
    except (LookupError, UnicodeError, ValueError, TypeError, AttributeError) as fault:
        raise InputError.at(
            "dialect.encoding",
            f"{hint!r} is not a known text encoding",
            'Write one such as "utf-8", "cp1252", "cp1250" or "utf-16-le".',
        ) from fault
    length = 0
    if name in ("utf-8-sig", "utf-16"):
        name = mark[1] if mark else name.replace("-sig", "").replace("utf-16", "utf-16-le")
    if mark and name == mark[1]:
        length = len(mark[0])
    return Encoding(name=name, mark_length=length, note=f"encoding {name}: stated by the case")


def _without_mark(data: bytes) -> Encoding:
    """Tell UTF-16 without a mark from binary data by where the zero bytes stand."""
    sample = data[: len(data) // 2 * 2][:4096]
    pairs = max(len(sample) // 2, 1)
    even = sample[0::2].count(0) / pairs
    odd = sample[1::2].count(0) / pairs
    for name, zeros, others in (("utf-16-le", odd, even), ("utf-16-be", even, odd)):
        if zeros > 0.7 and others < 0.02 and _decodes(data, name):
            return Encoding(
                name=name,
                mark_length=0,
                note=f"encoding {name}: concluded from the places of its zero bytes",
            )
    raise InputError.at(
        PLACE,
        "the file holds NUL bytes and is not UTF-16: it is binary, or a log cut by a power loss",
        "Export it from the instrument as text (CSV).",
    )


def _decodes(data: bytes, name: str) -> bool:
    """Say whether the bytes are valid, allowing for a character cut at the end."""
    try:
        codecs.getincrementaldecoder(name)("strict").decode(data, final=False)
    except UnicodeDecodeError:
        return False
    return True
