"""
A form that cannot be taken any more is shown once more, ready to be sent with a fresh token.

Nothing is done and nothing is sent by itself: who typed it looks at it and sends it.  Who is not
known gives the password first; until then the form travels inside the form of the password, from
the browser that sent it and back to it, and this server keeps nothing of it.
"""

from dataclasses import dataclass

from fastapi import HTTPException, Request
from starlette.responses import RedirectResponse, Response

from feedproof.app.web.access import StaleFormError
from feedproof.app.web.failures import back_of, refused
from feedproof.app.web.guards import SAFE_METHODS
from feedproof.app.web.kept import Kept, kept_of, travelled
from feedproof.app.web.screen import page

LOGIN = "/login"
PLUMBING = frozenset({"act", "asked", "edit", "query", "revision", "screen", "state", "with"})
"""Fields that pages fill in themselves: shown last, and folded away."""
LATE = (
    "The page that this was typed into was too old: its session had ended, or the server was set"
    " up anew."
)
ENTERED = "You had to give the password first."


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """
    A field that is shown again.

    Parameters
    ----------
    name, text : str
        As it was sent.
    label : str
        Its name in words.
    """

    name: str
    text: str
    label: str


async def stale(request: Request, problem: Exception) -> Response:
    """
    Show a form again that came without the token of its session.

    Parameters
    ----------
    request : Request
        Who asks.
    problem : Exception
        The refusal, with what was sent.

    Returns
    -------
    Response
        Status 403; a program, and what is no form, is told in words alone.
    """
    if not isinstance(problem, StaleFormError) or problem.kept is None:
        return await refused(request, problem)
    if request.url.path == LOGIN:
        words = "This page was too old; write the password once more."
        kept = travelled(await request.form())
        return page(request, "login.html", status=403, fault=words, kept=kept)
    return shown_again(request, problem.kept, LATE, status=403)


async def password_first(request: Request) -> Response:
    """
    Ask who it is, and let what was typed wait in the page that asks.

    Parameters
    ----------
    request : Request
        Of somebody who is not known.

    Returns
    -------
    Response
        The page of the password; a redirect to it where nothing was typed.
    """
    kept = await _typed(request)
    if kept is None:
        return RedirectResponse(LOGIN, status_code=303)
    return page(request, "login.html", status=403, fault="", kept=kept)


def shown_again(request: Request, kept: Kept, why: str, *, status: int = 200) -> Response:
    """
    Show a form again.

    Parameters
    ----------
    request : Request
        Who asks; known, with the session that the form is sent in next.
    kept : Kept
        The form.
    why : str
        Why it was not taken.
    status : int
        HTTP status.

    Returns
    -------
    Response
        A page with every field.
    """
    fields = [Field(name=name, text=text, label=_label(name)) for name, text in kept.fields]
    return page(
        request,
        "again.html",
        status=status,
        why=why,
        kept=kept,
        typed=[each for each in fields if each.text and each.name not in PLUMBING],
        empty=[each for each in fields if not each.text and each.name not in PLUMBING],
        plumbing=[each for each in fields if each.name in PLUMBING],
        back=back_of(request),
    )


async def _typed(request: Request) -> Kept | None:
    """Read what a stranger sends, where it is a form and no larger than forms are."""
    announced = request.headers.get("content-length", "")
    limit = request.app.state.settings.body_limit_bytes
    # Addresses that take files take large bodies: of a stranger they are not even read.
    if request.method in SAFE_METHODS or not announced.isdecimal() or int(announced) > limit:
        return None
    try:
        return await kept_of(request)
    except HTTPException:
        return None


def _label(name: str) -> str:
    """Write the name of a field in words."""
    words = name.removeprefix("v-").replace("_", " ").replace("-", " ").strip()
    return words[:1].upper() + words[1:] or "Without a name"
