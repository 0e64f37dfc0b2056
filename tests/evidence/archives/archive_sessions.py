"""Sessions and lines of an archive, invented for the tests of this room."""

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from feedproof.case.margin import Measure
from feedproof.evidence.archives.lines import UNITS, Line, RunMark, SessionData, SessionFigure
from feedproof.evidence.archives.repeats import Spread, spread_of_repeats

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
VALUES = (0.3, -0.2, 0.6)


def digest(text: str) -> str:
    """Give a hash that is nobody's."""
    return hashlib.sha256(text.encode()).hexdigest()


def figure_of(
    values: Sequence[float] = VALUES,
    measure: Measure = Measure.WHEEL_POWER,
    setups: Sequence[str] | None = None,
    places: Sequence[float] | None = None,
) -> SessionFigure:
    """Make the figure of a session."""
    places = tuple(float(i) for i in range(len(values))) if places is None else tuple(places)
    setups = ("loop",) * len(values) if setups is None else tuple(setups)
    found = spread_of_repeats(values, places, setups)
    assert isinstance(found, Spread), found
    return SessionFigure(
        measure=measure,
        unit=UNITS[measure],
        replumbed=found.replumbed,
        runs=tuple(range(1, len(values) + 1)),
        places=places,
        setups=setups,
        values=tuple(values),
        standard_deviation=found.standard_deviation,
        degrees_of_freedom=found.degrees_of_freedom,
    )


def session_data(
    day: int = 0,
    figures: Sequence[SessionFigure] | None = None,
    **changes: Any,
) -> SessionData:
    """Make a session that was driven on a day."""
    figures = tuple(figures or (figure_of(),))
    numbers = sorted({number for figure in figures for number in figure.runs})
    begun = START + timedelta(days=day)
    facts: dict[str, Any] = {
        "case": "invented case",
        "case_sha256": digest("case"),
        "program": "0.1.0",
        "vehicle": "invented truck",
        "rig": "cell 1",
        "procedure": "full-load pull",
        "session": f"day {day}",
        "start_m_per_s": 14.0,
        "stop_m_per_s": 32.0,
        "rate_m_per_s2": 1.25,
        "runs": tuple(
            RunMark(
                number=number,
                started=begun + timedelta(minutes=10 * number),
                sha256=digest(f"{day} {number}"),
                logs=(digest(f"log {day} {number}"),),
            )
            for number in numbers
        ),
        "left_out": (),
        "figures": figures,
    }
    return SessionData(**{**facts, **changes})


def line_of(number: int, data: SessionData | None, day: int | None = None, **changes: Any) -> Line:
    """Make a line that was written on the evening of a session's day, or on another day."""
    when = data.last + timedelta(hours=3) if data and day is None else START
    when = START + timedelta(days=day) if day is not None else when
    facts: dict[str, Any] = {
        "number": number,
        "sha256": digest(f"line {number}"),
        "recorded": when,
        "known_from": when,
        "who": "tester",
        "why": "",
        "data": data,
    }
    return Line(**{**facts, **changes})
