"""Who may ask this server, how often and how much."""

import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from fastapi.testclient import TestClient

from feedproof.app.web.access import Access, Attempts
from feedproof.app.web.application import create_app
from feedproof.app.web.guards import RateGuard, asker
from feedproof.app.web.numbers import with_comma
from feedproof.app.web.passwords import PasswordFile
from feedproof.app.web.serve_settings import ServeSettings, is_loopback
from feedproof.app.web.serving import check
from feedproof.app.web.sessions import LIFETIME_S, Sessions
from feedproof.core.errors import InputError

PASSWORD = "four words of nothing"


def test_a_name_that_is_not_ours_is_refused(browser):
    """A page elsewhere can have its own name point at this machine."""
    for name in ("evil.example", "localhost.evil.example", "", "[::1"):
        assert browser.get("/settings", headers={"host": name}).status_code == 403
    for name in ("localhost:8746", "127.0.0.1:1", "[::1]:8746", "LOCALHOST"):
        assert browser.get("/settings", headers={"host": name}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://localhost:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_write_that_another_site_asked_for_is_refused(browser, headers):
    assert browser.send("/cases", {"name": "x"}, headers=headers).status_code == 403


@pytest.mark.parametrize(
    ("site", "mode", "kind", "status"),
    [
        ("cross-site", "no-cors", "image", 403),
        ("same-site", "no-cors", "script", 403),
        ("cross-site", "cors", "empty", 403),
        ("cross-site", "navigate", "iframe", 403),
        ("cross-site", "navigate", "document", 200),
        ("same-origin", "cors", "empty", 200),
        ("none", "navigate", "document", 200),
    ],
)
def test_another_site_may_link_to_a_page_and_not_have_it_worked_out_unseen(
    browser, site, mode, kind, status
):
    headers = {"sec-fetch-site": site, "sec-fetch-mode": mode, "sec-fetch-dest": kind}
    assert browser.get("/settings", headers=headers).status_code == status


def test_a_write_of_our_own_page_is_taken_with_and_without_script(browser):
    headers = {"origin": "http://localhost", "sec-fetch-site": "same-origin"}
    assert browser.send("/cases", {"name": "Wagon"}, headers=headers).status_code == 204
    token = browser.token()
    answer = browser.client.post(
        "/cases", data={"name": "Wagon", "csrf_token": token}, follow_redirects=False
    )
    assert answer.headers["location"] == "/cases/wagon-2/vehicle"


@pytest.mark.parametrize("token", ["", "0" * 64, "é"])
def test_a_form_without_its_token_is_refused(browser, token):
    browser.get("/settings")
    data = {"name": "x", "csrf_token": token}
    assert browser.client.post("/cases", data=data).status_code == 403


def test_a_body_larger_than_taken_is_refused_announced_or_not(browser):
    assert browser.send("/cases", {"name": "x" * 3_000_000}).status_code == 413

    def pieces():
        for _ in range(40):
            yield b"x" * 100_000

    headers = {"x-csrf-token": browser.token(), "content-type": "application/x-www-form-urlencoded"}
    assert browser.client.post("/cases", content=pieces(), headers=headers).status_code == 413


def test_who_asks_too_fast_waits_and_others_do_not():
    guard = RateGuard(None, ServeSettings(workspace=None, requests_per_s=10, burst=5))
    assert [guard.takes("a", 0.0) for _ in range(6)] == [True] * 5 + [False]
    assert guard.takes("b", 0.0)
    assert guard.takes("a", 0.11)
    assert not guard.takes("a", 0.11)


def test_beyond_this_machine_nothing_is_served_without_a_password(tmp_path):
    settings = ServeSettings(workspace=tmp_path, host="0.0.0.0")
    with pytest.raises(InputError, match="no password is set"):
        check(settings)
    (tmp_path / ".feedproof").mkdir()
    PasswordFile(tmp_path / ".feedproof" / "password").set(PASSWORD)
    check(settings)
    for host in ("10.0.0.1", "example", "::", "127.0.0.1.evil"):
        assert not is_loopback(host)


@pytest.fixture
def guarded(workspace):
    settings = ServeSettings(workspace=workspace, host="0.0.0.0", names=("bench",))
    (workspace / ".feedproof").mkdir(parents=True)
    PasswordFile(workspace / ".feedproof" / "password").set(PASSWORD)
    with TestClient(create_app(settings), base_url="http://bench") as client:
        yield client


def _enter(client, password):
    import re

    token = re.search(r'name="csrf_token" value="(\w+)"', client.get("/login").text)[1]
    return client.post(
        "/login", data={"password": password, "csrf_token": token}, follow_redirects=False
    )


def test_a_stranger_is_asked_for_the_password_and_then_let_in(guarded):
    assert guarded.get("/settings", follow_redirects=False).headers["location"] == "/login"
    before = guarded.cookies["feedproof_session"] if guarded.get("/login") else ""
    assert _enter(guarded, "wrong").status_code == 403
    assert _enter(guarded, PASSWORD).headers["location"] == "/"
    assert guarded.cookies["feedproof_session"].split(".")[0] != before.split(".")[0]
    assert guarded.get("/settings", follow_redirects=False).status_code == 200


def test_after_five_wrong_passwords_even_the_right_one_waits(guarded):
    assert [_enter(guarded, "wrong").status_code for _ in range(6)] == [403] * 5 + [429]
    assert _enter(guarded, PASSWORD).status_code == 429


class _SlowPassword:
    """A file of a password, none of which fits; it counts how many look at once."""

    hashed = "x"

    def __init__(self) -> None:
        self.now = self.most = self.looks = 0

    def fits(self, password: str) -> bool:
        self.now += 1
        self.looks += 1
        self.most = max(self.most, self.now)
        time.sleep(0.02)
        self.now -= 1
        return password == PASSWORD


def test_strangers_who_guess_at_once_are_counted_and_checked_one_by_one(tmp_path):
    password = _SlowPassword()
    access = Access(ServeSettings(workspace=tmp_path, host="0.0.0.0"), b"s" * 32, password)
    with ThreadPoolExecutor(20) as many:
        told = list(many.map(lambda _: access.fits("10.0.0.7", "guess"), range(20)))
    assert told.count(False) == password.looks == 5
    assert told.count(None) == 15
    assert password.most == 1


def test_wrong_passwords_of_long_ago_are_forgotten():
    attempts = Attempts()
    for number in range(3 * attempts.MOST_ADDRESSES):
        attempts.may_try(f"10.0.0.{number}", 70.0 * number)
        attempts.failed(f"10.0.0.{number}", 70.0 * number)
    assert len(attempts.wrong) <= attempts.MOST_ADDRESSES + 1


def test_a_machine_with_many_addresses_is_one_asker():
    first, other = ({"client": (f"2001:db8:0:{net}::{host}", 1)} for net, host in ((1, 7), (2, 7)))
    assert asker({"client": ("2001:db8:0:1:ffff::8", 1)}) == asker(first) != asker(other)
    assert asker({"client": ("fe80::1%eth0", 1)}) == "fe80::/64"
    assert asker({"client": None}) == ""


def test_a_cookie_that_was_changed_or_is_old_does_not_count():
    sessions = Sessions(b"s" * 32, "hash")
    session = sessions.begin(is_known=False, now_s=1000.0)
    cookie = sessions.cookie(session)
    assert sessions.read(cookie, 1000.0) == session
    assert sessions.read(cookie, 1000.0 + LIFETIME_S + 1) is None
    assert sessions.read(cookie.replace(".0.", ".1."), 1000.0) is None
    for rubbish in ("", ".", "a.b.c.d", cookie[:-1], "é" * 20):
        assert sessions.read(rubbish, 1000.0) is None
    assert Sessions(b"s" * 32, "another").read(cookie, 1000.0) is None


def test_numbers_take_a_comma_and_names_do_not():
    assert with_comma("loss 0.20 % (\u22121.3 … 0.35) at 16,000 km") == (
        "loss 0,20 % (\u22121,3 … 0,35) at 16\u202f000 km"
    )
    for kept in ("0.1.0", "2026-09-14", "run02.csv", "ISO 4406 18/16/13", "10.1.0.1"):
        assert with_comma(kept) == kept
