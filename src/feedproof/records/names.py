"""Names of files that come from outside: none may lead out of the folder it is put into."""

import re

CHANNELS = re.compile(r"^channels-[0-9a-f]{16}\.(parquet|json)$", re.IGNORECASE)
"""Names of the channel files that lie beside a raw log; none may come from outside."""
_LONGEST = 200
_LONGEST_MADE = 120
_NOT_PLAIN = re.compile(r"[^\w.+() -]")
# Device names that Windows opens instead of a file.
_DEVICES = re.compile(r"^(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE)


def name_fault(name: str) -> str:
    """
    Say what is wrong with a file's name.

    Parameters
    ----------
    name : str
        Name as it came.

    Returns
    -------
    str
        What is wrong, empty for a plain name that every machine can hold.

    Examples
    --------
    >>> name_fault("run02_cell.csv")
    ''
    >>> name_fault("../case.toml")
    'leads to another folder'
    """
    if "/" in name or "\\" in name or re.match(r"^[A-Za-z]:", name):
        return "leads to another folder"
    if not name.strip() or name.startswith("."):
        return "is empty or begins with a dot"
    if any(ord(character) < 32 or ord(character) == 127 for character in name):
        return "has control characters"
    if any(character in '<>:"|?*' for character in name) or name[-1] in " .":
        return "has characters that not every machine can hold"
    if _DEVICES.match(name):
        return "is the name of a device"
    if len(name.encode("utf-8", "replace")) > _LONGEST:
        return f"is longer than {_LONGEST} bytes"
    return ""


def safe_name(name: str) -> str:
    r"""
    Make a name that every machine can hold out of one that anybody chose.

    Parameters
    ----------
    name : str
        As it came.

    Returns
    -------
    str
        Its last part, with everything else replaced.

    Examples
    --------
    >>> safe_name("../../run 02.csv"), safe_name("C:\\logs\\con.csv"), safe_name("")
    ('run 02.csv', '_con.csv', 'log')
    """
    last = re.split(r"[/\\]", name)[-1]
    plain = _NOT_PLAIN.sub("_", last).strip(" .")
    while len(plain.encode()) > _LONGEST_MADE:
        stem, dot, suffix = plain.rpartition(".")
        # The ending tells a reader what it is: it goes last.
        plain = f"{stem[:-1]}{dot}{suffix}" if stem and len(suffix) < 20 else plain[:-1]
    plain = plain.strip(" .") or "log"
    return plain if not name_fault(plain) else f"_{plain}"
