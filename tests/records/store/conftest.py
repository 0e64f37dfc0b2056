"""A fresh database for each test: a file, or one on a real server."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store
from tests.records.store.server import fresh_database, running_server

ANN = Signed(who="Ann", why="first entry")


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """Start a server for the whole session."""
    with running_server() as address:
        yield address


@pytest.fixture(params=["file", "server"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a database can be made, once as a file and once on a server."""
    if request.param == "file":
        return str(tmp_path / "store.sqlite")
    return fresh_database(request.getfixturevalue("server"))


@pytest.fixture
def store(address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """Open an empty database; what is put aside stays in the test's folder."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    with Store.open(address) as opened:
        yield opened
