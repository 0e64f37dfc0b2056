"""The verbs of settings as commands."""

from feedproof.app import api_settings as api
from feedproof.app.saying import pairs, say
from feedproof.records.store.store import WORKSHOP


def show(*, of: str = WORKSHOP, store: str | None = None, json: bool = False) -> int:
    """
    Give somebody's settings; who has none of his own has the workshop's.

    Parameters
    ----------
    of : str
        Whose.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.settings_show(of, store=store)
    say(told, told.text(), as_json=json)
    return 0


def set(
    values: list[str],
    /,
    *,
    who: str,
    of: str = WORKSHOP,
    store: str | None = None,
    json: bool = False,
) -> int:
    """
    Change settings: unit.KIND=UNIT, decimal_comma=yes or no, dark_mode=yes, no or system.

    Parameters
    ----------
    values : list of str
        NAME=VALUE, such as unit.pressure=inHg.
    who : str
        Who changes them.
    of : str
        Whose.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.settings_set(pairs("settings", values), who=who, of=of, store=store)
    say(told, told.text(), as_json=json)
    return 0


def unset(
    names: list[str],
    /,
    *,
    who: str,
    of: str = WORKSHOP,
    store: str | None = None,
    json: bool = False,
) -> int:
    """
    Go back to what the program begins with.

    Parameters
    ----------
    names : list of str
        Settings, such as unit.pressure.
    who : str
        Who changes them.
    of : str
        Whose.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.settings_unset(names, who=who, of=of, store=store)
    say(told, told.text(), as_json=json)
    return 0
