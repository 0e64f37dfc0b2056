"""Sessions without a table: a signed cookie, and a token that only our own pages know."""

import hashlib
import hmac
import secrets
import time
from dataclasses import dataclass

COOKIE = "feedproof_session"
TOKEN_HEADER = "x-csrf-token"
TOKEN_FIELD = "csrf_token"
LIFETIME_S = 12 * 3600


@dataclass(frozen=True, slots=True)
class Session:
    """
    One browser's session.

    Parameters
    ----------
    identity : str
        Random.
    is_known : bool
        True after the password was given, or where none is needed.
    began_s : int
        When it began, seconds of the epoch.
    """

    identity: str
    is_known: bool
    began_s: int


class Sessions:
    """
    Signs and reads sessions.

    Parameters
    ----------
    secret : bytes
        Known to this server alone.
    password_hash : str
        Of the password: another one ends every session.
    """

    def __init__(self, secret: bytes, password_hash: str) -> None:
        self._key = hashlib.sha256(secret + password_hash.encode()).digest()

    def begin(self, *, is_known: bool, now_s: float | None = None) -> Session:
        """
        Begin a session.

        Parameters
        ----------
        is_known : bool
            Whether the password was given, or none is needed.
        now_s : float, optional
            The time; the clock's when left out.

        Returns
        -------
        Session
            With a new identity: one from before the password is never kept.
        """
        began = int(time.time() if now_s is None else now_s)
        return Session(secrets.token_hex(16), is_known, began)

    def cookie(self, session: Session) -> str:
        """
        Write a session as a cookie's value.

        Parameters
        ----------
        session : Session
            The session.

        Returns
        -------
        str
            Signed.
        """
        body = f"{session.identity}.{int(session.is_known)}.{session.began_s}"
        return f"{body}.{self._sign('session', body)}"

    def read(self, cookie: str, now_s: float | None = None) -> Session | None:
        """
        Read a cookie.

        Parameters
        ----------
        cookie : str
            As it came: never trusted.
        now_s : float, optional
            The time; the clock's when left out.

        Returns
        -------
        Session or None
            None where it is not ours, was changed or is too old.
        """
        body, _, signature = cookie.rpartition(".")
        if not body or not hmac.compare_digest(
            signature.encode(), self._sign("session", body).encode()
        ):
            return None
        identity, known, began = body.split(".")
        now = time.time() if now_s is None else now_s
        if not 0 <= now - int(began) + 60 <= LIFETIME_S + 60:
            return None
        return Session(identity, known == "1", int(began))

    def token(self, session: Session) -> str:
        """
        Give the token that a form of this session must send back.

        Parameters
        ----------
        session : Session
            The session.

        Returns
        -------
        str
            Another for every session.
        """
        return self._sign("form", session.identity)

    def is_token(self, session: Session, token: str) -> bool:
        """
        Check a form's token.

        Parameters
        ----------
        session : Session
            The session.
        token : str
            As it came.

        Returns
        -------
        bool
            True when it is this session's.
        """
        return hmac.compare_digest(self.token(session).encode(), token.encode("utf-8", "replace"))

    def _sign(self, purpose: str, text: str) -> str:
        """Sign a text for one purpose."""
        return hmac.new(self._key, f"{purpose}:{text}".encode(), hashlib.sha256).hexdigest()
