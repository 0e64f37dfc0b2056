"""The verbs of field readings as commands."""

from feedproof.app import api_readings as api
from feedproof.app.saying import say


def add(
    vehicle: str,
    /,
    *,
    at: str,
    on: str,
    depression: str,
    who: str,
    distance: str = "",
    fuel_temp: str = "",
    kit: list[str] | None = None,
    gauge: str = "",
    element: str = "",
    instead_of: str = "",
    why: str = "",
    store: str | None = None,
    json: bool = False,
) -> int:
    """
    Keep a reading of the gauge on a vehicle in use, or a correction of one.

    Parameters
    ----------
    vehicle : str
        Label of the vehicle.
    at : str
        At which stated speed and load it was read, such as "80 km/h, full load".
    on : str
        Day, such as 2026-03-31.
    depression : str
        What the gauge read, such as 12kPa.
    who : str
        Who read it.
    distance : str
        Distance driven so far, such as 45210km.
    fuel_temp : str
        Fuel temperature, such as 31degC.
    kit : list of str
        Kit that is fitted; give the option again for more.
    gauge : str
        Instrument that was read, as instrument add names it.
    element : str
        Serial number of the element.
    instead_of : str
        Reading that this corrects: its id or the first four digits or more.
    why : str
        Why it is corrected.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.reading_add(
        vehicle,
        check_point=at,
        read_on=on,
        depression=depression,
        who=who,
        distance=distance,
        fuel_temperature=fuel_temp,
        kits=tuple(kit or ()),
        gauge=gauge,
        element=element,
        instead_of=instead_of,
        why=why,
        store=store,
    )
    say(told, told.text(), as_json=json)
    return 0


def show(vehicle: str = "", /, *, store: str | None = None, json: bool = False) -> int:
    """
    List the readings that stand, by day.

    Parameters
    ----------
    vehicle : str
        Only of this one.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.reading_show(vehicle, store=store)
    say(told, told.text(), as_json=json)
    return 0


def withdraw(
    reading: str, /, *, who: str, why: str, store: str | None = None, json: bool = False
) -> int:
    """
    Withdraw a reading; feedproof record undo brings it back for 30 days.

    Parameters
    ----------
    reading : str
        Its id, or the first four digits or more.
    who : str
        Who withdraws it.
    why : str
        Why; it is kept.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.reading_withdraw(reading, who=who, why=why, store=store)
    say(told, told.text(), as_json=json)
    return 0
