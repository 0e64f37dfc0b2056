"""The report on paper: the same words and pictures as the page, as a tagged A4 PDF."""

import json
from datetime import datetime
from pathlib import Path

from feedproof.report.content import content_of
from feedproof.report.model import Publication
from feedproof.report.svg import PAPER

HERE = Path(__file__).parent


def paper_pdf(publication: Publication) -> bytes:
    """
    Write the report as PDF.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    bytes
        A tagged PDF for A4 after PDF/UA-1.  Its time is that of the results and its typeface our
        own, so that the same results give the same bytes.
    """
    words = json.dumps(content_of(publication), ensure_ascii=False)
    # The page's warm paper would print as a grey tint.
    return compiled("paper.typ", words.replace(PAPER, "#ffffff"), publication.computed)


def compiled(template: str, content: str, computed: datetime) -> bytes:
    """
    Set a template with our own typeface alone.

    Parameters
    ----------
    template : str
        File in this room.
    content : str
        JSON document that it fills in.
    computed : datetime
        Time that the paper carries.

    Returns
    -------
    bytes
        A tagged PDF after PDF/UA-1.
    """
    import typst

    fonts = typst.Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=[str(HERE / "fonts")],
    )
    written: bytes = typst.compile(
        (HERE / template).read_bytes(),
        font_paths=fonts,
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"content": content},
        pdf_standards="ua-1",
        timestamp=computed,
    )
    return written
