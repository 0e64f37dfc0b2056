"""A real PostgreSQL server in a temporary folder, reached by a socket only."""

import contextlib
import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

MISSING = "no PostgreSQL server on this machine"
INSTALL_S = 300.0
_numbers = itertools.count(1)


def programs() -> Path | None:
    """Find the server's programs, the newest version first."""
    if found := shutil.which("initdb"):
        return Path(found).resolve().parent
    places = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: float(p.parts[-3])
    )
    return places[-1].parent if places else None


def install() -> None:
    """Install Debian's package where we may."""
    if not shutil.which("apt-get") or os.geteuid() != 0:
        return
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for words in (["update"], ["install", "-y", "--no-install-recommends", "postgresql"]):
        subprocess.run(
            ["apt-get", "-qq", *words], env=quiet, check=False, timeout=INSTALL_S,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip


def found_or_told() -> Path:
    """Give the server's programs; skip loudly without them, and fail where CI is set."""
    if programs() is None:
        install()
    found = programs()
    if found is None:
        words = f"{MISSING}: install Debian's package postgresql"
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    return found


@contextlib.contextmanager
def running_server() -> Iterator[str]:
    """Start a server and give the address of its empty first database, without the name."""
    bin_folder = found_or_told()
    # A socket's path may have some 100 letters, and the server's own user must reach the folder.
    with tempfile.TemporaryDirectory(prefix="pg-") as place:
        folder = Path(place)
        as_user = _another_user(folder)
        data = folder / "data"
        _run([*as_user, bin_folder / "initdb", "-D", data, "-U", "tester", "-A", "trust", "-N",
              "-E", "UTF8", "--locale=C"])  # fmt: skip
        _run([*as_user, bin_folder / "pg_ctl", "-D", data, "-l", folder / "log", "-w", "-o",
              f"-k {folder} -c listen_addresses= -c max_connections=60", "start"])  # fmt: skip
        try:
            yield f"postgresql+psycopg://tester@/{{}}?host={folder}"
        finally:
            _run([*as_user, bin_folder / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop"])


def _another_user(folder: Path) -> list[str]:
    """Give the folder to a user of less power: the server refuses to run as root."""
    if os.geteuid() != 0:
        return []
    known = {each.pw_name for each in pwd.getpwall()}
    name = "postgres" if "postgres" in known else "nobody"
    shutil.chown(folder, name)
    return ["runuser", "-u", name, "--"]


def _run(words: list[object]) -> None:
    """Run a program to its end, away from folders that its user may not enter."""
    done = subprocess.run(
        [str(word) for word in words], cwd="/", check=False, timeout=120,
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert done.returncode == 0, f"{words}: {done.stderr}"


def fresh_database(server: str) -> str:
    """Make an empty database and give its address."""
    import psycopg

    name = f"store{next(_numbers)}"
    plain = server.format("postgres").replace("postgresql+psycopg", "postgresql")
    with psycopg.connect(plain, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    return server.format(name)
