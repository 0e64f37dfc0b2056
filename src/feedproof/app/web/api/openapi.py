"""The OpenAPI document: operations from the routes, answers from the documents' own schemas."""

import functools
import json
from collections.abc import Sequence
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from starlette.routing import BaseRoute

from feedproof import __version__
from feedproof.app.documents import schema_of
from feedproof.app.edit_requests import edit_schema
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
        return document_of(app.routes)

    app.openapi = document  # type: ignore[method-assign]


def document_of(routes: Sequence[BaseRoute]) -> dict[str, Any]:
    """
    Write the OpenAPI document of some routes.

    Parameters
    ----------
    routes : sequence of BaseRoute
        Those that are not in the schema are left out.

    Returns
    -------
    dict
        OpenAPI 3.1.
    """
    found = get_openapi(title="feedproof", version=__version__, description=ABOUT, routes=routes)
    schemas = found.setdefault("components", {}).setdefault("schemas", {})
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
    # What the bodies of forms are made of is told where they are taken, not by name.
    for operation in (each for path in found["paths"].values() for each in path.values()):
        for body in operation.get("requestBody", {}).get("content", {}).values():
            name = body["schema"].get("$ref", "").rpartition("/")[2]
            if name:
                body["schema"] = schemas[name]
    return found


def components() -> dict[str, Any]:
    """
    Give the schemas of all documents, each with what it is made of inside.

    Returns
    -------
    dict
        JSON Schema by name of the document.
    """
    found = {}
    schemas = {name: schema_of(kind) for name, kind in {**KINDS, **HERE}.items()}
    for name, schema in {**schemas, "edit": edit_schema()}.items():
        text = json.dumps(schema)
        moved = text.replace('"#/$defs/', f'"#/components/schemas/{name}/$defs/')
        found[name] = json.loads(moved)
        del found[name]["$schema"]
    return found
