"""Run the server until it is told to stop, and then stop at once."""

import socket
import sys
from contextlib import suppress

import uvicorn

from feedproof.app.web.application import create_app
from feedproof.app.web.passwords import PasswordFile
from feedproof.app.web.serve_settings import ServeSettings
from feedproof.app.web.workspace import OWN
from feedproof.core.errors import InputError, WriteError

GRACE_S = 1
"""How long open pages are waited for; with what follows it must stay under two seconds."""


def check(settings: ServeSettings) -> None:
    """
    Refuse to be reached by others without a password.

    Parameters
    ----------
    settings : ServeSettings
        How it was asked to run.

    Raises
    ------
    InputError
        No password is set.
    """
    password = PasswordFile(settings.workspace / OWN / "password")
    if not settings.is_local and not password.hashed:
        raise InputError.at(
            "--host",
            f"{settings.host} can be reached from other machines, and no password is set.",
            "Set one with: feedproof serve FOLDER --set-password; or stay on 127.0.0.1.",
        )


def listening(settings: ServeSettings) -> socket.socket:
    """
    Take the port before anything else is done.

    Parameters
    ----------
    settings : ServeSettings
        Address and port.

    Returns
    -------
    socket.socket
        Bound.

    Raises
    ------
    WriteError
        Somebody else has it.
    """
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    # The event loop sends small answers at once only on sockets that say they are TCP; without
    # that every answer waits 40 ms for the other side's acknowledgement.
    taken = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform != "win32":
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        taken.bind((settings.host, settings.port))
    except OSError as fault:
        taken.close()
        raise WriteError.at(
            f"{settings.host}:{settings.port}",
            f"cannot be taken: {fault.strerror}.",
            "Is it running already? Else name another with --port.",
        ) from fault
    return taken


def run(
    settings: ServeSettings, taken: socket.socket, certificate: str = "", key: str = ""
) -> None:
    """
    Serve until interrupted.

    Parameters
    ----------
    settings : ServeSettings
        How it was asked to run.
    taken : socket.socket
        From `listening`.
    certificate, key : str
        Files for an encrypted connection; empty for none.
    """
    config = uvicorn.Config(
        create_app(settings),
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=GRACE_S,
        timeout_keep_alive=10,
        ssl_certfile=certificate or None,
        ssl_keyfile=key or None,
    )
    # uvicorn raises the interrupt again once it has ended in good order.
    with suppress(KeyboardInterrupt):
        uvicorn.Server(config).run(sockets=[taken])
