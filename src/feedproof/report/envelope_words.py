"""What an envelope map says, in words and in numbers."""

import numpy as np

from feedproof.report.live_maps import Mapped
from feedproof.report.model import EnvelopeMap, Table
from feedproof.report.notation import REPORT, Notation
from feedproof.report.words import upper_first

LETTERS = {"absolute_pressure": "p", "depression": "d", "gas": "g", "feed_margin": "m"}
"""Limit that binds where something is broken."""
KEY = (
    "Heavy dashes: edge with the elements loaded as declared; dots: edge with clean elements; all"
    " conditions below and to the right of an edge hold. Thin lines: room left with loaded"
    " elements. Letters: limit that binds where one is broken with loaded elements (p absolute"
    " pressure, d depression, g free gas, m feed margin). Circle: reference; squares: declared"
    " worst conditions, numbered in their order. The maps are for the fuel level and the slope of"
    " the reference: a worst condition with less fuel, on a climb or with a blocked breather stands"
    " worse than its place here."
)


def sentence(publication: Mapped, envelope: EnvelopeMap, notation: Notation = REPORT) -> str:
    """
    Say in words what a map shows.

    Parameters
    ----------
    publication : Publication or LiveMaps
        The report.
    envelope : EnvelopeMap
        One configuration.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        Altitude up to which each loading holds at the reference temperature.
    """
    temperature = publication.reference.fuel_temperature_k
    ends = []
    for loading, name in enumerate(envelope.loadings):
        height = edge_altitude_m(envelope, loading, temperature)
        lowest, highest = envelope.altitude_m[0], envelope.altitude_m[-1]
        if height is None:
            first = np.interp(
                temperature, envelope.fuel_temperature_k, envelope.slack[loading, :, 0]
            )
            word = (
                f"holds up to {_height(highest, notation)} and beyond"
                if first >= 0.0
                else f"does not hold at {_height(lowest, notation)}"
            )
        else:
            word = f"holds up to about {_height(height, notation, -1)}"
        ends.append(f"{name} it {word}")
    kit = publication.kit(envelope.configuration).short
    degrees = notation.temperature_words(temperature)
    return f"{upper_first(kit)} with fuel at {degrees}: {'; '.join(ends)}."


def _height(altitude_m: float, notation: Notation, places: int = 0) -> str:
    """Write an altitude to the nearest one or ten of its unit."""
    return f"{round(notation.value(altitude_m, 'length'), places):.0f} {notation.length}"


def edge_altitude_m(envelope: EnvelopeMap, loading: int, temperature_k: float) -> float | None:
    """
    Find the altitude at which a configuration stops holding.

    Parameters
    ----------
    envelope : EnvelopeMap
        One configuration.
    loading : int
        Which loading.
    temperature_k : float
        Fuel temperature, inside the map. [K]

    Returns
    -------
    float or None
        From the lowest altitude up, where the interpolated slack first passes zero; None when it
        does not. [m]
    """
    slack = [
        float(np.interp(temperature_k, envelope.fuel_temperature_k, column))
        for column in envelope.slack[loading].T
    ]
    for j in range(len(slack) - 1):
        if slack[j] >= 0.0 > slack[j + 1]:
            low, high = envelope.altitude_m[j : j + 2]
            return float(low + (high - low) * slack[j] / (slack[j] - slack[j + 1]))
    return None


def table(publication: Mapped, envelope: EnvelopeMap, notation: Notation = REPORT) -> Table:
    """
    Lay a map out as numbers.

    Parameters
    ----------
    publication : Publication or LiveMaps
        The report.
    envelope : EnvelopeMap
        One configuration.
    notation : Notation
        Units to write.

    Returns
    -------
    Table
        Room, or slack where no limit is known, with the letter of the limit that is broken; one
        column for each altitude, loadings under each other.
    """
    known = publication.limit_abs_pa is not None
    rows = []
    for loading, name in enumerate(envelope.loadings):
        for i, temperature in enumerate(envelope.fuel_temperature_k):
            cells = [
                _cell(envelope, loading, i, j, notation if known else None)
                for j in range(len(envelope.altitude_m))
            ]
            rows.append((f"{notation.temperature_words(float(temperature))}, {name}", *cells))
    what = f"Room to the maker's limit, {notation.pressure}" if known else "Least slack, %"
    return Table(
        caption=f"{what}: {publication.kit(envelope.configuration).short}",
        head=("fuel, loading", *(_height(float(each), notation) for each in envelope.altitude_m)),
        rows=tuple(rows),
        note="A letter marks what is broken: p absolute pressure, d depression, g gas, m margin.",
    )


def _cell(envelope: EnvelopeMap, loading: int, i: int, j: int, notation: Notation | None) -> str:
    """Write one point: its room, or its slack where no limit is known and no unit is asked for."""
    slack = envelope.slack[loading, i, j]
    if notation is None:
        told = f"{100 * slack:.0f}"
    else:
        room = notation.value(float(envelope.room_pa[loading, i, j]), "pressure")
        told = f"{room:.{notation.decimals(0)}f}"
    letter = LETTERS[envelope.binding[loading][i][j]]
    return f"{told}{' ' + letter if slack < 0.0 else ''}"
