"""What a guard answers before any route is asked: words for a browser, findings for a program."""

from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.types import Scope

from feedproof.app.documents import to_document
from feedproof.app.told import refused
from feedproof.core.findings import error

API = "/api/"


def refusal(
    scope: Scope, words: str, status: int, headers: dict[str, str] | None = None
) -> Response:
    """
    Refuse a request.

    Parameters
    ----------
    scope : Scope
        Of the request.
    words : str
        Why.
    status : int
        HTTP status.
    headers : dict of str to str, optional
        Of the answer.

    Returns
    -------
    Response
        A document of findings below ``/api/``, else one line of text.
    """
    path = str(scope["path"])
    if not path.startswith(API):
        return PlainTextResponse(f"{words}\n", status_code=status, headers=headers)
    told = refused((error(path, words),))
    return JSONResponse(to_document(told), status_code=status, headers=headers)
