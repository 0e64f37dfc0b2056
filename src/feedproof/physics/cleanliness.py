"""
Cleanliness of fuel: ISO 4406 codes and the distribution that they stand for.

Counts are per cubic metre (1 per mL is 1e6) and sizes in metres, by the scale of ISO 11171, which
writes them with a (c).  A code tells three counts within a factor of two each and nothing below
4 um(c), where most particles are.
"""

import itertools
from collections.abc import Sequence

from feedproof.physics.size_bins import Counts

CODE_SIZES_M = (4e-6, 6e-6, 14e-6)
UPPER_LIMITS_PER_M3 = (
    1e4, 2e4, 4e4, 8e4, 1.6e5, 3.2e5, 6.4e5, 1.3e6, 2.5e6, 5e6, 1e7, 2e7, 4e7, 8e7, 1.6e8, 3.2e8,
    6.4e8, 1.3e9, 2.5e9, 5e9, 1e10, 2e10, 4e10, 8e10, 1.6e11, 3.2e11, 6.4e11, 1.3e12, 2.5e12,
)  # fmt: skip
"""Of classes 0 to 28, ISO 4406:1999 table 1: seen in a public handbook page."""
BEYOND_TABLE = len(UPPER_LIMITS_PER_M3)
"""Stands for ">28"."""
LEAST_REPEATABLE_PARTICLES = 20
"""Fewer counted in a size: the class gets the sign >= (ISO 4406, seen on the same page)."""
CHARTER_CODE = (18, 16, 13)
"""Diesel of categories 2 to 4 of the Worldwide Fuel Charter: seen on a public page; 5: memory."""
# A count that went through a change of unit must not fall into the next class by its last digit.
_ROUNDING = 1.0 + 1e-9


def class_of_count(count_per_m3: float) -> int:
    """
    Give the ISO 4406 class of a cumulative count.

    Parameters
    ----------
    count_per_m3 : float
        Particles larger than a size, at least 0 [1/m3].

    Returns
    -------
    int
        Class 0 to 28, or 29 for ">28"; the upper limit belongs to the class [1].

    Raises
    ------
    ValueError
        The count is negative or no number.

    Examples
    --------
    >>> class_of_count(2500e6), class_of_count(2501e6), class_of_count(0.0)
    (18, 19, 0)
    """
    if not count_per_m3 >= 0.0:
        raise ValueError(f"count {count_per_m3:g} per m3 is not 0 or more")
    for code, limit in enumerate(UPPER_LIMITS_PER_M3):
        if count_per_m3 <= limit * _ROUNDING:
            return code
    return BEYOND_TABLE


def class_limits(code: int) -> tuple[float, float]:
    """
    Give the counts between which a class lies.

    Parameters
    ----------
    code : int
        Class, 0 to 28 [1].

    Returns
    -------
    tuple of float
        More than the first, up to and including the second [1/m3].

    Raises
    ------
    ValueError
        There is no such class.

    Examples
    --------
    >>> class_limits(18)
    (1300000000.0, 2500000000.0)
    """
    if not 0 <= code < BEYOND_TABLE:
        raise ValueError(f"class {code} is not from 0 to {BEYOND_TABLE - 1} (ISO 4406)")
    return (UPPER_LIMITS_PER_M3[code - 1] if code else 0.0), UPPER_LIMITS_PER_M3[code]


def codes_of_counts(counts_per_m3: Sequence[float]) -> tuple[int, ...]:
    """
    Give the ISO 4406 code of three counts.

    Parameters
    ----------
    counts_per_m3 : sequence of float
        Particles larger than 4, 6 and 14 um(c) [1/m3].

    Returns
    -------
    tuple of int
        Three classes [1].

    Raises
    ------
    ValueError
        There are not three counts, or they rise with size: cumulative counts cannot.
    """
    _refuse_unless_falling(counts_per_m3, "counts")
    return tuple(class_of_count(count) for count in counts_per_m3)


def code_text(codes: Sequence[int], counted: Sequence[float] | None = None) -> str:
    """
    Write a code.

    Parameters
    ----------
    codes : sequence of int
        Three classes [1].
    counted : sequence of float, optional
        Particles really counted at each size; where there are fewer than 20 the class is
        uncertain and gets the sign >= [1].

    Returns
    -------
    str
        Such as "18/16/13" or "14/12/≥7".

    Examples
    --------
    >>> code_text((14, 12, 7), (900, 130, 12))
    '14/12/≥7'
    """
    few = [n < LEAST_REPEATABLE_PARTICLES for n in counted] if counted else [False] * len(codes)
    return "/".join(
        f">{BEYOND_TABLE - 1}" if code >= BEYOND_TABLE else f"{'≥' * poor}{code}"
        for code, poor in zip(codes, few, strict=True)
    )


def read_code(text: str) -> tuple[int, ...]:
    """
    Read a code of three numbers.

    Parameters
    ----------
    text : str
        Such as "18/16/13"; a sign >= before a class is read over.

    Returns
    -------
    tuple of int
        Three classes [1].

    Raises
    ------
    ValueError
        It has not three whole numbers of the table, or they rise.

    Examples
    --------
    >>> read_code("18/16/13")
    (18, 16, 13)
    """
    parts = [part.strip().lstrip("≥").removeprefix(">=") for part in text.split("/")]
    if len(parts) == 2:
        raise ValueError(
            f"code {text!r} has two numbers, the older form for 5 and 15 um by the older size"
            " scale: give the three numbers for 4, 6 and 14 um(c)"
        )
    if len(parts) != 3 or not all(part.isascii() and part.isdigit() for part in parts):
        raise ValueError(f"code {text!r} is not of the form 18/16/13 (4, 6 and 14 um(c))")
    codes = tuple(int(part) for part in parts)
    for code in codes:
        class_limits(code)
    _refuse_unless_falling(codes, "classes")
    return codes


def counts_of_codes(codes: Sequence[int], *, at_limit: bool = False) -> tuple[float, ...]:
    """
    Give counts that a code may stand for.

    Parameters
    ----------
    codes : sequence of int
        Three classes that do not rise [1].
    at_limit : bool
        The upper limits, the dirtiest fuel of that code, instead of the middle of each class.

    Returns
    -------
    tuple of float
        Particles larger than 4, 6 and 14 um(c) [1/m3].

    Raises
    ------
    ValueError
        The classes rise or are not three of the table.

    Notes
    -----
    The middle is that of the two limits; the truth may be a third above or below it.
    """
    _refuse_unless_falling(codes, "classes")
    limits = [class_limits(code) for code in codes]
    return tuple(high if at_limit else 0.5 * (low + high) for low, high in limits)


def _refuse_unless_falling(values: Sequence[float], what: str) -> None:
    """Refuse what cannot be cumulative at three rising sizes."""
    if len(values) != len(CODE_SIZES_M):
        raise ValueError(f"{len(values)} {what}: three are wanted, for 4, 6 and 14 um(c)")
    if any(b > a for a, b in itertools.pairwise(values)):
        raise ValueError(
            f"{what} {', '.join(f'{v:g}' for v in values)} rise with size: larger than 14 um(c)"
            " is also larger than 4 um(c)"
        )


def distribution_of_codes(codes: Sequence[int], *, at_limit: bool = False) -> Counts:
    """
    Give the distribution that a code stands for.

    Parameters
    ----------
    codes : sequence of int
        Three classes [1].
    at_limit : bool
        Upper limits instead of the middle of each class.

    Returns
    -------
    Counts
        Through the three points [1/m3].
    """
    counts = counts_of_codes(codes, at_limit=at_limit)
    return Counts(sizes_m=CODE_SIZES_M, counts_per_m3=counts)
