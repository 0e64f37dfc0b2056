"""Paper: a tagged PDF with the verdicts in words, the same bytes from the same results."""

import io
import re

import pypdf
import pytest

from feedproof.report.content import content_of, headline
from feedproof.report.model import Publication
from feedproof.report.paper import paper_pdf
from tests.report.publications import publication


def squeezed(text: str) -> str:
    """Take out every space and every break, which a PDF places as it likes."""
    return re.sub(r"[\s\u00a0\u200b\u00ad-]+", "", text)


@pytest.fixture(scope="module")
def pdf(report: Publication) -> bytes:
    return paper_pdf(report)


@pytest.fixture(scope="module")
def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


@pytest.fixture(scope="module")
def text(reader: pypdf.PdfReader) -> str:
    return squeezed(" ".join(page.extract_text() for page in reader.pages))


def test_the_same_results_give_the_same_bytes(pdf: bytes) -> None:
    assert paper_pdf(publication()) == pdf


def test_the_papers_own_time_is_that_of_the_results(
    reader: pypdf.PdfReader, report: Publication
) -> None:
    assert reader.metadata is not None
    assert reader.metadata.creation_date == report.computed


def test_the_paper_is_tagged_named_and_in_english(reader: pypdf.PdfReader) -> None:
    root = reader.trailer["/Root"]

    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert "/StructTreeRoot" in root
    assert reader.metadata is not None
    assert "Mountain delivery truck" in (reader.metadata.title or "")


def test_every_page_is_a4(reader: pypdf.PdfReader) -> None:
    for page in reader.pages:
        assert float(page.mediabox.width) == pytest.approx(595.28, abs=0.1)
        assert float(page.mediabox.height) == pytest.approx(841.89, abs=0.1)


def test_the_sentences_of_the_verdicts_are_on_paper(report: Publication, text: str) -> None:
    content = content_of(report)

    for verdict, shown in zip(report.verdicts, content["verdicts"], strict=True):
        assert squeezed(headline(report, verdict)) in text
        assert squeezed(shown["release"]) in text
    # A sentence that runs over a page has the page's foot inside it, so its start is looked for.
    for shown in content["verdicts"]:
        for outcome in shown["outcomes"]:
            assert squeezed(outcome["precise"])[:60] in text


def test_every_picture_has_a_text_instead(pdf: bytes) -> None:
    alternatives = []

    def walk(node: object) -> None:
        found = node.get_object() if isinstance(node, pypdf.generic.IndirectObject) else node
        if isinstance(found, pypdf.generic.ArrayObject):
            for child in found:
                walk(child)
        elif isinstance(found, pypdf.generic.DictionaryObject):
            if found.get("/S") == "/Figure":
                alternatives.append(str(found.get("/Alt", "")))
            if "/K" in found:
                walk(found["/K"])

    walk(pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/StructTreeRoot"])

    assert len(alternatives) == 9
    assert all(len(words) > 20 for words in alternatives)


def test_only_our_own_typeface_is_inside(reader: pypdf.PdfReader) -> None:
    names = set()
    for page in reader.pages:
        fonts = page["/Resources"].get_object().get("/Font", {})
        names |= {str(font.get_object()["/BaseFont"]).split("+")[-1] for font in fonts.values()}

    assert names
    assert all(name.startswith("FeedproofSans") for name in names)


@pytest.mark.parametrize(
    "words", ["INVENTED demonstration data", "surgical emergency", "self-declared", "out of scope"]
)
def test_the_paper_prints_what_must_be_known(text: str, words: str) -> None:
    assert squeezed(words) in text
