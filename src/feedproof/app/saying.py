"""What every command does with words: read pairs, print a result."""

import json as json_text
import sys
from typing import Any

from feedproof.app.documents import to_document
from feedproof.core.errors import InputError


def pairs(place: str, texts: list[str]) -> dict[str, str]:
    """
    Read NAME=VALUE words, all mistakes at once.

    Parameters
    ----------
    place : str
        For the findings.
    texts : list of str
        The words.

    Returns
    -------
    dict of str to str
        Values by name.

    Raises
    ------
    InputError
        Words of another form, a name given twice.
    """
    from feedproof.core.findings import error

    read: dict[str, str] = {}
    faults = []
    for text in texts:
        name, equals, value = text.partition("=")
        if not (name and equals and value):
            faults.append(error(place, f"{text!r} is not of the form NAME=VALUE."))
        elif name in read:
            faults.append(error(place, f"{name!r} is given twice.", "Give it once."))
        read[name] = value
    if faults:
        raise InputError(faults)
    return read


def say(result: Any, text: str, *, as_json: bool) -> None:
    """
    Print a result.

    Parameters
    ----------
    result : Any
        A document.
    text : str
        The same in words.
    as_json : bool
        Which of them.
    """
    if as_json:
        print(json_text.dumps(to_document(result), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(text)
    sys.stdout.flush()
