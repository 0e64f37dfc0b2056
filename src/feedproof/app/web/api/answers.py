"""How an operation answers, and how that is written in the OpenAPI document."""

from typing import Any

from starlette.responses import JSONResponse, Response

from feedproof.app.documents import to_document

Responses = dict[int | str, dict[str, Any]]
FAULTS = {
    400: "The body cannot be read.",
    401: "The server's password is needed.",
    403: "The request comes from another site, or lacks the token of its session.",
    404: "There is no such thing.",
    405: "The address does not take this method.",
    409: "It could not be written as things stand; nothing was changed.",
    412: "It was changed meanwhile; nothing was written.",
    413: "The body is larger than is taken.",
    415: "The body is of another kind than is taken.",
    422: "What was sent cannot be used; all mistakes at once.",
    428: "The revision that the change was made from is missing.",
    429: "Too many requests or wrong passwords; wait.",
}
"""What a status means, wherever it comes."""
READING = (401, 403, 404, 405, 422, 429)
WRITING = (400, 401, 403, 404, 405, 409, 413, 415, 422, 429)


def reference(document: str) -> dict[str, str]:
    """
    Name the schema of a document.

    Parameters
    ----------
    document : str
        Its name.

    Returns
    -------
    dict
        A reference within the OpenAPI document.
    """
    return {"$ref": f"#/components/schemas/{document}"}


def gives(
    document: str,
    words: str,
    *,
    status: int = 200,
    faults: tuple[int, ...] = READING,
    headers: dict[str, str] | None = None,
) -> Any:
    """
    Describe an operation that answers with a document.

    Parameters
    ----------
    document : str
        Name of the document.
    words : str
        What it is.
    status : int
        Of the answer.
    faults : tuple of int
        Statuses of refusals.
    headers : dict of str to str, optional
        Headers of the answer with what they mean.

    Returns
    -------
    dict
        Keywords of a route.
    """
    content = {"application/json": {"schema": reference(document)}}
    return described(words, content, status=status, faults=faults, headers=headers)


def gives_file(
    media: str, words: str, *, faults: tuple[int, ...] = READING, headers: Any = None
) -> Any:
    """
    Describe an operation that answers with a file.

    Parameters
    ----------
    media : str
        Its media type.
    words : str
        What it is.
    faults : tuple of int
        Statuses of refusals.
    headers : dict of str to str, optional
        Headers of the answer with what they mean.

    Returns
    -------
    dict
        Keywords of a route.
    """
    is_text = media.startswith("text/") or media == "application/toml"
    schema = {"type": "string"} if is_text else {"type": "string", "format": "binary"}
    return described(words, {media: {"schema": schema}}, faults=faults, headers=headers)


def described(
    words: str,
    content: dict[str, Any],
    *,
    status: int = 200,
    faults: tuple[int, ...] = READING,
    headers: dict[str, str] | None = None,
) -> Any:
    """
    Describe the answers of an operation.

    Parameters
    ----------
    words : str
        What is answered.
    content : dict
        Schemas by media type.
    status : int
        Of the answer.
    faults : tuple of int
        Statuses of refusals.
    headers : dict of str to str, optional
        Headers of the answer with what they mean.

    Returns
    -------
    dict
        Keywords of a route.
    """
    good: dict[str, Any] = {"description": words, "content": content}
    if headers:
        good["headers"] = {
            name: {"description": meaning, "schema": {"type": "string"}}
            for name, meaning in headers.items()
        }
    told = {"application/json": {"schema": reference("findings")}}
    responses: Responses = {status: good}
    for fault in faults:
        responses[fault] = {"description": FAULTS[fault], "content": told}
    return {"status_code": status, "responses": responses, "response_class": Response}


def answered(result: Any, status: int = 200, headers: dict[str, str] | None = None) -> Response:
    """
    Answer with a document, as ``--json`` prints it.

    Parameters
    ----------
    result : object
        A frozen dataclass, or what JSON can hold.
    status : int
        HTTP status.
    headers : dict of str to str, optional
        Of the answer.

    Returns
    -------
    Response
        JSON.
    """
    return JSONResponse(to_document(result), status_code=status, headers=headers)
