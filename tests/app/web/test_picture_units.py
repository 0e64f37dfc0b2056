"""Pictures on the screens speak in the units and with the decimal mark of the workshop."""

import re
from html import unescape

import pytest

from feedproof.app.api import predict

CHOSEN = {
    "pressure": "inHg",
    "temperature": "degF",
    "length": "ft",
    "speed": "mph",
    "power": "hp",
    "flow": "L/min",
    "decimal": "comma",
}
LIVE = (
    "/cases/demo/what-if?kit=secondary",
    "/cases/demo/what-if/answer?kit=secondary&drag=yes&width=336",
    "/cases/demo/what-if/map?kit=secondary",
    "/cases/demo/vehicle?with=secondary",
    "/cases/demo/runs/2",
)
USUAL = re.compile(r"kPa|°C|\bkm/h|\bL/h|\bkW\b|\b[\d,.]+ m\b|altitude, km")
POINT = re.compile(r"\d\.\d")
INHG_PA = 3386.389


def pictures(page: str) -> list[str]:
    """Take the pictures out of a page."""
    return re.findall(r"<svg[^>]*role=\"(?:img|group)\".*?</svg>", page, re.DOTALL)


def said(picture: str) -> list[str]:
    """List all that a picture writes or says: labels, names, descriptions, spoken labels."""
    written = re.findall(r">([^<>]+)</(?:text|tspan|title|desc)>", picture)
    spoken = re.findall(r'aria-label="([^"]*)"', picture)
    return [unescape(each).replace("\u00a0", " ") for each in (*written, *spoken)]


def all_said(page: str) -> list[str]:
    """List all that the pictures of a page write or say."""
    return [each for picture in pictures(page) for each in said(picture)]


@pytest.fixture
def chosen(browser):
    """Choose other units than the usual, and the comma."""
    assert browser.send("/settings", CHOSEN).status_code < 400
    return browser


@pytest.mark.parametrize("address", LIVE)
def test_no_picture_says_a_unit_that_was_not_chosen_or_writes_a_point(chosen, address):
    page = chosen.get(address).text
    assert len(pictures(page)) >= 2
    for words in all_said(page):
        assert not USUAL.search(words), words
        assert not POINT.search(words), words


@pytest.mark.parametrize("address", LIVE)
def test_who_chose_nothing_reads_what_the_report_says(browser, address):
    words = all_said(browser.get(address).text)
    assert any("kPa" in each for each in words)
    assert not any(re.search(r"\bmph|°F|\bhp\b|\d,\d{1,2}\b", each) for each in words)


def test_a_planted_pressure_stands_in_the_chosen_unit_in_every_live_picture(chosen, workspace):
    told = predict(workspace / "demo", kits=("secondary",)).configurations[-1].staircase.steps[-1]
    depression = f"{told.depression_after_pa / INHG_PA:.2f}".replace(".", ",")
    pressure = f"{told.pressure_abs_after_pa / INHG_PA:.2f}".replace(".", ",")
    page = chosen.get("/cases/demo/what-if?kit=secondary").text
    staircase, curve, _ = (said(each) for each in pictures(page))
    assert f"{pressure} inHg absolute" in staircase
    assert any(each.startswith(f"{depression} inHg") for each in curve)
    line = [said(each) for each in pictures(chosen.get("/cases/demo/vehicle?with=secondary").text)]
    assert all(f"{depression} inHg" in words for words in line)


def ticks(picture: str, along: str, anchor: str) -> list[tuple[float, float]]:
    """List place and value of the round numbers along an axis."""
    label = rf'<text x="([\d.]+)" y="([\d.]+)"[^>]*text-anchor="{anchor}"[^>]*>([\d,]+)</text>'
    return [
        (float(x if along == "x" else y), float(value.replace(",", ".")))
        for x, y, value in re.findall(label, picture)
    ]


@pytest.mark.parametrize(("number", "named"), [(0, "14,17 inHg absolute"), (1, "12,70 inHg")])
def test_the_limit_stands_where_the_ticks_of_the_chosen_unit_say(chosen, number, named):
    page = chosen.get("/cases/demo/what-if?kit=secondary&width=760").text
    picture = pictures(page)[number]
    assert any(named in words for words in said(picture))
    (low, first), *_, (high, last) = ticks(picture, "y", "end")
    assert [round(each * 2) / 2 for each in (first, last)] == [first, last]
    limit = float(named.partition(" ")[0].replace(",", "."))
    line = re.search(r'<line [^>]*y1="([\d.]+)"[^>]*stroke="var\(--limit', picture)
    # Labels stand 4.5 px below their lines.
    expected = low + (limit - first) / (last - first) * (high - low) - 4.5
    assert float(line[1]) == pytest.approx(expected, abs=0.3)


def test_the_marked_speed_stands_where_the_ticks_of_the_chosen_unit_say(chosen):
    address = "/cases/demo/what-if?kit=secondary&width=760&speed_m_per_s=50"
    picture = pictures(chosen.get(address).text)[1]
    found = [each for each in ticks(picture, "x", "middle") if each[1] <= 90.0]
    (left, first), *_, (right, last) = found
    marker = re.search(r'<line x1="([\d.]+)"[^>]*stroke-dasharray="1 3"', picture)
    assert any("at 50 mph" in words for words in said(picture))
    expected = left + (50.0 - first) / (last - first) * (right - left)
    assert float(marker[1]) == pytest.approx(expected, abs=0.3)


def test_an_axis_that_stands_still_is_the_same_line_in_every_unit(browser):
    address = "/cases/demo/what-if/answer?kit=secondary&width=760"

    def curve(page: str) -> tuple[str, list[str]]:
        axis = re.search(r'data-axis-depression="([^"]+)"', page)[1]
        return axis, re.findall(r'<path d="([^"]+)"', pictures(page)[1])

    usual = curve(browser.get(address).text)
    browser.send("/settings", CHOSEN)
    assert curve(browser.get(address).text) == usual


def test_one_workshop_s_choice_is_not_kept_for_the_next_request(browser):
    address = "/cases/demo/what-if/map?kit=secondary"
    first = pictures(browser.get(address).text)
    browser.send("/settings", CHOSEN)
    assert pictures(browser.get(address).text) != first
    browser.send("/settings", {})
    assert pictures(browser.get(address).text) == first
