"""Screens of results: long work beside the page, the same words and pictures as in print."""

import json
import re
import time
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from feedproof.app.jobs import bases
from feedproof.app.jobs.record import State
from feedproof.app.looking import JUDGED
from feedproof.app.web import guards
from feedproof.app.web.application import create_app
from feedproof.app.web.serve_settings import ServeSettings
from feedproof.app.web.shown.service import NO_FAN
from feedproof.app.web.shown.sources import SOURCE, _redrawn
from feedproof.report.notation import REPORT
from tests.app.web.conftest import BASE, Browser
from tests.app.web.test_picture_units import CHOSEN, POINT, USUAL, all_said, pictures

WORKING = 'id="working"'
PATIENCE_S = 100.0
LIFE = "/cases/demo/life"


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("results")


@pytest.fixture(scope="module")
def browser(place: Path) -> Iterator[Browser]:
    """One server for the file: its processes take seconds to begin."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FEEDPROOF_STORE", str(place / "store.sqlite"))
        with TestClient(
            create_app(ServeSettings(workspace=place / "cases", requests_per_s=1e6)), base_url=BASE
        ) as client:
            yield Browser(client, place / "cases")


@pytest.fixture(scope="module")
def case(place: Path) -> Path:
    return place / "cases" / "demo"


def _settled(browser: Browser, address: str) -> str:
    """Open a page and wait until it waits for nothing."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        page = browser.get(address)
        assert page.status_code == 200, page.text
        if WORKING not in page.text:
            return page.text
        time.sleep(0.1)
    raise AssertionError(f"{address} is not settled after {PATIENCE_S} s")


def _begun(browser: Browser, screen: str, **fields: str) -> str:
    """Begin the work of a screen by its button, and wait for its end."""
    answer = browser.send("/cases/demo/jobs", {"screen": screen, "asked": "{}", **fields})
    assert answer.headers["hx-redirect"] == f"/cases/demo/{screen}"
    return _settled(browser, f"/cases/demo/{screen}")


def _judged(browser: Browser) -> str:
    """Open the verdict, judged here where nothing before this test did."""
    page = _settled(browser, "/cases/demo/verdict")
    return _begun(browser, "verdict") if "Not judged yet" in page else page


def _judgements(case: Path) -> int:
    lines = (case / "journal.jsonl").read_text().splitlines()
    return sum(json.loads(line)["what"] == JUDGED for line in lines)


def test_runs_that_nobody_judged_are_judged_only_when_that_is_asked_for(browser, case):
    page = browser.get("/cases/demo/verdict").text
    assert "Not judged yet" in page
    assert WORKING not in page
    assert _judgements(case) == 0
    page = _begun(browser, "verdict")
    assert "Not judged yet" not in page
    assert page.count('class="release') == 5
    assert _judgements(case) == 1


def test_the_verdict_speaks_and_draws_as_the_written_report_does(browser, case):
    page = _begun(browser, "verdict")
    assert "Write the report" in browser.get("/cases/demo/report").text
    _begun(browser, "report")
    written = (case / "report" / "report.html").read_text()
    rulers = re.findall(r'<div class="picture ruler wide">(.*?)</div>', page, re.DOTALL)
    assert len(rulers) == 20
    assert all(ruler in written for ruler in rulers)
    narrow = re.findall(r'<div class="picture ruler narrow">(.*?)</div>', page, re.DOTALL)
    assert all(ruler in written for ruler in narrow)
    for headline in re.findall(r'<p class="headline">(.*?)</p>', page):
        assert headline in written
    customer = browser.get("/cases/demo/verdict?reader=customer").text
    for words in re.findall(r'<p class="headline">(.*?)</p>', customer):
        assert words in written


def test_the_previewed_report_is_the_one_that_is_taken_along_byte_by_byte(browser, case):
    assert '<iframe class="sheet" src="/cases/demo/report/page"' in _begun(browser, "report")
    shown = browser.get("/cases/demo/report/page")
    taken = browser.get("/cases/demo/report/report.html")
    assert shown.content == taken.content == (case / "report" / "report.html").read_bytes()
    assert shown.headers["content-security-policy"] == guards.REPORT_POLICY
    assert "attachment" in taken.headers["content-disposition"]
    paper = browser.get("/cases/demo/report/report.pdf")
    assert paper.content == (case / "report" / "report.pdf").read_bytes()
    assert 'filename="demo-report.pdf"' in paper.headers["content-disposition"]
    bundle = browser.get("/cases/demo/bundle.zip")
    assert bundle.content[:2] == b"PK"
    assert 'filename="demo.zip"' in bundle.headers["content-disposition"]
    assert browser.get("/cases/demo/report/report.exe").status_code == 404


def test_a_plan_is_made_by_itself_and_its_run_sheet_is_the_same_on_page_and_paper(browser):
    assert WORKING in browser.get("/cases/demo/plan").text
    page = _settled(browser, "/cases/demo/plan")
    assert '<p class="order">A-B-A</p>' in page
    sheet = browser.get("/cases/demo/plan/run-sheet.html")
    assert 'filename="demo-run-sheet.html"' in sheet.headers["content-disposition"]
    for session in re.findall(r"<h3>(Session .*?)</h3>", page):
        assert session in sheet.text
    assert browser.get("/cases/demo/plan/run-sheet.pdf").content[:5] == b"%PDF-"
    assert browser.get("/cases/demo/plan/run-sheet.odt").status_code == 404


def test_what_a_plan_is_asked_for_is_kept_in_its_address(browser):
    page = _settled(browser, "/cases/demo/plan?runs_each=3&kit=secondary")
    assert 'value="3"' in page
    assert 'value="secondary" checked' in page
    assert re.search(r'<p class="order">(A|B|-)+</p>', page)[0].count("B") == 3
    sheet = re.search(r'href="(/cases/demo/plan/run-sheet.html[^"]*)"', page)[1]
    assert "Session 2" not in browser.get(unescape(sheet)).text


def test_mistakes_in_a_form_are_told_in_place_and_nothing_that_was_typed_is_lost(browser):
    page = browser.get("/cases/demo/plan?chance=ninety&runs_each=2.5").text
    assert WORKING not in page
    assert "&#39;ninety&#39; is not a number" in page
    assert "&#39;2.5&#39; is not a whole number" in page
    assert 'value="ninety"' in page
    page = _settled(browser, "/cases/demo/choice?at_least=far")
    assert "--at-least" not in page
    assert 'value="far"' in page
    assert 'class="finding error"' in page
    assert "At least</span>" in page


def test_other_screens_answer_in_words_with_pictures_and_tables(browser):
    for screen, said in (
        ("protection", "What no filter stops"),
        ("life", "change the elements every"),
        ("choice", "Will a fine secondary starve my engine?"),
    ):
        page = _settled(browser, f"/cases/demo/{screen}")
        assert said in page
        assert page.count("<svg") >= 2
        assert "in numbers" in page
        # Findings name places of the case, whose ids stay as they are.
        assert "_element" not in page.partition("What must be known")[0]


def test_a_life_that_is_not_drawn_says_why(browser):
    page = _settled(browser, "/cases/demo/life")
    sections = [each for each in page.split("<section>") if "drawn vehicles do not pass" in each]
    assert len(sections) == 3
    assert all(("<svg" in each) != (NO_FAN in each) for each in sections)


def test_a_result_of_an_older_case_is_shown_with_that_word_and_computed_anew(browser, case):
    _settled(browser, "/cases/demo/protection")
    document = case / "case.toml"
    document.write_text(document.read_text() + "\n# looked over once more\n")
    page = browser.get("/cases/demo/protection").text
    assert "Out of date" in page
    assert "the case was changed" in page
    assert WORKING in page
    assert "What no filter stops" in page
    assert "Out of date" not in _settled(browser, "/cases/demo/protection")


def test_a_result_of_another_version_of_the_program_is_computed_anew(browser, monkeypatch):
    _settled(browser, "/cases/demo/protection")
    real = bases.environment
    with monkeypatch.context() as patch:
        patch.setattr(bases, "environment", lambda version: {**real(version), "code": "other"})
        page = browser.get("/cases/demo/protection").text
    assert "the program is another version" in page
    assert WORKING in page
    assert "Out of date" not in _settled(browser, "/cases/demo/protection")


def test_work_can_be_stopped_and_does_not_begin_again_by_itself(browser):
    page = browser.get("/cases/demo/choice?halving_worth=151").text
    stop = re.search(r'action="(/cases/demo/jobs/[0-9a-f]+/stop)"', page)[1]
    browser.send(stop, {"screen": "choice", "query": "halving_worth=151"})
    page = _settled(browser, "/cases/demo/choice?halving_worth=151")
    assert "The work was stopped" in page
    assert "Compute it" in page
    assert WORKING not in browser.get("/cases/demo/choice?halving_worth=151").text


def test_a_page_that_waits_is_told_how_far_the_work_is_and_loads_itself_at_its_end(browser):
    page = browser.get("/cases/demo/plan?chance=91").text
    poll = unescape(re.search(r'hx-get="([^"]+)"', page)[1])
    end = time.monotonic() + PATIENCE_S
    while (part := browser.get(poll)).headers.get("hx-refresh") != "true":
        assert "<progress" in part.text
        assert "<html" not in part.text
        assert time.monotonic() < end
        time.sleep(0.1)
    assert WORKING not in browser.get("/cases/demo/plan?chance=91").text


def test_a_server_that_starts_again_shows_the_last_result_at_once(browser):
    expected = _settled(browser, "/cases/demo/life")
    browser.client.app.state.jobs.close()
    browser.client.app.state.jobs = None
    assert _without_token(browser.get("/cases/demo/life").text) == _without_token(expected)


def _without_token(page: str) -> str:
    return re.sub(r"[0-9a-f]{64}", "", page)


def test_a_case_with_mistakes_is_told_with_a_way_to_mend_it(browser):
    browser.send("/demo")
    name = sorted(each.name for each in _cases(browser).iterdir() if each.name != "demo")[-1]
    document = _cases(browser) / name / "case.toml"
    document.write_text(document.read_text().replace("[vehicle]", "[vehikle]"))
    for screen in ("verdict", "plan", "protection", "life", "choice", "report"):
        page = browser.get(f"/cases/{name}/{screen}").text
        assert "The case has mistakes to mend first" in page
        assert f'href="/cases/{name}/vehicle"' in page
        assert WORKING not in page


def _cases(browser: Browser) -> Path:
    return browser.client.app.state.workspace.path


def test_margins_are_declared_with_who_and_why_and_not_without(browser):
    browser.send("/cases", {"name": "margins"})
    page = browser.get("/cases/margins/verdict").text
    assert "Margins to declare first" in page
    assert "There is nothing to judge yet" in page
    answer = browser.send("/cases/margins/margins", {"who": " ", "source": "by letter"})
    assert answer.status_code == 422
    assert 'value="by letter"' in answer.text
    browser.send("/cases/margins/margins", {"who": "A. Fitter", "source": "by letter"})
    assert "Margins to declare first" not in browser.get("/cases/margins/verdict").text
    assert "A. Fitter" in (_cases(browser) / "margins" / "journal.jsonl").read_text()


def test_a_workshop_with_decimal_commas_reads_them_in_words_and_pictures(browser):
    # Judged here, whatever ran before in this process.
    point = _begun(browser, "verdict")
    browser.send("/settings", {"decimal": "comma", "who": "A. Name"})
    try:
        comma = browser.get("/cases/demo/verdict").text
    finally:
        browser.send("/settings", {"decimal": "point", "who": "A. Name"})
    assert "at the most by 0.36" in point
    assert "at the most by 0,36" in comma
    assert not re.search(r">[^<]*best estimate[^<]*\d\.\d[^<]*</text>", comma)
    paths = re.compile(r' (?:d|x|y|points|transform)="[^"]*"')
    assert paths.findall(point) == paths.findall(comma)


@pytest.fixture
def _chosen(browser: Browser) -> Iterator[None]:
    """Choose other units than the usual, and the comma, for one test."""
    browser.send("/settings", CHOSEN)
    yield
    browser.send("/settings", {"decimal": "point"})


@pytest.mark.usefixtures("_chosen")
@pytest.mark.parametrize("screen", ["verdict", "life", "protection", "choice", "plan"])
def test_pictures_of_kept_results_are_drawn_in_the_units_of_the_workshop(browser, screen):
    page = _judged(browser) if screen == "verdict" else _settled(browser, f"/cases/demo/{screen}")
    assert len(pictures(page)) >= 2
    for words in all_said(page):
        # The vehicle's name is the workshop's own text.
        assert not USUAL.search(words.replace("110 kW", "")), words
        assert not POINT.search(words), words
    if screen in {"verdict", "life"}:
        assert any("inHg" in each for each in all_said(page))


def test_other_units_are_no_new_judgement_and_leave_nothing_behind(browser, case):
    usual = pictures(_judged(browser))
    judged = _judgements(case)
    browser.send("/settings", CHOSEN)
    page = browser.get("/cases/demo/verdict").text
    assert WORKING not in page
    assert "Not judged yet" not in page
    assert pictures(page) != usual
    browser.send("/settings", {"decimal": "point"})
    assert pictures(browser.get("/cases/demo/verdict").text) == usual
    assert _judgements(case) == judged


@pytest.mark.usefixtures("_chosen")
def test_a_planted_depression_stands_on_its_ruler_in_the_chosen_unit(browser):
    page = _judged(browser)
    browser.send("/settings", {"decimal": "point"})
    usual = browser.get("/cases/demo/verdict").text

    def added(text: str, unit: str) -> list[str]:
        figure = rf"where it is highest adds ([\d.,]+) {unit}"
        found = (re.search(figure, each) for each in all_said(text))
        return [each[1] for each in found if each]

    kpa, inhg = added(usual, "kPa"), added(page, "inHg")
    assert len(kpa) == len(inhg) > 2
    for first, second in zip(kpa, inhg, strict=True):
        assert float(second.replace(",", ".")) == pytest.approx(float(first) / 3.386389, abs=0.007)


def test_a_kept_picture_is_drawn_again_as_it_was_in_the_units_of_the_report(browser):
    for screen, least in (("verdict", 3), ("life", 1)):
        _judged(browser) if screen == "verdict" else _settled(browser, LIFE)
        last = browser.client.app.state.jobs.latest(
            f"show_{screen}", _cases(browser) / "demo", {}
        ).result
        kept = [each for each in _dicts(last) if each.get(SOURCE)]
        assert len(kept) >= least
        for each in kept:
            drawn = _redrawn(json.dumps(each[SOURCE], sort_keys=True), REPORT)
            assert _pieces(drawn.wide) == _pieces(each["wide"])
            assert _pieces(drawn.narrow) == _pieces(each["narrow"])


def _pieces(picture: str) -> list[str]:
    """
    Take a picture apart, coordinates rounded, in an order of its own.

    A kept result holds so many digits of its figures and no more, and names of equal height may
    change places by less than that.
    """
    number = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
    rounded = number.sub(lambda found: f"{round(float(found[0]), 2) + 0.0:g}", picture)
    return sorted(re.findall(r' d="[^"]*"|>[^<>]+<|translate\([^)]*\)', rounded))


def _dicts(content) -> list[dict]:
    """List all dictionaries of a result."""
    inside = content.values() if isinstance(content, dict) else content
    below = [one for each in inside if isinstance(each, dict | list) for one in _dicts(each)]
    return [content, *below] if isinstance(content, dict) else below


def test_work_of_another_case_or_screen_is_none(browser):
    page = browser.get("/cases/demo/plan?chance=92").text
    poll = unescape(re.search(r'hx-get="([^"]+)"', page)[1])
    browser.send("/cases", {"name": "other"})
    assert browser.get(poll.replace("/demo/", "/other/")).status_code == 404
    assert browser.get("/cases/demo/jobs/0123456789abcdef?screen=plan").status_code == 404
    answer = browser.send("/cases/demo/jobs", {"screen": "//evil.example", "asked": "{}"})
    assert answer.status_code == 422
    assert browser.send("/cases/demo/jobs", {"screen": "plan", "asked": "["}).status_code == 422


def test_a_judgement_that_a_servers_end_cut_off_is_told_and_can_be_asked_for_again(
    tmp_path, monkeypatch
):
    monkeypatch.setenv("FEEDPROOF_STORE", str(tmp_path / "store.sqlite"))
    settings = ServeSettings(workspace=tmp_path / "cases", requests_per_s=1e6)
    with TestClient(create_app(settings), base_url=BASE) as client:
        browser = Browser(client, tmp_path / "cases")
        assert "Interrupted" not in browser.get("/cases/demo/verdict").text
        browser.send("/cases/demo/jobs", {"screen": "verdict", "asked": "{}"})
        end = time.monotonic() + PATIENCE_S
        jobs = client.app.state.jobs
        while jobs.list(tmp_path / "cases" / "demo")[0].state is State.QUEUED:
            assert time.monotonic() < end
            time.sleep(0.05)
        jobs.close()
        client.app.state.jobs = None
        page = browser.get("/cases/demo/verdict").text
        assert "Interrupted" in page
        assert "Judge these runs" in page
        assert WORKING not in page
