"""No word in anything that the demonstration prints claims what no test can show."""

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

import pytest

from feedproof.app.documents import to_document
from feedproof.app.predicting import predict_case
from feedproof.app.publishing import build_publication
from feedproof.app.spoken import spoken
from feedproof.app.verdict_text import customers_text, proof_text
from feedproof.report.page import page_html
from tests.report.test_words import FORBIDDEN

NAMES = re.compile(r"[a-z_@+]+|[0-9a-f]{16,64}")
"""Tags, names and hashes of a document are no words to a reader."""


class Reader(HTMLParser):
    """Collect what a page shows."""

    def __init__(self) -> None:
        super().__init__()
        self.shown: list[str] = []
        self.silent = 0

    def handle_starttag(self, tag: str, _attrs: list[tuple[str, str | None]]) -> None:
        self.silent += tag in ("style", "script")

    def handle_endtag(self, tag: str) -> None:
        self.silent -= tag in ("style", "script")

    def handle_data(self, data: str) -> None:
        if not self.silent:
            self.shown.append(data)


def strings_of(document: Any) -> Iterator[str]:
    """Go through every string of a document that is words."""
    if isinstance(document, dict):
        for each in document.values():
            yield from strings_of(each)
    elif isinstance(document, list):
        for each in document:
            yield from strings_of(each)
    elif isinstance(document, str) and not NAMES.fullmatch(document):
        yield document


@pytest.fixture(scope="module")
def printed(demo) -> dict[str, str]:
    """Give everything that is printed, by where."""
    publication = spoken(demo.case, demo.proof)
    reader = Reader()
    whole = build_publication(demo.case, predict_case(demo.case), demo.proof, ())
    reader.feed(page_html(whole))
    return {
        "engineer": proof_text(publication),
        "customer": customers_text(publication),
        "document": "\n".join(strings_of(to_document(demo.proof))),
        "page": "\n".join(reader.shown),
    }


@pytest.mark.parametrize("where", ["engineer", "customer", "document", "page"])
def test_nothing_printed_claims_what_no_test_can_show(printed: dict[str, str], where: str) -> None:
    text = " ".join(printed[where].split())

    assert len(text) > 1000
    # The page holds tables of inputs and of shares of a line, where 100 % is no claim.
    found_words = [each for each in FORBIDDEN.findall(text) if where != "page" or "%" not in each]
    assert not found_words
    for found in re.finditer(r"\bno loss\b", text, re.IGNORECASE):
        assert re.match(r"no loss[^.;:]*\d", text[found.start() :], re.IGNORECASE), text[
            found.start() - 60 : found.end() + 60
        ]
