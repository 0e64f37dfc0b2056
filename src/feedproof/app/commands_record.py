"""The verbs of what was deleted from the database as commands."""

from feedproof.app import api_records as api
from feedproof.app.saying import say


def show(*, store: str | None = None, json: bool = False) -> int:
    """
    List what was deleted and can be brought back, and until when.

    Parameters
    ----------
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.record_show(store=store)
    say(told, told.text(), as_json=json)
    return 0


def undo(
    kind: str,
    name: str,
    /,
    *,
    who: str,
    why: str = "",
    store: str | None = None,
    json: bool = False,
) -> int:
    """
    Bring back what was deleted within 30 days.

    Parameters
    ----------
    kind : str
        Kind: instruments, mappings or readings.
    name : str
        Its id, or how it begins.
    who : str
        Who brings it back.
    why : str
        Why.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.record_undo(kind, name, who=who, why=why, store=store)
    say(told, told.text(), as_json=json)
    return 0


def purge(*, who: str, why: str, store: str | None = None, json: bool = False) -> int:
    """
    Remove for good what was deleted more than 30 days ago; that it was there stays on record.

    Parameters
    ----------
    who : str
        Who purges.
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
    told = api.record_purge(who=who, why=why, store=store)
    say(told, told.text(), as_json=json)
    return 0
