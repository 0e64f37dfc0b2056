"""Run the server until it is told to stop, and then stop at once."""

import socket
import ssl
import sys
import threading
from contextlib import suppress
from pathlib import Path

import uvicorn
from fastapi import FastAPI

from feedproof.app.web.passwords import PasswordFile
from feedproof.app.web.serve_settings import ServeSettings
from feedproof.app.web.workspace import OWN
from feedproof.app.what_if import prepared_case
from feedproof.app.what_if_asked import WhatIf
from feedproof.core.errors import FeedproofError, InputError, WriteError

GRACE_S = 0.4
"""How long requests under way are waited for; with what follows it must stay under two seconds."""


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


def check_certificate(certificate: Path, key: Path) -> None:
    """
    Refuse a certificate that cannot be served with.

    Parameters
    ----------
    certificate, key : Path
        Files in PEM form.

    Raises
    ------
    InputError
        Not there, not readable, or not of each other.
    """
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    try:
        # Without a password given the library would ask on the console.
        context.load_cert_chain(certificate, key, password="")
    except (OSError, ssl.SSLError) as fault:
        raise InputError.at(
            f"{certificate}, {key}",
            f"cannot be used as certificate and key: {fault.strerror or fault}.",
            "Give both as PEM files that belong together, the key without a password.",
        ) from fault


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


def warm(app: FastAPI) -> None:
    """
    Load the solver while the first page is read, so that its first question does not wait for it.

    Parameters
    ----------
    app : FastAPI
        The server.
    """
    workspace = app.state.workspace

    def first_answer() -> None:
        for name in workspace.names():
            # A case with mistakes is told on its own page.
            with suppress(FeedproofError, OSError):
                prepared_case(workspace.case(name)).answer(WhatIf(ranges=False))
                return

    threading.Thread(target=first_answer, daemon=True, name="first answer").start()


def run(app: FastAPI, taken: socket.socket, certificate: str = "", key: str = "") -> None:
    """
    Serve until interrupted.

    Parameters
    ----------
    app : FastAPI
        From `feedproof.app.web.application.create_app`.
    taken : socket.socket
        From `listening`.
    certificate, key : str
        Files for an encrypted connection; empty for none.
    """
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=GRACE_S,  # type: ignore[arg-type] # waits for parts of one too
        timeout_keep_alive=10,
        ssl_certfile=certificate or None,
        ssl_keyfile=key or None,
    )
    warm(app)
    # uvicorn raises the interrupt again once it has ended in good order.
    with suppress(KeyboardInterrupt):
        uvicorn.Server(config).run(sockets=[taken])
