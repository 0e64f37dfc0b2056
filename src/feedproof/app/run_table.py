"""A run's table for ``case.toml``, from the words that an operator writes."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from feedproof.app.catching import amount_key
from feedproof.case.case import Case


def run_table(
    *,
    number: int,
    kits: Sequence[str],
    session: str,
    started: datetime,
    role: str,
    setup: str,
    ambient: str,
    air_temp: str,
    humidity: str,
    level: str,
    fuel: str | None = None,
    zero_before: str | None = None,
    zero_after: str | None = None,
    elements: Mapping[str, str] | None = None,
    loading: Mapping[str, str] | None = None,
    caught: str | None = None,
    caught_during: str | None = None,
    caught_temp: str | None = None,
    caught_at: str | None = None,
    note: str = "",
) -> dict[str, Any]:
    """
    Write a run's table; what was left out does not stand in it.

    Parameters
    ----------
    number, kits, session, started, role, setup
        As `feedproof.case.run.Run` holds them.
    ambient, air_temp, humidity, level : str
        Air of the cell and fuel in the tank, with units.
    fuel : str, optional
        Fuel of the case.
    zero_before, zero_after : str, optional
        Readings of the inlet sensor at rest, with unit.
    elements, loading : mapping of str to str, optional
        Serials and known loadings of elements.
    caught, caught_during, caught_temp, caught_at : str, optional
        Return fuel caught, how long, how warm, and the engine speed of a steady catch.
    note : str
        What the operator wants to say.

    Returns
    -------
    dict of str to object
        Not checked yet: the case's own reading does that, all mistakes at once.
    """
    run: dict[str, Any] = {
        "number": number,
        "kits": list(kits),
        "session": session,
        "started": started,
        "role": role,
        "setup": setup,
        "ambient": {"pressure_abs": ambient, "temperature": air_temp, "humidity": humidity},
        "fuel_level": level,
    }
    if caught:
        run["caught_return"] = _written(
            {
                amount_key(caught): caught,
                "duration": caught_during,
                "temperature": caught_temp,
                "hold": "steady" if caught_at else "pull",
                "engine_speed": caught_at,
            }
        )
    optional = {
        "fuel": fuel,
        "zero": _written({"before": zero_before, "after": zero_after}),
        "elements": dict(elements or {}),
        "loading": dict(loading or {}),
        "note": note,
    }
    return run | _written(optional)


def with_fuel(run: Mapping[str, Any], case: Case) -> dict[str, Any]:
    """
    Say which fuel a run was driven with.

    Parameters
    ----------
    run : mapping
        As ``case.toml`` holds it.
    case : Case
        Its reference fuel is meant where the run names none.

    Returns
    -------
    dict of str to object
        The run with its fuel.
    """
    return {"fuel": case.reference.fuel, **run}


def _written(table: Mapping[str, Any]) -> dict[str, Any]:
    """Keep what was written."""
    return {key: value for key, value in table.items() if value}
