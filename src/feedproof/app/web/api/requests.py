"""What a verb can be asked over HTTP: the parameters of its job, files by what they wait under."""

import functools
import importlib
import inspect
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated, Any

from fastapi import Request
from pydantic import Field, StringConstraints, create_model

from feedproof.app.cli import command_path
from feedproof.app.jobs.parameters import Asked, Word, parsed
from feedproof.app.jobs.verbs import VERBS
from feedproof.app.web.api.strict import strict_json
from feedproof.core.errors import InputError

UploadId = Annotated[
    str,
    StringConstraints(pattern=r"^[0-9a-f]{32}$"),
    Field(description="A file that was sent and waits: `upload` in the list of logs."),
]
_UPLOADS: dict[str, Any] = {
    "logs": Annotated[
        dict[Word, UploadId],
        Field(min_length=1, max_length=50, description="Files that wait, by instrument."),
    ],
    "files": Annotated[
        tuple[UploadId, ...],
        Field(min_length=1, max_length=100, description="Files that wait."),
    ],
    "catalogue": Annotated[
        UploadId | None, Field(description="CSV of the workshop's own parts, sent like a log.")
    ],
}
_OF_SERVER = ("archive",)
"""What is not asked over HTTP: the archive is the one that the server was started with."""
_OPTION = {"kits": "kit"}
"""Where a parameter is called otherwise on the command line."""


@functools.cache
def model_of(verb: str) -> type[Asked]:
    """
    Make the model of what a verb can be asked over HTTP.

    Parameters
    ----------
    verb : str
        One of `feedproof.app.jobs.verbs.VERBS`.

    Returns
    -------
    type
        Its fields are those of the verb's job; their descriptions those of the command line.
    """
    known = VERBS[verb].model
    words = option_words(verb)
    fields: dict[str, Any] = {}
    for name, info in known.model_fields.items():
        if name in _OF_SERVER:
            continue
        kind = _UPLOADS.get(name, info.annotation)
        extras: dict[str, Any] = (
            {} if name in _UPLOADS else {"description": words.get(_OPTION.get(name, name))}
        )
        default = ... if info.is_required() else info.get_default(call_default_factory=True)
        if name in _UPLOADS:
            fields[name] = (kind, default)
            continue
        metadata = tuple(info.metadata)
        annotated = Annotated[(kind, *metadata)] if metadata else kind
        fields[name] = (annotated, Field(default, **extras))
    named = "".join(part.capitalize() for part in verb.split("_"))
    return create_model(f"{named}Asked", __base__=Asked, **fields)


@functools.cache
def option_words(verb: str) -> Mapping[str, str]:
    """
    Read what the command line says of a verb's options.

    Parameters
    ----------
    verb : str
        Function of the front door.

    Returns
    -------
    mapping of str to str
        Description by option.
    """
    word = verb.replace("store_", "store ").replace("_", "-")
    room, _, function = command_path(word).partition(":")
    text = inspect.getdoc(getattr(importlib.import_module(room), function)) or ""
    section = text.partition("Parameters\n----------\n")[2].partition("\n\n")[0]
    found = re.findall(r"^(\w+) : [^\n]*\n((?:    [^\n]*\n?)+)", section, re.MULTILINE)
    return {name: " ".join(lines.split()) for name, lines in found}


def body_of(verb: str) -> dict[str, Any]:
    """
    Describe the body of a verb's request for the OpenAPI document.

    Parameters
    ----------
    verb : str
        Function of the front door.

    Returns
    -------
    dict
        To be put into the operation.
    """
    model = model_of(verb)
    needed = any(info.is_required() for info in model.model_fields.values())
    schema = model.model_json_schema()
    return {
        "requestBody": {
            "required": needed,
            "content": {"application/json": {"schema": schema}},
        }
    }


async def sent_of(request: Request) -> dict[str, Any]:
    """
    Read the object that a request sends.

    Parameters
    ----------
    request : Request
        The request; its route has looked at the form already.

    Returns
    -------
    dict
        Empty where nothing was sent.

    Raises
    ------
    InputError
        Something else than an object.
    """
    content = await request.body()
    sent = strict_json(content) if content else {}
    if not isinstance(sent, dict):
        raise InputError.at("body", "is no object.", "Send an object with the parameters.")
    return sent


def asked_of(verb: str, sent: Mapping[str, Any], file: Callable[[str], Path]) -> dict[str, Any]:
    """
    Check what was sent, and put paths in the place of files that wait.

    Parameters
    ----------
    verb : str
        Function of the front door.
    sent : mapping
        Plain JSON.
    file : callable
        Gives the path of a file that waits.

    Returns
    -------
    dict
        As `feedproof.app.jobs` takes it.

    Raises
    ------
    InputError
        All mistakes of form.
    MissingError
        A file that does not wait.
    """
    parsed(model_of(verb), sent)
    found = dict(sent)
    for name in _UPLOADS:
        value = found.get(name)
        if isinstance(value, dict):
            found[name] = {each: str(file(upload)) for each, upload in value.items()}
        elif isinstance(value, list):
            found[name] = [str(file(upload)) for upload in value]
        elif isinstance(value, str):
            found[name] = str(file(value))
    return found
