"""Numbers in words: sensible digits, a true minus sign, kPa with inHg beside it."""

from feedproof.core.units import from_si

NO_BREAK = "\u00a0"
MINUS = "\u2212"
MOST_DECIMALS = 4


def decimal(value: float, decimals: int) -> str:
    """
    Write a number with a true minus sign and never as minus zero.

    Parameters
    ----------
    value : float
        The number.
    decimals : int
        Digits behind the point.

    Returns
    -------
    str
        Such as ``0.20``.

    Examples
    --------
    >>> decimal(-0.001, 2), decimal(-0.2, 2) == MINUS + "0.20"
    ('0.00', True)
    """
    text = f"{value:.{decimals}f}"
    if text.startswith("-"):
        text = text[1:] if float(text) == 0.0 else MINUS + text[1:]
    return text


def apart(value: float, other: float | None, decimals: int) -> int:
    """
    Give the digits that keep a figure apart from the one it is compared with.

    Parameters
    ----------
    value, other : float, float or None
        The figure, and the margin or limit.
    decimals : int
        Digits that would do without the comparison.

    Returns
    -------
    int
        At most four; equal figures keep ``decimals``.

    Examples
    --------
    >>> apart(1.998, 2.0, 2), apart(1.2, 2.0, 2)
    (3, 2)
    """
    if other is None or value == other:
        return decimals
    while decimals < MOST_DECIMALS and f"{value:.{decimals}f}" == f"{other:.{decimals}f}":
        decimals += 1
    return decimals


def percent(value: float, beside: float | None = None) -> str:
    """
    Write a percentage.

    Parameters
    ----------
    value : float
        In percent.
    beside : float, optional
        Margin that it is compared with.

    Returns
    -------
    str
        Two decimals below 10 %, one above.

    Examples
    --------
    >>> percent(1.998, 2.0).replace(NO_BREAK, " ")
    '1.998 %'
    """
    decimals = apart(value, beside, 2 if abs(value) < 10.0 else 1)
    return f"{decimal(value, decimals)}{NO_BREAK}%"


def short_percent(value: float) -> str:
    """
    Write an agreed percentage as it was agreed.

    Parameters
    ----------
    value : float
        In percent.

    Returns
    -------
    str
        Such as ``2 %``.
    """
    return f"{value:.6g}{NO_BREAK}%".replace("-", MINUS)


def pressure(value_pa: float, unit: str, beside_pa: float | None, decimals: int) -> str:
    """
    Write a pressure in a unit.

    Parameters
    ----------
    value_pa : float
        Pressure or difference. [Pa]
    unit : str
        Unit to show.
    beside_pa : float or None
        Limit that it is compared with. [Pa]
    decimals : int
        Digits behind the point.

    Returns
    -------
    str
        With its unit.
    """
    value = from_si(value_pa, unit, "pressure")
    other = None if beside_pa is None else from_si(beside_pa, unit, "pressure")
    return f"{decimal(value, apart(value, other, decimals))}{NO_BREAK}{unit}"


def kpa(value_pa: float, beside_pa: float | None = None, decimals: int = 2) -> str:
    """
    Write a pressure in kPa only.

    Parameters
    ----------
    value_pa : float
        Pressure or difference. [Pa]
    beside_pa : float, optional
        Limit that it is compared with. [Pa]
    decimals : int
        Digits behind the point.

    Returns
    -------
    str
        Such as ``3.12 kPa``.
    """
    return pressure(value_pa, "kPa", beside_pa, decimals)


def kpa_inhg(value_pa: float, beside_pa: float | None = None, decimals: int = 2) -> str:
    """
    Write a pressure in kPa with inHg beside it.

    Parameters
    ----------
    value_pa : float
        Pressure or difference. [Pa]
    beside_pa : float, optional
        Limit that it is compared with. [Pa]
    decimals : int
        Digits of the kPa figure behind the point.

    Returns
    -------
    str
        Such as ``50.80 kPa (15.00 inHg)``.

    Examples
    --------
    >>> kpa_inhg(50795.8).replace(NO_BREAK, " ")
    '50.80 kPa (15.00 inHg)'
    """
    inhg = pressure(value_pa, "inHg", None, decimals)
    return f"{kpa(value_pa, beside_pa, decimals)} ({inhg})"


def mpa(value_pa: float) -> str:
    """
    Write a rail pressure difference.

    Parameters
    ----------
    value_pa : float
        Pressure or difference. [Pa]

    Returns
    -------
    str
        In MPa, one decimal.
    """
    return f"{decimal(from_si(value_pa, 'MPa', 'pressure'), 1)}{NO_BREAK}MPa"


def road_speed(value_m_per_s: float) -> str:
    """
    Write a road speed.

    Parameters
    ----------
    value_m_per_s : float
        Road speed. [m/s]

    Returns
    -------
    str
        In km/h, no decimals.
    """
    return f"{decimal(from_si(value_m_per_s, 'km/h', 'speed'), 0)}{NO_BREAK}km/h"


def engine_speed(value_rev_per_s: float) -> str:
    """
    Write an engine speed.

    Parameters
    ----------
    value_rev_per_s : float
        Engine speed. [rev/s]

    Returns
    -------
    str
        In revolutions per minute, to the nearest 10.
    """
    return f"{decimal(round(from_si(value_rev_per_s, 'rpm', 'rotation'), -1), 0)}{NO_BREAK}rpm"


def flow(value_m3_per_s: float) -> str:
    """
    Write a flow.

    Parameters
    ----------
    value_m3_per_s : float
        Volume flow. [m3/s]

    Returns
    -------
    str
        In L/h, one decimal.
    """
    return f"{decimal(from_si(value_m3_per_s, 'L/h', 'flow'), 1)}{NO_BREAK}L/h"


def power(value_w: float) -> str:
    """
    Write a power.

    Parameters
    ----------
    value_w : float
        Power. [W]

    Returns
    -------
    str
        In kW, two decimals.
    """
    return f"{decimal(from_si(value_w, 'kW', 'power'), 2)}{NO_BREAK}kW"


def temperature(value_k: float) -> str:
    """
    Write a temperature.

    Parameters
    ----------
    value_k : float
        Temperature. [K]

    Returns
    -------
    str
        In degrees Celsius, one decimal at most.
    """
    text = decimal(from_si(value_k, "degC", "temperature"), 1)
    return f"{text.removesuffix('.0')}{NO_BREAK}°C"


def listed(items: tuple[str, ...] | list[str], last: str = "and") -> str:
    """
    Join words as a sentence does.

    Parameters
    ----------
    items : sequence of str
        The words.
    last : str
        Word before the last one.

    Returns
    -------
    str
        Such as ``a, b and c``.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"
