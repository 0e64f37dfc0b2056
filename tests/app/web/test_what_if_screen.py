"""The what-if screen: figures of `predict`, sliders in the workshop's units, no rubbish."""

import re

import pytest

from feedproof.app.api import predict

PAGE = "/cases/demo/what-if"


def test_untouched_it_shows_what_predict_says(browser, workspace):
    page = browser.get(f"{PAGE}?kit=secondary").text
    told = predict(workspace / "demo", kits=("secondary",))
    staircase = told.configurations[-1].staircase
    depression = staircase.steps[-1].depression_after_pa
    assert f"{depression / 1e3:.1f} kPa" in page
    assert page.count("<figure") == 3


def test_a_slider_moves_the_figures_and_the_axis_stands_still(browser):
    first = browser.get(f"{PAGE}/answer?kit=secondary").text
    axis = re.search(r'data-axis-depression="([^"]+)"', first)[1]
    more = {"kit": "secondary", "loading_share": "90", "drag": "yes", "axis-depression": axis}
    then = browser.get(f"{PAGE}/answer", params=more).text
    assert re.search(r'data-axis-depression="([^"]+)"', then)[1] == axis
    assert "<details" not in then

    def reading(text: str) -> float:
        return float(re.findall(r"<td>([\d.]+) kPa</td>", text)[3])

    assert reading(then) > reading(first)


def test_sliders_are_read_in_the_units_of_the_workshop(browser):
    cold = browser.get(f"{PAGE}/answer", params={"fuel_temperature_k": "10"}).text
    browser.send("/settings", {"temperature": "degF", "pressure": "inHg"})
    same = browser.get(f"{PAGE}/answer", params={"fuel_temperature_k": "50"}).text
    kpa = float(re.findall(r"<td>([\d.]+) kPa</td>", cold)[0])
    inhg = float(re.findall(r"<td>([\d.]+) inHg</td>", same)[0])
    assert inhg * 3.386389 == pytest.approx(kpa, abs=0.08)
    assert "°F" in browser.get(PAGE).text


@pytest.mark.parametrize(
    "query",
    ["fuel_temperature_k=hot", "altitude_m=1e400", "altitude_m=nan", "kit=nothing",
     "kit=secondary%2Bsecondary", "fuel=water", "base=worst-99", "loading_share=-5",
     "loading.nothing=3", "speed_m_per_s=900", "width=1e9", "width=-1", "width=nan",
     "axis-depression=a,b", "fuel_temperature_k=-400", "kit=a&kit=b&kit=c"],
)  # fmt: skip
def test_rubbish_in_the_address_is_told_and_breaks_nothing(browser, query):
    for address in (f"{PAGE}?{query}", f"{PAGE}/answer?{query}"):
        answer = browser.get(address)
        assert answer.status_code in (200, 422)
        assert "Traceback" not in answer.text


def test_a_case_with_mistakes_says_so_here(browser, workspace):
    file = workspace / "demo" / "case.toml"
    file.write_text(file.read_text().replace('topology = "overflow_to_tank"', 'topology = "odd"'))
    page = browser.get(PAGE).text
    assert "mend them under" in page
    assert browser.get(f"{PAGE}/answer").status_code == 422


def test_the_map_says_where_each_line_holds(browser):
    page = browser.get(f"{PAGE}/map?kit=secondary").text
    assert page.count("<figure") == 2
    assert "altitude" in page
    answer = browser.get(f"{PAGE}/map?kit=nothing")
    assert answer.status_code == 422
    assert "nothing" in answer.text


def test_a_slider_that_was_asked_for_is_marked_and_no_other(browser):
    page = browser.get(f"{PAGE}?fuel_temperature_k=10&kit=secondary").text
    marked = re.findall(r'<input type="range" id="([a-z_.]+)"[^>]*data-touched', page)
    assert marked == ["fuel_temperature_k"]
