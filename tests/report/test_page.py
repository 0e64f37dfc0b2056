"""Page: one file that asks for nothing, with names, landmarks and every section."""

import base64
import hashlib
import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from feedproof.report.content import content_of
from feedproof.report.model import Publication
from feedproof.report.page import page_html
from tests.report.publications import publication

VOID = {"meta", "link", "br", "img", "hr", "input"}


class Reader(HTMLParser):
    """Collect tags, ids and text, and check that every tag is closed."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.open: list[str] = []
        self.faults: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {key: value or "" for key, value in attrs}))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {key: value or "" for key, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(tag)

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] != "style":
            self.text.append(data)

    def named(self, name: str) -> list[dict[str, str]]:
        return [attributes for tag, attributes in self.tags if tag == name]


def read(html: str) -> Reader:
    reader = Reader()
    reader.feed(html)
    return reader


@pytest.fixture(scope="module")
def html(report: Publication) -> str:
    return page_html(report)


@pytest.fixture(scope="module")
def page(html: str) -> Reader:
    return read(html)


def test_every_tag_is_closed(page: Reader) -> None:
    assert page.faults == []
    assert page.open == []


def test_the_page_asks_for_nothing_outside_itself(html: str, page: Reader) -> None:
    for tag, attributes in page.tags:
        assert tag not in ("script", "iframe", "object", "embed", "form", "base")
        for key, value in attributes.items():
            assert not key.startswith("on"), (tag, key)
            assert key != "style", tag
            if key in ("src", "href", "srcset", "action", "xlink:href"):
                assert value.startswith(("#", "data:")), (tag, key)
    assert set(re.findall(r"url\(\s*[\"']?([a-z]*:?)", html)) == {"data:"}
    assert "@import" not in html


def test_the_content_policy_allows_the_style_sheet_and_nothing_else(
    html: str, page: Reader
) -> None:
    policies = [
        meta["content"]
        for meta in page.named("meta")
        if meta.get("http-equiv") == "Content-Security-Policy"
    ]
    style = re.findall(r"<style>(.*?)</style>", html, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(style[0].encode()).digest()).decode()

    assert len(policies) == len(style) == 1
    assert policies[0].startswith("default-src 'none'")
    assert f"'sha256-{digest}'" in policies[0]
    assert "unsafe" not in policies[0]
    assert "script-src" not in policies[0]


def test_landmarks_language_and_one_first_heading(page: Reader) -> None:
    assert page.named("html")[0]["lang"] == "en"
    assert [len(page.named(tag)) for tag in ("h1", "main", "header", "footer", "nav")] == [1] * 5
    assert page.named("a")[0]["class"] == "skip"


def test_headings_do_not_skip_a_level(page: Reader) -> None:
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]

    assert all(b - a <= 1 for a, b in pairwise(levels))


def test_every_link_leads_to_something_and_ids_are_unique(page: Reader) -> None:
    ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    links = [attributes["href"] for attributes in page.named("a")]

    assert len(ids) == len(set(ids))
    assert {link.removeprefix("#") for link in links} <= set(ids)


def test_every_picture_is_named_or_hidden(page: Reader) -> None:
    ids = {attributes["id"] for _, attributes in page.tags if "id" in attributes}

    assert len(page.named("svg")) > 10
    for svg in page.named("svg"):
        labels = svg.get("aria-labelledby", "").split()
        assert svg.get("aria-hidden") == "true" or (labels and set(labels) <= ids)


def test_tables_have_captions_and_scopes_and_scroll_in_a_named_place(page: Reader) -> None:
    regions = [a for a in page.named("div") if a.get("role") == "region"]

    assert len(page.named("table")) == len(page.named("caption")) == len(regions)
    assert all(attributes.get("scope") in ("col", "row") for attributes in page.named("th"))
    assert all(region["tabindex"] == "0" and region["aria-label"] for region in regions)


def test_sections_come_in_the_order_of_the_reader(page: Reader) -> None:
    assert [attributes["id"] for attributes in page.named("section")] == [
        "customer",
        "answers",
        "staircase",
        "curves",
        "not-tested",
        "sure",
        "predicted",
        "conditions",
        "findings",
        "sources",
        "cautions",
    ]


def test_invented_data_are_called_invented_at_the_top(page: Reader) -> None:
    assert page.named("p")[0]["class"] == "banner"
    assert "INVENTED demonstration data" in " ".join(page.text)


def test_measured_data_carry_no_banner() -> None:
    page = read(page_html(publication(note="measured in the workshop's own cell")))

    assert "banner" not in {attributes.get("class") for attributes in page.named("p")}
    assert "measured in the workshop's own cell" in " ".join(page.text)


@pytest.mark.parametrize(
    "words",
    [
        "surgical emergency",
        "out of scope",
        "flash point",
        "carbon monoxide",
        "licensed disposal",
        "Local law",
        "wheel spin on the rollers",
        "a stuck channel",
        "at the end of its range",
        "self-declared",
        "source not given",
        "0f" * 32,
        "cold morning in the valley",
    ],
)
def test_the_page_prints_what_must_be_known(page: Reader, words: str) -> None:
    assert words in " ".join(page.text)


def test_words_from_a_case_cannot_become_markup() -> None:
    nasty = '<script>alert(1)</script>"&'

    html = page_html(publication(title=nasty, vehicle_name=nasty, note=nasty, limit_source=nasty))

    assert "<script" not in html
    assert html.count("&lt;script&gt;") >= 3


def test_a_page_of_predictions_alone_says_that_nothing_was_judged(report: Publication) -> None:
    bare = replace(
        report, verdicts=(), runs=(), bands=(), biases=(), measured_inlets=(), curve_claims=()
    )

    text = " ".join(read(page_html(bare)).text)

    assert "No kit was judged." in text
    assert "Nothing measured stands against the prediction." in text


def test_page_and_paper_share_words_and_pictures(report: Publication, html: str) -> None:
    content = content_of(report)

    assert content["staircase"]["wide"] in html
    assert content["curves"][0]["wide"] in html
    assert content["verdicts"][0]["outcomes"][0]["wide"] in html
