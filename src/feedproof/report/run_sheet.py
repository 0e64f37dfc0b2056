"""The run sheet as one HTML page and as an A4 PDF, from the same words and drawing."""

import json
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any

from feedproof.report.cautions import CAUTIONS
from feedproof.report.content import OUT_OF_SCOPE
from feedproof.report.loop_picture import SENTENCE, loop_svg
from feedproof.report.page import rendered
from feedproof.report.paper import compiled
from feedproof.report.run_sheet_model import COLUMNS, PRINTED_COLUMNS, RunSheet
from feedproof.report.svg import PAPER

HERE = Path(__file__).parent


def sheet_html(sheet: RunSheet) -> str:
    """
    Write a run sheet as one HTML page.

    Parameters
    ----------
    sheet : RunSheet
        The sheet.

    Returns
    -------
    str
        A whole document without script or request, which prints on A4.
    """
    style = (HERE / "run_sheet.css").read_text(encoding="utf-8")
    return rendered("run_sheet.html", sheet_content(sheet), style)


def sheet_pdf(sheet: RunSheet) -> bytes:
    """
    Write a run sheet as PDF.

    Parameters
    ----------
    sheet : RunSheet
        The sheet.

    Returns
    -------
    bytes
        A tagged PDF for A4 after PDF/UA-1; the same sheet gives the same bytes.
    """
    words = json.dumps(sheet_content(sheet), ensure_ascii=False)
    # The page's warm paper would print as a grey tint.
    return compiled(
        "run_sheet.typ",
        words.replace(PAPER, "#ffffff"),
        datetime.fromisoformat(sheet.computed_iso),
    )


def sheet_content(sheet: RunSheet) -> dict[str, Any]:
    """
    Give what both templates fill in.

    Parameters
    ----------
    sheet : RunSheet
        The sheet.

    Returns
    -------
    dict
        Plain words, lists and drawings.
    """
    drawn = bool(sheet.loop_kit)
    return {
        **asdict(sheet),
        "columns": [
            {"head": head, "unit": unit, "printed": place < PRINTED_COLUMNS}
            for place, (head, unit) in enumerate(COLUMNS)
        ],
        "blanks": len(COLUMNS) - PRINTED_COLUMNS,
        "wide": loop_svg(sheet.loop_kit) if drawn else "",
        "narrow": loop_svg(sheet.loop_kit, narrow=True) if drawn else "",
        "loop_words": SENTENCE,
        "scope": OUT_OF_SCOPE,
        "cautions": [{"head": head, "text": text} for head, text in CAUTIONS],
    }
