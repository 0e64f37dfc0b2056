"""A form that came too late: what was typed into it, kept so that nobody has to type it again."""

import re
from dataclasses import dataclass
from urllib.parse import quote

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

from feedproof.app.web.sessions import TOKEN_FIELD

TO_FIELD, FILE_FIELD, PREFIX = "kept-to", "kept-file", "kept:"
"""Names under which a form travels inside the form of the password."""
_SECRETS = frozenset({"password"})
"""Fields whose text never comes back in a page."""
# One slash: two, or a slash and a backslash, lead browsers to another server.
_OWN_ADDRESS = re.compile(r"/(?![/\\])[!-~]*", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """
    A form as it was sent.

    Parameters
    ----------
    address : str
        Where it was sent: a path of this server, with its query.
    fields : tuple of (str, str)
        Names and what was typed, in their order; without token and password.
    files : tuple of str
        Names of the fields that brought files, which are not kept.
    """

    address: str
    fields: tuple[tuple[str, str], ...] = ()
    files: tuple[str, ...] = ()


async def kept_of(request: Request) -> Kept | None:
    """
    Read what a request sends.

    Parameters
    ----------
    request : Request
        It passed the guard of where requests come from.

    Returns
    -------
    Kept or None
        None where it is no form.

    Raises
    ------
    HTTPException
        It says that it is a form and cannot be read as one.
    """
    if "form" not in request.headers.get("content-type", ""):
        return None
    query = request.scope.get("query_string", b"").decode("latin-1")
    address = quote(request.scope["path"], safe="/~!$&'()*+,;=:@") + (f"?{query}" if query else "")
    return _kept(address, list((await request.form()).multi_items()))


def travelled(form: FormData) -> Kept | None:
    """
    Read a form that travelled inside the form of the password.

    Parameters
    ----------
    form : FormData
        As it came: never trusted.

    Returns
    -------
    Kept or None
        None where none did.
    """
    items: list[tuple[str, UploadFile | str]] = [
        (name.removeprefix(PREFIX), text)
        for name, text in form.multi_items()
        if name.startswith(PREFIX)
    ]
    kept = _kept(str(form.get(TO_FIELD, "")), items)
    if kept is None:
        return None
    files = dict.fromkeys(str(name) for name in form.getlist(FILE_FIELD))
    return Kept(address=kept.address, fields=kept.fields, files=tuple(files))


def _kept(address: str, items: list[tuple[str, UploadFile | str]]) -> Kept | None:
    """Keep what can be kept of a form; None where its address is none of ours."""
    if not _OWN_ADDRESS.fullmatch(address):
        return None
    typed = tuple((name, text) for name, text in items if isinstance(text, str))
    left_out = _SECRETS | {TOKEN_FIELD}
    return Kept(
        address=address,
        fields=tuple((name, text) for name, text in typed if name not in left_out),
        files=tuple(dict.fromkeys(n for n, content in items if not isinstance(content, str))),
    )
