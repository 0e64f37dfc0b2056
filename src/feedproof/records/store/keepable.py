"""What every database can hold: whole text and finite numbers."""

from collections.abc import Mapping
from typing import Any

from feedproof.core.errors import InputError
from feedproof.core.findings import error


def refuse_unkeepable(place: str, texts: Mapping[str, Any]) -> None:
    """
    Refuse text that one of the databases cannot hold, all of it at once.

    Parameters
    ----------
    place : str
        For the findings.
    texts : mapping
        Values by column.

    Raises
    ------
    InputError
        A NUL character, half a surrogate pair, NaN or an infinite number.
    """
    faults = []
    for name, value in texts.items():
        if isinstance(value, str) and ("\x00" in value or not _encodes(value)):
            faults.append(error(f"{place}: {name}", "holds a character that cannot be kept."))
        if isinstance(value, float) and not -1e300 < value < 1e300:
            faults.append(error(f"{place}: {name}", f"{value} is no number that can be kept."))
    if faults:
        raise InputError(faults)


def _encodes(text: str) -> bool:
    """Say whether a text is whole."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
