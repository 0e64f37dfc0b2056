"""The screens, as a command."""

import sys
from pathlib import Path

from feedproof.app.web.serve_settings import DEFAULT_PORT, MEGABYTE, ServeSettings
from feedproof.core.errors import InputError


def serve(
    folder: Path = Path("feedproof-cases"),
    /,
    *,
    host: str = "127.0.0.1",
    port: int = DEFAULT_PORT,
    name: list[str] | None = None,
    upload_limit: int = 500,
    certificate: Path | None = None,
    key: Path | None = None,
    set_password: bool = False,
    no_browser: bool = False,
) -> int:
    """
    Open the screens in a browser on this machine.

    Parameters
    ----------
    folder : Path
        Folder that holds the cases; it is made where it is not there.
    host : str
        Address to bind; any but this machine's own needs a password.
    port : int
        Port; 0 takes a free one.
    name : list of str
        Further names under which browsers of other machines ask for this one.
    upload_limit : int
        Largest log or bundle that is taken. [MB]
    certificate : Path
        Certificate for an encrypted connection, with its key.
    key : Path
        Key of the certificate.
    set_password : bool
        Ask for a new password, keep its hash and end.
    no_browser : bool
        Do not open a browser.

    Returns
    -------
    int
        Exit code.
    """
    from feedproof.app.web import serving
    from feedproof.app.web.application import create_app

    if (certificate is None) != (key is None):
        raise InputError.at("--certificate", "goes with --key.", "Give both or none.")
    if not (0 <= port <= 65535 and 1 <= upload_limit <= 100_000):
        raise InputError.at(
            "--port, --upload-limit",
            f"are {port} and {upload_limit}; 0 to 65535 and 1 to 100,000 are allowed.",
        )
    settings = ServeSettings(
        workspace=folder,
        host=host,
        port=port,
        names=tuple(name or ()),
        upload_limit_bytes=upload_limit * MEGABYTE,
        tls=certificate is not None,
    )
    if set_password:
        return _set_password(settings)
    serving.check(settings)
    if certificate is not None and key is not None:
        serving.check_certificate(certificate, key)
    taken = serving.listening(settings)
    try:
        # What is wrong with the folder is said before an address is.
        app = create_app(settings)
        # From now on a browser that comes early waits and is not refused.
        taken.listen()
    except BaseException:
        taken.close()
        raise
    scheme = "https" if settings.tls else "http"
    shown = f"[{host}]" if ":" in host else host
    address = f"{scheme}://{shown}:{taken.getsockname()[1]}/"
    print(f"feedproof is at {address} (cases in {folder}); Ctrl-C ends it.", flush=True)
    if not settings.is_local and not settings.tls:
        print(
            "Mind: the connection is not encrypted; who listens on the network reads the password.",
            file=sys.stderr,
        )
    if not no_browser and settings.is_local:
        import threading
        import webbrowser

        threading.Timer(1.0, webbrowser.open, (address,)).start()
    serving.run(app, taken, str(certificate or ""), str(key or ""))
    return 0


def _set_password(settings: ServeSettings) -> int:
    """Ask for a password twice and keep its hash."""
    from getpass import getpass

    from feedproof.app.web.passwords import PasswordFile
    from feedproof.app.web.workspace import Workspace

    workspace = Workspace(settings.workspace)
    workspace.own.mkdir(parents=True, exist_ok=True, mode=0o700)
    first = getpass("New password: ")
    if getpass("Once more: ") != first:
        raise InputError.at("password", "was typed differently the second time.", "Try again.")
    PasswordFile(workspace.own / "password").set(first)
    print("The password is set; open sessions end when the server starts again.")
    return 0
