"""What a case may state about the files of an instrument, so that it is not concluded."""

from collections.abc import Mapping

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error
from feedproof.records.logs.table import DELIMITERS, WHITESPACE

HINTS = ("encoding", "delimiter", "decimal", "time_form", "sheet", "dbc", "dbc_sha256")
"""All hints; one that does not concern a kind of file is not used for it."""
TIME_FORMS = ("number", "h:mm:ss", "h:mm", "mm:ss", "date-time")
_DELIMITER_WORDS = {
    "comma": ",",
    "semicolon": ";",
    "tab": "\t",
    "\\t": "\t",
    "bar": "|",
    "pipe": "|",
    "space": WHITESPACE,
    "blank": WHITESPACE,
    "blanks": WHITESPACE,
    "whitespace": WHITESPACE,
}
_DECIMAL_WORDS = {"comma": ",", "point": ".", "dot": ".", ",": ",", ".": "."}


def checked_hints(hints: Mapping[str, str]) -> dict[str, str]:
    """
    Check all hints and give them in one spelling.

    Parameters
    ----------
    hints : mapping of str to str
        As the case or the command line states them.

    Returns
    -------
    dict of str to str
        Those that are stated.

    Raises
    ------
    InputError
        Every hint that cannot be used.
    """
    wrong: list[Finding] = []
    stated: dict[str, str] = {}
    for key, value in hints.items():
        place = f"dialect.{key}"
        if key not in HINTS:
            wrong.append(error(place, "is not a known hint", f"Known are {', '.join(HINTS)}."))
        elif key == "delimiter":
            stated[key] = value if value in DELIMITERS else _DELIMITER_WORDS.get(value.lower(), "")
        elif key == "decimal":
            stated[key] = _DECIMAL_WORDS.get(value.lower(), "")
        elif key == "time_form":
            stated[key] = value if value in TIME_FORMS else ""
        else:
            stated[key] = value
        if key in stated and not stated[key]:
            allowed = {
                "delimiter": "comma, semicolon, tab, bar, blanks",
                "decimal": '"," or "."',
                "time_form": ", ".join(TIME_FORMS),
                "encoding": "utf-8, cp1252 and the like",
                "sheet": "the names of the workbook's sheets",
                "dbc": "the path of a DBC, inside the case folder",
                "dbc_sha256": "its SHA-256, 64 hexadecimal digits",
            }[key]
            wrong.append(error(place, f"{value!r} cannot be used", f"Write one of {allowed}."))
    if wrong:
        raise InputError(wrong)
    return stated
