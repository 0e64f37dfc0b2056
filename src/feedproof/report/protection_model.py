"""What the protection picture shows: particles and water that reach the pump, by configuration."""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from feedproof.report.model import Table

FloatArray = NDArray[np.float64]

MOST_CONFIGURATIONS = 5
TYPICAL, LOW, HIGH = 0, 1, 2
"""Rows of relative numbers, and places in a share of water."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProtectionLine:
    """
    One configuration.

    Parameters
    ----------
    name : str
        Of at most three words.
    relative : array, shape (3, n_b)
        Particles that reach the pump over those of the baseline, typical, low and high, by
        band; NaN where the baseline has none. [-]
    water_carried : tuple of (float, float, float) or None
        Free water that reaches the pump over free water in the line, typical, low and high;
        None where it cannot be told. [-]
    """

    name: str
    relative: FloatArray
    water_carried: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProtectionPicture:
    """
    What the protection picture shows.

    Parameters
    ----------
    title : str
        Vehicle and state of the elements in words.
    edges_m : tuple of float, length n_b + 1
        Edges of the bands of size, by the scale of ISO 11171; the last may be infinite. [m]
    lines : tuple of ProtectionLine
        One to five, the baseline first.
    unstopped : tuple of str
        What no filter stops, a few words each.
    """

    title: str
    edges_m: tuple[float, ...]
    lines: tuple[ProtectionLine, ...]
    unstopped: tuple[str, ...]

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        bands = len(self.edges_m) - 1
        if not 1 <= len(self.lines) <= MOST_CONFIGURATIONS:
            raise ValueError(f"{len(self.lines)} configurations: 1 to {MOST_CONFIGURATIONS}")
        if bands < 1 or any(a >= b for a, b in pairwise(self.edges_m)):
            raise ValueError("edges of the bands do not rise")
        for line in self.lines:
            if line.relative.shape != (3, bands):
                raise ValueError(f"{line.name}: {bands} bands need typical, low and high each")
            told = line.relative[:, ~np.isnan(line.relative).any(axis=0)]
            in_order = (told[LOW] <= told[TYPICAL]) & (told[TYPICAL] <= told[HIGH])
            if not (in_order.all() and (told >= 0.0).all()):
                raise ValueError(f"{line.name}: low, typical and high are not in order from 0 up")
            if line.water_carried is not None:
                typical, low, high = line.water_carried
                if not 0.0 <= low <= typical <= high <= 1.0:
                    raise ValueError(f"{line.name}: shares of water are not in order from 0 to 1")

    @property
    def bands(self) -> tuple[str, ...]:
        """Name the bands, in um(c)."""
        micro = [1e6 * edge for edge in self.edges_m]
        return tuple(
            f"{low:.3g}\u2013{high:.3g}" if math.isfinite(high) else f"from {low:.3g}"
            for low, high in pairwise(micro)
        )


def share(value: float) -> str:
    """
    Write a relative number with two digits.

    Parameters
    ----------
    value : float
        Ratio; NaN where there is none. [-]

    Returns
    -------
    str
        Such as ``0.17`` or ``0.0013``.
    """
    if math.isnan(value):
        return "no particles"
    if value == 0.0:
        return "0"
    if value < 1e-4:
        return f"{value:.1e}"
    return f"{value:.2f}" if value >= 0.995 else f"{value:#.2g}"


def percent(value: float) -> str:
    """
    Write a share of water.

    Parameters
    ----------
    value : float
        Share. [-]

    Returns
    -------
    str
        Percent with two digits.
    """
    number = 100.0 * value
    return f"{number:.0f}" if number >= 9.95 or number == 0.0 else f"{number:.2g}"


def water_words(line: ProtectionLine) -> str:
    """
    Write a configuration's water carried over.

    Parameters
    ----------
    line : ProtectionLine
        A configuration.

    Returns
    -------
    str
        Typical with its range, or that it cannot be told.
    """
    if line.water_carried is None:
        return "cannot tell"
    typical, low, high = (percent(each) for each in line.water_carried)
    return f"{typical} %" if low == high else f"{typical} % ({low} to {high})"


def sentence(picture: ProtectionPicture) -> str:
    """
    Say in words what the picture shows.

    Parameters
    ----------
    picture : ProtectionPicture
        What is shown.

    Returns
    -------
    str
        The band in which each kit lets least and most pass, and its water.
    """
    base = picture.lines[0].name
    parts = []
    for line in picture.lines[1:]:
        typical = line.relative[TYPICAL]
        if np.isnan(typical).all():
            parts.append(f"{line.name}: no particles to compare")
            continue
        most, least = int(np.nanargmax(typical)), int(np.nanargmin(typical))
        told = (
            f"{line.name}: from {share(float(typical[least]))} at {picture.bands[least]} µm(c) to"
            f" {share(float(typical[most]))} at {picture.bands[most]} µm(c)"
        )
        if typical[most] == typical[least]:
            told = f"{line.name}: {share(float(typical[most]))} in every band"
        parts.append(told)
    start = f"{picture.title}: particles that reach the pump, where {base} is 1"
    water = "; ".join(f"{line.name} {water_words(line)}" for line in picture.lines)
    particles = f"{start}. {'; '.join(parts)}." if parts else f"{start}."
    return (
        f"{particles} Free water carried over: {water}. No filter stops"
        f" {', '.join(picture.unstopped)}."
    )


def table(picture: ProtectionPicture) -> Table:
    """
    Lay the picture out as numbers.

    Parameters
    ----------
    picture : ProtectionPicture
        What is shown.

    Returns
    -------
    Table
        One row for each band and one for water.
    """
    rows = [
        (
            f"{band} µm(c)",
            *(_cell(line.relative[:, place]) for line in picture.lines),
        )
        for place, band in enumerate(picture.bands)
    ]
    rows.append(("free water carried over", *(water_words(line) for line in picture.lines)))
    return Table(
        caption=f"Particles that reach the pump over {picture.lines[0].name}: {picture.title}",
        head=("size band", *(line.name for line in picture.lines)),
        rows=tuple(rows),
        note=(
            "Typical (low to high). These are ratios of exposure, from published points and"
            " assumptions; they say nothing about the life of a pump or an injector. No filter"
            f" stops {', '.join(picture.unstopped)}."
        ),
    )


def _cell(values: FloatArray) -> str:
    """Write typical, low and high of a band."""
    typical, low, high = (share(float(each)) for each in values)
    return typical if low == high else f"{typical} ({low} to {high})"
