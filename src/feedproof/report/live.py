"""Pictures for a live page: the fixed colours of paper become variables of the page's sheet."""

import re
from dataclasses import dataclass

from feedproof.report.model import Table
from feedproof.report.svg import (
    BLUE,
    FAINT,
    GREEN,
    INK,
    ORANGE,
    PAPER,
    PURPLE,
    RULE,
    SHADE,
    SKY,
    VERMILION,
)

VARIABLES = {
    PAPER: "--paper",
    INK: "--ink",
    FAINT: "--faint",
    RULE: "--rule",
    SHADE: "--shade",
    BLUE: "--kit-1",
    GREEN: "--kit-2",
    SKY: "--kit-3",
    PURPLE: "--kit-4",
    ORANGE: "--kit-5",
    VERMILION: "--limit",
}
"""Variable of the page's style sheet for each colour; a sheet without one gets the colour."""
_COLOUR = re.compile(r'(fill|stroke)="(' + "|".join(VARIABLES) + r')"', re.IGNORECASE)
_OF_COLOUR = {colour.lower(): name for colour, name in VARIABLES.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """
    A picture with what stands beneath it.

    Parameters
    ----------
    name : str
        Prefix of its ids.
    title : str
        What it is.
    svg : str
        The picture, drawn for one width.
    sentence : str
        What it shows.
    table : Table
        The same in numbers.
    note : str
        How to read it; empty where nothing needs saying.
    """

    name: str
    title: str
    svg: str
    sentence: str
    table: Table
    note: str = ""


def for_page(svg: str) -> str:
    """
    Let a page's style sheet choose the colours of a picture, light or dark.

    Parameters
    ----------
    svg : str
        A picture with fixed colours.

    Returns
    -------
    str
        The same with ``var(--ink, #1b1f23)`` and so on; attributes only, no styles, which a strict
        content policy would drop.

    Examples
    --------
    >>> for_page('<path stroke="#0072B2"/>')
    '<path stroke="var(--kit-1, #0072B2)"/>'
    """
    return _COLOUR.sub(_variable, svg)


def _variable(found: re.Match[str]) -> str:
    """Write one attribute."""
    name, colour = found.groups()
    return f'{name}="var({_OF_COLOUR[colour.lower()]}, {colour})"'
