"""A program that talks to a server in the test's own process, and holds answers to their schema."""

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import httpx2
import jsonschema
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from feedproof.app.cli import main
from feedproof.app.web.api.openapi import components
from feedproof.app.web.application import create_app
from feedproof.app.web.serve_settings import ServeSettings

BASE = "http://localhost"


class Program:
    """A caller without cookies; every answer is held to what the OpenAPI document says of it."""

    def __init__(self, client: TestClient, app: FastAPI) -> None:
        self.client = client
        self.app = app
        self.document = app.openapi()
        self.seen: set[tuple[str, str, int]] = set()

    def ask(self, method: str, address: str, status: int = 200, **more: Any) -> httpx2.Response:
        answer = self.client.request(method, f"/api{address}", **more)
        assert answer.status_code == status, answer.text[:2000]
        self.check(method, f"/api{address}".partition("?")[0], answer)
        return answer

    def get(self, address: str, status: int = 200, **more: Any) -> Any:
        return self.ask("GET", address, status, **more).json()

    def post(self, address: str, body: Any = None, status: int = 200, **more: Any) -> Any:
        return self.ask("POST", address, status, json=body, **more).json()

    def check(self, method: str, address: str, answer: httpx2.Response) -> None:
        """Hold an answer to the statuses, media types and schemas of its operation."""
        assert not answer.cookies
        path = self._path_of(address)
        operation = self.document["paths"][path][method.lower()]
        self.seen.add((method, path, answer.status_code))
        told = operation["responses"][str(answer.status_code)]["content"]
        media = answer.headers["content-type"].partition(";")[0]
        assert media in told
        if media == "application/json":
            validator(json.dumps(told[media]["schema"])).validate(answer.json())

    def _path_of(self, address: str) -> str:
        """Find the template of an address: the one with the fewest blanks that fits."""
        asked = address.split("/")
        fitting = [
            path
            for path in self.document["paths"]
            if len(path.split("/")) == len(asked)
            and all(p == a or p[:1] == "{" for p, a in zip(path.split("/"), asked, strict=True))
        ]
        return min(fitting, key=lambda path: path.count("{"))


@cache
def validator(schema: str) -> jsonschema.Draft202012Validator:
    whole = {**json.loads(schema), "components": {"schemas": components()}}
    return jsonschema.Draft202012Validator(whole)


@pytest.fixture
def program(settings) -> Iterator[Program]:
    app = create_app(settings)
    with TestClient(app, base_url=BASE) as client:
        yield Program(client, app)


@pytest.fixture(scope="module")
def lasting(tmp_path_factory) -> Iterator[Program]:
    """One server for all tests of a file that leave its case as it is or each begin their own."""
    with pytest.MonkeyPatch.context() as patched:
        folder = tmp_path_factory.mktemp("lasting")
        patched.setenv("FEEDPROOF_STORE", str(folder / "store.sqlite"))
        patched.delenv("FEEDPROOF_ARCHIVE", raising=False)
        many = {"requests_per_s": 1e9, "burst": 1_000_000_000}
        app = create_app(ServeSettings(workspace=folder / "cases", **many))
        with TestClient(app, base_url=BASE) as client:
            yield Program(client, app)


@pytest.fixture
def demo_folder(settings) -> Path:
    return settings.workspace / "demo"


@pytest.fixture
def command_line(capsys):
    """Give what the command line prints with --json, and its exit code."""

    def run(*words: object) -> tuple[int, Any]:
        capsys.readouterr()
        code = main([*map(str, words), "--json"])
        return code, json.loads(capsys.readouterr().out)

    return run
