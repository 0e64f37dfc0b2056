"""Places that findings speak of bear the names of the screens first, the document's beside them."""

import html
import re

import pytest

from feedproof.app.api import PACKAGED_DEMO
from feedproof.app.web.case_tables import tables_of
from feedproof.app.web.place_names import PlaceNames

KIT = "fine secondary filter between factory filter and pump, through a change-over loop"


@pytest.mark.parametrize(
    ("place", "name"),
    [
        ("line[steel_line]", "steel line along the frame"),
        ("line[steel_line].bore", "steel line along the frame, Bore"),
        ("case.toml line 71: line[pickup_tube].bore", "pick-up tube, Bore"),
        ("kit[secondary]", KIT),
        ("kit 'secondary'", KIT),
        ("part 'steel_line'", "steel line along the frame"),
        ("kit[secondary].insertion[0].part[0].face_area", "fine secondary element of secondary"),
        ("vehicle.pump.nothing_known", "Pump and its limit"),
        ("fuel.winter", "Fuel: winter"),
        ("run 99, run[99].ambient", "Run 99, Air"),
    ],
)
def test_a_place_is_named_as_the_screens_name_it(place, name):
    named = PlaceNames(PACKAGED_DEMO / "case.toml")(place)
    assert named == name or named.startswith(f"{name}, ")


@pytest.mark.parametrize(
    "place",
    ["", "margins", "case.toml", "run02.csv line 3", "session 1", "line[nowhere].bore", "line[",
     "kit 'nowhere'", "a.b.c", "line[999999999999]", "/cases/demo/vehicle"],
)  # fmt: skip
def test_what_no_screen_has_a_name_for_keeps_its_place_alone(place):
    assert PlaceNames(PACKAGED_DEMO / "case.toml")(place) == ""
    assert PlaceNames(None)(place) == ""


@pytest.mark.parametrize(
    "document",
    ["line = 5", "line = [1, 2]", "fuel = [1]", "kit = [{insertion = 3}]", "worst = 1", "a = [1",
     "line = [{id = 'x', title = 3}]", "worst = [{name = 2}]"],
)  # fmt: skip
def test_a_document_with_mistakes_names_what_it_can_and_stops_nothing(tmp_path, document):
    file = tmp_path / "case.toml"
    file.write_text(document)
    named = PlaceNames(file)
    for place in (
        "line[x].bore",
        "part 'x'",
        "kit[0].insertion[0]",
        "fuel.x.y",
        "worst[0].altitude",
    ):
        assert isinstance(named(place), str)


def test_a_table_that_is_none_is_listed_as_none():
    assert tables_of({"fuel": 5, "worst": 3, "instrument": [1]}) == tables_of({})


def test_a_mistake_on_every_screen_names_the_part_first(browser):
    file = browser.workspace / "demo" / "case.toml"
    browser.get("/cases/demo/vehicle")
    text = file.read_text("utf-8")
    file.write_text(
        text.replace('"8 mm"', '"8 apples"').replace("steel line along", "steel <i> along")
    )
    for screen in ("vehicle", "what-if", "runs", "verdict", "life"):
        page = browser.get(f"/cases/demo/{screen}").text
        place = re.search(r'<span class="place">(.*?)</span>\W', page, re.S)[1]
        assert "<i>" not in page
        words = html.unescape(re.sub(r"<[ai/s][^>]*>", "", place))
        assert words.index("Bore") < words.index(".bore"), screen


def test_a_case_that_is_not_there_is_told_without_a_name(browser):
    answer = browser.get("/cases/nowhere/runs")
    assert answer.status_code == 404
    assert 'class="in-file"' not in answer.text
