"""
No verb asks the network for anything: data of customers stay where they are.

The guard listens to the interpreter's own audit events, so it also hears names that were imported
from `socket` before it and calls that other modules make; it writes an attempt down before it
raises, so that an attempt whose error is swallowed is still found.  It does not hear compiled
libraries that open sockets by themselves, so where the system lets a test make a network
namespace without any interface, the report is written in one too.
"""

import json
import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.records.folder import CaseFolder
from tests.house.tree import ROOT

GUARD = """
import json, sys

ASKED = []
EVENTS = (
    "socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "socket.gethostbyaddr",
    "socket.getnameinfo", "socket.sendto", "socket.sendmsg", "socket.bind", "urllib.Request",
)

def listen(event, arguments):
    if event in EVENTS:
        ASKED.append(event)
        raise PermissionError("the network was asked: " + event)

sys.addaudithook(listen)
"""
RUN_VERBS = """
from feedproof.app.cli import main

calls = json.loads(sys.argv[1])
codes = [main(words) for words in calls]
print()
print(json.dumps({"codes": codes, "asked": ASKED}))
"""
ATTEMPTS = {
    "connect": "import socket; socket.socket().connect(('127.0.0.1', 9))",
    "connect_ex": "import socket; socket.socket().connect_ex(('127.0.0.1', 9))",
    "create_connection": "from socket import create_connection as c; c(('127.0.0.1', 9), 1)",
    "getaddrinfo": "import socket; socket.getaddrinfo('localhost', 80)",
    "datagram": "import socket as s; s.socket(type=s.SOCK_DGRAM).sendto(b'x', ('127.0.0.1', 9))",
    "web page": "import urllib.request as r; r.urlopen('http://127.0.0.1:9/')",
}
"""Ways to ask the network; none leaves this computer, even where the guard is deaf."""


def answer_of(program: str, *words: str, prefix: tuple[str, ...] = ()) -> dict[str, list[object]]:
    """Run a program in a new process and read the document on its last line."""
    done = subprocess.run(
        [*prefix, sys.executable, "-c", program, *words],
        env={**os.environ, "PYTHONPATH": str(ROOT / "src"), "PYTHONIOENCODING": "utf-8"},
        capture_output=True, encoding="utf-8", check=False, timeout=100,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    document: dict[str, list[object]] = json.loads(done.stdout.splitlines()[-1])
    return document


def empty_network() -> tuple[str, ...]:
    """Give the words that start a program without any network; none where the system has none."""
    tool = shutil.which("unshare")
    for flags in ("-rn", "-n") if tool else ():
        words = (str(tool), flags)
        if subprocess.run([*words, "true"], capture_output=True, check=False).returncode == 0:
            return words
    return ()


@pytest.fixture
def case(tmp_path: Path) -> str:
    """Copy the packaged case."""
    CaseFolder(api.PACKAGED_DEMO).copy_to(tmp_path / "case")
    return str(tmp_path / "case")


def test_no_verb_asks_the_network(case: str, tmp_path: Path) -> None:
    calls = [
        ["demo", str(tmp_path / "demo")],
        ["check", case],
        ["predict", case],
        ["prove", case],
        ["plan", case, "--sheet", str(tmp_path / "sheet.pdf")],
        ["protect", case, "--picture", str(tmp_path / "bars.html")],
        ["choose", case, "--picture", str(tmp_path / "front.html")],
        ["publish", case, "--out", str(tmp_path / "report")],
    ]

    answer = answer_of(GUARD + RUN_VERBS, json.dumps(calls))

    assert answer == {"codes": [0] * len(calls), "asked": []}
    for name in ("sheet.pdf", "bars.html", "front.html"):
        assert (tmp_path / name).stat().st_size > 1000
    assert len(list((tmp_path / "report").iterdir())) >= 2


@pytest.mark.parametrize("way", list(ATTEMPTS))
def test_the_guard_hears_an_attempt_even_where_its_error_is_swallowed(way: str) -> None:
    program = f"""
try:
    {ATTEMPTS[way]}
except OSError:
    pass
print(json.dumps({{"codes": [0], "asked": ASKED}}))
"""

    assert answer_of(GUARD + program)["asked"]


def test_the_guard_hears_an_attempt_inside_a_verb(case: str) -> None:
    # Planted in the reading of cases, where a look for a newer version would hide best.
    planted = """
import socket
from feedproof.records.folder import CaseFolder
read = CaseFolder.read

def read_and_ask(self, *words, **named):
    try:
        socket.create_connection(("127.0.0.1", 9), 1)
    except OSError:
        pass
    return read(self, *words, **named)

CaseFolder.read = read_and_ask
"""

    answer = answer_of(GUARD + planted + RUN_VERBS, json.dumps([["check", case]]))

    assert answer["codes"] == [0]
    assert answer["asked"]


def test_the_report_is_written_where_there_is_no_network(case: str, tmp_path: Path) -> None:
    # Where no empty network can be made, the same is asked with the guard alone.
    report = tmp_path / "report"
    calls = json.dumps([["publish", case, "--out", str(report)]])

    answer = answer_of(GUARD + RUN_VERBS, calls, prefix=empty_network())

    assert answer == {"codes": [0], "asked": []}
    assert {file.suffix for file in report.iterdir()} >= {".html", ".pdf"}


def test_the_empty_network_is_empty() -> None:
    prefix = empty_network()
    program = "import json, socket; names = [name for _, name in socket.if_nameindex()];"
    program += "print(json.dumps({'names': names}))"

    names = answer_of(program, prefix=prefix)["names"]

    outside = [name for _, name in socket.if_nameindex()]
    assert set(names) <= {"lo"} if prefix else names == outside
