"""Logs dropped in, said what they are, made into runs, looked at, left out."""

import html
import io
import re
import time
from pathlib import Path

import pytest

from feedproof.app.api import PACKAGED_DEMO
from feedproof.app.web.api.uploads import Uploads
from feedproof.app.web.inbox import Inbox
from feedproof.core.errors import InputError, MissingError
from feedproof.records.folder import CaseFolder
from feedproof.records.names import safe_name


def _raw(number: int) -> dict[str, Path]:
    folder = CaseFolder(PACKAGED_DEMO)
    run = next(run for run in folder.load().case.runs if run.number == number)
    return {log.name: folder.raw(log) for log in run.logs}


def _drop(browser, *numbers: int):
    files = [
        # The same bytes as a run on record would be refused, and rightly.
        ("files", (name, path.read_bytes() + b"\n"))
        for number in numbers
        for name, path in _raw(number).items()
    ]
    return browser.send("/cases/demo/logs", files=files, part=False)


def _ended(browser) -> str:
    for _ in range(600):
        if browser.get("/cases/demo/runs/adding").headers.get("hx-refresh"):
            return browser.get("/cases/demo/runs").text
        time.sleep(0.1)
    raise AssertionError("the adding does not end")


SHARED = {"ambient": "91.1 kPa", "air_temp": "19 degC", "humidity": "52 %", "level": "58 %"}


def _keys(browser) -> dict[str, str]:
    page = browser.get("/cases/demo/runs").text
    return {name: key for key, name in re.findall(r'logs/(\w{32})">([^<]+)</a>', page)}


def test_dropped_logs_are_matched_by_their_columns_and_become_runs(browser, workspace):
    assert _drop(browser, 2, 3).status_code == 303
    page = browser.get("/cases/demo/runs").text
    assert page.count("fits the instrument <strong>cell</strong>") == 2
    assert page.count("fits the instrument <strong>logger</strong>") == 2
    keys = _keys(browser)
    form = SHARED | {
        "take-1": "yes", "number-1": "28", "started-1": "2026-09-18T09:00:00",
        "log-cell-1": keys["run02_cell.csv"], "log-logger-1": keys["run02_logger.csv"],
        "take-2": "yes", "number-2": "29", "started-2": "2026-09-18T09:11",
        "log-cell-2": keys["run03_cell.csv"], "log-logger-2": keys["run03_logger.csv"],
        "kits-2": "secondary",
    }  # fmt: skip
    answer = browser.send("/cases/demo/runs", form)
    assert answer.headers.get("hx-redirect") == "/cases/demo/runs", answer.text
    assert "Adding runs" in browser.get("/cases/demo/runs").text
    _ended(browser)
    case = CaseFolder.open(workspace / "demo").load().case
    assert [(run.number, run.kits) for run in case.runs[-2:]] == [(28, ()), (29, ("secondary",))]
    assert not _keys(browser)
    assert "Depression at the pump inlet" in browser.get("/cases/demo/runs/29").text


def test_what_was_typed_stands_there_again_beside_every_mistake(browser, workspace):
    _drop(browser, 2)
    key = _keys(browser)["run02_cell.csv"]
    before = (workspace / "demo" / "case.toml").read_bytes()
    form = SHARED | {
        "take-1": "yes", "number-1": "28x", "started-1": "yesterday", "log-cell-1": key,
        "note-1": "cold hose",
    }  # fmt: skip
    answer = browser.send("/cases/demo/runs", form, part=False)
    assert answer.status_code == 422
    for words in ("its number is", "has no start", 'value="cold hose"', 'value="91.1 kPa"'):
        assert words in answer.text
    assert "Nothing was added yet" in answer.text
    assert (workspace / "demo" / "case.toml").read_bytes() == before
    assert key in _keys(browser).values()


def _mistakes(page: str) -> list[str]:
    found = re.findall(r'<li class="finding error">(.*?)</li>', page, re.DOTALL)
    return [html.unescape(re.sub("<[^>]*>", "", each)) for each in found]


def test_mistakes_of_fields_and_those_of_the_case_are_told_in_one_round(browser, workspace):
    _drop(browser, 2, 3)
    keys = _keys(browser)
    before = (workspace / "demo" / "case.toml").read_bytes()
    good = {
        "take-1": "yes", "number-1": "28", "started-1": "2026-09-18T09:00",
        "log-cell-1": keys["run02_cell.csv"],
        "take-2": "yes", "number-2": "29", "started-2": "2026-09-18T09:11",
        "log-cell-2": keys["run03_cell.csv"],
    }  # fmt: skip
    bad = {
        # Of the fields.
        "number-1": "28x", "started-2": "yesterday", "elements-2": "factory_filter",
        # Of the case: a unit, a kit, a part, a temperature that is none.
        "air_temp": "19 apples", "kits-1": "nowhere", "loading-1": "nowhere=9 g",
        "zero_before-2": "hot",
        "take-3": "yes", "number-3": "30", "started-3": "2026-09-18T09:22",
    }  # fmt: skip
    answer = browser.send("/cases/demo/runs", SHARED | good | bad, part=False)
    assert answer.status_code == 422
    told = _mistakes(answer.text)
    wanted = {
        "number": ("run 28x", "its number is"), "start": ("run 29", "has no start"),
        "serials": ("run 29", "NAME=VALUE"), "kit": ("run 28x", "nowhere"),
        "loading": ("run 28x", "loading"), "zero": ("run 29", "hot"),
        "air of 1": ("run 28x", "apples"), "air of 2": ("run 29", "apples"),
    }  # fmt: skip
    for what, words in wanted.items():
        assert any(all(word in each for word in words) for each in told), (what, told)
    assert sum("run 30" in each and "log" in each for each in told) == 1
    # What stands in for a number or a start that was no use is not told of.
    assert not any("99999" in each or "1000000" in each for each in told)
    assert not any(".started" in each for each in told)
    # Nothing was begun, and mended as told it is taken.
    assert (workspace / "demo" / "case.toml").read_bytes() == before
    assert "Adding runs" not in browser.get("/cases/demo/runs").text
    answer = browser.send("/cases/demo/runs", SHARED | good, part=False)
    assert answer.status_code == 303, answer.text
    _ended(browser)
    case = CaseFolder.open(workspace / "demo").load().case
    assert [run.number for run in case.runs[-2:]] == [28, 29]


def test_two_runs_of_one_number_and_one_that_is_on_record_are_told_before_any_is_added(browser):
    _drop(browser, 2, 3)
    keys = _keys(browser)
    form = SHARED | {
        "take-1": "yes", "number-1": "3", "started-1": "2026-09-18T09:00",
        "log-cell-1": keys["run02_cell.csv"],
        "take-2": "yes", "number-2": "40", "started-2": "2026-09-18T09:11",
        "log-cell-2": keys["run03_cell.csv"],
        "take-3": "yes", "number-3": "40", "started-3": "2026-09-18T09:22",
        "log-cell-3": keys["run03_logger.csv"],
    }  # fmt: skip
    answer = browser.send("/cases/demo/runs", form, part=False)
    assert answer.status_code == 422
    told = " ".join(_mistakes(answer.text))
    assert "run 3" in told
    assert "run 40" in told


def test_what_only_the_log_can_tell_is_told_when_it_is_read_and_nothing_is_lost(browser, workspace):
    lines = _raw(2)["run02_cell.csv"].read_bytes().splitlines(keepends=True)
    files = [("files", ("cut.csv", b"".join(lines[: len(lines) // 5])))]
    browser.send("/cases/demo/logs", files=files, part=False)
    key = _keys(browser)["cut.csv"]
    before = (workspace / "demo" / "case.toml").read_bytes()
    form = SHARED | {
        "take-1": "yes", "number-1": "28", "started-1": "2026-09-18T09:00", "log-cell-1": key,
        "note-1": "cold hose",
    }  # fmt: skip
    assert browser.send("/cases/demo/runs", form, part=False).status_code == 303
    page = _ended(browser)
    assert "Not everything was added" in page
    assert 'value="cold hose"' in page
    assert (workspace / "demo" / "case.toml").read_bytes() == before
    assert key in _keys(browser).values()


def test_a_log_of_no_known_instrument_is_asked_about_and_kept_as_one(browser, workspace):
    text = "t;v road;P wheel;suction\ns;;kW;\n" + "".join(
        f"{i / 10};{50 + i / 5};{60 + i / 4};{i / 20}\n" for i in range(300)
    )
    files = [("files", ("new.csv", text.encode()))]
    assert browser.send("/cases/demo/logs", files=files).status_code == 204
    assert "No instrument of this case fits this file" in browser.get("/cases/demo/runs").text
    key = _keys(browser)["new.csv"]
    page = browser.get(f"/cases/demo/logs/{key}").text
    assert "Its columns" in page
    revision = re.search(r'name="revision" value="(\w+)"', page)[1]
    form = {
        "instrument": "box", "title": "a box", "revision": revision,
        "channel-1": "time", "channel-2": "road_speed", "channel-3": "wheel_power",
        "channel-4": "inlet_depression", "unit-4": "kPa",
    }  # fmt: skip
    answer = browser.send(f"/cases/demo/logs/{key}/columns", form)
    assert answer.status_code == 422
    assert "its unit" in answer.text or "has no unit" in answer.text
    answer = browser.send(f"/cases/demo/logs/{key}/columns", form | {"unit-2": "km/h"})
    assert answer.status_code == 204, answer.text
    case = CaseFolder.open(workspace / "demo").load().case
    assert case.instruments["box"].title == "a box"
    assert "fits the instrument <strong>box</strong>" in browser.get("/cases/demo/runs").text
    assert b"# INVENTED. No value here" in (workspace / "demo" / "case.toml").read_bytes()


def test_what_was_concluded_can_be_corrected(browser):
    _drop(browser, 2)
    key = _keys(browser)["run02_logger.csv"]
    assert "cp1252" in browser.get(f"/cases/demo/logs/{key}").text
    browser.send(f"/cases/demo/logs/{key}", {"encoding": "iso-8859-15", "delimiter": "comma"})
    page = browser.get(f"/cases/demo/logs/{key}").text
    assert '<option value="iso-8859-15" selected>' in page
    assert "cannot be used as it stands" in page


def test_a_run_is_left_out_only_with_name_and_reason(browser, workspace):
    assert browser.send("/cases/demo/runs/4/exclude", {"who": "", "reason": ""}).status_code == 422
    sent = {"who": "A. Name", "reason": "regeneration began"}
    assert browser.send("/cases/demo/runs/4/exclude", sent).status_code == 204
    assert "regeneration began" in browser.get("/cases/demo/runs").text
    # Whoever signed once need not sign again, and is not forgotten by a form without a name.
    for number in (5, 6):
        sent = {"who": "", "reason": "the loop was left open"}
        assert browser.send(f"/cases/demo/runs/{number}/exclude", sent).status_code == 204
    case = CaseFolder.open(workspace / "demo").load().case
    assert next(run for run in case.runs if run.number == 4).excluded.startswith(
        "regeneration began (A. Name"
    )


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\logs\\run.csv", "run.csv"),
        (".said.json", "said.json"),
        ("a\x00b\nc.csv", "a_b_c.csv"),
        ("x" * 300 + ".csv", "x" * 116 + ".csv"),
    ],
)
def test_the_name_of_a_dropped_file_is_never_a_path(name, kept, tmp_path):
    assert safe_name(name) == kept
    log = Inbox(Uploads(tmp_path / "own", 1000), "demo").add(io.BytesIO(b"a"), name)
    assert log.path.resolve().is_relative_to((tmp_path / "own").resolve())


def test_an_empty_file_is_refused_and_the_same_bytes_wait_once(tmp_path):
    inbox = Inbox(Uploads(tmp_path / "own", 1000), "demo")
    with pytest.raises(InputError, match="is empty"):
        inbox.add(io.BytesIO(b""), "run.csv")
    assert not inbox.logs()
    first = inbox.add(io.BytesIO(b"a"), "run.csv")
    assert inbox.add(io.BytesIO(b"a"), "again.csv") == first
    assert inbox.logs() == (first,)
    other = Inbox(Uploads(tmp_path / "own", 1000), "other")
    assert not other.logs()
    with pytest.raises(MissingError):
        other.log(first.key)


@pytest.mark.parametrize("name", ["upload.json", "said.json", ".upload.json", ".said.json"])
def test_a_log_keeps_its_bytes_whatever_it_is_called(tmp_path, name):
    inbox = Inbox(Uploads(tmp_path / "own", 1000), "demo")
    log = inbox.add(io.BytesIO(b"time,speed"), name)
    inbox.say(log.key, hints={"decimal": "comma"}, instrument="dyno")
    assert inbox.log(log.key).path.read_bytes() == b"time,speed"
    assert inbox.log(log.key).instrument == "dyno"


def test_what_the_http_interface_was_sent_waits_on_the_screen(browser):
    sent = browser.client.post(
        "/api/cases/demo/logs",
        files=[("files", ("sent.csv", b"Time,Speed\n0,1\n1,2\n"))],
        headers={"x-csrf-token": browser.token()},
    )
    assert sent.status_code == 201, sent.text
    assert "sent.csv" in _keys(browser)


def test_rubbish_dropped_in_says_why_and_stops_nothing(browser):
    files = [("files", ("rubbish.csv", bytes(range(256)) * 40))]
    assert browser.send("/cases/demo/logs", files=files).status_code == 204
    key = _keys(browser)["rubbish.csv"]
    page = browser.get(f"/cases/demo/logs/{key}")
    assert page.status_code == 200
    assert "cannot be used as it stands" in page.text
    assert browser.send(f"/cases/demo/logs/{key}/remove").status_code == 204
    assert browser.get(f"/cases/demo/logs/{key}").status_code == 404
