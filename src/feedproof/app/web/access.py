"""Who may do what: the session of a request, the form's token, the password."""

import base64
import binascii
import threading
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from typing import Annotated, Any

from fastapi import Depends, HTTPException, Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from feedproof.app.web.guards import asker
from feedproof.app.web.kept import Kept, kept_of
from feedproof.app.web.passwords import PasswordFile
from feedproof.app.web.refusing import API, refusal
from feedproof.app.web.serve_settings import ServeSettings
from feedproof.app.web.sessions import (
    COOKIE,
    LIFETIME_S,
    TOKEN_FIELD,
    TOKEN_HEADER,
    Session,
    Sessions,
)

OPEN_PATHS = ("/login", "/static/")


class StaleFormError(HTTPException):
    """
    A form that does not carry its session's token.

    Parameters
    ----------
    kept : Kept or None
        What was sent; None where it is no form of a page.
    """

    def __init__(self, kept: Kept | None) -> None:
        super().__init__(403, "This page is too old or not of this server; load it again.")
        self.kept = kept


@dataclass(slots=True)
class Attempts:
    """
    Wrong passwords by address: five a minute.

    Parameters
    ----------
    wrong : dict of str to list of float
        Times of the last wrong ones. [s]
    """

    MOST = 5
    WINDOW_S = 60.0
    MOST_ADDRESSES = 1000
    wrong: dict[str, list[float]] = field(default_factory=dict)

    def may_try(self, address: str, now_s: float | None = None) -> bool:
        """Say whether an address may try a password now."""
        now = time.monotonic() if now_s is None else now_s
        if len(self.wrong) > self.MOST_ADDRESSES:
            self.wrong = {a: t for a, t in self.wrong.items() if now - t[-1] < self.WINDOW_S}
        recent = [then for then in self.wrong.get(address, []) if now - then < self.WINDOW_S]
        return len(recent) < self.MOST

    def failed(self, address: str, now_s: float | None = None) -> None:
        """Note a wrong password."""
        now = time.monotonic() if now_s is None else now_s
        self.wrong[address] = [*self.wrong.get(address, []), now][-self.MOST :]


class Access:
    """
    Sessions and password of one server.

    Parameters
    ----------
    settings : ServeSettings
        How it was asked to run.
    secret : bytes
        That sessions are signed with.
    password : PasswordFile
        The password, where one is set.
    """

    def __init__(self, settings: ServeSettings, secret: bytes, password: PasswordFile) -> None:
        self.settings = settings
        self.password = password
        self.needs_password = not settings.is_local or bool(password.hashed)
        self.sessions = Sessions(secret, password.hashed)
        self.attempts = Attempts()
        self._one_at_a_time = threading.Lock()

    def session_of(self, connection: HTTPConnection) -> Session | None:
        """Read the session of a request; None where it has none that counts."""
        return self.sessions.read(connection.cookies.get(COOKIE, ""))

    def cookie(self, session: Session) -> dict[str, Any]:
        """Give what a response needs to set the session's cookie."""
        return {
            "key": COOKIE,
            "value": self.sessions.cookie(session),
            "max_age": LIFETIME_S,
            "httponly": True,
            "samesite": "strict",
            "secure": self.settings.tls,
        }

    def fits(self, address: str, password: str) -> bool | None:
        """Check a password; None when this address has to wait."""
        # A check takes 64 MiB: strangers who ask at once wait for each other, and none of them
        # is let past the count while another one is checked.
        with self._one_at_a_time:
            if not self.attempts.may_try(address):
                return None
            if self.password.fits(password):
                return True
            self.attempts.failed(address)
            return False


class AccessGuard:
    """
    Gives every request its session, and sends strangers to the password.

    Parameters
    ----------
    app : ASGIApp
        What comes after.
    access : Access
        Sessions and password.
    password_first : callable
        Answers a stranger who is at a page.
    """

    def __init__(
        self,
        app: ASGIApp,
        access: Access,
        password_first: Callable[[Request], Awaitable[Response]],
    ) -> None:
        self._app = app
        self._access = access
        self._password_first = password_first

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or ask who it is."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        connection = HTTPConnection(scope)
        session = self._access.session_of(connection)
        is_new = session is None
        if session is None:
            session = self._access.sessions.begin(is_known=not self._access.needs_password)
        state = scope.setdefault("state", {})
        state["session"], state["session_is_new"] = session, is_new
        path = scope["path"]
        if not session.is_known and not path.startswith(OPEN_PATHS):
            if not path.startswith(API):
                answer = await self._password_first(Request(scope, receive))
                await answer(scope, receive, send)
                return
            asked = await self._asked(scope)
            if asked is not None:
                await asked(scope, receive, send)
                return
        await self._app(scope, receive, send)

    async def _asked(self, scope: Scope) -> Response | None:
        """Ask a program for the password; None where it came with the request."""
        given = _basic(Headers(scope=scope).get("authorization", ""))
        # Made to be slow: all others would wait for it here.
        fits = None
        if given is not None:
            fits = await run_in_threadpool(self._access.fits, asker(scope), given)
        if fits:
            scope["state"]["session_is_new"] = True
            return None
        if given is not None and fits is None:
            return refusal(scope, "Too many wrong passwords; wait a minute.", 429)
        challenge = {"www-authenticate": 'Basic realm="feedproof"'}
        return refusal(scope, "This server needs its password.", 401, challenge)


def _basic(header: str) -> str | None:
    """Read the password of an authorization header; None where there is none."""
    scheme, _, coded = header.partition(" ")
    if scheme.lower() != "basic":
        return None
    try:
        return base64.b64decode(coded, validate=True).decode("utf-8").partition(":")[2]
    except (binascii.Error, UnicodeDecodeError):
        return None


def access_of(request: Request) -> Access:
    """Give the server's access, for a route."""
    access: Access = request.app.state.access
    return access


async def needs_token(request: Request) -> None:
    """
    Refuse a form that does not carry its session's token.

    Raises
    ------
    StaleFormError
        403, with what was sent.
    """
    session: Session = request.state.session
    token = request.headers.get(TOKEN_HEADER, "")
    if not token and "form" in request.headers.get("content-type", ""):
        token = str((await request.form()).get(TOKEN_FIELD, ""))
    if request.state.session_is_new or not access_of(request).sessions.is_token(session, token):
        is_program = request.url.path.startswith(API)
        raise StaleFormError(None if is_program else await kept_of(request))


async def needs_token_of_browsers(request: Request) -> None:
    """
    Refuse a browser's call without a token; a program that sends no cookie needs none.

    Raises
    ------
    StaleFormError
        403.
    """
    if COOKIE in request.cookies:
        await needs_token(request)


FormToken = Annotated[None, Depends(needs_token)]
