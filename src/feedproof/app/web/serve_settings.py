"""How a server was asked to run."""

import ipaddress
from dataclasses import dataclass
from pathlib import Path

MEGABYTE = 1_000_000
DEFAULT_PORT = 8746
LOOPBACK_NAMES = ("localhost", "127.0.0.1", "::1")


@dataclass(frozen=True, slots=True, kw_only=True)
class ServeSettings:
    """
    How a server was asked to run.

    Parameters
    ----------
    workspace : Path
        Folder that holds the cases.
    host : str
        Address to bind.
    port : int
        Port to bind; 0 takes a free one.
    names : tuple of str
        Further host names under which a browser may ask.
    upload_limit_bytes : int
        Largest log or bundle that is taken.
    body_limit_bytes : int
        Largest body of any other request.
    requests_per_s : float
        Requests that one address may go on making.
    burst : int
        Requests that one address may make at once.
    tls : bool
        True when the connection is encrypted.
    """

    workspace: Path
    host: str = "127.0.0.1"
    port: int = DEFAULT_PORT
    names: tuple[str, ...] = ()
    upload_limit_bytes: int = 500 * MEGABYTE
    body_limit_bytes: int = 2 * MEGABYTE
    requests_per_s: float = 60.0
    burst: int = 300
    tls: bool = False

    @property
    def is_local(self) -> bool:
        """Whether only programs of this machine can reach it."""
        return is_loopback(self.host)


def is_loopback(host: str) -> bool:
    """
    Say whether an address can be reached from this machine alone.

    Parameters
    ----------
    host : str
        Name or address.

    Returns
    -------
    bool
        False for anything that is not certainly so.

    Examples
    --------
    >>> is_loopback("127.0.0.2"), is_loopback("0.0.0.0"), is_loopback("::1")
    (True, False, True)
    """
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
