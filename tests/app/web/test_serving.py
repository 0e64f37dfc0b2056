"""The server as a process: it says where it is, and ends at once when it is told to."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from feedproof.app.web.passwords import PasswordFile


def _start(workspace: Path, *more: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "feedproof", "serve", str(workspace), "--no-browser", *more]
    surroundings = {**os.environ, "FEEDPROOF_STORE": str(workspace.parent / "store.sqlite")}
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=surroundings
    )


def _port(process: subprocess.Popen[str]) -> int:
    line = process.stdout.readline()
    found = re.search(r":(\d+)/", line)
    assert found, line + process.stderr.read()
    return int(found[1])


def _ask(port: int, path: str = "/settings") -> tuple[socket.socket, bytes]:
    # At once: who reads the address may ask, even before the server is all there.
    page = socket.create_connection(("127.0.0.1", port), timeout=30)
    page.sendall(f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n".encode())
    return page, page.recv(4096)


@pytest.mark.skipif(sys.platform == "win32", reason="signals of another kind")
def test_ctrl_c_ends_the_server_within_two_seconds_with_a_page_open(tmp_path):
    process = _start(tmp_path / "cases", "--port", "0")
    try:
        page, answer = _ask(_port(process))
        assert answer.startswith(b"HTTP/1.1 200")
        # One connection kept alive, one that has sent half a request.
        half = socket.create_connection(("127.0.0.1", page.getpeername()[1]), timeout=20)
        half.sendall(b"POST /cases HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\nx")
        began = time.monotonic()
        process.send_signal(signal.SIGINT)
        code = process.wait(10)
        took_s = time.monotonic() - began
        page.close()
        half.close()
    finally:
        process.kill()
        told = process.communicate()[1]
    assert took_s < 2.0
    assert code == 0
    assert "Traceback" not in told


def test_a_port_that_is_taken_is_said_at_once(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        process = _start(tmp_path / "cases", "--port", str(taken.getsockname()[1]))
        _, told = process.communicate(timeout=60)
    assert process.returncode == 4
    assert "cannot be taken" in told
    assert not (tmp_path / "cases").exists()


def test_beyond_loopback_it_does_not_start_without_a_password(tmp_path):
    process = _start(tmp_path / "cases", "--host", "0.0.0.0", "--port", "0")
    _, told = process.communicate(timeout=60)
    assert process.returncode == 2
    assert "no password is set" in told


def test_a_short_password_is_refused_and_a_kept_one_is_a_hash(tmp_path):
    from feedproof.core.errors import InputError

    file = PasswordFile(tmp_path / "password")
    with pytest.raises(InputError, match="at least 12"):
        file.set("short")
    file.set("four words of nothing")
    assert file.fits("four words of nothing")
    assert not file.fits("four words of nothing ")
    assert file.hashed.startswith("$argon2id$")
    assert "words" not in file.hashed


def test_small_answers_are_not_held_back():
    """A listening socket that does not say TCP costs every answer 40 ms."""
    from feedproof.app.web.serve_settings import ServeSettings
    from feedproof.app.web.serving import listening

    taken = listening(ServeSettings(workspace=Path(), port=0))
    with taken:
        assert taken.proto == socket.IPPROTO_TCP


@pytest.mark.parametrize("kind", ["a file", "no certificate", "rubbish"])
def test_what_cannot_be_served_is_said_before_any_address(tmp_path, kind):
    (tmp_path / "file").write_text("rubbish")
    workspace, more = tmp_path / "cases", ()
    if kind == "a file":
        workspace = tmp_path / "file"
    else:
        name = "file" if kind == "rubbish" else "nowhere"
        more = ("--certificate", str(tmp_path / name), "--key", str(tmp_path / name))
    process = _start(workspace, "--port", "0", *more)
    said, told = process.communicate(timeout=60)
    assert process.returncode == (4 if kind == "a file" else 2)
    assert "http" not in said
    assert "error: " in told
    assert "Traceback" not in told
