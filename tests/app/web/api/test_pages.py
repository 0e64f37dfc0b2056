"""Pages over HTTP are the bytes that the command line writes; a sheet differs by its time only."""

import re

import pytest

from feedproof.app.cli import main
from feedproof.app.web.api import picture_routes

PAGES = [
    ("envelope", {"kits": ["secondary"]}, ("--kit", "secondary")),
    ("protect", {"bad_fuel": "24/22/19"}, ("--bad-fuel", "24/22/19")),
    ("service", {"samples": 100}, ("--samples", "100")),
]
TIME = re.compile(rb"\d{4}-\d\d-\d\d[ T]\d\d:\d\d(:\d\d)?(\+00:00| UTC)?")


def written(tmp_path, *words):
    file = tmp_path / words[-1]
    assert main([*words[:-1], str(file)]) == 0
    return file.read_bytes()


@pytest.mark.parametrize(("verb", "body", "options"), PAGES)
def test_a_drawing_is_byte_for_byte_what_the_command_line_writes(
    lasting, tmp_path, verb, body, options
):
    case = lasting.app.state.workspace.path / "demo"
    answer = lasting.ask("POST", f"/cases/demo/{verb}/picture.html", json=body)
    assert answer.content == written(tmp_path, verb, str(case), *options, "--picture", "a.html")
    assert "sandbox" in answer.headers["content-security-policy"]
    assert f'filename="demo-{verb}-picture.html"' in answer.headers["content-disposition"]


def test_a_run_sheet_is_what_the_command_line_writes_but_for_its_time(lasting, tmp_path):
    case = lasting.app.state.workspace.path / "demo"
    body, options = {"kits": ["secondary"]}, ("--kit", "secondary")
    page = lasting.ask("POST", "/cases/demo/plan/sheet.html", json=body).content
    theirs = written(tmp_path, "plan", str(case), *options, "--sheet", "a.html")
    assert TIME.sub(b"", page) == TIME.sub(b"", theirs)
    assert b"<script" not in page
    paper = lasting.ask("POST", "/cases/demo/plan/sheet.pdf", json=body).content
    assert paper.startswith(b"%PDF")


def test_a_choice_is_drawn_from_what_the_verb_found(lasting, monkeypatch):
    """Computed once elsewhere; here it matters that the page is of this choice."""
    monkeypatch.setattr(picture_routes, "call", lambda _, path, asked, __: (path.name, asked))
    monkeypatch.setattr(
        picture_routes, "choice_html", lambda told: f"{told[0]} {told[1]['most_cost']}"
    )
    answer = lasting.ask("POST", "/cases/demo/choose/picture.html", json={"most_cost": 500.0})
    assert answer.text == "demo 500.0"


def test_a_page_of_a_wrong_question_is_refused_in_words(lasting):
    lasting.post("/cases/demo/protect/picture.html", {"bad_fuel": "dirty"}, 422)
    lasting.post("/cases/demo/service/picture.html", {"samples": 2**20}, 422)
    lasting.post("/cases/demo/plan/sheet.html", {"sheet": "/etc/sheet.html"}, 422)
    lasting.post("/cases/none/choose/picture.html", {}, 404)
