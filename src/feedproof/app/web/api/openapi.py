"""The OpenAPI document: operations from the routes, answers from the documents' own schemas."""

import functools
import json
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from feedproof.app.documents import schema_of
from feedproof.app.schemas import KINDS
from feedproof.app.web.api.told_here import HERE

ABOUT = (
    "Every verb of the command line over HTTP, on the machine that runs `feedproof serve`."
    " An answer is the document that the verb prints with `--json`; a refusal is a document of"
    " findings with everything that is wrong at once. Quantities are text with a unit, such as"
    ' "10 degC". A program that sends no cookie needs no token; a page of this server sends its'
    " session's token as `x-csrf-token`. A figure of this program judges no vehicle's safety and"
    " authorises nothing."
)
_OF_FRAMEWORK = ("HTTPValidationError", "ValidationError")


def describe(app: FastAPI) -> None:
    """
    Have an application tell its OpenAPI document with the documents' schemas.

    Parameters
    ----------
    app : FastAPI
        With all its routes.
    """

    @functools.cache
    def document() -> dict[str, Any]:
        found = get_openapi(
            title=app.title, version=app.version, description=ABOUT, routes=app.routes
        )
        schemas = found.setdefault("components", {}).setdefault("schemas", {})
        for name in _OF_FRAMEWORK:
            schemas.pop(name, None)
        schemas.update(components())
        found["components"]["securitySchemes"] = {
            "password": {
                "type": "http",
                "scheme": "basic",
                "description": "Any user name, and the server's password. None is needed where the"
                " server can be reached from its own machine only and no password is set.",
            }
        }
        found["security"] = [{}, {"password": []}]
        return found

    app.openapi = document  # type: ignore[method-assign]


def components() -> dict[str, Any]:
    """
    Give the schemas of all documents, each with what it is made of inside.

    Returns
    -------
    dict
        JSON Schema by name of the document.
    """
    found = {}
    for name, kind in {**KINDS, **HERE}.items():
        text = json.dumps(schema_of(kind))
        moved = text.replace('"#/$defs/', f'"#/components/schemas/{name}/$defs/')
        found[name] = json.loads(moved)
        del found[name]["$schema"]
    return found
