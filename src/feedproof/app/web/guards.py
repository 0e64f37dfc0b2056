"""
What stands before every request: who asks, from where, how often and how much.

Plain ASGI layers, so that nothing is read into memory before it is weighed.  A page of another
site can make a browser ask this server: the name asked for (Host), the page that asks (Origin,
Sec-Fetch-Site) and the form's token are what tells such a request from the user's own.
"""

import ipaddress
import time
from collections.abc import MutableMapping
from contextlib import suppress
from typing import Any
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from feedproof.app.web.refusing import refusal
from feedproof.app.web.serve_settings import LOOPBACK_NAMES, ServeSettings

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
UPLOAD_ENDINGS = ("/logs", "/bundles")
"""Addresses that take files; every other body is small."""
OTHER_SITE = "This request was asked for by a page of another site."
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:;"
    " font-src 'self'; connect-src 'self'; form-action 'self'; frame-src 'self';"
    " base-uri 'none'; frame-ancestors 'none'"
)
REPORT_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:;"
    " form-action 'none'; base-uri 'none'; frame-ancestors 'self'; sandbox allow-popups"
)
"""For a written report: one file with its style inside, no script, shown in a frame of ours."""
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    # With "no-referrer" a browser would send the Origin "null" with our own forms.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=()",
    "cache-control": "no-store",
}


class HeaderGuard:
    """
    Puts the content policy and its kin on every answer that does not bring its own.

    Parameters
    ----------
    app : ASGIApp
        What comes after.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        await self._app(scope, receive, with_headers)


class OriginGuard:
    """
    Refuses names that are not ours, and what another site asks for unseen or would write.

    Parameters
    ----------
    app : ASGIApp
        What comes after.
    settings : ServeSettings
        Names that are ours.
    """

    def __init__(self, app: ASGIApp, settings: ServeSettings) -> None:
        self._app = app
        self._names = frozenset(
            name.lower() for name in (*LOOPBACK_NAMES, settings.host, *settings.names)
        )

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer or refuse."""
        if scope["type"] == "http" and (fault := self._fault(scope)):
            await refusal(scope, fault, 403)(scope, receive, send)
            return
        await self._app(scope, receive, send)

    def _fault(self, scope: Scope) -> str:
        """Say what is wrong with where a request comes from; empty when nothing is."""
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if _hostname(f"//{host}") not in self._names:
            return f"This server does not answer to the name {host[:100]!r}; see --name."
        is_ours = headers.get("sec-fetch-site", "same-origin") in ("same-origin", "none")
        if scope["method"] in SAFE_METHODS:
            # Some pages begin work when they are read: another site may link to them, where the
            # reader sees what happens, and not name them as its pictures, frames or data.
            is_link = headers.get("sec-fetch-mode") == "navigate"
            is_ours = is_ours or (is_link and headers.get("sec-fetch-dest") == "document")
            return "" if is_ours else OTHER_SITE
        origin = headers.get("origin")
        is_ours = is_ours and (origin is None or urlsplit(origin).netloc.lower() == host.lower())
        return "" if is_ours else OTHER_SITE


class RateGuard:
    """
    Refuses an address that asks faster than a person can, after a burst.

    Parameters
    ----------
    app : ASGIApp
        What comes after.
    settings : ServeSettings
        Rate and burst.
    """

    MOST_ADDRESSES = 1000

    def __init__(self, app: ASGIApp, settings: ServeSettings) -> None:
        self._app = app
        self._rate, self._burst = settings.requests_per_s, settings.burst
        self._buckets: MutableMapping[str, tuple[float, float]] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer or refuse."""
        if scope["type"] == "http" and not self.takes(asker(scope)):
            answer = refusal(scope, "Too many requests; wait a second.", 429, {"retry-after": "1"})
            await answer(scope, receive, send)
            return
        await self._app(scope, receive, send)

    def takes(self, address: str, now_s: float | None = None) -> bool:
        """
        Take one request from an address.

        Parameters
        ----------
        address : str
            Who asks.
        now_s : float, optional
            The time; the clock's when left out.

        Returns
        -------
        bool
            False when it has to wait.
        """
        now = time.monotonic() if now_s is None else now_s
        left, then = self._buckets.pop(address, (float(self._burst), now))
        left = min(self._burst, left + (now - then) * self._rate)
        is_taken = left >= 1.0
        self._buckets[address] = (left - 1.0 if is_taken else left, now)
        while len(self._buckets) > self.MOST_ADDRESSES:
            # The one that has not asked for longest stands first.
            self._buckets.pop(next(iter(self._buckets)))
        return is_taken


class BodyGuard:
    """
    Refuses a body that is larger than its address takes, announced or not.

    Parameters
    ----------
    app : ASGIApp
        What comes after.
    settings : ServeSettings
        Largest bodies.
    """

    def __init__(self, app: ASGIApp, settings: ServeSettings) -> None:
        self._app = app
        self._settings = settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer or refuse."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        limit = self._limit(scope["path"])
        too_large = refusal(
            scope,
            f"This is larger than the {limit / 1e6:g} MB that are taken here;"
            " start the server with a higher --upload-limit.",
            413,
        )
        announced = Headers(scope=scope).get("content-length", "0")
        if not announced.isdecimal() or int(announced) > limit:
            await too_large(scope, receive, send)
            return
        seen, started = 0, False

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > limit:
                raise _TooLargeError
            return message

        async def noted(message: Message) -> None:
            nonlocal started
            # What reads the body makes an answer of its own of the error; ours says why.
            if started or seen <= limit:
                started = True
                await send(message)

        with suppress(_TooLargeError):
            await self._app(scope, counted, noted)
        if not started and seen > limit:
            await too_large(scope, receive, send)

    def _limit(self, path: str) -> int:
        """Say how large a body an address takes."""
        if path.endswith(UPLOAD_ENDINGS):
            return self._settings.upload_limit_bytes
        return self._settings.body_limit_bytes


class _TooLargeError(Exception):
    """More came than was announced or is taken."""


def asker(scope: Scope) -> str:
    """
    Say who asks, as far as it is counted how often.

    Parameters
    ----------
    scope : Scope
        Of the request.

    Returns
    -------
    str
        The address; of IPv6 the network, in which one machine can take any address it likes.

    Examples
    --------
    >>> asker({"client": ("2001:db8::1:2", 50000)}), asker({"client": ("10.0.0.7", 50000)})
    ('2001:db8::/64', '10.0.0.7')
    """
    address = str((scope.get("client") or ("",))[0])
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if found.version == 4 or found.ipv4_mapped is not None:
        return address
    return str(ipaddress.ip_network((int(found), 64), strict=False))


def _hostname(address: str) -> Any:
    """Give the name of an address without its port; None where it has none."""
    try:
        return (urlsplit(address).hostname or "").lower()
    except ValueError:
        return None
