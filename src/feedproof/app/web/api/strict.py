"""Bodies as they must come: JSON that says it is JSON, with finite numbers and whole text."""

import json
from collections.abc import Callable, Coroutine
from typing import Any

from fastapi import HTTPException, Request
from fastapi.routing import APIRoute
from starlette.responses import Response

from feedproof.app.web.guards import SAFE_METHODS

JSON = "application/json"
FORM = "multipart/form-data"
DEEPEST = 30
"""Levels that are read; what writes a run goes down by itself."""
LARGEST_DIGITS = 30
"""Digits of a whole number that are read; longer ones stop what computes with them."""


def strict_json(content: bytes) -> Any:
    """
    Read JSON as the standard has it.

    Parameters
    ----------
    content : bytes
        The body.

    Returns
    -------
    object
        What it says.

    Raises
    ------
    ValueError
        Why it is none: not UTF-8, NaN and its like, numbers without end, half characters, nested
        without end.
    """
    try:
        read = json.loads(
            content.decode("utf-8"),
            parse_constant=_no_constant,
            parse_int=_whole,
            parse_float=_finite,
        )
        # Half of a surrogate pair can be written in JSON and nowhere else.
        json.dumps(read, ensure_ascii=False).encode("utf-8")
    except RecursionError as fault:
        raise ValueError("it is nested too deeply") from fault
    level = [read]
    for _ in range(DEEPEST):
        level = [inner for each in level for inner in _inside(each)]
    if level:
        raise ValueError("it is nested too deeply")
    return read


def _inside(value: Any) -> list[Any]:
    """Give what a value holds."""
    if isinstance(value, dict):
        return list(value.values())
    return value if isinstance(value, list) else []


def _no_constant(text: str) -> Any:
    """Refuse what JSON has no word for."""
    raise ValueError(f"{text} is no number of JSON")


def _whole(text: str) -> int:
    """Read a whole number."""
    if len(text) > LARGEST_DIGITS:
        raise ValueError(f"a number of {len(text)} digits is not taken")
    return int(text)


def _finite(text: str) -> float:
    """Read a number that a double can hold."""
    number = float(text)
    if number in (float("inf"), float("-inf")):
        raise ValueError(f"{text[:20]} is too large a number")
    return number


class StrictRoute(APIRoute):
    """A route that looks at its JSON before anything is made of it."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """
        Give what answers.

        Returns
        -------
        callable
            Refuses a body of another kind (415) or one that is no JSON (400).
        """
        handle = super().get_route_handler()

        async def strictly(request: Request) -> Response:
            if request.method not in SAFE_METHODS:
                await check_json(request)
            return await handle(request)

        return strictly


class FilesRoute(APIRoute):
    """A route that takes files from a form and nothing else."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """
        Give what answers.

        Returns
        -------
        callable
            Refuses a body of another kind (415).
        """
        handle = super().get_route_handler()

        async def strictly(request: Request) -> Response:
            if request.method not in SAFE_METHODS and kind_of(request) != FORM:
                raise HTTPException(415, f"The body must come as {FORM}.")
            return await handle(request)

        return strictly


def kind_of(request: Request) -> str:
    """
    Give the media type that a body says it has.

    Parameters
    ----------
    request : Request
        The request.

    Returns
    -------
    str
        Empty where it says nothing.
    """
    return request.headers.get("content-type", "").partition(";")[0].strip().lower()


async def check_json(request: Request) -> None:
    """
    Look at the body of a request.

    Parameters
    ----------
    request : Request
        The request.

    Raises
    ------
    HTTPException
        415 where it does not say that it is JSON, 400 where it is none.
    """
    content = await request.body()
    kind = kind_of(request)
    if not content and not kind:
        return
    if kind != JSON:
        raise HTTPException(415, f"The body must come as {JSON}.")
    if not content:
        return
    try:
        strict_json(content)
    except ValueError as fault:
        raise HTTPException(400, f"The body is no JSON: {fault}.") from fault
