"""Vega-Lite specifications drawn to SVG in our own look, with names and descriptions."""

import functools
import re
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from feedproof.report.svg import FAINT, FONT, INK, PAPER, RULE

Spec = dict[str, Any]

VEGA_LITE = "6.4"
FONTS = Path(__file__).parent / "fonts"


def drawn(spec: Spec, name: str, title: str, description: str) -> str:
    """
    Draw a specification.

    Parameters
    ----------
    spec : dict
        Vega-Lite specification with its data inside.
    name : str
        For the ids of the picture.
    title, description : str
        For who cannot see it.

    Returns
    -------
    str
        SVG with a name and a description, without ``style`` attributes.
    """
    import vl_convert

    _register_fonts()
    raw: str = vl_convert.vegalite_to_svg(spec, vl_version=VEGA_LITE)
    return _named(raw, name, title, description)


def framed(layers: list[Spec], title: str | list[str], description: str, size: int) -> Spec:
    """
    Put layers into a frame of our look; the caller adds size and encoding.

    Parameters
    ----------
    layers : list of dict
        Pieces of the picture.
    title : str or list of str
        What is shown, with its unit; one text a line.
    description : str
        The sentence that says what it shows.
    size : int
        Of the letters. [px]

    Returns
    -------
    dict
        Specification without width, height and encoding.
    """
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "description": description,
        "autosize": {"type": "pad"},
        "background": PAPER,
        "layer": layers,
        "title": {
            "text": title,
            "anchor": "start",
            "font": FONT,
            "fontSize": 14,
            "fontWeight": "normal",
            "color": FAINT,
            "offset": 6,
        },
        "config": look(size),
    }


def look(size: int) -> Spec:
    """
    Give the look: our typeface, thin rules, no frame.

    Parameters
    ----------
    size : int
        Of the letters. [px]

    Returns
    -------
    dict
        The ``config`` of a specification.
    """
    axis = {
        "labelFont": FONT,
        "titleFont": FONT,
        "labelFontSize": size,
        "titleFontSize": size,
        "titleFontWeight": "normal",
        "labelColor": INK,
        "titleColor": FAINT,
        "gridColor": RULE,
        "domainColor": FAINT,
        "tickColor": FAINT,
        "titlePadding": 8,
    }
    return {"font": FONT, "axis": axis, "view": {"stroke": None}}


@functools.cache
def _register_fonts() -> None:
    """Show the converter our typeface, once."""
    import vl_convert

    vl_convert.register_font_directory(str(FONTS))


def _named(raw: str, name: str, title: str, description: str) -> str:
    """Put name and description on a drawn chart, in place of the converter's own roles."""
    cleaned = re.sub(r' (?:aria-[a-z]+|role|pointer-events)="[^"]*"', "", _own_ids(raw, name))
    start = cleaned.index(">") + 1
    opening = cleaned[: start - 1].replace(' xmlns:xlink="http://www.w3.org/1999/xlink"', "")
    named = f'{opening} role="img" aria-labelledby="{name}-title {name}-desc">'
    words = (
        f'<title id="{name}-title">{escape(title)}</title>'
        f'<desc id="{name}-desc">{escape(description)}</desc>'
    )
    return named + words + cleaned[start:]


def _own_ids(raw: str, name: str) -> str:
    """
    Give a picture clip ids of its own.

    The converter counts them over all that its process has drawn: the same picture would be other
    bytes each time, and pictures of two processes would clip each other on one page.
    """
    for count, found in enumerate(dict.fromkeys(re.findall(r'id="(clip\d+)"', raw)), start=1):
        own = f"{name}-clip{count}"
        raw = raw.replace(f'id="{found}"', f'id="{own}"').replace(f"url(#{found})", f"url(#{own})")
    return raw
