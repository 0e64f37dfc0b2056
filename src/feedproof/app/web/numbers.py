"""Numbers as a reader writes them: decimal point or comma, and pressures in the unit he likes."""

import re

from feedproof.core.units import from_si
from feedproof.report.notation import Notation

THIN = "\u202f"
_NUMBER = re.compile(
    # Not inside a word, a version, a date, an address or a file's name.
    r"(?<![\w.,/])(?<!\w-)(?P<whole>\d{1,3}(?:,\d{3})+|\d+)(?P<part>\.\d+)?(?P<power>e[-+]\d+)?(?![\w/]|[.,-]\d|\.[A-Za-z])"
)
_LETTERS = re.compile(
    r"(?<=>)[^<>]*\d[^<>]*(?=</text>|</tspan>|</title>|</desc>)"
    r'|(?<= aria-label=")[^"]*\d[^"]*(?=")'
)
_TYPED = re.compile(r"\s*(?P<whole>[-+]?\d+),(?P<part>\d+)(?P<unit>\s*[^\d\s,][^,]*)?\s*")
UNIT_CHOICES = {
    "pressure": ("kPa", "inHg", "mbar", "bar", "psi"),
    "temperature": ("degC", "degF"),
    "flow": ("L/h", "L/min", "mL/min"),
    "length": ("m", "ft"),
    "speed": ("km/h", "mph"),
    "power": ("kW", "hp", "PS"),
}
"""Units that a workshop can choose, the usual one first."""
DECIMALS = {"kPa": 1, "inHg": 2, "mbar": 0, "bar": 3, "psi": 2, "km/h": 0, "mph": 0, "m": 0}
"""Digits behind the point that a reading needs, by unit."""


def with_comma(text: str) -> str:
    r"""
    Write the numbers of a text with a decimal comma and thin spaces for thousands.

    Parameters
    ----------
    text : str
        As the report writes it.

    Returns
    -------
    str
        Versions, dates and file names stay as they are.

    Examples
    --------
    >>> with_comma("27.7 kPa at 1,200 m, version 0.1.0, run02.csv")
    '27,7 kPa at 1\u202f200 m, version 0.1.0, run02.csv'
    >>> with_comma("by -0.119 s on 2026-09-14, a share of 7.4e-05")
    'by -0,119 s on 2026-09-14, a share of 7,4e-05'
    """

    def written(found: re.Match[str]) -> str:
        whole = found["whole"].replace(",", THIN)
        return whole + (found["part"] or "").replace(".", ",") + (found["power"] or "")

    return _NUMBER.sub(written, text)


def lettered(picture: str) -> str:
    """
    Write the numbers in a picture's words, also spoken ones, and only those, with a decimal comma.

    Parameters
    ----------
    picture : str
        SVG.

    Returns
    -------
    str
        With the same geometry.

    Examples
    --------
    >>> lettered('<text x="1.5">7.25 kPa</text>')
    '<text x="1.5">7,25 kPa</text>'
    """
    return _LETTERS.sub(lambda found: with_comma(found[0]), picture)


def with_point(text: str) -> str:
    """
    Read a quantity that was typed with a decimal comma.

    Parameters
    ----------
    text : str
        As typed in a workshop that chose the comma.

    Returns
    -------
    str
        With a decimal point; all that is not one number with one comma stays as it is, for its
        reader to refuse.

    Examples
    --------
    >>> with_point("5,5 m"), with_point("1,2,3 m"), with_point("5.5 m")
    ('5.5 m', '1,2,3 m', '5.5 m')
    """
    found = _TYPED.fullmatch(text)
    return f"{found['whole']}.{found['part']}{found['unit'] or ''}" if found else text


def unit_for(units: dict[str, str] | None, kind: str) -> str:
    """
    Give the unit that a kind of quantity is shown in.

    Parameters
    ----------
    units : dict of str to str or None
        What the workshop chose.
    kind : str
        One of `UNIT_CHOICES`.

    Returns
    -------
    str
        The usual one where nothing or nonsense was chosen.
    """
    chosen = (units or {}).get(kind, "")
    return chosen if chosen in UNIT_CHOICES[kind] else UNIT_CHOICES[kind][0]


def notation_for(units: dict[str, str] | None) -> Notation:
    """
    Give the units that pictures on the screens are written in.

    Parameters
    ----------
    units : dict of str to str or None
        What the workshop chose.

    Returns
    -------
    Notation
        That of the report for who chose nothing; else no second unit stands beside a pressure
        that somebody chose.
    """
    chosen = {kind: unit_for(units, kind) for kind in UNIT_CHOICES}
    usual = chosen["pressure"] == UNIT_CHOICES["pressure"][0]
    return Notation(**chosen, beside=Notation().beside if usual else "")


def shown(value_si: float, kind: str, unit: str, decimals: int) -> str:
    """
    Write a quantity in a unit.

    Parameters
    ----------
    value_si : float
        In SI.
    kind : str
        Dimension of `feedproof.core.units`.
    unit : str
        Unit to show.
    decimals : int
        Digits behind the point.

    Returns
    -------
    str
        Number, space, unit.

    Examples
    --------
    >>> shown(27700.0, "pressure", "inHg", 2)
    '8.18 inHg'
    """
    return f"{from_si(value_si, unit, kind):.{decimals}f} {unit.replace('deg', '°')}"
