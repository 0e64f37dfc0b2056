"""Rows of the table about the server: rubbish at every address of the screens, and no password."""

import random
import re
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient

from feedproof.app import api
from feedproof.app.jobs.limits import Limits
from feedproof.app.jobs.running import Jobs
from feedproof.app.web.application import ROUTERS, create_app
from feedproof.app.web.guards import SAFE_METHODS
from feedproof.app.web.passwords import PasswordFile
from feedproof.app.web.serve_settings import ServeSettings
from feedproof.app.web.serving import check
from feedproof.core.errors import InputError
from tests.reliability.rows import tally, trials

SEED = 20261126
MANY = {"requests_per_s": 1e9, "burst": 1_000_000_000, "upload_limit_bytes": 1_000_000}
WORDS = (
    "", "demo", "1", "-1", "0", "nan", "1e400", "é", "\x00", "../..", "%2e%2e", "a" * 3000, "{}",
    "[1", "line[steel_line]", "vehicle.tank", "kit[", "secondary", "save", "undo", "add-part",
    "move-part", "remove-part", "add-kit", "replace-text", "pipe", "after steel_line", "yes",
    "2026-11-26T10:00", "8 mm", "<script>", "' OR 1=1", "0" * 32, "f" * 64, "true", "😀",
)  # fmt: skip
FIELDS = (
    "act", "revision", "edit", "with", "part", "kit", "place", "before", "after", "kind", "id",
    "beside", "text", "v-bore", "v-bore-low", "v-title", "who", "reason", "source", "name",
    "screen",
    "asked", "query", "number-1", "take-1", "started-1", "log-cell-1", "kits-1", "instrument",
    "channel-1", "unit-1", "encoding", "decimal", "pressure", "mode", "password", "state", "width",
    "fuel_temperature_k", "altitude_m", "kits", "base", "fuel", "axis-depression", "drag", "reader",
    "chance", "runs", "order", "bad_fuel",
)  # fmt: skip


def _filled(path: str, dice: random.Random) -> str:
    """Put something into the places of an address."""

    def something(found: re.Match[str]) -> str:
        sound = {"{case}": "demo", "{number}": "1", "{key}": "0" * 32, "{identity}": "0" * 16}
        word = dice.choice(WORDS) if dice.random() < 0.3 else sound.get(found[0], "demo")
        return re.sub(r"[\x00/?#]", "_", word) or "_"

    return re.sub(r"\{[^}]+\}", something, path)


def _routes() -> list[tuple[str, str]]:
    """List every method and address of the screens."""
    return sorted(
        (method, route.path)
        for router in ROUTERS
        for route in router.routes
        if isinstance(route, APIRoute)
        for method in route.methods
    )


@pytest.fixture
def client(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("FEEDPROOF_STORE", str(tmp_path / "store.sqlite"))
    cases = tmp_path / "cases"
    cases.mkdir()
    api.new(cases / "demo")
    app: FastAPI = create_app(ServeSettings(workspace=cases, **MANY))
    # Work is refused for want of room, after all that was sent was looked at.
    app.state.jobs = Jobs(cases, limits=Limits(waiting=0))
    with TestClient(app, base_url="http://localhost", raise_server_exceptions=False) as client:
        yield client


@pytest.mark.timeout(3600)
def test_rubbish_at_every_address_of_the_screens_is_answered_in_words(client, tmp_path):
    dice, faults = random.Random(SEED), []
    routes = _routes()
    count = max(trials(2 * len(routes), 3000), len(routes))
    for i in range(count):
        method, path = routes[i % len(routes)] if i < len(routes) else dice.choice(routes)
        if not (tmp_path / "cases" / "demo" / "case.toml").is_file():
            api.new(tmp_path / "cases" / "demo")
        found = re.search(r"x-csrf-token&#34;: &#34;(\w+)", client.get("/settings").text)
        sent = {dice.choice(FIELDS): dice.choice(WORDS) for _ in range(dice.randrange(6))}
        asked = {"params": sent} if method in SAFE_METHODS else {"data": sent}
        headers = {"x-csrf-token": found[1]} if found and dice.random() < 0.9 else {}
        if dice.random() < 0.5:
            headers["hx-request"] = "true"
        address = _filled(path, dice)
        answer = client.request(method, address, headers=headers, follow_redirects=False, **asked)
        if answer.status_code >= 500 or "Traceback" in answer.text:
            faults.append((method, address, sent, answer.status_code))
    tally("property and API fuzzing, screens", count, len(faults))
    assert not faults


def test_beyond_this_machine_nothing_is_served_without_the_password(tmp_path, monkeypatch):
    monkeypatch.setenv("FEEDPROOF_STORE", str(tmp_path / "store.sqlite"))
    hosts = ("0.0.0.0", "::", "10.1.2.3", "192.168.0.7", "workshop", "", "127.0.0.1.example")
    failed = 0
    for host in hosts:
        try:
            check(ServeSettings(workspace=tmp_path / "cases", host=host))
        except InputError:
            continue
        failed += 1
    own = tmp_path / "cases" / ".feedproof"
    own.mkdir(parents=True)
    PasswordFile(own / "password").set("four words of nothing")
    settings = ServeSettings(workspace=tmp_path / "cases", host="0.0.0.0", names=("bench",), **MANY)
    app = create_app(settings)
    described = sorted(app.openapi()["paths"])
    dice = random.Random(SEED)
    with TestClient(app, base_url="http://bench") as client:
        addresses = [path for _, path in _routes()] + described
        for path in addresses:
            answer = client.get(_filled(path, dice), follow_redirects=False)
            is_open = answer.status_code in (401, 403) or answer.headers.get("location") == "/login"
            failed += not (is_open or path == "/login")
    tally("no password beyond loopback", len(hosts) + len(addresses), failed)
    assert not failed
