"""A server in the test's own process, with a workspace and a database of its own."""

import re
from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest
from fastapi.testclient import TestClient

from feedproof.app.web.application import create_app
from feedproof.app.web.serve_settings import ServeSettings

BASE = "http://localhost"


class Browser:
    """A browser of the tests: it keeps cookies and sends the form's token."""

    def __init__(self, client: TestClient, workspace: Path) -> None:
        self.client = client
        self.workspace = workspace

    def get(self, address: str, **more) -> httpx2.Response:
        return self.client.get(address, **more)

    def token(self, address: str = "/settings") -> str:
        found = re.search(r"x-csrf-token&#34;: &#34;([0-9a-f]+)", self.get(address).text)
        assert found, "the page carries no token"
        return found[1]

    def send(self, address: str, data=None, *, part: bool = True, **more) -> httpx2.Response:
        headers = {"x-csrf-token": self.token(), **({"hx-request": "true"} if part else {})}
        headers.update(more.pop("headers", {}))
        more.setdefault("follow_redirects", False)
        return self.client.post(address, data=data, headers=headers, **more)


@pytest.fixture
def workspace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("FEEDPROOF_STORE", str(tmp_path / "store.sqlite"))
    return tmp_path / "cases"


@pytest.fixture
def settings(workspace: Path) -> ServeSettings:
    return ServeSettings(workspace=workspace)


@pytest.fixture
def browser(settings: ServeSettings) -> Iterator[Browser]:
    with TestClient(create_app(settings), base_url=BASE) as client:
        yield Browser(client, settings.workspace)
