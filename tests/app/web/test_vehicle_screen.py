"""The vehicle screen: every edit by a form, mistakes in place, undo, two editors."""

import html
import re

import pytest

from feedproof.records.editing.editor import revision_of
from feedproof.records.folder import CaseFolder

PAGE = "/cases/demo/vehicle"


def _revision(browser) -> str:
    return revision_of((browser.workspace / "demo" / "case.toml").read_bytes())


def _act(browser, **fields):
    return browser.send(PAGE, {"revision": _revision(browser), **fields}, part=False)


def test_the_page_names_the_revision_that_it_shows(browser):
    assert f'name="revision" value="{_revision(browser)}"' in browser.get(PAGE).text


def _document(workspace) -> str:
    return (workspace / "demo" / "case.toml").read_text(encoding="utf-8")


def _line(workspace) -> list[str]:
    return [part.id for part in CaseFolder.open(workspace / "demo").load().case.vehicle.line.parts]


def test_every_part_of_the_line_stands_with_its_share(browser):
    page = browser.get(f"{PAGE}?with=secondary").text
    for words in ("steel line along the frame", "fine secondary element", "kPa absolute are left"):
        assert words in page
    assert page.count("<meter") >= 12
    assert 'data-row="steel_line"' in page
    assert 'data-part="steel_line"' in page
    assert 'role="button"' in page


def test_a_value_is_changed_with_its_comment_kept_and_taken_back(browser, workspace):
    before = _document(workspace)
    page = browser.get(f"{PAGE}?edit=line%5Bsteel_line%5D").text
    assert 'value="8 mm"' in page
    answer = _act(browser, act="save", edit="line[steel_line]", **{"v-bore": "6 mm"})
    assert answer.status_code == 303, answer.text
    after = _document(workspace)
    assert after != before
    changed = [
        pair for pair in zip(before.splitlines(), after.splitlines(), strict=True)
        if pair[0] != pair[1]
    ]  # fmt: skip
    assert len(changed) == 1
    assert '"6 mm"' in changed[0][1]
    # What can be taken back is named as the screen names it, the place in the file beside.
    assert "Undo: steel line along the frame <span" in browser.get(PAGE).text
    assert _act(browser, act="undo").status_code == 303
    assert _document(workspace) == before
    assert _act(browser, act="redo").status_code == 303
    assert _document(workspace) == after


def test_nothing_touched_and_saved_changes_nothing(browser, workspace):
    before = _document(workspace)
    page = browser.get(f"{PAGE}?edit=line%5Bsteel_line%5D").text
    typed = {
        name: html.unescape(value)
        for name, value in re.findall(r'name="(v-[^"]+)" value="([^"]*)"', page)
    }
    assert len(typed) > 5
    assert _act(browser, act="save", edit="line[steel_line]", **typed).status_code == 303
    assert _document(workspace) == before


@pytest.mark.parametrize(
    "path",
    ["", "vehicle.engine", "vehicle.engine.full_load", "vehicle.pump", "fuel.summer", "reference",
     "worst[0]", "margins", "supply", "duty", "service", "rig", "repeatability.wheel_power",
     "instrument.logger", "measure.jug", "kit[secondary]"],
)  # fmt: skip
def test_every_table_opens_and_saves_unchanged(browser, workspace, path):
    before = _document(workspace)
    from urllib.parse import quote

    page = browser.get(f"{PAGE}?edit={quote(path)}").text
    typed = {
        html.unescape(name): html.unescape(value)
        for name, value in re.findall(r'name="(v-[^"]+)" value="([^"]*)"', page)
    }
    typed |= {
        name: html.unescape(value)
        for name, value in re.findall(r'name="(v-[^"]+)"[^>]*>([^<]+)</textarea>', page)
    }
    typed |= dict(
        re.findall(
            r'<select id="v-[^"]+" name="(v-[^"]+)"(?:(?!</select>).)*value="([^"]*)" selected',
            page,
        )
    )
    assert typed, page
    assert _act(browser, act="save", edit=path, **typed).status_code == 303
    assert _document(workspace) == before


def test_a_mistake_is_marked_where_it_is_in_words(browser):
    answer = _act(browser, act="save", edit="line[steel_line]", **{"v-bore": "8 apples"})
    assert answer.status_code == 303
    page = browser.get(f"{PAGE}?edit=line%5Bsteel_line%5D").text
    assert "To mend first" in page
    assert 'aria-invalid="true"' in page
    assert "1 to mend" in page
    assert "8 apples" in page


def test_parts_are_added_moved_and_taken_out(browser, workspace):
    assert "New: Pipe or hose" in browser.get(f"{PAGE}?add=pipe&beside=steel_line").text
    new = {"v-length": "0.4 m", "v-bore": "9 mm", "v-title": "a patch"}
    answer = _act(browser, act="add-part", kind="pipe", id="patch", beside="steel_line", **new)
    assert answer.status_code == 303
    line = _line(workspace)
    assert line[line.index("steel_line") + 1] == "patch"
    assert _act(browser, act="move-part", part="patch", before="steel_line").status_code == 303
    line = _line(workspace)
    assert line[line.index("steel_line") - 1] == "patch"
    assert _act(browser, act="remove-part", part="patch").status_code == 303
    assert "patch" not in _line(workspace)


def test_a_kit_is_dropped_in_at_a_place_and_removed_again(browser, workspace):
    answer = _act(
        browser, act="add-kit", kit="fine", role="secondary", place="before factory_filter"
    )
    assert answer.headers["location"] == f"{PAGE}?with=fine"
    page = browser.get(f"{PAGE}?with=fine").text
    assert page.index("hoses of the secondary") < page.rindex("factory filter")
    assert (
        _act(browser, act="place-kit", kit="fine", place="after factory_filter").status_code == 303
    )
    case = CaseFolder.open(workspace / "demo").load().case
    place = case.kits["fine"].insertions[0]
    assert (place.side, place.place) == ("after", "factory_filter")
    assert "With fine" in browser.get(PAGE).text
    assert _act(browser, act="remove-kit", kit="fine").status_code == 303
    assert "fine" not in CaseFolder.open(workspace / "demo").load().case.kits


def test_the_second_editor_is_told_and_nothing_is_lost(browser, workspace):
    seen = _revision(browser)
    assert (
        _act(browser, act="save", edit="line[steel_line]", **{"v-bore": "7 mm"}).status_code == 303
    )
    kept = _document(workspace)
    late = {"revision": seen, "act": "save", "edit": "line[steel_line]", "v-bore": "6 mm"}
    answer = browser.send(PAGE, late, part=False)
    assert answer.status_code == 409
    assert _document(workspace) == kept
    # Where the address of the form leads, not above it.
    panel = answer.text.partition('<section id="panel"')[2]
    assert "was changed by somebody else meanwhile" in panel
    assert "<li>Bore: <strong>6 mm</strong></li>" in panel
    assert 'name="v-bore" value="7 mm"' in answer.text
    assert f'name="revision" value="{_revision(browser)}"' in answer.text


def test_text_that_cannot_be_saved_stays_in_the_page(browser, workspace):
    before = _document(workspace)
    refused = _act(browser, act="replace-text", text="my long work = [1, 2")
    late = browser.send(
        PAGE, {"revision": "0" * 64, "act": "replace-text", "text": before + "# mine\n"}, part=False
    )
    assert (refused.status_code, late.status_code) == (422, 409)
    assert "my long work = [1, 2</textarea>" in refused.text
    assert "# mine\n</textarea>" in late.text
    assert _document(workspace) == before


def test_a_decimal_comma_is_read_where_the_workshop_writes_one(browser, workspace):
    form = {"act": "save", "edit": "line[steel_line]", "v-bore": "7,25 mm", "v-bore-low": "7,1 mm"}
    _act(browser, **form)
    assert "7,25 mm" in _document(workspace)
    assert "has a comma" in html.unescape(browser.get(PAGE).text)
    browser.send("/settings", {"decimal": "comma"})
    _act(browser, **form)
    assert '"7.25 mm"' in _document(workspace)
    assert '"7.1 mm"' in _document(workspace)
    assert "has a comma" not in html.unescape(browser.get(PAGE).text)


def test_shares_and_the_sentence_are_read_in_the_unit_of_the_workshop(browser):
    def first(unit: str) -> float:
        found = re.search(rf"the line takes ([\d.]+) {unit}", browser.get(PAGE).text)
        return float(found[1])

    kpa = first("kPa")
    browser.send("/settings", {"pressure": "inHg"})
    assert first("inHg") * 3.386389 == pytest.approx(kpa, abs=0.08)
    assert not re.search(r"%</span>, [\d.]+ kPa", browser.get(PAGE).text)


def test_rubbish_is_refused_in_words(browser, workspace):
    before = _document(workspace)
    for fields in (
        {"act": "fly"},
        {"act": "move-part", "part": "nowhere", "after": "steel_line"},
        {"act": "add-part", "kind": "magic", "id": "x"},
        {"act": "add-kit", "kit": "", "place": "after nothing"},
        {"act": "save", "edit": "nowhere[1]"},
        {"act": "replace-text", "text": "a = [1, 2"},
        {"act": "save", "edit": "vehicle.engine.full_load", "v-speed": "1, two"},
    ):
        answer = _act(browser, **fields)
        assert answer.status_code in (404, 422), fields
        assert "Not done" in answer.text
    assert _document(workspace) == before
    for path in ("line[", "a..b", "line[steel_line].bore.x", "../../etc"):
        assert browser.get(PAGE, params={"edit": path}).status_code in (200, 404, 422)
    assert browser.get(f"{PAGE}?with=nothing").status_code == 200


@pytest.mark.parametrize(
    "text",
    ["line = 5", "line = [1, 2]", "line = [{id = 'x', title = 3}]", "kit = 3", "fuel = [1]",
     "kit = [{insertion = 3}]", "kit = [{id = 'a', insertion = [1, {part = 3}]}]", "worst = 1",
     "instrument = 3", "reference = 2"],
)  # fmt: skip
def test_a_case_file_of_the_wrong_shape_is_shown_to_be_mended(browser, workspace, text):
    browser.get(PAGE)
    (workspace / "demo" / "case.toml").write_text(text)
    for query in ("", "?with=a", "?with=a&edit=line%5Bx%5D", "?edit=reference"):
        page = browser.get(f"{PAGE}{query}")
        assert page.status_code == 200
        assert "To mend first" in page.text
